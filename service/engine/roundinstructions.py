"""Instructions for a piece in the round."""

from __future__ import annotations

from collections.abc import Iterator

from .colourtext import Colouring
from .instructions import Instruction, Line, going_on, legend, measured
from .numerals import ordinal
from .roundpieces import RoundMade
from .roundplans import RoundTemplate
from .rounds import Counts, RoundSection, Start
from .roundsizing import RING_CHAIN
from .roundwords import oval_ends, round_text, starts_together
from .rowtext import brackets, plural, words_of
from .sizewords import edged_words, size_words
from .sizing import PieceOrder
from .stitches import STITCHES
from .units import FOUR_INCHES, TEN_CM, written
from .working import ROUND_RUN, STEP, spend


def round_instructions(order: PieceOrder, made: RoundMade) -> tuple[Instruction, ...]:
    """Every step from gauge to the last end woven in. Source: council-standards."""
    template = order.template
    assert isinstance(template, RoundTemplate)
    spend(STEP * 4 + ROUND_RUN * sum(len(section.schedule) for section in made.sized.sections))
    writer = _Writer(order, template, made)
    lines = [*writer.rounds(), *writer.making_up()]
    told = "\n".join(text for text, _ in lines)
    lines.insert(0, (writer.before_you_start(told), 0))
    return tuple(Instruction(i, text, stitches) for i, (text, stitches) in enumerate(lines, 1))


