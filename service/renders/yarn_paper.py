"""How much yarn a piece takes, or what is left makes, as a page to be printed and a table."""

from __future__ import annotations

from collections.abc import Iterator

from ..engine.ask_yarn import YarnAnswer, YarnQuestion
from ..engine.exact import Fraction
from ..engine.fromleft import FromLeft, Need, Possible, words_for
from ..engine.roundplans import RoundTemplate
from ..engine.rowtext import plural
from ..engine.units import WRITTEN, System, in_unit, written
from ..engine.yarn import ColourYarn, Estimate, Yarn, YarnPart
from .answer_papers import cautions
from .paper import Block, Heading, Paper, Points, Table, Words
from .tables import Cell, csv_of
from .wording import name_of, yarn_length, yarn_mass

COLUMNS = (
    "colour", "size", "length", "length_at_least", "length_at_most", "length_to_buy",
    "length_unit", "mass", "mass_at_least", "mass_at_most", "mass_to_buy", "mass_unit", "balls",
    "balls_at_most", "fits", "sure", "method",
)  # fmt: skip


def yarn_paper(answer: YarnAnswer, question: YarnQuestion) -> Paper:
    """The choice from what is left first, where that was asked; then colour by colour."""
    units, title = question.units, question.piece.template.title
    left = answer.from_left
    if left is None:
        blocks: list[Block] = [Heading(1, f"Yarn: {title}")]
    else:
        blocks = [Heading(1, f"From the yarn that is left: {title}"), *_chosen(left, question)]
    for one in answer.yarn.colours or (answer.yarn,):
        blocks += _of(one, units, buying=left is None)
    return (*blocks, *_how(answer, left), *cautions(answer.cautions))


def _chosen(left: FromLeft, question: YarnQuestion) -> Iterator[Block]:
    units = question.units
    in_the_round = isinstance(question.piece.template, RoundTemplate)
    told = [f"Likely: {_possible(left.likely, units, in_the_round)}."]
    if left.sure:
        told.append(f"Sure: {_possible(left.sure, units, in_the_round)}.")
    else:
        told.append("Sure: none; at the most of the interval, what is left runs short.")
    yield Points(tuple(told))
    for name, (amount, by_mass) in (question.left or {}).items():
        there = yarn_mass(amount, units) if by_mass else yarn_length(amount, units)
        yield Words(f"Left{f' of {name}' if name else ''}: {there}.")
    if left.sizes:
        rows = [
            (one.name, "; ".join(_need(need, units) for need in one.needs), _enough(one))
            for one in left.sizes
        ]
        yield Table(("size", "takes", "enough"), tuple(rows))
    yield Words(f"Searched: {left.searched}.")
    yield Words(f"What is meant: {left.confidence}")


def _enough(one: Possible) -> str:
    return "surely" if one.sure else "likely" if one.fits else "no"


def _possible(one: Possible, units: System, in_the_round: bool) -> str:
    told = "the piece as asked" if one.name == "as-asked" else name_of(one.name)
    if one.count is not None and one.counted_in:
        told += f", {plural(one.count, *words_for(one.counted_in, in_the_round))}"
    if one.measures is not None:
        told += f" ({written(one.measures, units)})"
    return f"{told}, which takes {'; '.join(_need(need, units) for need in one.needs)}"


def _need(need: Need, units: System) -> str:
    amounts = (
        (need.length, need.at_most_length, yarn_length),
        (need.mass, need.at_most_mass, yarn_mass),
    )
    told = " or ".join(
        f"{say(amount, units)}{f', at most {say(most, units)}' if most is not None else ''}"
        for amount, most, say in amounts
        if amount is not None
    )
    return f"{need.colour}: {told}" if need.colour else told


