"""The counts of a piece in the round: its start, its sections, what each measurement came to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import hypot, pi, sqrt

from .counting import Asked, Scale, asked_for, not_in_multiple
from .edgings import Extent
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .foundation import Turning
from .profile import Profile, profile
from .roundbegun import RoundBegun, joined
from .roundcounts import cone_end, disc_counts, disc_end, led, rounds_along
from .rounding import MOST_ROWS, MOST_STITCHES
from .roundplans import RoundPlan, RoundTemplate, segments_of
from .rounds import (
    FEWEST_IN_RING,
    Counts,
    Flatness,
    RoundSection,
    RoundSize,
    RoundSized,
    along,
    flat_increases,
    flatness,
    runs,
    straight,
)
from .roundwords import in_words
from .roundwork import Work
from .working import PIECE, ROUND, SECTION, spend

RING_CHAIN = 4
"""Chains of a ring made of chain rather than a loop of yarn. Source: common-practice."""


def build_rounds(
    template: RoundTemplate,
    asked: Mapping[str, Fraction],
    turn: Turning,
    scale: Scale,
    begun: RoundBegun | None = None,
) -> RoundSized:
    """Size start and sections one upon another, keeping what is ``begun``; lengths in millimetres.

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
    spend(PIECE + SECTION * len(template.sections), ("template",))
    found = Findings()
    work = _Work(asked, turn, scale, template, begun)
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
        across = 2 * work.along_fabric + side
    return RoundSized(
        work.start,
        tuple(work.sections),
        tuple(work.counts),
        work.came_to,
        Extent(across, work.rise),
        work.blunted,
        begun,
    )


