"""What of a piece takes yarn: stitches by kind, sewing and tails; part by part, with its colour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from .beginning import left_of
from .edgings import Edging
from .exact import Fraction
from .foundation import Turning
from .openings import Buttonhole
from .roundbegun import rounds_left
from .rounds import RoundRun, RoundSection, RoundSized
from .roundsizing import RING_CHAIN
from .sections import Section
from .shaping import Run
from .sizing import PieceOrder, Sized
from .stitches import STITCHES
from .stripes import ColourRows, Stretch, after, by_colour, colour_at
from .yarnmodel import RATIO_SHARES, SHARES_OF_ONE, YARN_RATIO
from .yarnorder import ColoursOrder, Sewn

TAIL = Fraction(150)
"""Millimetres of tail to weave in. Source: common-practice."""
TIMES_A_SEAM = 3
"""Sewing yarn over the length of a mattress or whip-stitch seam. Source: common-practice."""


_OWN = Fraction(1)


@dataclass(frozen=True, slots=True)
class Part:
    """Stitches by kind, and plain lengths of yarn in millimetres, of one colour.

    scale: yarn in its stitches over that of the same stitches at the piece's own gauge.
    """

    name: str
    colour: str = ""
    stitches: Mapping[str, int] = field(default_factory=dict)
    length: Fraction = Fraction(0)
    section: str | None = None
    scale: Fraction = _OWN

    @property
    def units(self) -> Fraction:
        """Yarn in its stitches, in single crochet of the piece's gauge."""
        singles = 0
        for kind, number in self.stitches.items():
            singles += number * RATIO_SHARES[kind]
        in_singles = Fraction(singles, SHARES_OF_ONE)
        return in_singles if self.scale is _OWN else in_singles * self.scale


@dataclass(frozen=True, slots=True)
class Work:
    """All that is made of one piece, and the turning chain its swatch would have."""

    parts: tuple[Part, ...]
    turn: Turning


def fabric(stitch: str, stitches: int, lost: int = 0) -> dict[str, int]:
    """Stitches by kind. Two worked together are two stitches that share a top, which is a chain's
    worth: so each stitch lost takes a stitch less a chain. Source: common-practice.

    >>> fabric("single-crochet", 10, lost=2)
    {'single-crochet': 12, 'chain': -2}
    """
    return {stitch: stitches + lost, **({"chain": -lost} if lost and stitch != "chain" else {})}


def stretches(section: Section | RoundSection) -> Iterator[Stretch]:
    """The rows of a section, like rows together. Source: common-practice.

    >>> from .counting import Scale
    >>> from .sections import build
    >>> from .templates import SectionPlan
    >>> plan = SectionPlan("flap", "taper", to_point=True)
    >>> made = build((plan,), 6, {}, Scale(Fraction(4), Fraction(3)))
    >>> [(s.stitches, s.rows, s.lost) for s in stretches(made[0])]
    [(4, 1, 2), (2, 1, 2)]
    """
    left = section.rows
    for run in section.schedule:
        left -= run.rows
        stitches = run.stitches_after - run.times * run.change
        for _ in range(run.times):
            if run.every > 1:
                yield Stretch(stitches, run.every - 1)
            stitches += run.change
            yield Stretch(stitches, 1, lost_in(run))
        if rest := run.rows - run.every * run.times:
            yield Stretch(stitches, rest)
    if left:
        yield Stretch(section.stitches_at_end, left)


def lost_in(run: Run | RoundRun) -> int:
    """Stitches worked together away in one shaping row of the run. Source: common-practice.

    >>> lost_in(Run(4, 1, 4, -1, 1, 8))
    1
    """
    changes = (run.left, run.right) if isinstance(run, Run) else (run.change,)
    return sum(max(0, -change) for change in changes)


def _in_one_colour(section: Section | RoundSection) -> ColourRows:
    """The whole section, in closed form."""
    stitches = lost = 0
    left = section.rows
    for run in section.schedule:
        before = run.stitches_after - run.times * run.change
        events = run.times * (run.times - 1) // 2 * run.change
        stitches += run.every * (run.times * before + events) + run.times * run.change
        stitches += (run.rows - run.every * run.times) * run.stitches_after
        lost += run.times * lost_in(run)
        left -= run.rows
    stitches += left * section.stitches_at_end
    return ColourRows(section.rows, stitches, lost, 1, 0)


