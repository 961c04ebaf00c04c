"""An answer as plain text, in lines that fit a printed page."""

from __future__ import annotations

from textwrap import wrap

from .paper import Block, Heading, Points, Table, Words
from .papers import paper_of
from .safe import clean

WIDTH = 78
"""Letters to a line at most; a table keeps its lines where a cell is longer."""
LAST_COLUMN = 24
"""Letters that a table's last column is given at least, however wide the rest is."""


def plain_text(answer: object, order: object) -> str:
    """The answer as text/plain: UTF-8, lines ended by a line feed.

    >>> from ..engine.ask_shaping import ShapingOrder, shaping
    >>> order = ShapingOrder(38, 20, rows=40)
    >>> print(plain_text(shaping(order), order)[:51])
    Shaping from 38 to 20 stitches
    ====================
    """
    return "\n\n".join(_block(block) for block in paper_of(answer, order)) + "\n"


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        lines = _wrapped(block.text)
        under = {1: "=", 2: "-"}.get(block.level)
        return "\n".join([*lines, *([under * max(map(len, lines))] if under else [])])
    if isinstance(block, Words):
        return "\n".join(_wrapped(block.text))
    if isinstance(block, Points):
        return "\n".join(_points(block))
    return "\n".join(_table(block))


def _wrapped(words: str, first: str = "", rest: str = "", width: int = WIDTH) -> list[str]:
    return wrap(
        clean(words), width, initial_indent=first, subsequent_indent=rest,
        break_long_words=False, break_on_hyphens=False,
    ) or [first.rstrip()]  # fmt: skip


def _points(block: Points) -> list[str]:
    wide = len(str(len(block.items))) + 2
    lines: list[str] = []
    for i, item in enumerate(block.items, 1):
        mark = f"{i}.".rjust(wide - 1) + " " if block.numbered else "- "
        lines += _wrapped(item, mark, " " * len(mark))
    return lines


def _table(block: Table) -> list[str]:
    """Columns as wide as their widest cell; the last one wraps."""
    rows = [tuple(map(clean, row)) for row in (block.header, *block.rows)]
    wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
    before = sum(wide[:-1]) + 2 * (len(wide) - 1)
    room = max(LAST_COLUMN, WIDTH - before)
    lines: list[str] = []
    for i, row in enumerate(rows):
        lead = "".join(f"{cell.ljust(w)}  " for cell, w in zip(row, wide[:-1], strict=False))
        last = _wrapped(row[-1], width=room) if row[-1] else [""]
        lines += [f"{lead}{last[0]}".rstrip(), *(" " * before + more for more in last[1:])]
        if not i:
            lines.append("  ".join("-" * min(w, room) for w in wide))
    return lines
