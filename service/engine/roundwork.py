"""A piece in the round as far as it is sized: its start, its stitches, what is worked already."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import pi

from .counting import Asked, Scale, asked_for, count, not_in_multiple
from .errors import Path, Refusal, Refused
from .exact import Fraction
from .foundation import Turning, foundation
from .roundbegun import RoundBegun
from .rounding import whole
from .roundplans import RoundPlan, RoundTemplate, StartPlan
from .rounds import Counts, RoundSection, Start


class Work:
    """The work so far: its stitches, rounds and radius."""

    def __init__(
        self,
        asked: Mapping[str, Fraction],
        turn: Turning,
        scale: Scale,
        template: RoundTemplate,
        begun: RoundBegun | None,
    ) -> None:
        self.asked, self.turn, self.scale, self.template = asked, turn, scale, template
        self.begun = begun
        self.ahead = Fraction(0)  # what the section's worked rounds are higher than at this gauge
        self.along_fabric = Fraction(0)
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

    @property
    def hand(self) -> Counts | None:
        """The rounds of the section that are worked already."""
        parts = (*self.begun.whole, self.begun.hand) if self.begun else ()
        return parts[len(self.sections)] if len(self.sections) < len(parts) else None

    @property
    def ended(self) -> bool:
        """Whether no round is added to those that are worked."""
        whole = len(self.begun.whole) + self.begun.done if self.begun else 0
        return len(self.sections) < whole

    def left(
        self,
        asked: Asked,
        length: Fraction,
        back: Callable[[Fraction], Fraction] = Fraction,
        scale: Scale | None = None,
    ) -> int:
        """Rounds in a length along the fabric; those there are where the section has ended."""
        if self.ended and self.hand:
            return self.hand.rounds
        ahead = self.ahead
        return self.rows(asked, length - ahead, lambda more: back(more + ahead), scale)

    def rows(
        self,
        asked: Asked,
        length: Fraction,
        back: Callable[[Fraction], Fraction] = Fraction,
        scale: Scale | None = None,
    ) -> int:
        """Rounds of a length along the fabric; ``back`` leads from there to what was asked."""
        along_fabric = replace(asked, size=length, back=back)
        scale = scale or self.scale
        return count(along_fabric, self.h, scale.row_multiple, scale, "rows")

    def begin(self, plan: StartPlan) -> None:
        if self.begun:
            self._begun(plan, self.begun.start)
            return
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

    def _begun(self, plan: StartPlan, start: Start) -> None:
        self.start, self.stitches = start, start.stitches
        if plan.kind == "chain":
            self.report(self.asked_for(plan, "circumference", ("start",)), start.stitches * self.w)
        elif plan.kind == "oval":
            assert self.begun is not None
            self.ahead = self.begun.ahead(0, self.h)
            length = self.asked_for(plan, "length", ("start",))
            width = self.asked_for(plan, "width", ("start",))
            assert width is not None
            assert start.side_stitches is not None  # an oval has two sides
            across = 2 * (self.left(width, width.size / 2) * self.h + self.ahead)
            self.report(length, across + start.side_stitches * self.w)
            self.report(width, across)

    def _side(self, plan: StartPlan) -> int:
        """Stitches along a straight side: the length over the width that its rounds come to."""
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
        rounds = self.rows(width, width.size / 2, lambda half: 2 * half)
        side = max(1, whole((length.size - 2 * rounds * self.h) / self.w))
        self.report(length, 2 * rounds * self.h + side * self.w)
        self.report(width, 2 * rounds * self.h)
        return side