def seam(
    name: str, length: Fraction, places: int, sewn: Sewn = "mattress", colour: str = ""
) -> Part:
    """A seam: sewn, three times its length; crocheted, a stitch a place. Two tails each.

    length in millimetres; places: stitches or rows along one edge. Source: common-practice.

    >>> seam("seam", Fraction(200), 38).length, seam("seam", Fraction(200), 38, "whip").stitches
    (Fraction(900, 1), {})
    """
    if sewn in YARN_RATIO:
        return Part(name, colour, {sewn: places}, 2 * TAIL)
    return Part(name, colour, {}, TIMES_A_SEAM * length + 2 * TAIL)


@dataclass(slots=True)
class _Counting:
    """A piece being counted up."""

    order: PieceOrder
    sized: Sized | RoundSized
    turn: Turning
    colours: ColoursOrder
    parts: list[Part] = field(default_factory=list)
    bands: dict[str, int] = field(default_factory=dict)
    last: str | None = None
    on_the_hook: str | None = None

    @property
    def turns(self) -> bool:
        """Whether rows (or rounds) begin with a turning chain."""
        return isinstance(self.sized, Sized) or (
            getattr(self.order.template, "rounds", "") == "joined"
        )

    def take_up(self, first: str, last: str, bands: Mapping[str, int]) -> None:
        for colour, times in bands.items():
            self.bands[colour] = self.bands.get(colour, 0) + times
        if first == self.last:
            self.bands[first] -= 1
        self.last = last

    def colour_of(self, row: int) -> str:
        sections: tuple[Section | RoundSection, ...] = self.sized.sections
        here = next(s for s in reversed(sections) if s.first_row <= row)
        return colour_at(self.colours.repeat_of(here.name), row - here.first_row + 1)

    @property
    def worked(self) -> int:
        """Rows that are worked already: only what is left takes yarn."""
        return self.sized.begun.rows if self.sized.begun else 0

    @property
    def sections(self) -> tuple[Section | RoundSection, ...]:
        """What is left of each section."""
        sized, width, height = (
            self.sized,
            self.order.gauge.stitch_width,
            self.order.gauge.row_height,
        )
        if isinstance(sized, Sized):
            return left_of(sized.sections, sized.begun, width, height)
        return rounds_left(sized, width, height)

    def start(self) -> None:
        sized = self.sized
        if self.worked:
            self.last = self.on_the_hook = self.colour_of(self.worked)
            self.bands[self.last] = 1
            return
        first = self.colour_of(1) if sized.sections else self.colours.main
        if isinstance(sized, Sized):
            chain, closed = sized.foundation.chain, 0
        elif sized.start.kind == "ring":
            chain, closed = RING_CHAIN, 1
        else:
            chain, closed = sized.start.chain or 0, int(sized.start.kind == "chain")
        made = {"chain": chain, **({"slip-stitch": closed} if closed else {})}
        self.parts.append(Part("foundation", first, made))
        self.take_up(first, first, {first: 1})

    def section(self, section: Section | RoundSection) -> None:
        repeat = self.colours.repeat_of(section.name)
        whole: tuple[Section | RoundSection, ...] = self.sized.sections
        first = next(s.first_row for s in reversed(whole) if s.first_row <= section.first_row)
        repeat = after(repeat, section.first_row - first)
        names = dict.fromkeys(colour for colour, _ in repeat)
        if len(names) == 1:
            found = {next(iter(names)): _in_one_colour(section)}
        else:
            found = by_colour(repeat, stretches(section), section.rows)
        stitch, flat = self.order.gauge.stitch, isinstance(self.sized, Sized)
        for colour, rows in found.items():
            turned = rows.rows if self.turns else 0
            worked = rows.stitches - turned * self.turn.counts
            self.parts.append(
                Part("fabric", colour, fabric(stitch, worked, rows.lost), section=section.name)
            )
            if flat and section.first_row == 1 and colour == colour_at(repeat, 1):
                turned -= 1  # the chains that the first row turns with are the foundation's
            if turned:
                chains = {"chain": turned * self.turn.chains}
                if not flat:
                    chains["slip-stitch"] = turned
                self.parts.append(Part("turning chains", colour, chains))
            if rows.idle and self.colours.carried:
                passed = rows.idle * self.order.gauge.row_height
                self.parts.append(Part("yarn carried up", colour, {}, passed))
        carried = self.colours.carried
        self.take_up(
            colour_at(repeat, 1),
            colour_at(repeat, section.rows),
            {colour: 1 if carried else rows.bands for colour, rows in found.items()},
        )

    def opened(self, row: int, skipped: int, chains: int) -> None:
        made = {self.order.gauge.stitch: -skipped, "chain": chains}
        self.parts.append(Part("openings", self.colour_of(row), made))

    def edging(self, edged: Edging) -> None:
        own, gauge = self.order.edging.gauge if self.order.edging else None, self.order.gauge
        kind, rounds = STITCHES[edged.stitch], len(edged.rounds)
        scale = _OWN
        if own:  # by the model, yarn in a stitch is as its width times its height
            area, at = own.stitch_width * own.row_height, gauge.stitch_width * gauge.row_height
            scale = area / at * YARN_RATIO[gauge.stitch] / YARN_RATIO[own.stitch]
        chains = (edged.corner_chains + kind.turning_chain) * rounds
        colour = self.colours.edging or self.colours.main
        made = {edged.stitch: sum(edged.rounds), "chain": chains}
        made["slip-stitch"] = made.get("slip-stitch", 0) + rounds
        self.parts.append(Part("edging", colour, made, scale=scale))
        if isinstance(self.sized, Sized) and self.sized.totals.rows % 2 == 0:
            self.last = None  # the last row ends at the right edge; the edging begins at the left
        self.take_up(colour, colour, {colour: 1})

    def closure(self, hole: Buttonhole) -> None:
        if hole.loop:
            colour = self.colours.loop or self.last or self.colours.main
            made = {
                "chain": hole.loop.chain,
                "single-crochet": hole.loop.covering_stitches,
                "slip-stitch": 2,
            }
            self.parts.append(Part("button loop", colour, made))
            self.take_up(colour, colour, {colour: 1})
        across = hole.slit and hole.slit.direction == "across"
        if hole.slit and hole.slit_place and across and hole.slit_place.row > self.worked:
            self.opened(hole.slit_place.row, hole.slit.skipped, hole.slit.chain)

    def folds(self) -> None:
        sections = {s.name: s for s in self.sized.sections}
        for fold in self.order.template.folds:
            section = sections.get(fold.section)
            if section and fold.sides_joined:
                sides = 2 * (fold.layers - 1)
                along = sides * section.rows * self.order.gauge.row_height / fold.layers
                one = seam("seams", along, 0, colour=self.colours.seams or self.colours.main)
                self.parts.append(
                    Part("seams", one.colour, {}, one.length + (sides - 1) * 2 * TAIL)
                )

    def tails(self) -> None:
        for colour, bands in self.bands.items():
            ends = 2 * bands - (colour == self.on_the_hook)  # what is on the hook has begun
            self.parts.append(Part("tails", colour, {}, ends * TAIL))


