"""An answer as Markdown: CommonMark with tables, every word of it escaped, and no HTML."""

from __future__ import annotations

import re

from .paper import Block, Heading, Points, Table, Words
from .papers import paper_of
from .safe import clean

_MARKUP = re.compile(r"([\\`*_\[\]<>&|~])")
_AT_START = re.compile(r"[#+=:-]|\d+(?=[.)](?:\s|$))")
_LINKED = re.compile(r"(?<=www)\.|:(?=//)", re.IGNORECASE)


def markdown(answer: object, order: object) -> str:
    """The answer as text/markdown (CommonMark, and the tables that are commonly added to it).

    >>> from ..engine.ask_shaping import ShapingOrder, shaping
    >>> order = ShapingOrder(38, 20, rows=40)
    >>> markdown(shaping(order), order).splitlines()[0]
    '# Shaping from 38 to 20 stitches'
    """
    return "\n\n".join(_block(block) for block in paper_of(answer, order)) + "\n"


def escaped(words: str) -> str:
    """One line of text with nothing in it that is markup, at its start or within.

    >>> escaped("- <b>Cup</b> & *more*")
    '\\\\- \\\\<b\\\\>Cup\\\\</b\\\\> \\\\& \\\\*more\\\\*'
    >>> escaped("1. of 2")
    '1\\\\. of 2'
    """
    line = _within(words)
    start = _AT_START.match(line)
    if not start:
        return line
    if start[0].isdigit():
        return f"{start[0]}\\{line[start.end() :]}"
    return f"\\{line}"


def _within(words: str) -> str:
    """The line escaped for the middle of a block, where nothing is a heading or a list."""
    line = _MARKUP.sub(r"\\\1", clean(words))
    return _LINKED.sub(lambda m: f"\\{m[0]}", line)


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        return f"{'#' * block.level} {escaped(block.text)}"
    if isinstance(block, Words):
        return escaped(block.text)
    if isinstance(block, Points):
        return "\n".join(
            f"{f'{i}.' if block.numbered else '-'} {escaped(item)}"
            for i, item in enumerate(block.items, 1)
        )
    return _table(block)


def _table(block: Table) -> str:
    rows = [block.header, *block.rows]
    lines = [f"| {' | '.join(_within(cell) for cell in row)} |" for row in rows]
    return "\n".join([lines[0], f"|{' --- |' * len(block.header)}", *lines[1:]])