def _of(one: Estimate, units: System, buying: bool) -> Iterator[Block]:
    """One colour: what it takes with its interval in words, balls, and where it goes."""
    yield Heading(2, one.colour if isinstance(one, ColourYarn) and one.colour else "Yarn")
    told = []
    for amount, ends, say in (
        (one.length, one.interval, yarn_length),
        (one.mass, one.mass_interval, yarn_mass),
    ):
        if amount is not None and ends:
            low, high = (say(end, units) for end in ends)
            told.append(f"About {say(amount, units)}; likely from {low} to {high}.")
    if buying:
        told += _bought(one, units)
    yield Points(tuple(told))
    rows = tuple(
        (part.part, part.section or "", _amount(part.length, part.mass, units))
        for part in one.parts
        if _kept(part)
    )
    if rows:
        yield Table(("yarn goes into", "section", "about"), rows)


def _kept(part: YarnPart) -> bool:
    return bool(part.length or part.mass)


def _amount(length: Fraction | None, mass: Fraction | None, units: System) -> str:
    if length is not None:
        return yarn_length(length, units)
    return "" if mass is None else yarn_mass(mass, units)


def _bought(one: Estimate, units: System) -> Iterator[str]:
    buy = [
        say(amount, units)
        for amount, say in ((one.to_buy, yarn_length), (one.to_buy_mass, yarn_mass))
        if amount is not None
    ]
    if buy:
        yield f"With a margin of {one.margin_percent:g} % to buy: {' or '.join(buy)}."
    if one.balls is not None and one.ball:
        ball = " or ".join(
            say(amount, units)
            for amount, say in ((one.ball.length, yarn_length), (one.ball.mass, yarn_mass))
            if amount is not None
        )
        most = one.balls_at_most
        more = f"; {most} if the work takes the most of it" if most and most > one.balls else ""
        yield f"Balls: {one.balls} of {ball}{more}."
    if other := one.substitute:
        most = other.balls_at_most
        more = f"; {most} if the work takes the most of it" if most and most > other.balls else ""
        yield f"In the other yarn: {plural(other.balls, 'ball')}{more}."


def _how(answer: YarnAnswer, left: FromLeft | None) -> Iterator[Block]:
    yarn: Yarn = answer.yarn
    told = f"Estimated by {name_of(yarn.method.replace('-', '_'))}: {yarn.method_source}"
    told = told if told.endswith(".") else f"{told}."
    yield Heading(2, "How it was reckoned")
    yield Words(told)
    if left is None:
        yield Words(f"The margin is for {yarn.margin_reason}.")


def yarn_csv(answer: YarnAnswer, question: YarnQuestion) -> str:
    """A line a colour; where sizes were chosen among, a line a colour and size besides."""
    return csv_of(COLUMNS, _lines(answer, question))


def _lines(answer: YarnAnswer, question: YarnQuestion) -> Iterator[tuple[Cell, ...]]:
    units, left = question.units, answer.from_left
    m, g = WRITTEN["yarn-length"][units], WRITTEN["mass"][units]

    def of(amount: Fraction | None, unit: str) -> float | None:
        return None if amount is None else in_unit(amount, unit)

    chosen = left.likely if left else None
    for one in answer.yarn.colours or (answer.yarn,):
        low, high = one.interval or (None, None)
        least, most = one.mass_interval or (None, None)
        bought = (None, None) if left else (one.balls, one.balls_at_most)
        buy = (None, None) if left else (one.to_buy, one.to_buy_mass)
        yield (
            one.colour if isinstance(one, ColourYarn) else "", chosen.name if chosen else "",
            of(one.length, m), of(low, m), of(high, m), of(buy[0], m), m,
            of(one.mass, g), of(least, g), of(most, g), of(buy[1], g), g,
            *bought, *_judged(chosen), one.method,
        )  # fmt: skip
    for size in (left.sizes if left else None) or ():
        if chosen and size.name == chosen.name:
            continue
        for need in size.needs:
            yield (
                need.colour or "", size.name, of(need.length, m), None,
                of(need.at_most_length, m), None, m, of(need.mass, g), None,
                of(need.at_most_mass, g), None, g, None, None, *_judged(size), answer.yarn.method,
            )  # fmt: skip


def _judged(one: Possible | None) -> tuple[Cell, Cell]:
    if one is None:
        return None, None
    return ("yes" if one.fits else "no"), ("yes" if one.sure else "no")
