"""The gauge at which counts that stay as they are come to a wanted size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Refusal, Refused
from .exact import Fraction
from .gauge import Gauge
from .standards import HOOK_SIZES, HookSize
from .units import TEN_CM, Fine, Length, System

Direction = Literal["larger", "smaller", "same"]
STEPS = 2
"""Hooks named as a starting point. Source: common-practice."""
HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Wanted:
    """The size that unchanged counts should come to, in millimetres, and the hook in use."""

    width: Length | None = None
    height: Length | None = None
    hook: Fine | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """One direction of the fabric: what the counts come to, and what they should."""

    counted: Annotated[int, "stitches (or rows) that stay as they are"]
    now: Annotated[Length, "what they come to at the gauge they were written for"]
    wanted: Annotated[Length, "what they should come to"]
    factor: Annotated[float, "wanted over now"]
    over: Annotated[Length, "the width (or height) that the gauge was told over"]
    needed: Annotated[float, "stitches (or rows) over that width (or height)"]
    needed_per_10_cm: Annotated[float, "the same, to 10 cm"]
    direction: Annotated[
        Direction,
        "which way the hook goes; same where what is wanted is within half a stitch (or row)",
    ]


@dataclass(frozen=True, slots=True)
class Needed:
    """The gauge that gives the wanted size, and which way the hook lies."""

    stitches: Annotated[Way | None, "across; what the hook is chosen by"]
    rows: Annotated[Way | None, "up; it follows the hook and cannot be set apart from it"]
    hook: Annotated[
        Literal["larger", "smaller", "same", "opposite"],
        "direction for the hook; opposite where width and height ask for different ones",
    ]
    hooks_to_try: Annotated[
        tuple[HookSize, ...], "the next published sizes that way from the hook in use"
    ]
    rows_at_present_gauge: Annotated[
        int | None, "rows that come to the wanted height if the row gauge stays as it is"
    ]
    method: Annotated[str, "what the hooks rest on"]
    source: Annotated[str, "where it stands"]

    def cautions(self) -> tuple[Caution, ...]:
        """What the maker should know of it."""
        if self.hook != "opposite":
            return ()
        assert self.stitches
        text = (
            f"The width asks for a {self.stitches.direction} hook, and the height for another way:"
            " no one hook gives both. Choose the hook by the width, swatch, and count the rows"
            " anew at the row gauge that it gives."
        )
        return (Caution("gauges-pull-apart", text, ("wanted",), "common-practice"),)


METHOD = (
    "No law from hook to gauge is published: the hooks are a place to start from. A larger hook"
    " gives larger stitches; swatch, wash and block it as the piece will be, and measure again."
)


def needed(wanted: Wanted, gauge: Gauge, stitches: int, rows: int, units: System) -> Needed:
    """The gauge at which so many stitches and rows come to the wanted size.

    Raises Refused where nothing is wanted, or a height of no rows. Source: geometry.

    >>> from .gauge import square
    >>> need = needed(Wanted(width=Fraction(250)), square(16, 19), 38, 57, "metric")
    >>> need.hook, round(need.stitches.needed, 2)
    ('larger', 15.2)
    """
    if wanted.width is None and wanted.height is None:
        detail = "say the width that is wanted, the height, or both"
        raise Refused(
            Refusal("nothing-wanted", ("wanted",), detail, {"one_of": ["width", "height"]})
        )
    if wanted.height is not None and not rows:
        detail = "a height needs the rows that are to come to it: give the sections"
        raise Refused(Refusal("height-without-rows", ("sections",), detail, {"add": "sections"}))
    if wanted.width is not None and not stitches:
        detail = "a width needs stitches that are to come to it"
        raise Refused(Refusal("width-without-stitches", ("sections",), detail, {"minimum": 1}))
    across = up = None
    if wanted.width is not None:
        over = gauge.blocked_width or gauge.width
        across = _way(stitches, gauge.stitch_width, wanted.width, over)
    if wanted.height is not None:
        over = gauge.blocked_height or gauge.height
        up = _way(rows, gauge.row_height, wanted.height, over)
    asked = {way.direction for way in (across, up) if way} - {"same"}
    hook: Literal["larger", "smaller", "same", "opposite"] = "same"
    if len(asked) == 2:
        hook = "opposite"
    elif asked:
        (hook,) = asked
    # Width settles the hook where the two pull apart.
    way = across.direction if across and hook == "opposite" else hook
    return Needed(
        stitches=across,
        rows=up,
        hook=hook,
        hooks_to_try=hooks(wanted.hook, way) if wanted.hook else (),
        rows_at_present_gauge=None
        if wanted.height is None
        else max(1, int(wanted.height / gauge.row_height + HALF)),
        method=METHOD,
        source="common-practice",
    )


def _way(counted: int, unit: Fraction, wanted: Fraction, over: Fraction) -> Way:
    now = counted * unit
    needs = over * counted / wanted
    direction: Direction = "larger" if wanted > now else "smaller"
    return Way(
        counted=counted,
        now=now,
        wanted=wanted,
        factor=float(wanted / now),
        over=over,
        needed=float(needs),
        needed_per_10_cm=float(TEN_CM * counted / wanted),
        direction="same" if abs(wanted - now) <= unit * HALF else direction,
    )


def hooks(in_use: Fraction, way: str) -> tuple[HookSize, ...]:
    """The next published sizes that way, nearest first; millimetres. Source: council-standards.

    >>> [float(h.diameter) for h in hooks(Fraction(5), "larger")]
    [5.5, 6.0]
    >>> hooks(Fraction(10), "larger"), hooks(Fraction(5), "same")
    ((), ())
    """
    if way == "larger":
        return tuple(h for h in HOOK_SIZES if h.diameter > in_use)[:STEPS]
    if way == "smaller":
        return tuple(h for h in reversed(HOOK_SIZES) if h.diameter < in_use)[:STEPS]
    return ()
