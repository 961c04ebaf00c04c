"""The published sources the engine relies on, by key.

Formulas and tables name a key; a test refuses a key that is unknown or unused.
"""

SOURCES: dict[str, str] = {
    "council-standards": (
        "Craft Yarn Council, Standards & Guidelines for Crochet and Knitting, 2018 print: "
        "yarn weights, hook sizes, terms, abbreviations"
    ),
    "council-bodies": (
        "Craft Yarn Council, Standards & Guidelines for Crochet and Knitting, 2018 print: "
        "body sizes of children and women"
    ),
    "ansur-2": "ANSUR II anthropometric survey: computed from its public data",
    "who-growth": "WHO Child Growth Standards: head circumference for age, median",
    "en-13402-3": "EN 13402-3: limits of women's bust sizes",
    "all-in-one": (
        "Knitting & Crocheting All-in-One (handbook): turning chains and first stitch of a row"
    ),
    "sweater-101": "Sweater 101, 1991: spreading events evenly by quotient and remainder",
    "borders-handbook": "Simply Crochet, borders handbook, 2017: stitches at a corner",
    "iso-80000-3": "ISO 80000-3 (space and time): metre; the inch is exactly 25.4 mm",
    "avoirdupois": "International yard and pound agreement, 1959: 1 oz = 28.349523125 g",
    "button-line": "Button line (ligne): 40 lines to the inch, in general trade use",
    "magazine-openings": (
        "Crochet magazine lessons on openings: a worked opening is made slightly smaller "
        "than the button, because fabric stretches"
    ),
    "published-gauges": (
        "Published pattern gauges, weight 4: sc 14 x 16 and 13 x 14, hdc 13 x 9, dc 13 x 7.5 "
        "to 4 in; hdc 14 x 10 to 10 cm"
    ),
    "swatch-test": (
        "One maker's published yarn test, category 4, 5 mm hook (one test, medium confidence): "
        "5 in wide, a chain takes 25.5 in of yarn, a row of sc 53, hdc 78.5, dc 102;"
        " 5 x 5 in of sc 785.5, hdc 802, dc 790"
    ),
    "spinners-table": (
        "Spinners' extension of the yarn weight table: metres to 100 g (medium confidence)"
    ),
    "taylor-errors": (
        "Taylor, An Introduction to Error Analysis, 2nd ed., 1997, ch. 7: the mean of readings "
        "weighed by one over their uncertainty squared"
    ),
    "yarn-experiment": (
        "A craft magazine's published experiment (Interweave), bulky yarn, 6 mm tools, 20 stitches"
        " x 20 rows (medium confidence): sc 19 g, 6.25 x 5.75 in; hdc 28 g, 6.75 x 9.25 in"
    ),
    "yarn-counts": (
        "Yarn count systems in general trade use: tex is grams to 1,000 m; denier 9 tex;"
        " Nm 1000 / tex; Ne 590.54 / tex"
    ),
    "geometry": "Plane geometry: lengths and perimeters in closed form",
    "common-practice": "Common practice, no published source",
    "16-cfr-1501": "16 CFR 1501.4: small parts cylinder, 31.75 mm wide",
    "en-12586": "EN 12586: soother holders, 220 mm with loop",
    "en-14682": "EN 14682: cords and drawstrings on children's clothing",
    "en-71-1": "EN 71-1: safety of toys, mechanical and physical properties",
    "iso-3758": "ISO 3758: care labelling; the yarn's own label outranks any rule",
}
