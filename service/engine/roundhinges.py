"""How the measurements of a piece in the round are counted: many hang on those before them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import hypot, pi, sqrt

from .candidates import Counted, Ruler, length_of, plain
from .counting import Asked, Scale, count
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .foundation import Turning
from .roundcounts import cone_end, disc_counts
from .rounding import ANY, whole
from .roundplans import RoundPlan, RoundTemplate, chosen, round_terms
from .roundsizing import build_rounds
from .settling import settle
from .sizing import PieceOrder, scale_of
from .terms import Term

Values = Mapping[str, Fraction]
HAIR = Fraction(1, 10**9)
"""Part of a round or stitch that what is asked for stays on the side it is rounded to."""


def counted_round(order: PieceOrder, asked: Values) -> dict[str, Counted]:
    """How each measurement that was asked for is counted, those that others hang on first.

    Lengths of a profile are left out: no one count drives them. Source: geometry.

    >>> from .gauge import square
    >>> from .roundplans import StartPlan
    >>> from .templates import MeasurementPlan
    >>> base = RoundPlan("base", "disc", to_diameter=Term("width"))
    >>> mat = RoundTemplate("mat", "Mat", (MeasurementPlan("width", "across"),),
    ...     StartPlan("ring"), (base,))
    >>> width = counted_round(PieceOrder(square(20, 20), mat, {}), {"width": Fraction(99)})["width"]
    >>> width.what, width.nearest(Fraction(99), {}).count
    ('rows', 10)
    """
    template = order.template
    assert isinstance(template, RoundTemplate)
    if order.in_the_round:
        template = chosen(template, order.in_the_round)
    work = _Rulers(order, template, scale_of(order))
    used = {name: uses[0] for name, uses in round_terms(template).items() if name in asked}
    # An oval's length hangs on its width; all else on what stands before it in the document.
    names = sorted(used, key=lambda name: used[name][0] == ("start", "length"))
    names.sort(key=lambda name: used[name][0][1] if used[name][0][0] == "sections" else -1)
    found = {}
    for name in names:
        path, term = used[name]
        section = template.sections[int(path[1])] if path[0] == "sections" else None
        counted = work.of_section(section, int(path[1]), path, term) if section else (
            work.of_start(str(path[1]), term))  # fmt: skip
        if counted:
            found[name] = counted
    return found


@dataclass(frozen=True, slots=True)
class _Rulers:
    order: PieceOrder
    template: RoundTemplate
    scale: Scale

    def _rows(self, ruler: Callable[[Values], Ruler], hangs: bool = True) -> Counted:
        return Counted("rows", self.scale.row_multiple, self.scale.rounding, ruler, hangs)

    def _rounds(self, length: Asked, size: Fraction) -> int:
        along = Asked(size, length.path, length.term)
        scale = self.scale
        return count(along, scale.row_height, scale.row_multiple, scale, "rows")

    def _sure(self, number: int) -> Fraction:
        """A count to ask for through a root or pi, which must not be rounded past it."""
        return number + {"at-least": -HAIR, "at-most": HAIR}.get(self.scale.rounding, Fraction(0))

    def of_start(self, name: str, term: Term) -> Counted | None:
        scale, start = self.scale, self.template.start
        if name == "circumference":
            return plain(term, scale.stitch_width, scale.stitch_multiple, scale, "stitches")
        if name == "width":
            return plain(term, 2 * scale.row_height, scale.row_multiple, scale, "rows")
        across = start.width
        assert across is not None

        def ruler(values: Values) -> Ruler:
            width = across.of(values) or Fraction(0)
            made = 2 * self._rounds(Asked(width, (), across), width / 2) * scale.row_height

            def near(asked: Fraction) -> int:
                length = length_of(term, asked).size
                if length <= width:
                    raise Refused(Refusal("oval-not-longer", (), "an oval is longer than wide"))
                return max(1, whole((length - made) / scale.stitch_width))

            def long(number: int) -> Fraction:
                return term.measurement_from(made + number * scale.stitch_width)

            return Ruler(near, long, long)

        # A straight side takes its nearest count, whatever the rounding and the multiple.
        return Counted("stitches", ANY, "nearest", ruler, hangs=True)

    def of_section(
        self, plan: RoundPlan, index: int, path: tuple[str | int, ...], term: Term
    ) -> Counted | None:
        scale, name = self.scale, str(path[2])
        if plan.shape == "disc" and (plan.to_diameter or plan.increases):
            flat = index == 0 and self.template.start.kind != "chain"
            return self._rows(lambda values: self._disc(plan, index, term, values), not flat)
        if plan.shape == "cone" and name == "height":
            return self._rows(lambda values: self._cone_height(plan, index, term, values))
        if name == "to_circumference":
            return plain(term, scale.stitch_width, scale.stitch_multiple, scale, "stitches")
        if name == "to_diameter":
            multiple = scale.stitch_multiple
            ruler = self._cone_diameter(term)
            return Counted("stitches", multiple, scale.rounding, lambda _: ruler)
        if name == "height":
            return plain(term, scale.row_height, scale.row_multiple, scale, "rows")
        if name == "reaches":
            return self._rows(lambda values: self._reaches(index, term, values))
        return None

    def _before(self, index: int, values: Values) -> tuple[int, int, float]:
        """Stitches, rounds and radius of the work below a section. Raises Refused."""
        start = self.template.start
        if index == 0 and start.kind == "ring":
            return 0, 0, 0.0
        below = RoundTemplate(
            self.template.name, "", self.template.measurements, start,
            self.template.sections[:index],
        )  # fmt: skip
        sized_by = settle(below, values, {}, self.scale.units, Findings()).sized_by
        made = build_rounds(below, sized_by, Turning(0, False), self.scale)
        stitches = made.counts[-1].last if made.counts else made.start.stitches
        side = 2 * (made.start.side_stitches or 0)
        radius = max(0, stitches - side) * float(self.scale.stitch_width) / (2 * pi)
        return stitches, sum(c.rounds for c in made.counts), radius

    def _disc(self, plan: RoundPlan, index: int, term: Term, values: Values) -> Ruler:
        stitches, _, before = self._before(index, values)
        height, radius = self.scale.row_height, Fraction(before)
        if plan.to_diameter:

            def across(number: int) -> Fraction:
                return term.measurement_from(2 * (radius + number * height))

            def near(asked: Fraction) -> int:
                length = length_of(term, asked)
                return self._rounds(length, length.size / 2 - radius)

            if not radius:
                return Ruler(near, across, across)
            return Ruler(
                near,
                across,
                lambda n: term.measurement_from(2 * (radius + self._sure(n) * height)),
            )

        def near_around(asked: Fraction) -> int:
            length = length_of(term, asked)
            return self._rounds(length, Fraction(float(length.size) / (2 * pi)) - radius)

        def around(number: int) -> Fraction:
            last = disc_counts(plan, stitches, number, self.scale)[-1]
            return term.measurement_from(last * self.scale.stitch_width)

        def ask(number: int) -> Fraction:
            far = float(radius + self._sure(number) * height)
            return term.measurement_from(Fraction(2 * pi * far))

        return Ruler(near_around, around, ask)

    def _cone_diameter(self, term: Term) -> Ruler:
        scale, around = self.scale, float(self.scale.stitch_width) / pi

        def near(asked: Fraction) -> int:
            length = length_of(term, asked)
            size = Fraction(float(length.size) * pi)
            along = Asked(size, (), term)
            return count(along, scale.stitch_width, scale.stitch_multiple, scale, "stitches")

        return Ruler(
            near,
            lambda n: term.measurement_from(Fraction(n * around)),
            lambda n: term.measurement_from(Fraction(float(self._sure(n)) * around)),
        )

    def _cone_height(self, plan: RoundPlan, index: int, term: Term, values: Values) -> Ruler:
        _, _, before = self._before(index, values)
        end = cone_end(plan, values, ("sections", index), self.scale)
        wider = end * float(self.scale.stitch_width) / (2 * pi) - before
        height = self.scale.row_height

        def rise(rounds: Fraction) -> Fraction:
            return Fraction(sqrt(max(0.0, float(rounds * height) ** 2 - wider**2)))

        def near(asked: Fraction) -> int:
            length = length_of(term, asked)
            return self._rounds(length, Fraction(hypot(float(length.size), wider)))

        return Ruler(
            near,
            lambda n: term.measurement_from(rise(Fraction(n))),
            lambda n: term.measurement_from(rise(self._sure(n))),
        )

    def _reaches(self, index: int, term: Term, values: Values) -> Ruler:
        _, below, _ = self._before(index, values)
        height = self.scale.row_height

        def made(number: int) -> Fraction:
            return term.measurement_from((below + number) * height)

        def near(asked: Fraction) -> int:
            length = length_of(term, asked)
            return self._rounds(length, length.size - below * height)

        return Ruler(near, made, made)
