"""Sizes, yarn and readings in words, as a pattern prints them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil

from ..engine.checkpoints import Checkpoint
from ..engine.exact import Fraction
from ..engine.gauge import Gauge
from ..engine.measures import Measure
from ..engine.openings import Button, Buttonhole
from ..engine.rounding import whole
from ..engine.rowtext import plural
from ..engine.stitches import STITCHES, Terms
from ..engine.units import FOUR_INCHES, GRAMS, MILLIMETRES, TEN_CM, System, written
from ..engine.yarn import Estimate, Yarn
from .paper import Table


def off(before: Fraction, after: Fraction, units: System) -> str:
    """What comes between two lengths as they are written beside it, so that a reader's sum agrees.

    >>> off(Fraction(240), Fraction(475, 2), "metric"), off(Fraction(240), Fraction(240), "metric")
    ('-0.2 cm', '0 cm')
    """
    step = MILLIMETRES["mm"] if units == "metric" else MILLIMETRES["in"] / 8
    steps = whole(after / step) - whole(before / step)
    sign = "-" if steps < 0 else "+" if steps else ""
    return f"{sign}{written(abs(steps) * step, units)}"


def name_of(measurement: str) -> str:
    """A measurement's name in words.

    >>> name_of("flap_depth")
    'flap depth'
    """
    return measurement.replace("_", " ")


def measures_table(measurements: Mapping[str, Measure], units: System) -> Table:
    """What was asked beside what whole stitches and rows make of it."""
    rows = []
    for name, made in measurements.items():
        asked = "not given" if made.asked is None else written(made.asked, units)
        apart = "" if made.asked is None else off(made.asked, made.finished, units)
        rows.append((name_of(name), asked, written(made.finished, units), apart))
    return Table(("measurement", "asked", "finished", "difference"), tuple(rows))


def gauge_words(gauge: Gauge, terms: Terms, units: System, rows: str = "rows") -> str:
    """The gauge in the words of the instructions, with the stitch in full.

    >>> from ..engine.gauge import square
    >>> gauge_words(square(16, 19), "uk", "metric")
    'Tension: 16 double crochet and 19 rows to 10 cm.'
    """
    square, said = (TEN_CM, "10 cm") if units == "metric" else (FOUR_INCHES, "4 in")
    across, up = float(square / gauge.stitch_width), float(square / gauge.row_height)
    blocked = " after blocking" if gauge.blocked_width or gauge.blocked_height else ""
    stitch = STITCHES[gauge.stitch].name(terms).full
    tall = f" and {up:.3g} {rows}" if gauge.kind.makes_rows else ""
    word = "Gauge" if terms == "us" else "Tension"
    return f"{word}: {across:.3g} {stitch}{tall} to {said}{blocked}."


def yarn_length(size: Fraction, units: System) -> str:
    """A length of yarn in whole metres or yards, never too few.

    >>> yarn_length(Fraction(91440), "imperial"), yarn_length(Fraction(91441), "metric")
    ('100 yd', '92 m')
    """
    unit = "m" if units == "metric" else "yd"
    return f"{ceil(size / MILLIMETRES[unit])} {unit}"


def yarn_mass(size: Fraction, units: System) -> str:
    """A mass of yarn in whole grams, or ounces to a tenth, never too little.

    >>> yarn_mass(Fraction(50), "metric"), yarn_mass(Fraction(50), "imperial")
    ('50 g', '1.8 oz')
    """
    if units == "metric":
        return f"{ceil(size)} g"
    return f"{ceil(10 * size / GRAMS['oz']) / 10:g} oz"


def yarn_words(yarn: Estimate, units: System) -> str:
    """The yarn a piece takes, how well that is known, and what to buy; colour by colour."""
    if isinstance(yarn, Yarn) and yarn.colours:
        return "; ".join(f"{one.colour}: {yarn_words(one, units)}" for one in yarn.colours)
    amounts = []
    for amount, ends, told in (
        (yarn.length, yarn.interval, yarn_length),
        (yarn.mass, yarn.mass_interval, yarn_mass),
    ):
        if amount is not None:
            between = f" ({told(ends[0], units)} to {told(ends[1], units)})" if ends else ""
            amounts.append(f"{told(amount, units)}{between}")
    said = f"about {' or '.join(amounts)}" if amounts else "no estimate"
    if yarn.balls is not None and yarn.ball:
        ball = " or ".join(
            told(amount, units)
            for amount, told in ((yarn.ball.length, yarn_length), (yarn.ball.mass, yarn_mass))
            if amount is not None
        )
        said += f"; {plural(yarn.balls, 'ball')} of {ball}"
        if yarn.balls_at_most is not None and yarn.balls_at_most > yarn.balls:
            said += f", {yarn.balls_at_most} if the work takes the most of it"
    return f"{said}; estimated by {name_of(yarn.method.replace('-', '_'))}"


def button_words(button: Button, units: System) -> str:
    """A button by its size.

    >>> button_words(Button(Fraction(18), Fraction(3)), "metric")
    'a button 18 mm across, 3 mm thick'
    """
    thick = ""
    if button.thickness is not None:
        thick = f", {fine(button.thickness, units)} thick"
    return f"a button {fine(button.diameter, units)} across{thick}"


def fine(size: Fraction, units: System) -> str:
    """A small length in millimetres, or inches to a hundredth.

    >>> fine(Fraction(18), "metric"), fine(Fraction(127, 10), "imperial")
    ('18 mm', '0.5 in')
    """
    if units == "metric":
        return f"{round(float(size), 1):g} mm"
    return f"{round(float(size / MILLIMETRES['in']), 2):g} in"


def closure_words(hole: Buttonhole) -> Iterator[str]:
    """What takes the button."""
    if hole.loop:
        loop = hole.loop
        yield (
            f"button loop: {plural(loop.chain, 'chain')} over {loop.spans}, covered with"
            f" {loop.covering_stitches} stitches"
        )
    if hole.slit and hole.slit.direction == "across":
        yield (
            f"buttonhole: {plural(hole.slit.chain, 'chain')} over"
            f" {plural(hole.slit.skipped, 'stitch', 'stitches')} skipped"
        )
    elif hole.slit:
        yield f"buttonhole: an opening up {plural(hole.slit.skipped, 'row')}"
    if not hole.button_passes:
        yield "the button does not pass this opening"


def checkpoint_words(check: Checkpoint, units: System, row: str = "row") -> str:
    """Where to lay a tape, what it should read, and what is near enough."""
    told = []
    for reading, near, way in (
        (check.width, check.width_tolerance, "across"),
        (check.height, check.height_tolerance, "up" if row == "row" else "along the fabric"),
    ):
        if reading is not None and near is not None:
            told.append(f"{written(reading, units)} {way}, {written(near, units)} either way")
    counted = plural(check.stitches, "stitch", "stitches")
    return f"after {row} {check.after_row} ({check.where}), {counted}: {'; '.join(told)}"