class _Writer:
    def __init__(self, order: PieceOrder, template: RoundTemplate, made: RoundMade) -> None:
        self.order, self.template, self.made = order, template, made
        self.words = words_of(order.gauge.stitch, made.turn.chains, made.turn.counts, order.terms)
        self.join = STITCHES["slip-stitch"].name(order.terms).short
        self.joined = template.rounds == "joined"
        self.colouring = Colouring.of(order.colours, made.sized)
        self.side = made.sized.start.side_stitches

    @property
    def closes(self) -> bool:
        return self.template.sections[-1].closes

    def before_you_start(self, told: str) -> str:
        order, words = self.order, self.words
        square, said = (TEN_CM, "10 cm") if order.units == "metric" else (FOUR_INCHES, "4 in")
        gauge = order.gauge
        across, up = float(square / gauge.stitch_width), float(square / gauge.row_height)
        size = size_words(self.template, self.made.sized.extent, order.units)
        edged = self.made.edging.finished if self.made.edging else None
        gauge_word = "Gauge" if order.terms == "us" else "Tension"
        blocked = " after blocking" if gauge.blocked_width or gauge.blocked_height else ""
        parts = [
            f"{gauge_word}: {across:.3g} {words.st} and {up:.3g} rounds to {said}{blocked}.",
            f"{'Before edging' if edged else 'Finished size'} {size}{blocked}.",
            *((edged_words(edged, order.units),) if edged else ()),
            f"Terms are {order.terms.upper()}: {legend(self._used(), words, told)}.",
        ]
        if self.joined and words.turn.counts:
            parts.append(
                f"The ch {words.turn.chains} at the start of a round stands for its first"
                f" {words.st}, on the st at its base."
            )
        elif self.joined and words.turn.chains > 1:
            parts.append(f"The ch {words.turn.chains} at the start of a round is not a st.")
        if not self.joined:
            parts.append(
                "Worked in a spiral: mark the first st of each round, and move the mark up."
            )
        if self.colouring:
            parts += self.colouring.before_you_start(self.template)
        return " ".join(parts)

    def _used(self) -> list[str]:
        made = self.made
        used = ["chain", self.order.gauge.stitch]
        if made.edging:
            used.append(made.edging.stitch)
        if made.buttonhole:
            used.append("single-crochet")
        return [*used, "slip-stitch"]

    def rounds(self) -> Iterator[Line]:
        start, begun = self.made.sized.start, self.made.sized.begun
        if begun:
            yield going_on("Round", begun.rows, begun.stitches), begun.stitches
        else:
            begin = self._begin(start)
            yield self.colouring.begun(begin) if self.colouring else begin, start.stitches
        before = start.stitches
        checks = {check.after_row: check for check in self.made.checkpoints}
        for section, counts in zip(self.made.sized.sections, self.made.sized.counts, strict=True):
            yield from self._section(section, counts, before, begun.rows if begun else 0)
            before = counts.last
            if check := checks.get(section.first_row + section.rows - 1):
                yield measured(check, self.order, "along the fabric from the start"), before

    def _begin(self, start: Start) -> str:
        if start.kind == "ring":
            loop = "an adjustable loop of yarn"
            return f"Make a ring: {loop}, or ch {RING_CHAIN} and {self.join} to the first ch."
        if start.kind == "chain":
            return f"Ch {start.chain} and {self.join} to the first ch, without a twist."
        return f"Ch {start.chain}."

    def _section(
        self, section: RoundSection, counts: Counts, before: int, begun: int
    ) -> Iterator[Line]:
        title = f"{section.name.replace('_', ' ').replace('-', ' ').capitalize()}: "
        number = section.first_row
        for told in self.colouring.section(section, begun) if self.colouring else ():
            yield f"{title}{told}", before
            title = ""
        for stitches, rounds in counts.stretches:
            # A round that changes the count, and the very first, is written on its own.
            alone = int(stitches != before or number == 1)
            for first, last in (
                (number, number + alone - 1),
                (number + alone, number + rounds - 1),
            ):
                if first <= begun:
                    first, before = begun + 1, stitches
                if first > last:
                    continue
                text = self._round(first, before, stitches)
                label = f"Round {first}" if first == last else f"Rounds {first}–{last}"
                told = f"{title}{label}: {text[0].upper()}{text[1:]}. {brackets(stitches)}"
                yield told, stitches
                title, before = "", stitches
            number, before = number + rounds, stitches

    def _round(self, number: int, before: int, after: int) -> str:
        words, turn = self.words, self.words.turn
        offset = self._offset(number, before, after)
        stands = self.joined and turn.counts
        if stands and number > 1 and starts_together(before, after, offset):
            stands = False
        body = self._body(number, before, after, offset, stands)
        if not self.joined:
            return body
        if number == 1 and self.side is not None:
            top = f"top of the {words.skipped} chs" if stands else f"first {words.st}"
            return f"{body}; {self.join} to {top}"
        if stands:
            begin = f"ch {turn.chains} (counts as first {words.st})"
            return f"{begin}, {body}; {self.join} to top of ch {turn.chains}"
        chains = words.short_turn
        not_counted = " (does not count)" if turn.counts else ""
        return f"ch {chains}{not_counted}, {body}; {self.join} to first {words.st}"

    def _offset(self, number: int, before: int, after: int) -> int:
        """Half a group, every second round."""
        if not self.template.offset or number % 2 or before == after:
            return 0
        return before // abs(after - before) // 2

    def _body(self, number: int, before: int, after: int, offset: int, stands: bool) -> str:
        words = self.words
        if number == 1 and self.made.sized.start.kind == "ring":
            return f"{after - stands} {words.st} in the ring"
        if number == 1 and self.side is not None:
            return self._round_the_chain(after, stands)
        if number == 1:
            text = round_text(words, before, after, offset, stands)
            return text.replace(" sts", " chs").replace(" st ", " ch ").replace(" st,", " ch,")
        if self.side is not None and before >= 2 * self.side + 2 and after > before:
            return self._oval_round(before, after, stands)
        return round_text(words, before, after, offset, stands)

    def _round_the_chain(self, after: int, stands: bool) -> str:
        """Down one side of the chain and back along the other, the rest into its two ends."""
        words, side, start = self.words, self.side or 0, self.made.sized.start
        ends = after - 2 * side
        far = ends // 2
        near = ends - far - 1
        first = f"{words.st} in {ordinal(start.first_stitch_in_chain or 2)} ch from hook"
        if stands:
            first = f"the {words.skipped} chs count as first {words.st}"
        parts = [
            first,
            f"{words.st} in each of next {plural(side, 'ch')}",
            f"{far} {words.st} in last ch",
            f"on the other side of the chain, {words.st} in each of next {plural(side, 'ch')}",
        ]
        if near > 0:
            parts.append(f"{near} {words.st} in the ch where the round began")
        return ", ".join(parts)

    def _oval_round(self, before: int, after: int, stands: bool) -> str:
        """Plain along the sides, all increases in the two ends."""
        parts = []
        for half, (sided, taken, made) in enumerate(oval_ends(before, after, self.side or 0)):
            plain = sided - (stands and not half)
            end = round_text(self.words, taken, made).replace("in each st around", "in each")
            if plain:
                parts.append(f"{self.words.st} in next {plural(plain, 'st')}")
            parts.append(f"over the next {plural(taken, 'st')}, round the end: {end}")
        return "; ".join(parts)

    def making_up(self) -> Iterator[Line]:
        made, gauge = self.made, self.order.gauge
        stitches = made.sized.counts[-1].last
        yield from self._finish(stitches)
        if gauge.blocked_width or gauge.blocked_height:
            wide = written(made.sized.extent.width, self.order.units)
            yield f"Block as the swatch was, to {wide} at its widest.", stitches

    def _finish(self, stitches: int) -> Iterator[Line]:
        made = self.made
        if self.closes:
            last = plural(stitches, "st")
            text = (
                "Close: fill the piece, if it is to be filled; cut the yarn, draw it through the"
                f" last {last}, pull tight and fasten off. Weave in the ends."
            )
            yield text, stitches
            return
        if made.edging:
            for told in self.colouring.edging() if self.colouring else ():
                yield told, stitches
            st = STITCHES[made.edging.stitch].name(self.order.terms).short
            for number, count in enumerate(made.edging.rounds, 1):
                height = max(1, STITCHES[made.edging.stitch].turning_chain)
                not_counted = " (does not count as a st)" if height > 1 else ""
                yield (
                    (
                        f"Edging round {number}: ch {height}{not_counted}, {st} in each st around;"
                        f" {self.join} to first {st}. ({count} {st})"
                    ),
                    count,
                )
        if made.buttonhole and made.buttonhole.loop:
            for told in self.colouring.loop() if self.colouring else ():
                yield told, stitches
            loop = made.buttonhole.loop
            cover = STITCHES["single-crochet"].name(self.order.terms).short
            over = plural(loop.spans, "st")
            text = (
                f"Button loop: ch {loop.chain}, pass over {over} of the last round and {self.join}"
                f" in the next; turn, work {loop.covering_stitches} {cover} into the loop,"
                f" {self.join} where the ch began."
            )
            yield text, stitches
        yield "Fasten off and weave in the ends.", stitches
