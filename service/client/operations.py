# ruff: noqa
# fmt: off
"""Every operation with the types of what is sent and of what comes back.

Made by ``python -m service.api.documents`` from the definitions that the service itself uses: do
not edit. Members are told of in the published schemas.
"""

from __future__ import annotations

from typing import Any, Literal, NotRequired, TypedDict, cast


Abbreviation = TypedDict("Abbreviation", {
    "abbreviation": "str",
    "meaning": "str",
    "source": "str",
})


AbbreviationTable = TypedDict("AbbreviationTable", {
    "table": "str",
    "rows": "list[Abbreviation]",
})


# A count of something, or a length.
Amount = TypedDict("Amount", {
    "count": "NotRequired[int]",
    "of": "NotRequired[str]",
    "length": "NotRequired[Quantity]",
})


# Rows that are written out already, to be worked over and over.
AsRowsInput = TypedDict("AsRowsInput", {
    "first": "int | Count1To10000BySizeInput",
    "last": "NotRequired[int | Count1To10000BySizeInput]",
})


AssemblyStep = TypedDict("AssemblyStep", {
    "step": "int",
    "text": "str",
    "pieces": "list[str]",
    "size": "NotRequired[str]",
})


# The last row worked.
AtInput = TypedDict("AtInput", {
    "section": "str",
    "row": "int",
})


Audit = TypedDict("Audit", {
    "holds": "bool",
    "in_words": "str",
    "sizes": "list[str]",
    "audited": "Audited",
    "findings": "list[Finding]",
    "left_out": "int",
    "not_audited": "list[NotAudited]",
})


