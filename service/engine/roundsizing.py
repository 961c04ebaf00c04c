"""The counts of a piece in the round: its start, its sections, what each measurement came to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from math import hypot, pi, sqrt

from .counting import Asked, Scale, asked_for, count, not_in_multiple
from .edgings import Extent
from .errors import Findings, Path, Refusal, Refused
from .foundation import Turning, foundation
from .profile import Profile, profile
from .roundcounts import cone_end, disc_counts, led, rounds_along
from .rounding import MOST_ROWS, MOST_STITCHES, whole
from .roundplans import RoundPlan, RoundTemplate, StartPlan, segments_of
from .rounds import (
    FEWEST_IN_RING,
    Counts,
    Flatness,
    RoundSection,
    RoundSize,
    RoundSized,
    Start,
    along,
    flat_increases,
    flatness,
    runs,
    straight,
)
from .roundwords import in_words

RING_CHAIN = 4
"""Chains of a ring made of chain rather than a loop of yarn. Source: common-practice."""


def build_rounds(
    template: RoundTemplate, asked: Mapping[str, Fraction], turn: Turning, scale: Scale
) -> RoundSized:
    """Size start and sections one upon another; ``asked`` in millimetres.

    Raises Refused with everything that stands in the way. Source: geometry.

    >>> from .templates import MeasurementPlan, Term
    >>> from .roundplans import StartPlan
    >>> base = RoundPlan("base", "disc", to_diameter=Term("width"))
    >>> mat = RoundTemplate("mat", "Mat", (MeasurementPlan("width", "across"),),
    ...     StartPlan("ring"), (base,))
    >>> made = build_rounds(mat, {"width": Fraction(100)}, Turning(1, False),
    ...     Scale(Fraction(5), Fraction(5), every_row=True))
    >>> made.sections[0].row_counts
    (6, 13, 19, 25, 31, 38, 44, 50, 57, 63)
    """
    found = Findings()
    work = _Work(asked, turn, scale, template)
    with found.collecting():
        work.begin(template.start)
    if not found.refusals:
        for i, section in enumerate(template.sections):
            with found.collecting():
                work.add(section, i)
            if found.refusals:
                break
    found.settle()
    assert work.start is not None  # or its refusal has been raised
    widest = max([work.start.stitches, *(c.most for c in work.counts)])
    side = (work.start.side_stitches or 0) * scale.stitch_width
    across = Fraction(widest * float(scale.stitch_width) / pi)
    if side:
        across = 2 * work.rounds * scale.row_height + side
    return RoundSized(
        work.start,
        tuple(work.sections),
        tuple(work.counts),
        work.came_to,
        Extent(across, work.rise),
        work.blunted,
    )


class _Work:
    """The work so far: its stitches, rounds and radius."""

    def __init__(
        self, asked: Mapping[str, Fraction], turn: Turning, scale: Scale, template: RoundTemplate
    ) -> None:
        self.asked, self.turn, self.scale, self.template = asked, turn, scale, template
        self.w, self.h = scale.stitch_width, scale.row_height
        self.start: Start | None = None
        self.stitches = self.rounds = 0
        self.rise = Fraction(0)
        self.sections: list[RoundSection] = []
        self.counts: list[Counts] = []
        self.came_to: dict[str, Fraction] = {}
        self.blunted = False

    @property
    def radius(self) -> float:
        """Of the work as it stands; the straight sides of an oval do not count."""
        side = 2 * (self.start.side_stitches or 0) if self.start else 0
        return max(0, self.stitches - side) * float(self.w) / (2 * pi)

    def asked_for(self, plan: RoundPlan | StartPlan, name: str, path: Path) -> Asked | None:
        return asked_for(getattr(plan, name), self.asked, (*path, name))

    def report(self, asked: Asked | None, came_to: float | Fraction) -> None:
        if asked and asked.term.measurement:
            finished = asked.term.measurement_from(Fraction(came_to))
            self.came_to.setdefault(asked.term.measurement, finished)

    def rows(
        self, asked: Asked, length: Fraction, back: Callable[[Fraction], Fraction] = Fraction
    ) -> int:
        """Rounds of a length along the fabric; ``back`` leads from there to what was asked."""
        along_fabric = replace(asked, size=length, back=back)
        return count(along_fabric, self.h, self.scale.row_multiple, self.scale, "rows")

    def begin(self, plan: StartPlan) -> None:
        side = None
        made = None
        if plan.kind == "chain":
            around = self.asked_for(plan, "circumference", ("start",))
            multiple = self.scale.stitch_multiple
            if around:
                self.stitches = count(around, self.w, multiple, self.scale, "stitches")
                self.report(around, self.stitches * self.w)
            else:
                assert plan.stitches is not None  # check_round_template saw to it
                if not multiple.allows(plan.stitches):
                    path = ("template", "start", "stitches")
                    raise not_in_multiple(path, plan.stitches, "stitches", multiple)
                self.stitches = plan.stitches
        elif plan.kind == "oval":
            side = self._side(plan)
            made = foundation(side + 2, self.turn)
            self.stitches = 2 * side
        chain = made.chain if made else self.stitches if plan.kind == "chain" else None
        self.start = Start(
            plan.kind, chain, made.first_stitch_in_chain if made else None,
            self.turn.chains, self.turn.counts, self.stitches, side,
        )  # fmt: skip

    def _side(self, plan: StartPlan) -> int:
        """Stitches along a straight side: the length over the width."""
        length = self.asked_for(plan, "length", ("start",))
        width = self.asked_for(plan, "width", ("start",))
        assert length is not None
        assert width is not None
        if length.size <= width.size:
            raise Refused(
                Refusal(
                    "oval-not-longer",
                    length.path,
                    "an oval is longer than it is wide: a disc is as long as it is wide",
                    {"minimum": length.limit(width.size + self.w, self.scale.units, up=True)},
                )
            )
        side = max(1, whole((length.size - width.size) / self.w))
        rounds = self.rows(width, width.size / 2, lambda half: 2 * half)
        self.report(length, 2 * rounds * self.h + side * self.w)
        self.report(width, 2 * rounds * self.h)
        return side

    def add(self, plan: RoundPlan, index: int) -> None:
        path: Path = ("sections", index)
        shape = {
            "even": self._even, "disc": self._disc, "cone": self._cone, "profile": self._profile,
        }[plan.shape]  # fmt: skip
        before, radius = self.stitches, self.radius
        counts, rise, flat = shape(plan, path)
        counts = self._sound(counts, ("template", *path))
        self.stitches = counts.last
        first, self.rounds = self.rounds + 1, self.rounds + counts.rounds
        self.rise += rise
        self.counts.append(counts)
        schedule = runs(before, counts)
        self.sections.append(
            RoundSection(
                name=plan.name,
                first_row=first,
                rows=counts.rounds,
                stitches_at_start=before,
                stitches_at_end=counts.last,
                schedule=schedule,
                in_words=in_words(before, schedule, counts),
                finished=RoundSize(
                    Fraction(2 * pi * radius) if not before else before * self.w,
                    counts.last * self.w,
                    Fraction(counts.last * float(self.w) / pi),
                    counts.rounds * self.h,
                    rise,
                ),
                flatness=flat,
                row_counts=tuple(counts) if self.scale.every_row else None,
            )
        )

    def _sound(self, counts: Counts, path: Path) -> Counts:
        """Counts that can be worked: enough in a ring, and not more than are reckoned."""
        if counts.most > MOST_STITCHES or self.rounds + counts.rounds > MOST_ROWS:
            raise Refused(
                Refusal(
                    "too-many", path,
                    f"at most {MOST_STITCHES} stitches and {MOST_ROWS} rounds are reckoned",
                    {"stitches": MOST_STITCHES, "rounds": MOST_ROWS},
                )
            )  # fmt: skip
        if counts.fewest < FEWEST_IN_RING:
            self.blunted = True
            counts = Counts.of(max(FEWEST_IN_RING, n) for n in counts)
        return counts

    def _even(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, None]:
        height = self.asked_for(plan, "height", path)
        reaches = self.asked_for(plan, "reaches", path)
        if height:
            rounds = self.rows(height, height.size)
            self.report(height, rounds * self.h)
        elif reaches:
            left = reaches.size - self.rounds * self.h
            least = reaches.limit((self.rounds + 1) * self.h, self.scale.units, up=True)
            if left < self.h / 2:
                raise Refused(
                    Refusal(
                        "already-longer", reaches.path,
                        f"{self.rounds} rounds already reach this length before the {plan.name}",
                        {"minimum": least},
                    )
                )  # fmt: skip
            below = self.rounds * self.h
            rounds = self.rows(reaches, left, lambda more: below + more)
            self.report(reaches, (self.rounds + rounds) * self.h)
        else:
            rounds = self._fixed(plan.rounds, path)
        return Counts(((self.stitches, rounds),)), rounds * self.h, None

    def _fixed(self, rounds: int | None, path: Path) -> int:
        assert rounds is not None  # check_round_template saw to it
        multiple = self.scale.row_multiple
        if not multiple.allows(rounds):
            raise not_in_multiple(("template", *path, "rounds"), rounds, "rows", multiple)
        return rounds

    def _disc(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, Flatness]:
        """Flat growth: rounds from the radius, increases from the gauge unless they are chosen."""
        across = self.asked_for(plan, "to_diameter", path)
        around = self.asked_for(plan, "to_circumference", path)
        asked = across or around
        assert asked is not None
        radius = asked.size / 2 if across else Fraction(float(asked.size) / (2 * pi))
        before = Fraction(self.radius)

        def back(more: Fraction) -> Fraction:
            end = before + more
            return 2 * end if across else Fraction(2 * pi * float(end))

        rounds = self.rows(asked, radius - before, back)
        flat = flat_increases(self.w, self.h)
        counts = disc_counts(plan, self.stitches, rounds, self.scale)
        reached = 2 * (Fraction(self.radius) + rounds * self.h)
        self.report(across, reached)
        self.report(around, counts[-1] * self.w)
        return Counts.of(counts), Fraction(0), flatness(float(plan.increases or flat), flat)

    def _cone(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, None]:
        across = self.asked_for(plan, "to_diameter", path)
        around = self.asked_for(plan, "to_circumference", path)
        end = cone_end(plan, self.asked, path, self.scale)
        width = end * float(self.w) / (2 * pi)
        height = self.asked_for(plan, "height", path)
        if height:
            wider = width - self.radius

            def back(slant: Fraction) -> Fraction:
                return Fraction(sqrt(max(0.0, float(slant) ** 2 - wider**2)))

            rounds = self.rows(height, Fraction(hypot(float(height.size), wider)), back)
        else:
            rounds = self._fixed(plan.rounds, path)
        rise = Fraction(sqrt(max(0.0, float(rounds * self.h) ** 2 - (width - self.radius) ** 2)))
        self.report(across, end * float(self.w) / pi)
        self.report(around, end * self.w)
        self.report(height, rise)
        return Counts.of(straight(self.stitches, end, rounds)), rise, None

    def _profile(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, None]:
        shape = profile(self.radius, segments_of(plan, self.asked))
        if min(shape.radii) < -float(self.h) / 2:  # less is the rounding of the round below
            raise Refused(
                Refusal("profile-crosses-axis", ("template", *path, "profile"),
                        "the profile passes its own axis: it goes further in than it is wide",
                        {"furthest_in_mm": round(max(shape.radii), 3)})
            )  # fmt: skip
        rounds = rounds_along(Fraction(shape.length), ("template", *path, "profile"), self.scale)
        counts = along(shape, self.w, rounds)
        if plan.closes:
            # The rounds that come to nothing are drawn together instead of worked.
            kept = max((i for i, n in enumerate(counts) if n >= FEWEST_IN_RING), default=0) + 1
            counts = counts[:kept]
        elif counts[-1] < FEWEST_IN_RING:
            raise Refused(
                Refusal("profile-comes-to-nothing", ("template", *path, "profile"),
                        f"the profile ends with {counts[-1]} stitches: let it close, or end wider",
                        {"or": '"closes": true', "fewest_stitches": FEWEST_IN_RING})
            )  # fmt: skip
        else:
            counts = led(counts, self.scale.stitch_multiple)
        self._report_profile(plan, path, shape, counts, rounds)
        way = shape.length * len(counts) / rounds
        return Counts.of(counts), Fraction(shape.height(way)), None

    def _report_profile(
        self, plan: RoundPlan, path: Path, shape: Profile, counts: tuple[int, ...], rounds: int
    ) -> None:
        """A measurement of the profile came to as much more or less as the profile's widest."""
        widest = max(shape.radii)
        wider = max(counts) * float(self.w) / (2 * pi * widest) if widest else 1.0
        longer = float(rounds * self.h) / shape.length
        for j, segment in enumerate(plan.profile):
            for name, scale in (("out", wider), ("up", longer)):
                asked = asked_for(getattr(segment, name), self.asked, (*path, "profile", j, name))
                if asked:
                    self.report(asked, Fraction(float(asked.size) * scale))
