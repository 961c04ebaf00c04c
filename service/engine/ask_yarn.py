"""One question: how much yarn, of each colour, and how many balls; or what what is left makes."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

from .cautions import Caution
from .errors import Findings, Refusal, Refused
from .exact import Fraction
from .fromleft import FromLeft, Need, Possible, from_left, words_for
from .leftover import TRIED, Left, Varied, largest, measurement_of, rows_of
from .pieces import Made, make
from .rounding import MOST_ROWS
from .roundpieces import RoundMade, make_round
from .roundplans import RoundPlan, RoundTemplate, chosen
from .rounds import RoundSection
from .rowtext import plural
from .sections import Section
from .sizing import PieceOrder
from .templates import SectionPlan
from .units import WRITTEN, System, in_unit
from .yarn import Estimate, Yarn, estimate
from .yarncautions import yarn_cautions
from .yarnorder import Sewn, colours_of
from .yarnwork import seam


@dataclass(frozen=True, slots=True)
class SeamLength:
    """A seam told by its length in millimetres, and by its stitches or rows if it is crocheted."""

    length: Fraction
    places: int | None = None
    sewn: Sewn = "mattress"


@dataclass(frozen=True, slots=True)
class FindOrder:
    """What may be chosen: rows of a section, a measurement, or a size of several."""

    rows_of: str | None = None
    measurement: str | None = None
    sizes: Mapping[str, Mapping[str, Fraction]] | None = None


@dataclass(frozen=True, slots=True)
class YarnQuestion:
    """A piece and its yarn, seams besides; what is left, and what to find for it."""

    piece: PieceOrder
    seams: tuple[SeamLength, ...] = ()
    left: Left | None = None
    find: FindOrder | None = None

    @property
    def units(self) -> System:
        return self.piece.units


@dataclass(frozen=True, slots=True)
class YarnAnswer:
    yarn: Annotated[Yarn, "yarn of the piece as asked, or of the likely choice from what is left"]
    from_left: Annotated[FromLeft | None, "what what is left makes, where that was asked"]
    cautions: Annotated[tuple[Caution, ...], "what to look out for"]


def made_up(order: PieceOrder) -> Made | RoundMade:
    """The piece, worked flat or in the round. Raises Refused. Source: common-practice."""
    if not isinstance(order.template, RoundTemplate):
        return make(order)
    if order.in_the_round:
        order = replace(order, template=chosen(order.template, order.in_the_round))
    return make_round(order)


def yarn(question: YarnQuestion) -> YarnAnswer:
    """The yarn of a piece alone; or, from what is left, the largest that can be made.

    Raises Refused with what stands in the way. Source: common-practice.

    >>> from .gauge import square
    >>> from .templates import FoundationPlan, MeasurementPlan, SectionPlan, Template
    >>> from .terms import Term
    >>> from .yarnorder import YarnOrder
    >>> strap = Template("strap", "Strap", (MeasurementPlan("length", "along"),),
    ...     FoundationPlan(Term("length")), (SectionPlan("strap", "even", rows=5),))
    >>> order = PieceOrder(square(16, 19), strap, {}, yarn=YarnOrder(weight_category=4))
    >>> left = {"": (Fraction(30_000), False)}
    >>> found = yarn(YarnQuestion(order, left=left, find=FindOrder(measurement="length")))
    >>> found.from_left.likely.count > found.from_left.sure.count
    True
    """
    _check(question)
    trying = _Trying(question)
    if question.left is None:
        return _answer(trying.yarn_of(question.piece), None, question.piece.yarns)
    find = question.find or FindOrder()
    if find.sizes is not None:
        return trying.size(find.sizes)
    if find.rows_of is not None:
        return trying.count(find.rows_of, rows_of(question.piece, find.rows_of))
    if find.measurement is not None:
        varied = measurement_of(question.piece, find.measurement)
        return trying.count(find.measurement, varied)
    made = trying.yarn_of(question.piece)
    one = trying.judged(made, "as-asked")
    if not one.fits:
        raise trying.not_enough(one)
    found = from_left(one, one if one.sure else None, made, "the piece as asked")
    return _answer(made, found, question.piece.yarns)


def _check(question: YarnQuestion) -> None:
    found, order = Findings(), question.piece
    if not order.yarn and not order.yarns:
        found.add("yarn-unknown", ("yarn",), "tell what is known of the yarn", ["yarn", "yarns"])
    if question.find and question.left is None:
        found.add("find-without-left", ("find",), "tell what is left to find it for", ["left"])
    if question.find and question.find.sizes is not None and not question.find.sizes:
        found.add("no-sizes", ("find", "sizes"), "tell a size to choose from", {"fewest": 1})
    colours = sorted(colours_of(order.colours)) if order.colours else []
    left = {""} if question.left is None else set(question.left)
    if question.left is not None and order.colours and left != set(colours):
        detail = f"tell what is left of each colour: {', '.join(colours)}"
        found.add("left-of-which-colour", ("left",), detail, colours)
    if not order.colours and left != {""}:
        detail = "the piece has no colours: tell one length or mass that is left"
        found.add("left-of-which-colour", ("left", "colours"), detail, ["length", "mass"])
    found.settle()


def _answer(made: Yarn, left: FromLeft | None, yarns: Collection[str]) -> YarnAnswer:
    told = [
        caution
        for one in made.colours or (made,)
        for caution in yarn_cautions(one, _colour(one), _colour(one) in yarns)
    ]
    if left:  # nothing is bought
        told = [c for c in told if c.code not in ("yarn-may-run-out", "one-dye-lot")]
    return YarnAnswer(made, left, tuple(dict.fromkeys(told)))


def _colour(one: Estimate) -> str:
    return getattr(one, "colour", "")


@dataclass(slots=True)
class _Trying:
    """Pieces tried against what is left."""

    question: YarnQuestion
    tried: dict[int, Possible | None] = field(default_factory=dict)
    row_by_row: int = 0

    def words_for(self, what: Literal["rows", "stitches"]) -> tuple[str, str]:
        return words_for(what, isinstance(self.question.piece.template, RoundTemplate))

    def yarn_of(self, order: PieceOrder) -> Yarn:
        made = made_up(order)
        sections: tuple[Section | RoundSection, ...] = made.sized.sections
        plans: tuple[SectionPlan | RoundPlan, ...] = order.template.sections
        by_run = {"even"} if order.colours else {"even", "taper"}
        slit = order.closure is not None and order.closure.kind == "slit"
        for section, plan in zip(sections, plans, strict=False):
            if slit or plan.shape not in by_run:
                self.row_by_row += section.rows
        if not self.question.seams:
            assert made.yarn is not None  # _check saw to it
            return made.yarn
        colours = order.colours
        colour = (colours.seams or colours.main) if colours else ""
        parts = tuple(
            seam("seams", one.length, one.places or _places(one, order), one.sewn, colour)
            for one in self.question.seams
        )
        work = replace(made.work, parts=(*made.work.parts, *parts))
        return estimate(work, order.gauge, order.yarn, order.yarns)

    def judged(
        self, made: Yarn, name: str, varied: Varied | None = None, count: int | None = None
    ) -> Possible:
        """What it takes, held against what is left of each colour."""
        needs, fits, sure = [], True, True
        assert self.question.left is not None
        for one in made.colours or (made,):
            left, by_mass = self.question.left[_colour(one)]
            likely, span = (one.mass, one.mass_interval) if by_mass else (one.length, one.interval)
            if likely is None or span is None:
                raise self._other_measure(by_mass)
            fits, sure = fits and likely <= left, sure and span[1] <= left
            length, mass = (None, likely) if by_mass else (likely, None)
            top, top_mass = (None, span[1]) if by_mass else (span[1], None)
            needs.append(Need(_colour(one) or None, length, mass, top, top_mass))
        what = varied.what if varied else None
        measures = varied.length(count) if varied and count is not None else None
        return Possible(name, count, what, measures, tuple(needs), fits, sure)

    def _other_measure(self, by_mass: bool) -> Refused:
        told, other = ("mass", "length") if by_mass else ("length", "mass")
        return Refused(
            Refusal(
                "left-in-another-measure",
                ("left", told),
                f"nothing tells the yarn's length to its mass: tell the {other} that is left, or"
                " the yarn's ball (length and mass), count or category",
                [other, "ball", "count", "weight_category"],
            )
        )

    def not_enough(self, least: Possible) -> Refused:
        """The least that there is to make takes more than is left."""
        takes, told = {}, []
        for need in least.needs:
            by_mass = need.length is None
            amount = need.mass if by_mass else need.length
            assert amount is not None
            unit = WRITTEN["mass" if by_mass else "yarn-length"][self.question.units]
            value = in_unit(amount, unit)
            takes[need.colour or "yarn"] = {"value": value, "unit": unit}
            told.append(f"{value:.2f} {unit}{f' of {need.colour}' if need.colour else ''}")
        what = {"as-asked": "the piece"}.get(least.name, f"the size {least.name}")
        if least.count and least.counted_in:
            what = f"the least of it, {plural(least.count, *self.words_for(least.counted_in))},"
        detail = f"{what} takes {' and '.join(told)}, which is more than is left"
        return Refused(Refusal("not-enough-yarn", ("left",), detail, {"at_least": takes}))

    def count(self, name: str, varied: Varied) -> YarnAnswer:
        refusal: list[Refused] = []

        def at(count: int) -> Possible | None:
            if count not in self.tried:
                if self.row_by_row > MOST_ROWS:
                    raise _too_much()
                try:
                    made = self.yarn_of(varied.order(count))
                except Refused as refused:
                    refusal.append(refused)
                    self.tried[count] = None
                else:
                    self.tried[count] = self.judged(made, name, varied, count)
            return self.tried[count]

        def fits(count: int) -> bool | None:
            one = at(count)
            return one.fits if one else None

        def sure(count: int) -> bool | None:
            one = at(count)
            return one.sure if one else None

        found = largest(varied, (fits, sure))
        likely, certain = found.counts
        possible = [one for one in self.tried.values() if one]
        if not possible:
            raise refusal[0]
        if likely is None:
            raise self.not_enough(min(possible, key=lambda one: one.count or 0))
        _, several = self.words_for(varied.what)
        if not varied.grows and likely == found.tried_to:
            raise Refused(
                Refusal(
                    "too-many-counts",
                    ("left",),
                    f"what is left makes more than {likely} {several}; where yarn is not known to"
                    f" grow with the count, only the first {TRIED} counts are tried",
                    {"counts": TRIED},
                )
            )
        best, safe = at(likely), None if certain is None else at(certain)
        assert best is not None
        made = self.yarn_of(varied.order(likely))
        how = (
            "by halving: more of them always takes more yarn"
            if varied.grows and varied.period == 1
            else "by halving, odd and even counts apart: two more always take more yarn"
            if varied.grows
            else f"each from {varied.count(0)} to {found.tried_to} tried"
        )
        found_left = from_left(best, safe, made, f"{several}, {how}")
        return _answer(made, found_left, self.question.piece.yarns)

    def size(self, sizes: Mapping[str, Mapping[str, Fraction]]) -> YarnAnswer:
        """The size that takes the most yarn of those that there is enough for."""
        found, tried = Findings(), list[tuple[Possible, Yarn]]()
        order = self.question.piece
        for name, measurements in sorted(sizes.items()):
            with found.collecting():
                asked = {**order.measurements, **measurements}
                made = self.yarn_of(replace(order, measurements=asked))
                tried.append((self.judged(made, name), made))
        found.settle()

        def takes(one: tuple[Possible, Yarn]) -> Fraction:
            return one[1].length or one[1].mass or Fraction(0)

        tried.sort(key=takes)
        enough = [one for one in tried if one[0].fits]
        if not enough:
            raise self.not_enough(tried[0][0])
        likely, made = enough[-1]
        sure = next((one for one in reversed(enough) if one[0].sure), None)
        told = tuple(one for one, _ in tried)
        safe = sure[0] if sure else None
        best = from_left(likely, safe, made, "each size", told)
        return _answer(made, best, self.question.piece.yarns)


def _too_much() -> Refused:
    detail = (
        f"the shapes of this piece are worked out row by row, and to try counts of it would take"
        f" more than {MOST_ROWS} rows of them: tell sizes to choose from instead"
    )
    return Refused(Refusal("too-much-to-try", ("find",), detail, ["sizes"]))


def _places(one: SeamLength, order: PieceOrder) -> int:
    """Stitches along a crocheted seam, where they are not told."""
    return round(one.length / order.gauge.stitch_width)