# Written rows with their stated counts and measurements. Rows are counted in every size; at most 10,000 rows a piece, and 200,000 stitch groups in all, are worked through.
AuditRequest = TypedDict("AuditRequest", {
    "sizes": "list[str]",
    "gauge": "NotRequired[GaugeInput]",
    "pieces": "list[WrittenPieceInput]",
    "seams": "NotRequired[list[SeamInput]]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# A run of a schedule, as answers of this service have it.
AuditRunInput = TypedDict("AuditRunInput", {
    "rows": "int",
    "every": "NotRequired[int]",
    "times": "NotRequired[int]",
    "left": "NotRequired[int]",
    "right": "NotRequired[int]",
    "change": "NotRequired[int]",
    "stitches_after": "NotRequired[int]",
})


# What was held against the stitches, over all sizes.
Audited = TypedDict("Audited", {
    "rows": "int",
    "stated_counts": "int",
    "measurements": "int",
    "closures": "int",
    "seams": "int",
})


Ball = TypedDict("Ball", {
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
    "source": "str",
})


# What a ball holds.
BallInput = TypedDict("BallInput", {
    "length": "NotRequired[LengthInput]",
    "mass": "NotRequired[MassInput]",
})


# A line of a batch's answer, in the order of the lines asked.
BatchAnswer = TypedDict("BatchAnswer", {
    "id": "str | int | None",
    "line": "NotRequired[int]",
    "status": "int",
    "body": "Piece | Project | ShapingAnswer | EdgingAnswer | Openings | YarnAnswer | GaugeAnswer | ConversionAnswer | SizeTable | Audit | GaugeCheck | ProblemDocument",
})


# What became of a batch.
BatchCounts = TypedDict("BatchCounts", {
    "lines": "int",
    "good": "int",
    "refused": "int",
    "failed": "int",
    "complete": "bool",
    "next_line": "NotRequired[int]",
    "problem": "NotRequired[ProblemDocument]",
})


# The last line of every batch: an answer without it was cut.
BatchEnd = TypedDict("BatchEnd", {
    "summary": "BatchCounts",
})


# A line of a batch: one question, as it would be sent alone.
BatchLineInput = TypedDict("BatchLineInput", {
    "id": "str | int",
    "operation": "Literal['pieces', 'projects', 'shaping', 'edgings', 'buttonholes', 'yarn', 'gauge', 'conversions', 'size-tables', 'audits', 'gauge-checks']",
    "body": "Any",
})


# The same swatch measured again after blocking.
BlockedInput = TypedDict("BlockedInput", {
    "width": "NotRequired[LengthInput]",
    "height": "NotRequired[LengthInput]",
})


BlockedSize = TypedDict("BlockedSize", {
    "width": "NotRequired[Quantity]",
    "height": "NotRequired[Quantity]",
})


BlockingChange = TypedDict("BlockingChange", {
    "width_percent": "float",
    "height_percent": "float",
})


# A body measure from the table of body sizes.
BodyInput = TypedDict("BodyInput", {
    "population": "Literal['women', 'men', 'boys', 'girls', 'children']",
    "measure": "Literal['head', 'hand-round', 'hand-length', 'wrist', 'ball-of-foot', 'foot-length', 'cross-back', 'arm-to-underarm', 'upper-arm', 'armhole-depth', 'back-waist', 'bust']",
    "size": "NotRequired[Literal['adult', 'birth', '3 months', '6 months', '12 months', '24 months', '36 months', '60 months', '2', '4', '6', '8', '10', '12', '14', '16', 'S', 'M', 'L', '1X', '74 to 78 cm', '78 to 82 cm', '82 to 86 cm', '86 to 90 cm', '90 to 94 cm', '94 to 98 cm', '98 to 102 cm', '102 to 107 cm', '107 to 113 cm', '113 to 119 cm', '119 to 125 cm', '125 to 131 cm']]",
    "statistic": "NotRequired[Literal['mean', '5th-percentile', '95th-percentile', 'median', 'published-size', 'lower-limit', 'upper-limit']]",
})


BodySize = TypedDict("BodySize", {
    "population": "str",
    "size": "str",
    "measure": "str",
    "value": "Quantity",
    "statistic": "Literal['mean', 'median', 'published-size', '5th-percentile', '95th-percentile', 'lower-limit', 'upper-limit']",
    "source": "str",
})


BodySizeTable = TypedDict("BodySizeTable", {
    "table": "str",
    "note": "str",
    "rows": "list[BodySize]",
})


# The button in hand.
ButtonInput = TypedDict("ButtonInput", {
    "diameter": "LengthInput",
    "thickness": "NotRequired[LengthInput]",
})


ButtonSize = TypedDict("ButtonSize", {
    "line": "int",
    "diameter": "Quantity",
    "source": "str",
})


ButtonSizeTable = TypedDict("ButtonSizeTable", {
    "table": "str",
    "rows": "list[ButtonSize]",
})


Buttonhole = TypedDict("Buttonhole", {
    "loop": "NotRequired[Loop]",
    "slit": "NotRequired[Slit]",
    "slit_place": "NotRequired[SlitPlace]",
    "loop_place": "NotRequired[LoopPlace]",
})


# A button, the gauge, and how it is to close.
ButtonholeRequest = TypedDict("ButtonholeRequest", {
    "gauge": "GaugeInput",
    "button": "ButtonInput",
    "closure": "NotRequired[ClosureInput]",
    "placing": "NotRequired[PlacingInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# A measurement that differs from size to size.
BySizeInput = TypedDict("BySizeInput", {
    "by_size": "dict[str, LengthInput]",
})


Caution = TypedDict("Caution", {
    "code": "str",
    "text": "str",
    "field": "str",
    "source": "str",
})


# Chains in a row, as over an opening.
ChainInput = TypedDict("ChainInput", {
    "chain": "int | Count0To10000BySizeInput",
    "counts_as": "int | Count0To10000BySizeInput",
})


Checkpoint = TypedDict("Checkpoint", {
    "after_row": "int",
    "where": "str",
    "stitches": "int",
    "width": "NotRequired[Quantity]",
    "width_tolerance": "NotRequired[Quantity]",
    "height": "NotRequired[Quantity]",
    "height_tolerance": "NotRequired[Quantity]",
})


# How the button closes; sizes left out are worked out.
ClosureInput = TypedDict("ClosureInput", {
    "kind": "NotRequired[Literal['loop', 'slit']]",
    "span": "NotRequired[int]",
    "chains": "NotRequired[int]",
    "skipped": "NotRequired[int]",
    "direction": "NotRequired[Literal['across', 'along']]",
    "chains_over": "NotRequired[Literal['as-skipped', 'one-fewer']]",
    "stretch_percent": "NotRequired[float]",
})


# Yarn of one colour of several.
ColourYarn = TypedDict("ColourYarn", {
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
    "interval": "NotRequired[list[Quantity]]",
    "mass_interval": "NotRequired[list[Quantity]]",
    "interval_percent": "float",
    "method": "Literal['swatch-length', 'swatch-mass', 'loop-length-model', 'weight-category']",
    "method_source": "str",
    "margin_percent": "float",
    "to_buy": "NotRequired[Quantity]",
    "to_buy_mass": "NotRequired[Quantity]",
    "ball": "NotRequired[Ball]",
    "balls": "NotRequired[int]",
    "balls_at_most": "NotRequired[int]",
    "substitute": "NotRequired[Substitute]",
    "parts": "list[YarnPart]",
    "colour": "str",
})


Coloured = TypedDict("Coloured", {
    "section": "str",
    "first_row": "int",
    "last_row": "int",
    "stripes": "list[Stripe]",
})


# Which colour goes where. The foundation is in the colour of the first row.
ColoursInput = TypedDict("ColoursInput", {
    "main": "str",
    "sections": "NotRequired[dict[str, str]]",
    "stripes": "NotRequired[list[StripesInput]]",
    "edging": "NotRequired[str]",
    "loop": "NotRequired[str]",
    "seams": "NotRequired[str]",
    "carried": "NotRequired[bool]",
})


# Yarn that is left of each colour.
ColoursLeftInput = TypedDict("ColoursLeftInput", {
    "colours": "dict[str, LengthLeftInput | MassLeftInput]",
})


# A piece worked already that this one is to match; both taped before blocking.
CompanionInput = TypedDict("CompanionInput", {
    "measured_width": "LengthInput",
    "ease": "NotRequired[EaseInput]",
    "measurement": "NotRequired[str]",
})


# The last row worked, and what is known of the work so far.
ContinueInput = TypedDict("ContinueInput", {
    "section": "str",
    "row": "int",
    "stitches": "NotRequired[int]",
    "height": "NotRequired[LengthInput]",
    "planned_gauge": "NotRequired[GaugeInput]",
    "section_done": "NotRequired[bool]",
})


# What is worked already, and the whole of it with what is left.
Continued = TypedDict("Continued", {
    "after_row": "int",
    "stitches": "int",
    "rows_left": "int",
    "stitches_left": "int",
    "rows_in_all": "int",
})


# The counts at the new gauge, each beside what was written; or the gauge that is wanted.
ConversionAnswer = TypedDict("ConversionAnswer", {
    "worked": "Literal['flat', 'round']",
    "stitch_written": "str",
    "stitch": "NotRequired[str]",
    "written_stitch_width": "Quantity",
    "written_row_height": "Quantity",
    "factors": "NotRequired[Factors]",
    "foundation": "NotRequired[ConvertedFoundation]",
    "sections": "list[ConvertedSection]",
    "counts": "list[ConvertedCount]",
    "totals": "NotRequired[ConvertedTotals]",
    "needed": "NotRequired[Needed]",
    "cautions": "list[Caution]",
})


# Counts written at one gauge, and the gauge or the size they should come to.
ConversionRequest = TypedDict("ConversionRequest", {
    "from": "GaugeInput",
    "to": "NotRequired[GaugeInput]",
    "wanted": "NotRequired[WantedInput]",
    "worked": "NotRequired[Literal['flat', 'round']]",
    "foundation": "NotRequired[FoundationToConvertInput]",
    "sections": "NotRequired[list[WrittenSectionInput]]",
    "counts": "NotRequired[list[WrittenCountInput]]",
    "new_turning": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "detail": "NotRequired[Literal['runs', 'rows']]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# A length as written and as converted, side by side.
Converted = TypedDict("Converted", {
    "written": "Quantity",
    "finished": "Quantity",
    "difference": "Quantity",
})


ConvertedCount = TypedDict("ConvertedCount", {
    "name": "str",
    "what": "Literal['stitches', 'rows']",
    "written": "int",
    "converted": "int",
    "sizes": "Converted",
})


ConvertedFoundation = TypedDict("ConvertedFoundation", {
    "chain": "NotRequired[int]",
    "first_stitch_in_chain": "NotRequired[int]",
    "turning_chain_counts": "bool",
    "turning_chain": "int",
    "stitches": "int",
    "written_chain": "NotRequired[int]",
    "written_stitches": "int",
    "width": "Converted",
})


ConvertedSection = TypedDict("ConvertedSection", {
    "name": "str",
    "first_row": "int",
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
    "schedule": "list[Run | RoundRun]",
    "in_words": "str",
    "written": "WrittenCounts",
    "sizes": "ConvertedSize",
    "row_counts": "NotRequired[list[int]]",
})


ConvertedSize = TypedDict("ConvertedSize", {
    "width_at_start": "Converted",
    "width_at_end": "Converted",
    "height": "Converted",
})


ConvertedTotals = TypedDict("ConvertedTotals", {
    "rows": "int",
    "written_rows": "int",
    "width": "Converted",
    "height": "Converted",
})


# What is worked at a corner.
CornerInput = TypedDict("CornerInput", {
    "stitches": "NotRequired[int]",
    "chains": "NotRequired[int]",
})


Correction = TypedDict("Correction", {
    "rank": "int",
    "kind": "Literal['chains-out', 'chains-in', 'rows-added', 'rows-left-out', 'reshape', 'take-back', 'hook-up', 'hook-down', 'restart']",
    "text": "str",
    "reaches": "NotRequired[bool]",
    "worst_percent": "NotRequired[float]",
    "stitches_undone": "int",
    "chains": "NotRequired[int]",
    "rows": "NotRequired[list[RowsChange]]",
    "sections": "NotRequired[list[Section | RoundSection]]",
    "hook": "NotRequired[HookStep]",
    "finished": "NotRequired[dict[str, Measure]]",
    "go_on": "NotRequired[GoOn]",
})


# A value for each size, by its name.
Count0To10000BySizeInput = TypedDict("Count0To10000BySizeInput", {
    "by_size": "dict[str, int]",
})


# A value for each size, by its name.
Count1To10000BySizeInput = TypedDict("Count1To10000BySizeInput", {
    "by_size": "dict[str, int]",
})


# A value for each size, by its name.
Count1To1000BySizeInput = TypedDict("Count1To1000BySizeInput", {
    "by_size": "dict[str, int]",
})


# A value for each size, by its name.
Count1To100BySizeInput = TypedDict("Count1To100BySizeInput", {
    "by_size": "dict[str, int]",
})


# A value for each size, by its name.
Count1To200BySizeInput = TypedDict("Count1To200BySizeInput", {
    "by_size": "dict[str, int]",
})


# A value for each size, by its name.
Count2To100BySizeInput = TypedDict("Count2To100BySizeInput", {
    "by_size": "dict[str, int]",
})


# Whether the work is on course, as the piece's checkpoints have it.
Course = TypedDict("Course", {
    "on_course": "bool",
    "after_row": "int",
    "where": "str",
    "stitches": "StitchCheck",
    "width": "NotRequired[TapeCheck]",
    "height": "NotRequired[TapeCheck]",
    "near_enough_source": "str",
})


# A length that may be taken off as well as added: a number and its unit.
EaseInput = TypedDict("EaseInput", {
    "value": "float",
    "unit": "Literal['mm', 'cm', 'in', 'm', 'yd']",
})


# An edge of a piece, as its right side faces you.
EdgeInput = TypedDict("EdgeInput", {
    "piece": "str",
    "edge": "Literal['foundation', 'last-row', 'left', 'right']",
    "section": "NotRequired[str]",
})


# One stretch of an edge, from where the one below it ends. A line has in, up or both, an arc up and mostly in, points its points. An arc is a quarter of an ellipse, or an arc of a circle where it has a radius.
EdgeSegmentInput = TypedDict("EdgeSegmentInput", {
    "kind": "Literal['line', 'arc', 'points']",
    "in": "NotRequired[str | ShiftInput | EaseInput]",
    "up": "NotRequired[str | TermInput | LengthInput]",
    "bulge": "NotRequired[Literal['outward', 'inward']]",
    "radius": "NotRequired[str | TermInput | LengthInput]",
    "points": "NotRequired[list[PointInput]]",
})


EdgedCorner = TypedDict("EdgedCorner", {
    "at": "str",
    "stitches": "int",
    "chains": "int",
})


EdgedSide = TypedDict("EdgedSide", {
    "name": "str",
    "along": "Literal['foundation', 'last-row', 'row-ends']",
    "places": "int",
    "length": "Quantity",
    "usual": "NotRequired[int]",
    "measured": "int",
    "usual_off_percent": "NotRequired[float]",
    "stitches": "int",
    "corner": "NotRequired[str]",
})


Edging = TypedDict("Edging", {
    "stitch": "str",
    "spread": "Literal['usual', 'measured']",
    "stitches": "int",
    "corner_chains": "int",
    "rounds": "list[int]",
    "sides": "list[EdgedSide]",
    "corners": "list[EdgedCorner]",
    "round_height": "Quantity",
    "round_height_method": "str",
    "growth": "Extent",
    "finished": "NotRequired[Extent]",
    "usual_note": "NotRequired[str]",
})


# The edging, side by side and corner by corner.
EdgingAnswer = TypedDict("EdgingAnswer", {
    "stitch": "str",
    "spread": "Literal['usual', 'measured']",
    "stitches": "int",
    "corner_chains": "int",
    "rounds": "list[int]",
    "sides": "list[EdgedSide]",
    "corners": "list[EdgedCorner]",
    "round_height": "Quantity",
    "round_height_method": "str",
    "growth": "Extent",
    "finished": "NotRequired[Extent]",
    "usual_note": "NotRequired[str]",
    "cautions": "list[Caution]",
})


# An edging round the piece.
EdgingInput = TypedDict("EdgingInput", {
    "stitch": "NotRequired[Literal['slip-stitch', 'single-crochet', 'half-double-crochet', 'double-crochet', 'treble-crochet']]",
    "rounds": "NotRequired[int]",
    "corner": "NotRequired[CornerInput]",
    "spread": "NotRequired[Literal['usual', 'measured']]",
    "gauge": "NotRequired[GaugeInput]",
})


# An edging round a piece from a template, or round sides told one by one.
EdgingRequest = TypedDict("EdgingRequest", {
    "gauge": "GaugeInput",
    "template": "NotRequired[Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput]",
    "measurements": "NotRequired[dict[str, LengthInput | FromBodyInput | FromObjectInput]]",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
    "edging": "NotRequired[EdgingInput]",
    "sides": "NotRequired[list[SideInput]]",
})


# Yarn of one colour.
Estimate = TypedDict("Estimate", {
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
    "interval": "NotRequired[list[Quantity]]",
    "mass_interval": "NotRequired[list[Quantity]]",
    "interval_percent": "float",
    "method": "Literal['swatch-length', 'swatch-mass', 'loop-length-model', 'weight-category']",
    "method_source": "str",
    "margin_percent": "float",
    "to_buy": "NotRequired[Quantity]",
    "to_buy_mass": "NotRequired[Quantity]",
    "ball": "NotRequired[Ball]",
    "balls": "NotRequired[int]",
    "balls_at_most": "NotRequired[int]",
    "substitute": "NotRequired[Substitute]",
    "parts": "list[YarnPart]",
})


# A measurement if nothing changes, edging not counted.
Expected = TypedDict("Expected", {
    "asked": "NotRequired[Quantity]",
    "finished": "Quantity",
    "difference": "NotRequired[Quantity]",
    "interval": "list[Quantity]",
})


Extent = TypedDict("Extent", {
    "width": "Quantity",
    "height": "Quantity",
})


# How the two gauges stand to each other.
Factors = TypedDict("Factors", {
    "stitches": "float",
    "rows": "float",
    "width_if_unchanged_percent": "float",
    "height_if_unchanged_percent": "float",
})


# One thing that does not hold, in one size.
Finding = TypedDict("Finding", {
    "code": "Literal['foundation-count', 'stated-count', 'stitches-left-over', 'stitches-short', 'repeat-does-not-fit', 'no-space-here', 'nothing-left', 'row-numbers', 'schedule-rows', 'run-does-not-fit', 'measurement-off', 'seam-disagrees', 'closure-too-small', 'sizes-do-not-grow']",
    "size": "str",
    "piece": "NotRequired[str]",
    "row": "NotRequired[int]",
    "last_row": "NotRequired[int]",
    "stated": "NotRequired[Amount]",
    "comes_to": "NotRequired[Amount]",
    "correction": "Remedy",
    "text": "str",
    "field": "str",
})


# How a disc will lie.
Flatness = TypedDict("Flatness", {
    "increases_a_round": "float",
    "flat_increases": "float",
    "off_percent": "float",
    "shows_past_percent": "float",
    "lies": "Literal['flat', 'cups', 'ruffles']",
    "rounds_to_a_stitch_off": "NotRequired[int]",
})


# A section folded across.
FoldInput = TypedDict("FoldInput", {
    "section": "str",
    "layers": "NotRequired[int]",
    "sides_joined": "NotRequired[bool]",
})


Folded = TypedDict("Folded", {
    "section": "str",
    "layers": "int",
    "depth": "Quantity",
})


Foundation = TypedDict("Foundation", {
    "chain": "int",
    "first_stitch_in_chain": "int",
    "turning_chain_counts": "bool",
    "turning_chain": "int",
    "stitches": "int",
})


# The custom for turning chains, where the trade has two.
FoundationInput = TypedDict("FoundationInput", {
    "turning_chain": "NotRequired[int]",
    "turning_chain_counts": "NotRequired[bool]",
})


# What the piece begins with: a width or a stitch count, not both.
FoundationPlanInput = TypedDict("FoundationPlanInput", {
    "width": "NotRequired[str | TermInput | LengthInput]",
    "stitches": "NotRequired[int]",
})


# The foundation as written: its stitches, its chain, or both.
FoundationToConvertInput = TypedDict("FoundationToConvertInput", {
    "turning_chain": "NotRequired[int]",
    "turning_chain_counts": "NotRequired[bool]",
    "chain": "NotRequired[int]",
    "stitches": "NotRequired[int]",
})


# A measurement made from a body: its measure times a factor, plus an ease.
FromBodyInput = TypedDict("FromBodyInput", {
    "ease": "NotRequired[EaseInput]",
    "times": "NotRequired[float]",
    "body": "BodyInput",
})


# What can be made from what is left.
FromLeft = TypedDict("FromLeft", {
    "likely": "Possible",
    "sure": "NotRequired[Possible]",
    "sizes": "NotRequired[list[Possible]]",
    "confidence": "str",
    "sure_percent": "float",
    "searched": "str",
})


# A measurement made from an object: what is taken of it times a factor, plus an ease.
FromObjectInput = TypedDict("FromObjectInput", {
    "ease": "NotRequired[EaseInput]",
    "times": "NotRequired[float]",
    "object": "ObjectInput",
    "as": "Literal['width', 'height', 'thickness', 'around-width', 'around-height', 'cover-width', 'cover-height', 'fold-height']",
})


# What the swatch says; pieces are sized by the reading named in ``used``.
GaugeAnswer = TypedDict("GaugeAnswer", {
    "stitch": "str",
    "before_blocking": "Reading",
    "after_blocking": "NotRequired[Reading]",
    "blocking_change": "NotRequired[BlockingChange]",
    "used": "Literal['before-blocking', 'after-blocking']",
    "published": "NotRequired[Published]",
    "cautions": "list[Caution]",
})


# On course or not, the gauge the work has, what comes of it, and what mends it.
GaugeCheck = TypedDict("GaugeCheck", {
    "course": "Course",
    "gauge": "GaugeHad",
    "finished_if_unchanged": "dict[str, Expected]",
    "corrections": "list[Correction]",
    "ranking": "str",
    "cautions": "list[Caution]",
})


# A plan, where the maker is in it, and what a tape reads there.
GaugeCheckRequest = TypedDict("GaugeCheckRequest", {
    "gauge": "GaugeInput",
    "template": "Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput",
    "measurements": "NotRequired[dict[str, LengthInput | FromBodyInput | FromObjectInput]]",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
    "at": "AtInput",
    "measured": "MeasuredInput",
    "reading": "NotRequired[LengthInput]",
    "companion": "NotRequired[CompanionInput]",
    "hook": "NotRequired[HookInput]",
})


GaugeHad = TypedDict("GaugeHad", {
    "combined": "GaugeToUse",
    "stitch_width": "Weighed",
    "row_height": "Weighed",
    "method": "str",
    "source": "str",
})


# So many stitches over this width, so many rows over this height.
GaugeInput = TypedDict("GaugeInput", {
    "stitch": "Literal['chain', 'slip-stitch', 'single-crochet', 'half-double-crochet', 'double-crochet', 'treble-crochet']",
    "stitches": "float",
    "width": "LengthInput",
    "rows": "float",
    "height": "LengthInput",
    "blocked": "NotRequired[BlockedInput]",
})


# A swatch, and the yarn weight whose published range it is held against.
GaugeRequest = TypedDict("GaugeRequest", {
    "gauge": "GaugeInput",
    "yarn": "NotRequired[YarnWeightInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# In the form that a request takes: send it as the gauge of the rest, or of the next piece.
GaugeToUse = TypedDict("GaugeToUse", {
    "stitch": "str",
    "stitches": "float",
    "width": "Quantity",
    "rows": "float",
    "height": "Quantity",
    "blocked": "NotRequired[BlockedSize]",
})


# Send this as continue_after to /v1/pieces for the rest of the piece in full.
GoOn = TypedDict("GoOn", {
    "section": "str",
    "row": "int",
    "stitches": "int",
    "height": "NotRequired[Quantity]",
})


Hole = TypedDict("Hole", {
    "first_stitch": "int",
    "last_stitch": "int",
})


# The hook in hand.
HookInput = TypedDict("HookInput", {
    "diameter": "LengthInput",
})


HookSize = TypedDict("HookSize", {
    "diameter": "Quantity",
    "us_label": "str",
    "source": "str",
})


HookSizeTable = TypedDict("HookSizeTable", {
    "table": "str",
    "rows": "list[HookSize]",
})


# Which way, and about how far: a first try to swatch, and never a promise.
HookStep = TypedDict("HookStep", {
    "stitch_percent": "float",
    "from_hook": "NotRequired[Quantity]",
    "in_proportion": "NotRequired[Quantity]",
    "try_hook": "NotRequired[Quantity]",
    "us_label": "NotRequired[str]",
    "method": "str",
    "source": "str",
})


# Choices for a piece in the round; the template's own where left out.
InTheRoundInput = TypedDict("InTheRoundInput", {
    "rounds": "NotRequired[Literal['joined', 'spiral']]",
    "offset": "NotRequired[bool]",
    "increases": "NotRequired[int]",
})


# Several stitches into one.
IncreaseInput = TypedDict("IncreaseInput", {
    "increase": "int | Count2To100BySizeInput",
})


Instruction = TypedDict("Instruction", {
    "step": "int",
    "text": "str",
    "stitches": "int",
})


# Stitches into the ring that a first round begins with.
IntoRingInput = TypedDict("IntoRingInput", {
    "into_ring": "int | Count1To1000BySizeInput",
})


# Stitches into a chain space of the row below, which they use up.
IntoSpaceInput = TypedDict("IntoSpaceInput", {
    "into_space": "int | Count1To1000BySizeInput",
})


# Stitches left unworked, as where the work is turned early.
LeaveInput = TypedDict("LeaveInput", {
    "leave": "int | Literal['rest'] | Count0To10000BySizeInput",
})


# A value for each size, by its name.
LengthBySizeInput = TypedDict("LengthBySizeInput", {
    "by_size": "dict[str, LengthInput]",
})


# A length: a number and its unit.
LengthInput = TypedDict("LengthInput", {
    "value": "float",
    "unit": "Literal['mm', 'cm', 'in', 'm', 'yd']",
})


# Yarn that is left, by its length.
LengthLeftInput = TypedDict("LengthLeftInput", {
    "length": "LengthInput",
})


# One line of the pattern: rows worked alike, by a schedule, or as rows before them.
LineInput = TypedDict("LineInput", {
    "first_row": "NotRequired[int | Count1To10000BySizeInput]",
    "last_row": "NotRequired[int | Count1To10000BySizeInput]",
    "work": "NotRequired[list[RepeatInput | PlainInput | IncreaseInput | TogetherInput | SkipInput | ChainInput | IntoSpaceInput | SameStitchInput | IntoRingInput | TurningChainInput | LeaveInput] | WorkBySizeInput]",
    "schedule": "NotRequired[list[AuditRunInput] | ScheduleBySizeInput]",
    "as_rows": "NotRequired[AsRowsInput]",
    "stitches": "NotRequired[int | Count0To10000BySizeInput]",
    "section": "NotRequired[str]",
    "sizes": "NotRequired[list[str]]",
})


# A measurement that a template asks for.
ListedMeasurement = TypedDict("ListedMeasurement", {
    "name": "str",
    "meaning": "str",
    "optional": "NotRequired[bool]",
    "minimum": "NotRequired[Quantity]",
    "maximum": "NotRequired[Quantity]",
    "example": "NotRequired[Quantity]",
    "takes": "NotRequired[ListedTakes]",
})


# What a measurement may be made from, in place of a length.
ListedTakes = TypedDict("ListedTakes", {
    "body": "NotRequired[list[str]]",
    "object": "NotRequired[list[str]]",
})


# A template in the list.
ListedTemplate = TypedDict("ListedTemplate", {
    "name": "str",
    "title": "str",
    "description": "str",
    "measurements": "list[ListedMeasurement]",
    "href": "str",
    "drawing": "str",
    "drawing_in_words": "str",
})


Loop = TypedDict("Loop", {
    "chain": "int",
    "spans": "int",
    "gap": "Quantity",
    "covering_stitches": "int",
    "chain_length": "Quantity",
    "opening": "Quantity",
    "button_girth": "Quantity",
    "ease": "Quantity",
    "ease_percent": "float",
    "button_passes": "bool",
})


LoopPlace = TypedDict("LoopPlace", {
    "edge": "Literal['last-row', 'row-ends']",
    "first": "int",
    "last": "int",
    "whole": "bool",
})


# How a measurement was made from a body or an object.
MadeFrom = TypedDict("MadeFrom", {
    "text": "str",
    "measured": "Quantity",
    "times": "float",
    "ease": "Quantity",
    "source": "str",
})


# A mass: a number and its unit.
MassInput = TypedDict("MassInput", {
    "value": "float",
    "unit": "Literal['g', 'oz']",
})


# Yarn that is left, by its mass.
MassLeftInput = TypedDict("MassLeftInput", {
    "mass": "MassInput",
})


# A measurement as asked and as whole stitches or rows make it.
Measure = TypedDict("Measure", {
    "asked": "NotRequired[Quantity]",
    "finished": "Quantity",
    "difference": "NotRequired[Quantity]",
    "made_from": "NotRequired[MadeFrom]",
})


# What was measured there, before blocking; at least one of the three.
MeasuredInput = TypedDict("MeasuredInput", {
    "width": "NotRequired[LengthInput]",
    "height": "NotRequired[LengthInput]",
    "stitches": "NotRequired[int]",
})


# The largest a measurement can be.
MeasurementFoundInput = TypedDict("MeasurementFoundInput", {
    "measurement": "str",
})


# A measurement that the template asks for.
MeasurementInput = TypedDict("MeasurementInput", {
    "name": "str",
    "meaning": "str",
    "optional": "NotRequired[bool]",
    "minimum": "NotRequired[LengthInput]",
    "maximum": "NotRequired[LengthInput]",
    "example": "NotRequired[LengthInput]",
    "takes": "NotRequired[TakesInput]",
    "default": "NotRequired[str | TermInput | LengthInput]",
})


Moved = TypedDict("Moved", {
    "piece": "str",
    "size": "str",
    "measurement": "str",
    "counted_in": "str",
    "nearest": "int",
    "chosen": "int",
})


# Counts a stitch pattern allows: a multiple of so many, plus so many.
MultipleInput = TypedDict("MultipleInput", {
    "multiple": "int",
    "plus": "NotRequired[int]",
})


# A gauge of the table.
NamedGaugeInput = TypedDict("NamedGaugeInput", {
    "name": "str",
    "gauge": "GaugeInput",
})


# A size of the table.
NamedSizeInput = TypedDict("NamedSizeInput", {
    "name": "str",
    "measurements": "NotRequired[dict[str, LengthInput | FromBodyInput | FromObjectInput]]",
})


# What one colour takes, by length or by mass as what is left was told.
Need = TypedDict("Need", {
    "colour": "NotRequired[str]",
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
    "at_most_length": "NotRequired[Quantity]",
    "at_most_mass": "NotRequired[Quantity]",
})


# The gauge that gives the wanted size, and which way the hook lies.
Needed = TypedDict("Needed", {
    "stitches": "NotRequired[Way]",
    "rows": "NotRequired[Way]",
    "hook": "Literal['larger', 'smaller', 'same', 'opposite']",
    "hooks_to_try": "list[HookSize]",
    "rows_at_present_gauge": "NotRequired[int]",
    "method": "str",
    "source": "str",
})


NotAudited = TypedDict("NotAudited", {
    "field": "str",
    "text": "str",
})


# An object in hand; only the sizes that are made use of need be given.
ObjectInput = TypedDict("ObjectInput", {
    "width": "NotRequired[LengthInput]",
    "height": "NotRequired[LengthInput]",
    "thickness": "NotRequired[LengthInput]",
})


Opening = TypedDict("Opening", {
    "name": "str",
    "row": "int",
    "first_stitch": "int",
    "last_stitch": "int",
    "skipped": "int",
    "chain": "int",
    "height": "Measure",
    "width": "Measure",
})


# An opening across a row, skipped and chained over: a width or a stitch count, not both.
OpeningInput = TypedDict("OpeningInput", {
    "name": "str",
    "height": "str | TermInput | LengthInput",
    "width": "NotRequired[str | TermInput | LengthInput]",
    "stitches": "NotRequired[int]",
    "from_left": "NotRequired[str | TermInput | LengthInput]",
})


# The opening for the button, where several go, and what to look out for.
Openings = TypedDict("Openings", {
    "loop": "NotRequired[Loop]",
    "slit": "NotRequired[Slit]",
    "by_stitches": "NotRequired[Placed]",
    "by_length": "NotRequired[Spaced]",
    "cautions": "list[Caution]",
})


OutlineOff = TypedDict("OutlineOff", {
    "left": "Quantity",
    "right": "Quantity",
})


Piece = TypedDict("Piece", {
    "template": "str",
    "worked": "Literal['flat', 'round']",
    "stitch": "str",
    "foundation": "NotRequired[Foundation]",
    "start": "NotRequired[Start]",
    "sections": "list[Section | RoundSection]",
    "totals": "Totals",
    "measurements": "dict[str, Measure]",
    "finished": "Extent",
    "openings": "list[Opening]",
    "edging": "NotRequired[Edging]",
    "buttonhole": "NotRequired[Buttonhole]",
    "yarn": "NotRequired[Yarn]",
    "checkpoints": "list[Checkpoint]",
    "instructions": "list[Instruction]",
    "cautions": "list[Caution]",
    "continued": "NotRequired[Continued]",
    "colours": "NotRequired[list[Coloured]]",
})


# One piece in one size: all that a piece asked for alone is answered with.
PieceOfSize = TypedDict("PieceOfSize", {
    "template": "str",
    "worked": "Literal['flat', 'round']",
    "stitch": "str",
    "foundation": "NotRequired[Foundation]",
    "start": "NotRequired[Start]",
    "sections": "list[Section | RoundSection]",
    "totals": "Totals",
    "measurements": "dict[str, Measure]",
    "finished": "Extent",
    "openings": "list[Opening]",
    "edging": "NotRequired[Edging]",
    "buttonhole": "NotRequired[Buttonhole]",
    "yarn": "NotRequired[Yarn]",
    "checkpoints": "list[Checkpoint]",
    "instructions": "list[Instruction]",
    "cautions": "list[Caution]",
    "continued": "NotRequired[Continued]",
    "colours": "NotRequired[list[Coloured]]",
    "folded": "list[Folded]",
})


# One piece: gauge, template and measurements, and what is to be made up on it.
PieceRequest = TypedDict("PieceRequest", {
    "gauge": "GaugeInput",
    "template": "Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput",
    "measurements": "NotRequired[dict[str, LengthInput | FromBodyInput | FromObjectInput]]",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
    "edging": "NotRequired[EdgingInput]",
    "yarn": "NotRequired[YarnInput]",
    "colours": "NotRequired[ColoursInput]",
    "yarns": "NotRequired[dict[str, YarnInput]]",
    "uses": "NotRequired[list[Literal['carrying', 'near-children', 'heat']]]",
    "continue_after": "NotRequired[ContinueInput]",
    "terms": "NotRequired[Literal['us', 'uk']]",
    "detail": "NotRequired[Literal['runs', 'rows']]",
})


# One piece in all sizes.
PieceSet = TypedDict("PieceSet", {
    "name": "str",
    "template": "str",
    "instructions": "list[SetInstruction]",
    "sizes": "dict[str, PieceOfSize]",
})


Placed = TypedDict("Placed", {
    "holes": "list[Hole]",
    "gaps": "list[int]",
})


# Several openings along a band, told by its stitches or by its length.
PlacingInput = TypedDict("PlacingInput", {
    "holes": "int",
    "stitches": "NotRequired[int]",
    "end_margin": "NotRequired[int]",
    "hole_stitches": "NotRequired[int]",
    "length": "NotRequired[LengthInput]",
    "end_distance": "NotRequired[LengthInput]",
})


# A stitch into each stitch.
PlainInput = TypedDict("PlainInput", {
    "plain": "int | Literal['to-end'] | ToLastInput | Count0To10000BySizeInput",
})


# A point of a polyline, from where its segment starts.
PointInput = TypedDict("PointInput", {
    "in": "NotRequired[str | ShiftInput | EaseInput]",
    "up": "str | TermInput | LengthInput",
})


# A choice, and what it takes.
Possible = TypedDict("Possible", {
    "name": "str",
    "count": "NotRequired[int]",
    "counted_in": "NotRequired[Literal['rows', 'stitches']]",
    "measures": "NotRequired[Quantity]",
    "needs": "list[Need]",
    "fits": "bool",
    "sure": "bool",
})


# A problem document (RFC 9457).
ProblemDocument = TypedDict("ProblemDocument", {
    "type": "str",
    "title": "str",
    "status": "int",
    "detail": "str",
    "errors": "NotRequired[list[ProblemItem]]",
})


# One thing that is wrong.
ProblemItem = TypedDict("ProblemItem", {
    "pointer": "str",
    "parameter": "NotRequired[str]",
    "code": "str",
    "detail": "str",
    "permitted": "NotRequired[Any]",
})


Project = TypedDict("Project", {
    "sizes": "list[str]",
    "sizes_ordered": "Literal['as-given', 'by-finished-width-of-the-first-piece']",
    "work_order": "list[str]",
    "pieces": "list[PieceSet]",
    "seams": "list[Seam]",
    "moved": "list[Moved]",
    "assembly": "list[AssemblyStep]",
    "yarn": "list[YarnNeeded]",
    "cautions": "list[ProjectCaution]",
})


ProjectCaution = TypedDict("ProjectCaution", {
    "code": "str",
    "text": "str",
    "pieces": "list[str]",
    "sizes": "list[str]",
    "fields": "list[str]",
    "source": "str",
})


# One piece of a project. What it leaves out of gauge and yarn is the project's.
ProjectPieceInput = TypedDict("ProjectPieceInput", {
    "gauge": "NotRequired[GaugeInput]",
    "template": "Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput",
    "measurements": "NotRequired[dict[str, LengthInput | BySizeInput | ReferenceInput]]",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "edging": "NotRequired[EdgingInput]",
    "yarn": "NotRequired[YarnInput]",
    "colours": "NotRequired[ColoursInput]",
    "yarns": "NotRequired[dict[str, YarnInput]]",
    "uses": "NotRequired[list[Literal['carrying', 'near-children', 'heat']]]",
    "name": "str",
})


# Several pieces in several sizes, made to fit each other.
ProjectRequest = TypedDict("ProjectRequest", {
    "sizes": "list[str]",
    "gauge": "NotRequired[GaugeInput]",
    "yarn": "NotRequired[YarnInput]",
    "yarns": "NotRequired[dict[str, YarnInput]]",
    "pieces": "list[ProjectPieceInput]",
    "seams": "NotRequired[list[SeamInput]]",
    "most_off_percent": "NotRequired[float]",
    "terms": "NotRequired[Literal['us', 'uk']]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# Where a gauge sits in the published range for the yarn weight.
Published = TypedDict("Published", {
    "weight_category": "int",
    "name": "str",
    "stitch": "str",
    "stitches_per_4_in": "float",
    "low": "int",
    "high": "int",
    "position": "Literal['looser', 'within', 'tighter', 'not-comparable']",
    "hook_mm": "str",
    "source": "str",
})


# A number and its unit.
Quantity = TypedDict("Quantity", {
    "value": "float",
    "unit": "Literal['mm', 'cm', 'in', 'm', 'yd', 'g', 'oz']",
})


# So many of the first edge to so many of the second.
RatioInput = TypedDict("RatioInput", {
    "of": "int",
    "to": "int",
})


# A gauge in the forms makers use.
Reading = TypedDict("Reading", {
    "stitches_per_10_cm": "float",
    "rows_per_10_cm": "float",
    "stitches_per_4_in": "float",
    "rows_per_4_in": "float",
    "stitch_width": "Quantity",
    "row_height": "Quantity",
    "uncertainty": "Uncertainty",
})


# A measurement taken from another piece: times a factor, plus an ease.
ReferenceInput = TypedDict("ReferenceInput", {
    "piece": "str",
    "measurement": "str",
    "state": "NotRequired[Literal['finished', 'edged']]",
    "times": "NotRequired[float]",
    "plus": "NotRequired[EaseInput]",
})


# The nearest change of one field that makes it right.
Remedy = TypedDict("Remedy", {
    "text": "str",
    "field": "str",
    "count": "NotRequired[int]",
    "length": "NotRequired[Quantity]",
})


# Work that is repeated along the row. Inside it everything has a number.
RepeatInput = TypedDict("RepeatInput", {
    "repeat": "list[PlainInput | IncreaseInput | TogetherInput | SkipInput | ChainInput | IntoSpaceInput | SameStitchInput | IntoRingInput | TurningChainInput | LeaveInput]",
    "times": "int | Literal['to-end'] | ToLastInput | Count0To10000BySizeInput",
})


# A stretch of rounds at one rate; a stretch with no shaping has ``times`` 0.
RoundRun = TypedDict("RoundRun", {
    "rows": "int",
    "every": "int",
    "times": "int",
    "change": "int",
    "stitches_after": "int",
})


RoundSection = TypedDict("RoundSection", {
    "name": "str",
    "first_row": "int",
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
    "schedule": "list[RoundRun]",
    "in_words": "str",
    "finished": "RoundSize",
    "flatness": "NotRequired[Flatness]",
    "row_counts": "NotRequired[list[int]]",
})


# A stretch of rounds. even keeps its count, and needs height, rounds or reaches; disc grows flat, and needs to_diameter or to_circumference; cone goes to a width or count, and needs height or rounds; profile follows its segments.
RoundSectionInput = TypedDict("RoundSectionInput", {
    "name": "str",
    "shape": "Literal['even', 'disc', 'cone', 'profile']",
    "height": "NotRequired[str | TermInput | LengthInput]",
    "rounds": "NotRequired[int]",
    "reaches": "NotRequired[str | TermInput | LengthInput]",
    "to_diameter": "NotRequired[str | TermInput | LengthInput]",
    "to_circumference": "NotRequired[str | TermInput | LengthInput]",
    "to_stitches": "NotRequired[int]",
    "profile": "NotRequired[list[SegmentInput]]",
    "increases": "NotRequired[int]",
    "closes": "NotRequired[bool]",
})


RoundSize = TypedDict("RoundSize", {
    "circumference_at_start": "Quantity",
    "circumference_at_end": "Quantity",
    "diameter_at_end": "Quantity",
    "along_fabric": "Quantity",
    "height": "Quantity",
})


# A piece in the round as a document: what it measures, its start, and its sections.
RoundTemplateInput = TypedDict("RoundTemplateInput", {
    "name": "str",
    "title": "str",
    "description": "NotRequired[str]",
    "measurements": "list[MeasurementInput]",
    "start": "StartInput",
    "sections": "list[RoundSectionInput]",
    "rounds": "NotRequired[Literal['joined', 'spiral']]",
    "offset": "NotRequired[bool]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "hazards": "NotRequired[list[Literal['cord']]]",
    "assembly": "NotRequired[list[str]]",
})


RowsChange = TypedDict("RowsChange", {
    "section": "str",
    "planned": "int",
    "rows": "int",
    "change": "int",
})


# The most rows of a section.
RowsOfInput = TypedDict("RowsOfInput", {
    "rows_of": "str",
})


# A stretch of rows shaped at one rate; a stretch with no shaping has ``times`` 0.
Run = TypedDict("Run", {
    "rows": "int",
    "every": "int",
    "times": "int",
    "left": "int",
    "right": "int",
    "stitches_after": "int",
})


# Stitches into the stitch that was worked into last.
SameStitchInput = TypedDict("SameStitchInput", {
    "same_stitch": "int | Count1To100BySizeInput",
})


# A value for each size, by its name.
ScheduleBySizeInput = TypedDict("ScheduleBySizeInput", {
    "by_size": "dict[str, list[AuditRunInput]]",
})


Seam = TypedDict("Seam", {
    "name": "str",
    "edges": "list[SewnEdge]",
    "join": "str",
    "ease_at_most": "int",
    "sizes": "dict[str, SeamCounts]",
})


SeamCounts = TypedDict("SeamCounts", {
    "first": "int",
    "second": "int",
    "ease": "float",
})


# Two edges that are joined.
SeamInput = TypedDict("SeamInput", {
    "name": "str",
    "edges": "list[EdgeInput]",
    "join": "Literal['stitch-for-stitch', 'row-for-row'] | RatioInput",
    "ease_at_most": "NotRequired[int]",
    "sewn": "NotRequired[Literal['mattress', 'whip', 'slip-stitch', 'single-crochet']]",
})


# A seam of the piece, by its length.
SeamLengthInput = TypedDict("SeamLengthInput", {
    "length": "LengthInput",
    "places": "NotRequired[int]",
    "sewn": "NotRequired[Literal['mattress', 'whip', 'slip-stitch', 'single-crochet']]",
})


Section = TypedDict("Section", {
    "name": "str",
    "first_row": "int",
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
    "schedule": "list[Run]",
    "in_words": "str",
    "finished": "SectionSize",
    "row_counts": "NotRequired[list[int]]",
    "outline_off": "NotRequired[OutlineOff]",
})


# A stretch of rows, worked even, tapered (in either direction), or following an outline. A taper goes to exactly one of: to_width, to_stitches, to_point. Its extent is its height where that is asked for; else its rows; else what shaping every so many rows takes. An outline has left and right, or sides for both alike, and no other extent: each edge is told from the end of the row below, in segments from the bottom up, and an edge that is left out goes straight up. It is stretched or squeezed to the nearest whole rows and read at the middle of each, where each edge takes the nearest stitch, ties to the wider row.
SectionInput = TypedDict("SectionInput", {
    "name": "str",
    "shape": "Literal['even', 'taper', 'outline']",
    "height": "NotRequired[str | TermInput | LengthInput]",
    "rows": "NotRequired[int]",
    "every": "NotRequired[int]",
    "to_width": "NotRequired[str | TermInput | LengthInput]",
    "to_stitches": "NotRequired[int]",
    "to_point": "NotRequired[bool]",
    "edges": "NotRequired[Literal['both', 'left', 'right']]",
    "max_change": "NotRequired[int]",
    "right_side_only": "NotRequired[bool]",
    "left": "NotRequired[list[EdgeSegmentInput]]",
    "right": "NotRequired[list[EdgeSegmentInput]]",
    "sides": "NotRequired[list[EdgeSegmentInput]]",
    "row_multiple": "NotRequired[MultipleInput]",
})


SectionSize = TypedDict("SectionSize", {
    "width_at_start": "Quantity",
    "width_at_end": "Quantity",
    "height": "Quantity",
})


# A stretch of a profile, from where the one before it ends.
SegmentInput = TypedDict("SegmentInput", {
    "out": "str | SignedTermInput | EaseInput",
    "up": "str | SignedTermInput | EaseInput",
    "bend": "NotRequired[Literal['line', 'level-first', 'upright-first']]",
})


SetInstruction = TypedDict("SetInstruction", {
    "step": "int",
    "text": "str",
    "size": "NotRequired[str]",
    "stitches": "list[int]",
})


SewnEdge = TypedDict("SewnEdge", {
    "piece": "str",
    "edge": "str",
    "section": "NotRequired[str]",
    "counted_in": "str",
})


ShapingAnswer = TypedDict("ShapingAnswer", {
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
    "schedule": "list[Run]",
    "in_words": "str",
    "height": "NotRequired[Measure]",
    "row_counts": "NotRequired[list[int]]",
})


# From so many stitches to so many, over rows, over a height, or every so many rows.
ShapingRequest = TypedDict("ShapingRequest", {
    "from": "int",
    "to": "int",
    "rows": "NotRequired[int]",
    "height": "NotRequired[LengthInput]",
    "every": "NotRequired[int]",
    "gauge": "NotRequired[GaugeInput]",
    "edges": "NotRequired[Literal['both', 'left', 'right']]",
    "right_side_only": "NotRequired[bool]",
    "first_row": "NotRequired[Literal['right-side', 'wrong-side']]",
    "max_change": "NotRequired[int]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "detail": "NotRequired[Literal['runs', 'rows']]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
})


# A length made from a measurement, that may go either way.
ShiftInput = TypedDict("ShiftInput", {
    "measurement": "str",
    "times": "NotRequired[float]",
    "plus": "NotRequired[EaseInput]",
})


# One side to edge, told by its count.
SideInput = TypedDict("SideInput", {
    "name": "str",
    "along": "Literal['foundation', 'last-row', 'row-ends']",
    "places": "int",
    "length": "NotRequired[LengthInput]",
    "corner": "NotRequired[bool]",
})


# A length made from a measurement, which may be taken off as well as added.
SignedTermInput = TypedDict("SignedTermInput", {
    "measurement": "str",
    "times": "NotRequired[float]",
    "plus": "NotRequired[EaseInput]",
})


# A row for every pairing of a gauge and a size, gauge by gauge.
SizeTable = TypedDict("SizeTable", {
    "template": "str",
    "gauges": "list[str]",
    "sizes": "list[str]",
    "made": "int",
    "refused": "int",
    "rows": "list[TableRow]",
    "cautions": "list[TableCaution]",
})


# One template at several gauges and in several sizes; what else is told is for all.
SizeTableRequest = TypedDict("SizeTableRequest", {
    "template": "Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
    "gauges": "list[NamedGaugeInput]",
    "sizes": "list[NamedSizeInput]",
    "edging": "NotRequired[EdgingInput]",
    "yarn": "NotRequired[YarnInput]",
})


# The largest of several sizes: the one that takes the most yarn.
SizesFoundInput = TypedDict("SizesFoundInput", {
    "sizes": "dict[str, dict[str, LengthInput]]",
})


# Stitches that are passed over.
SkipInput = TypedDict("SkipInput", {
    "skip": "int | Count0To10000BySizeInput",
})


Slit = TypedDict("Slit", {
    "direction": "Literal['across', 'along']",
    "skipped": "int",
    "chain": "int",
    "stitches_worked_back": "int",
    "length": "Quantity",
    "button_girth": "Quantity",
    "ease": "Quantity",
    "stretch_needed_percent": "float",
    "stretch_allowed_percent": "float",
    "edge_distance": "Quantity",
    "button_passes": "bool",
})


SlitPlace = TypedDict("SlitPlace", {
    "row": "int",
    "first_stitch": "int",
    "last_stitch": "int",
    "last_row": "int",
})


Spaced = TypedDict("Spaced", {
    "spacing": "NotRequired[Quantity]",
    "centres": "list[Quantity]",
})


Start = TypedDict("Start", {
    "kind": "str",
    "chain": "NotRequired[int]",
    "first_stitch_in_chain": "NotRequired[int]",
    "turning_chain": "int",
    "turning_chain_counts": "bool",
    "stitches": "int",
    "side_stitches": "NotRequired[int]",
})


# How the first round begins: a ring takes no size, a closed chain one, an oval two.
StartInput = TypedDict("StartInput", {
    "kind": "Literal['ring', 'chain', 'oval']",
    "circumference": "NotRequired[str | TermInput | LengthInput]",
    "stitches": "NotRequired[int]",
    "length": "NotRequired[str | TermInput | LengthInput]",
    "width": "NotRequired[str | TermInput | LengthInput]",
})


# An opening that the pattern states, and the button that is to pass.
StatedClosureInput = TypedDict("StatedClosureInput", {
    "name": "str",
    "kind": "Literal['loop', 'slit']",
    "button": "ButtonInput",
    "chains": "NotRequired[int | Count1To200BySizeInput]",
    "spans": "NotRequired[int | Count1To200BySizeInput]",
    "skipped": "NotRequired[int | Count1To200BySizeInput]",
    "stretch_percent": "NotRequired[float]",
})


# A finished measurement that the pattern states.
StatedMeasurementInput = TypedDict("StatedMeasurementInput", {
    "name": "str",
    "measures": "Literal['width', 'height', 'circumference', 'diameter']",
    "at": "NotRequired[Literal['foundation', 'last-row', 'widest']]",
    "section": "NotRequired[str]",
    "stated": "LengthInput | LengthBySizeInput",
})


StitchCheck = TypedDict("StitchCheck", {
    "expected": "int",
    "counted": "int",
    "difference": "int",
    "verdict": "Literal['on-course', 'over', 'under']",
})


StitchTerm = TypedDict("StitchTerm", {
    "name": "str",
    "us": "str",
    "us_abbreviation": "str",
    "uk": "str",
    "uk_abbreviation": "str",
    "turning_chain": "NotRequired[int]",
    "other_turning_chain": "NotRequired[int]",
    "turning_chain_counts": "NotRequired[bool]",
    "source": "str",
})


StitchTermTable = TypedDict("StitchTermTable", {
    "table": "str",
    "rows": "list[StitchTerm]",
})


Stripe = TypedDict("Stripe", {
    "colour": "str",
    "rows": "int",
})


# Rows of one colour.
StripeRowsInput = TypedDict("StripeRowsInput", {
    "colour": "str",
    "rows": "int",
})


# Colours in turn, from the first row of a section and over again to its last.
StripesInput = TypedDict("StripesInput", {
    "section": "NotRequired[str]",
    "repeat": "list[StripeRowsInput]",
})


# The same piece in another yarn: at the same gauge it takes the same length.
Substitute = TypedDict("Substitute", {
    "ball": "Ball",
    "length": "Quantity",
    "mass": "Quantity",
    "balls": "int",
    "balls_at_most": "int",
    "tex": "float",
    "heavier_percent": "NotRequired[float]",
})


# Another yarn to make the same from, at the same gauge.
SubstituteInput = TypedDict("SubstituteInput", {
    "ball": "BallInput",
})


# A swatch and the yarn it took, foundation chain and all: its mass, or its length unravelled. Its size is told by width and height, or (surer) by the stitches and rows counted.
SwatchYarnInput = TypedDict("SwatchYarnInput", {
    "width": "NotRequired[LengthInput]",
    "height": "NotRequired[LengthInput]",
    "stitches": "NotRequired[int]",
    "rows": "NotRequired[int]",
    "mass": "NotRequired[MassInput]",
    "unravelled_length": "NotRequired[LengthInput]",
})


# A caution, told once, with the pairings that it is about.
TableCaution = TypedDict("TableCaution", {
    "code": "str",
    "text": "str",
    "gauges": "list[str]",
    "sizes": "list[str]",
    "field": "str",
    "source": "str",
})


TableRefusal = TypedDict("TableRefusal", {
    "pointer": "str",
    "code": "str",
    "detail": "str",
})


# One pairing: what the piece comes to, or why it cannot be made.
TableRow = TypedDict("TableRow", {
    "gauge": "str",
    "size": "str",
    "stitch": "str",
    "chain": "NotRequired[int]",
    "stitches": "NotRequired[int]",
    "rows": "NotRequired[int]",
    "sections": "list[TableSection]",
    "measurements": "NotRequired[dict[str, Measure]]",
    "finished": "NotRequired[Extent]",
    "edging_stitches": "NotRequired[int]",
    "yarn_length": "NotRequired[Quantity]",
    "yarn_interval": "NotRequired[list[Quantity]]",
    "balls": "NotRequired[int]",
    "problem": "NotRequired[list[TableRefusal]]",
})


TableSection = TypedDict("TableSection", {
    "name": "str",
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
    "in_words": "str",
    "schedule": "list[Run | RoundRun]",
})


# What a measurement may be made from, in place of a length.
TakesInput = TypedDict("TakesInput", {
    "body": "NotRequired[list[Literal['head', 'hand-round', 'hand-length', 'wrist', 'ball-of-foot', 'foot-length', 'cross-back', 'arm-to-underarm', 'upper-arm', 'armhole-depth', 'back-waist', 'bust']]]",
    "object": "NotRequired[list[Literal['width', 'height', 'thickness', 'around-width', 'around-height', 'cover-width', 'cover-height', 'fold-height']]]",
})


TapeCheck = TypedDict("TapeCheck", {
    "expected": "Quantity",
    "read": "Quantity",
    "difference": "Quantity",
    "tolerance": "Quantity",
    "reading": "Quantity",
    "verdict": "Literal['on-course', 'over', 'under']",
})


# A piece as a document: what it measures, how it begins, and its sections bottom to top.
TemplateInput = TypedDict("TemplateInput", {
    "name": "str",
    "title": "str",
    "description": "NotRequired[str]",
    "measurements": "list[MeasurementInput]",
    "foundation": "FoundationPlanInput",
    "sections": "list[SectionInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "closure_at": "NotRequired[Literal['last-row', 'row-ends']]",
    "openings": "NotRequired[list[OpeningInput]]",
    "folds": "NotRequired[list[FoldInput]]",
    "assembly": "NotRequired[list[str]]",
    "hazards": "NotRequired[list[Literal['cord']]]",
})


# The built-in templates.
TemplatesAnswer = TypedDict("TemplatesAnswer", {
    "templates": "list[ListedTemplate]",
})


# A length made from a measurement: times a factor, plus an ease.
TermInput = TypedDict("TermInput", {
    "measurement": "str",
    "times": "NotRequired[float]",
    "plus": "NotRequired[EaseInput]",
})


# As far as so many stitches before the end of the row.
ToLastInput = TypedDict("ToLastInput", {
    "to_last": "int | Count0To10000BySizeInput",
})


# Several stitches worked together into one.
TogetherInput = TypedDict("TogetherInput", {
    "together": "int | Count2To100BySizeInput",
})


Totals = TypedDict("Totals", {
    "rows": "int",
    "stitches": "int",
})


# The chains a row begins with: those that count stand on the first stitch of the row below.
TurningChainInput = TypedDict("TurningChainInput", {
    "turning_chain": "Literal['counts', 'does-not-count']",
})


Uncertainty = TypedDict("Uncertainty", {
    "stitches_per_10_cm": "float",
    "rows_per_10_cm": "float",
    "stitches_percent": "float",
    "rows_percent": "float",
    "method": "str",
})


# The size that the counts as written should come to.
WantedInput = TypedDict("WantedInput", {
    "width": "NotRequired[LengthInput]",
    "height": "NotRequired[LengthInput]",
    "hook": "NotRequired[LengthInput]",
})


# One direction of the fabric: what the counts come to, and what they should.
Way = TypedDict("Way", {
    "counted": "int",
    "now": "Quantity",
    "wanted": "Quantity",
    "factor": "float",
    "over": "Quantity",
    "needed": "float",
    "needed_per_10_cm": "float",
    "direction": "Literal['larger', 'smaller', 'same']",
})


# One size by the swatch and by the work, and the two weighed together.
Weighed = TypedDict("Weighed", {
    "swatch": "Quantity",
    "swatch_off": "Quantity",
    "work": "NotRequired[Quantity]",
    "work_off": "NotRequired[Quantity]",
    "combined": "Quantity",
    "interval": "list[Quantity]",
    "weight_of_work_percent": "float",
})


# A value for each size, by its name.
WorkBySizeInput = TypedDict("WorkBySizeInput", {
    "by_size": "dict[str, list[RepeatInput | PlainInput | IncreaseInput | TogetherInput | SkipInput | ChainInput | IntoSpaceInput | SameStitchInput | IntoRingInput | TurningChainInput | LeaveInput]]",
})


# A count that stands apart: a buttonhole's span, stitches of an edging.
WrittenCountInput = TypedDict("WrittenCountInput", {
    "name": "str",
    "what": "Literal['stitches', 'rows']",
    "count": "int",
    "multiple": "NotRequired[MultipleInput]",
})


WrittenCounts = TypedDict("WrittenCounts", {
    "rows": "int",
    "stitches_at_start": "int",
    "stitches_at_end": "int",
})


# What the first row is worked into.
WrittenFoundationInput = TypedDict("WrittenFoundationInput", {
    "chain": "NotRequired[int | Count1To10000BySizeInput]",
    "first_stitch_in_chain": "NotRequired[int]",
    "turning_chain_counts": "NotRequired[bool]",
    "both_sides": "NotRequired[bool]",
    "stitches": "NotRequired[int | Count1To10000BySizeInput]",
})


# One written piece: what it begins with, its rows, and what is stated of it.
WrittenPieceInput = TypedDict("WrittenPieceInput", {
    "name": "str",
    "worked": "NotRequired[Literal['flat', 'round']]",
    "foundation": "NotRequired[WrittenFoundationInput]",
    "gauge": "NotRequired[GaugeInput]",
    "rows": "list[LineInput]",
    "measurements": "NotRequired[list[StatedMeasurementInput]]",
    "closures": "NotRequired[list[StatedClosureInput]]",
})


# A run of a schedule, in the form that answers have.
WrittenRunInput = TypedDict("WrittenRunInput", {
    "rows": "int",
    "every": "NotRequired[int]",
    "times": "NotRequired[int]",
    "left": "NotRequired[int]",
    "right": "NotRequired[int]",
    "change": "NotRequired[int]",
    "stitches_after": "NotRequired[int]",
})


# Rows as written: even, or shaped to an end count, by a schedule where one is told.
WrittenSectionInput = TypedDict("WrittenSectionInput", {
    "name": "str",
    "rows": "int",
    "stitches_at_end": "NotRequired[int]",
    "schedule": "NotRequired[list[WrittenRunInput]]",
    "edges": "NotRequired[Literal['both', 'left', 'right']]",
})


# Yarn of a piece: all colours together, and each of its own.
Yarn = TypedDict("Yarn", {
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
    "interval": "NotRequired[list[Quantity]]",
    "mass_interval": "NotRequired[list[Quantity]]",
    "interval_percent": "float",
    "method": "Literal['swatch-length', 'swatch-mass', 'loop-length-model', 'weight-category']",
    "method_source": "str",
    "margin_percent": "float",
    "to_buy": "NotRequired[Quantity]",
    "to_buy_mass": "NotRequired[Quantity]",
    "ball": "NotRequired[Ball]",
    "balls": "NotRequired[int]",
    "balls_at_most": "NotRequired[int]",
    "substitute": "NotRequired[Substitute]",
    "parts": "list[YarnPart]",
    "margin_reason": "str",
    "colours": "NotRequired[list[ColourYarn]]",
})


YarnAnswer = TypedDict("YarnAnswer", {
    "yarn": "Yarn",
    "from_left": "NotRequired[FromLeft]",
    "cautions": "list[Caution]",
})


# The yarn's count as its label has it.
YarnCountInput = TypedDict("YarnCountInput", {
    "system": "Literal['tex', 'denier', 'nm', 'ne']",
    "value": "float",
})


# What is known of the yarn; the more, the closer the estimate.
YarnInput = TypedDict("YarnInput", {
    "weight_category": "NotRequired[int]",
    "ball": "NotRequired[BallInput]",
    "count": "NotRequired[YarnCountInput]",
    "wraps_per_inch": "NotRequired[float]",
    "swatch": "NotRequired[SwatchYarnInput]",
    "include_swatch": "NotRequired[bool]",
    "margin_percent": "NotRequired[float]",
    "substitute": "NotRequired[SubstituteInput]",
})


# What is bought of one yarn in one colour. Pieces of one yarn share its balls.
YarnNeeded = TypedDict("YarnNeeded", {
    "colour": "NotRequired[str]",
    "pieces": "list[str]",
    "sizes": "dict[str, Estimate]",
    "in_all": "Estimate",
    "balls_saved": "NotRequired[int]",
})


YarnPart = TypedDict("YarnPart", {
    "part": "str",
    "section": "NotRequired[str]",
    "colour": "NotRequired[str]",
    "length": "NotRequired[Quantity]",
    "mass": "NotRequired[Quantity]",
})


# One piece and its yarn: what to buy; or, with what is left, what can be made from it.
YarnRequest = TypedDict("YarnRequest", {
    "gauge": "GaugeInput",
    "template": "Literal['ball', 'band', 'cap', 'cone', 'cuff', 'cup', 'disc', 'flap-panel', 'gusset', 'oval', 'panel', 'rounded-flap-panel', 'sleeve', 'strap', 'trapezoid', 'triangle', 'tube'] | TemplateInput | RoundTemplateInput",
    "measurements": "NotRequired[dict[str, LengthInput | FromBodyInput | FromObjectInput]]",
    "foundation": "NotRequired[FoundationInput]",
    "stitch_multiple": "NotRequired[MultipleInput]",
    "row_multiple": "NotRequired[MultipleInput]",
    "rounding": "NotRequired[Literal['nearest', 'at-least', 'at-most']]",
    "right_side_only": "NotRequired[bool]",
    "max_change": "NotRequired[int]",
    "in_the_round": "NotRequired[InTheRoundInput]",
    "button": "NotRequired[ButtonInput]",
    "closure": "NotRequired[ClosureInput]",
    "units": "NotRequired[Literal['metric', 'imperial']]",
    "edging": "NotRequired[EdgingInput]",
    "yarn": "NotRequired[YarnInput]",
    "colours": "NotRequired[ColoursInput]",
    "yarns": "NotRequired[dict[str, YarnInput]]",
    "seams": "NotRequired[list[SeamLengthInput]]",
    "left": "NotRequired[ColoursLeftInput | LengthLeftInput | MassLeftInput]",
    "find": "NotRequired[RowsOfInput | MeasurementFoundInput | SizesFoundInput]",
})


YarnWeight = TypedDict("YarnWeight", {
    "category": "int",
    "name": "str",
    "range_stitch": "str",
    "single_crochet_per_4_in": "list[int]",
    "hook_mm": "str",
    "wraps_per_inch": "str",
    "fewest_metres_per_100_g": "NotRequired[int]",
    "most_metres_per_100_g": "NotRequired[int]",
    "note": "NotRequired[str]",
    "source": "str",
})


# The yarn, as far as gauge goes.
YarnWeightInput = TypedDict("YarnWeightInput", {
    "weight_category": "int",
})


YarnWeightTable = TypedDict("YarnWeightTable", {
    "table": "str",
    "rows": "list[YarnWeight]",
})


class Operations:
    """A method an operation; how one is asked is the business of what derives from this."""

    def _ask(self, operation: str, request: Any) -> Any:
        raise NotImplementedError

    def pieces(self, request: PieceRequest) -> Piece:
        """Size one piece."""
        return cast(Piece, self._ask("pieces", request))

    def projects(self, request: ProjectRequest) -> Project:
        """Size a project."""
        return cast(Project, self._ask("projects", request))

    def shaping(self, request: ShapingRequest) -> ShapingAnswer:
        """Spread shaping evenly."""
        return cast(ShapingAnswer, self._ask("shaping", request))

    def edgings(self, request: EdgingRequest) -> EdgingAnswer:
        """Count an edging."""
        return cast(EdgingAnswer, self._ask("edgings", request))

    def buttonholes(self, request: ButtonholeRequest) -> Openings:
        """Fit an opening to a button."""
        return cast(Openings, self._ask("buttonholes", request))

    def yarn(self, request: YarnRequest) -> YarnAnswer:
        """Buy yarn, or use what is left."""
        return cast(YarnAnswer, self._ask("yarn", request))

    def gauge(self, request: GaugeRequest) -> GaugeAnswer:
        """Read a swatch."""
        return cast(GaugeAnswer, self._ask("gauge", request))

    def conversions(self, request: ConversionRequest) -> ConversionAnswer:
        """Convert counts to another gauge."""
        return cast(ConversionAnswer, self._ask("conversions", request))

    def size_tables(self, request: SizeTableRequest) -> SizeTable:
        """Tabulate sizes at several gauges."""
        return cast(SizeTable, self._ask("size-tables", request))

    def audits(self, request: AuditRequest) -> Audit:
        """Audit written rows."""
        return cast(Audit, self._ask("audits", request))

    def gauge_checks(self, request: GaugeCheckRequest) -> GaugeCheck:
        """Check the work against its plan."""
        return cast(GaugeCheck, self._ask("gauge-checks", request))
