"""The published tables the service serves and the engine reads, each row with its source.

Figures that were not read in a copy of the source say "from memory" and are never asserted on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from .bodies import BODY_SIZES
from .bodies import NOTE as BODY_NOTE
from .exact import Fraction
from .sources import SOURCES
from .stitches import STITCHES
from .units import Fine


@dataclass(frozen=True, slots=True)
class YarnWeight:
    category: Annotated[int, "number of the category"]
    name: Annotated[str, "name of the category"]
    range_stitch: Annotated[str, "stitch the range is for"]
    single_crochet_per_4_in: Annotated[tuple[int, int], "fewest and most stitches to 4 in"]
    hook_mm: Annotated[str, "usual hooks, in millimetres"]
    wraps_per_inch: Annotated[str, "wraps to the inch; never a base for stitch counts"]
    fewest_metres_per_100_g: Annotated[int | None, "fewest metres to 100 g, where there is a limit"]
    most_metres_per_100_g: Annotated[int | None, "most metres to 100 g, where there is a limit"]
    note: Annotated[str | None, "where printings of the table differ"]
    source: Annotated[str, "where the row is published"]


_WEIGHTS: tuple[
    tuple[str, tuple[int, int], str, str, tuple[int | None, int | None], str | None], ...
] = (
    ("lace", (32, 42), "1.5-2.25", "30-40+", (484, None),
     "The stitch is not named in this printing; others say double crochet."),
    ("super fine", (21, 32), "2.25-3.5", "14-30", (383, 484), None),
    ("fine", (16, 20), "3.5-4.5", "12-18", (242, 383), None),
    ("light", (12, 17), "4.5-5.5", "11-15", (182, 242), None),
    ("medium", (11, 14), "5.5-6.5", "9-12", (121, 181), None),
    ("bulky", (8, 11), "6.5-9", "6-9", (81, 121), None),
    ("super bulky", (6, 9), "9-16", "5-6", (None, 81),
     "Other printings give 5-9 and 7-9 stitches."),
    ("jumbo", (1, 5), "16 and up", "1-4", (None, None), "Another printing gives 6 and fewer."),
)  # fmt: skip

YARN_WEIGHTS: dict[int, YarnWeight] = {
    i: YarnWeight(
        i, name, "unnamed" if name == "lace" else "single-crochet", per_4_in, hooks, wraps,
        *metres, note, SOURCES["council-standards"],
    )
    for i, (name, per_4_in, hooks, wraps, metres, note) in enumerate(_WEIGHTS)
}  # fmt: skip
"""Yarn weights by category. Source: council-standards; metres to 100 g: spinners-table."""


@dataclass(frozen=True, slots=True)
class HookSize:
    diameter: Annotated[Fine, "diameter of the hook; this is the size"]
    us_label: Annotated[str, "letter or number printed on it in the US; a label only"]
    source: Annotated[str, "where the row is published"]


HOOK_SIZES: tuple[HookSize, ...] = tuple(
    HookSize(Fraction(mm) / 100, label, SOURCES["council-standards"])
    for mm, label in (
        (225, "B-1"), (275, "C-2"), (325, "D-3"), (350, "E-4"), (375, "F-5"), (400, "G-6"),
        (450, "7"), (500, "H-8"), (550, "I-9"), (600, "J-10"), (650, "K-10½"), (800, "L-11"),
        (900, "M/N-13"), (1000, "N/P-15"),
    )
)  # fmt: skip
"""Hooks from 2.25 to 10 mm; past that charts disagree. Source: council-standards."""


@dataclass(frozen=True, slots=True)
class StitchTerm:
    name: Annotated[str, "the stitch's name in this service"]
    us: Annotated[str, "US name"]
    us_abbreviation: Annotated[str, "US abbreviation"]
    uk: Annotated[str, "UK name"]
    uk_abbreviation: Annotated[str, "UK abbreviation"]
    turning_chain: Annotated[int | None, "chains to turn with"]
    other_turning_chain: Annotated[int | None, "the trade's other number, where it has two"]
    turning_chain_counts: Annotated[bool | None, "whether it commonly counts as a stitch"]
    source: Annotated[str, "where the row is published"]


STITCH_TERMS: tuple[StitchTerm, ...] = (
    *(
        StitchTerm(
            s.key, s.us.full, s.us.short, s.uk.full, s.uk.short,
            s.turning_chain if s.makes_rows else None, s.other_turning_chain,
            s.turning_chain_counts if s.makes_rows else None, SOURCES["council-standards"],
        )
        for s in STITCHES.values()
    ),
    StitchTerm("double-treble-crochet", "double treble crochet", "dtr", "triple treble", "trtr",
               5, None, True, SOURCES["council-standards"]),
)  # fmt: skip
"""Stitch terms in both dialects. Source: council-standards."""

LINE: Fine = Fraction(635, 1000)
"""Millimetres in one button line: 40 to the inch. Source: button-line."""


@dataclass(frozen=True, slots=True)
class ButtonSize:
    line: Annotated[int, "button line (ligne)"]
    diameter: Annotated[Fine, "diameter of the button"]
    source: Annotated[str, "where the row comes from"]


BUTTON_SIZES: tuple[ButtonSize, ...] = tuple(
    ButtonSize(line, LINE * line, SOURCES["button-line"])
    for line in (16, 18, 20, 22, 24, 26, 28, 30, 32, 36, 40, 44, 50, 60)
)
"""Common buttons by line; charts round within 0.7 mm. Source: button-line."""


@dataclass(frozen=True, slots=True)
class Abbreviation:
    abbreviation: Annotated[str, "as written in a pattern"]
    meaning: Annotated[str, "what it stands for"]
    source: Annotated[str, "where the row is published"]


ABBREVIATIONS: tuple[Abbreviation, ...] = tuple(
    Abbreviation(short, meaning, SOURCES["council-standards"])
    for short, meaning in (
        ("beg", "beginning"), ("BLO", "back loop only"), ("ch", "chain"),
        ("ch-sp", "chain space"), ("dec", "decrease"), ("FLO", "front loop only"),
        ("inc", "increase"), ("rem", "remaining"), ("rep", "repeat"), ("rnd", "round"),
        ("RS", "right side"), ("sc2tog", "single crochet two stitches together"),
        ("sk", "skip"), ("sl st", "slip stitch"), ("sp", "space"), ("st", "stitch"),
        ("sts", "stitches"), ("tch", "turning chain"), ("tog", "together"),
        ("WS", "wrong side"),
    )
)  # fmt: skip
"""Common abbreviations (US). Source: council-standards."""

TABLES: dict[str, tuple[Any, ...]] = {
    "yarn-weights": tuple(YARN_WEIGHTS.values()),
    "hook-sizes": HOOK_SIZES,
    "stitch-terms": STITCH_TERMS,
    "abbreviations": ABBREVIATIONS,
    "button-sizes": BUTTON_SIZES,
    "body-sizes": BODY_SIZES,
}
"""Every table by the name it is asked for."""

NOTES: dict[str, str] = {"body-sizes": BODY_NOTE}
"""What a reader of a whole table should know."""
