"""Words of a caller's, made fit to stand in a line of somebody else's document."""

from __future__ import annotations

import re
from html import escape

# What XML cannot hold, and what turns the reading direction of the text round it.
_UNFIT = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
    "|[\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]"
)


def clean(words: str) -> str:
    """One line of text: no control characters, none that turn the direction, single spaces.

    >>> clean("Brush\\n  cup\\u202e\\0 ")
    'Brush cup'
    """
    return " ".join(_UNFIT.sub("", words).split())


def xml(words: str) -> str:
    """The line with what stands for markup escaped, in text and in quoted attributes.

    >>> xml('a < b & "c"')
    'a &lt; b &amp; &quot;c&quot;'
    """
    return escape(clean(words))


def shortened(words: str, most: int) -> str:
    """The line, cut where it has no room.

    >>> shortened("a very long name", 8)
    'a very…'
    """
    line = clean(words)
    return line if len(line) <= most else f"{line[: most - 1].rstrip()}…"