class _Work(Work):
    """Its sections, one upon another."""

    def add(self, plan: RoundPlan, index: int) -> None:
        path: Path = ("sections", index)
        shape = {
            "even": self._even, "disc": self._disc, "cone": self._cone, "profile": self._profile,
        }[plan.shape]  # fmt: skip
        before, hand = self.stitches, self.hand
        self.ahead = self.begun.ahead(index, self.h) if self.begun and hand else Fraction(0)
        counts, rise, flat = shape(plan, path)
        if hand:
            counts = self._sound(counts, ("template", *path))
            counts = hand if self.ended else joined(hand, counts, self.rounds + 1, plan.name)
        spend(ROUND * counts.rounds, ("template", *path))
        counts = self._sound(counts, ("template", *path))
        self.stitches = counts.last
        first, self.rounds = self.rounds + 1, self.rounds + counts.rounds
        self.rise += rise
        along_fabric = counts.rounds * self.h + self.ahead
        self.along_fabric += along_fabric
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
                    before * self.w,
                    counts.last * self.w,
                    Fraction(counts.last * float(self.w) / pi),
                    along_fabric,
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
            counts = Counts.of([n if n > FEWEST_IN_RING else FEWEST_IN_RING for n in counts])
        return counts

    def _even(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, None]:
        height = self.asked_for(plan, "height", path)
        reaches = self.asked_for(plan, "reaches", path)
        if height:
            rounds = self.left(height, height.size)
            self.report(height, rounds * self.h + self.ahead)
        elif reaches:
            rounds = self._reaching(plan, reaches)
            self.report(reaches, self.along_fabric + rounds * self.h + self.ahead)
        else:
            rounds = self._fixed(plan.rounds, path)
        stitches = self.hand.last if self.hand else self.stitches
        return Counts(((stitches, rounds),)), rounds * self.h + self.ahead, None

    def _reaching(self, plan: RoundPlan, reaches: Asked) -> int:
        left = reaches.size - self.along_fabric
        least = reaches.limit(self.along_fabric + self.h, self.scale.units, up=True)
        if left < self.h / 2 and not self.hand:
            raise Refused(
                Refusal(
                    "already-longer", reaches.path,
                    f"{self.rounds} rounds already reach this length before the {plan.name}",
                    {"minimum": least},
                )
            )  # fmt: skip
        below = self.along_fabric
        return self.left(reaches, left, lambda more: below + more)

    def _fixed(self, rounds: int | None, path: Path) -> int:
        if self.ended and self.hand:
            return self.hand.rounds
        assert rounds is not None  # check_round_template saw to it
        multiple = self.scale.row_multiple
        if not multiple.allows(rounds):
            raise not_in_multiple(("template", *path, "rounds"), rounds, "rows", multiple)
        return rounds

    def _disc(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, Flatness]:
        """Flat growth: rounds from the radius, increases from the gauge unless they are chosen.

        A circumference is kept to the stitch by the last round's increases.
        """
        across = self.asked_for(plan, "to_diameter", path)
        around = self.asked_for(plan, "to_circumference", path)
        asked = across or around
        assert asked is not None
        radius = asked.size / 2 if across else Fraction(float(asked.size) / (2 * pi))
        before = Fraction(self.radius)

        def back(more: Fraction) -> Fraction:
            end = before + more
            return 2 * end if across else Fraction(2 * pi * float(end))

        # Where its stitches keep the circumference, its rounds are those that lie flattest.
        scale = self.scale
        if across is None and not plan.increases:
            scale = replace(scale, rounding="nearest")
        rounds = self.left(asked, radius - before, back, scale)
        end = None
        if not (self.ended and self.hand):
            end = disc_end(plan, self.asked, path, self.scale)
        flat = flat_increases(self.w, self.h)
        counts = disc_counts(plan, self.stitches, rounds, self.scale, end)
        reached = 2 * (Fraction(self.radius) + rounds * self.h + self.ahead)
        self.report(across, reached)
        last = self.hand.last if self.ended and self.hand else counts[-1]
        self.report(around, last * self.w)
        return Counts.of(counts), Fraction(0), flatness(float(plan.increases or flat), flat)

    def _cone(self, plan: RoundPlan, path: Path) -> tuple[Counts, Fraction, None]:
        across = self.asked_for(plan, "to_diameter", path)
        around = self.asked_for(plan, "to_circumference", path)
        if self.ended and self.hand:
            end = self.hand.last
        else:
            end = cone_end(plan, self.asked, path, self.scale)
        width = end * float(self.w) / (2 * pi)
        height = self.asked_for(plan, "height", path)
        if height:
            wider = width - self.radius

            def back(slant: Fraction) -> Fraction:
                return Fraction(sqrt(max(0.0, float(slant) ** 2 - wider**2)))

            rounds = self.left(height, Fraction(hypot(float(height.size), wider)), back)
        else:
            rounds = self._fixed(plan.rounds, path)
        along_fabric = float(rounds * self.h + self.ahead)
        rise = Fraction(sqrt(max(0.0, along_fabric**2 - (width - self.radius) ** 2)))
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
        length = Fraction(shape.length) - self.ahead
        rounds = rounds_along(length, ("template", *path, "profile"), self.scale)
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
        if self.ended and self.hand:
            rounds += self.hand.rounds - len(counts)
            counts = tuple(self.hand)
        self._report_profile(plan, path, shape, counts, rounds)
        way = shape.length * len(counts) / rounds
        return Counts.of(counts), Fraction(shape.height(way)), None

    def _report_profile(
        self, plan: RoundPlan, path: Path, shape: Profile, counts: tuple[int, ...], rounds: int
    ) -> None:
        """A measurement of the profile came to as much more or less as the profile's widest."""
        widest = max(shape.radii)
        wider = max(counts) * float(self.w) / (2 * pi * widest) if widest else 1.0
        longer = float(rounds * self.h + self.ahead) / shape.length
        for j, segment in enumerate(plan.profile):
            for name, scale in (("out", wider), ("up", longer)):
                asked = asked_for(getattr(segment, name), self.asked, (*path, "profile", j, name))
                if asked:
                    self.report(asked, Fraction(float(asked.size) * scale))