def work_of(
    order: PieceOrder,
    sized: Sized | RoundSized,
    turn: Turning,
    edged: Edging | None = None,
    hole: Buttonhole | None = None,
) -> Work:
    """Everything of a piece that takes yarn, worked flat or in the round; what is left of it, where
    it goes on from a row.

    Two tails for each stretch of one colour: it is begun and broken off once. Yarn carried up
    the edge is broken off once a section, and takes the height it passes. Source: common-practice.

    >>> from .gauge import square
    >>> from .sizing import size
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("tab", "even", rows=5),))
    >>> order = PieceOrder(square(16, 19), tab, {})
    >>> sized = size(order)
    >>> [(p.name, dict(p.stitches)) for p in work_of(order, sized, sized.turn).parts][:2]
    [('foundation', {'chain': 9}), ('fabric', {'single-crochet': 40})]
    """
    count = _Counting(order, sized, turn, order.colours or ColoursOrder(""))
    count.start()
    for section in count.sections:
        count.section(section)
    for opening in sized.openings if isinstance(sized, Sized) else ():
        if opening.row > count.worked:
            count.opened(opening.row, opening.skipped, opening.chain)
    if edged:
        count.edging(edged)
    if hole:
        count.closure(hole)
    count.folds()
    count.tails()
    return Work(tuple(count.parts), turn)
