"""Work that is done once for a thing that never changes."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")

MOST = 64
"""Things remembered by one function, so that callers' own templates don't fill the memory."""


def once_each(function: Callable[[T], R]) -> Callable[[T], R]:
    """The function, worked out once for each (frozen) object it is given.

    Objects are told apart by identity, which costs less than to compare a whole template; each is
    held as long as it is remembered, so that no other can have its identity. What it gives is
    shared: not to be changed. A refusal is not remembered. Source: common-practice.

    >>> len_once = once_each(len)
    >>> len_once("abc"), len_once("abc")
    (3, 3)
    """
    known: dict[int, tuple[T, R]] = {}

    @wraps(function)
    def remembered(one: T) -> R:
        found = known.get(id(one))
        if found is None:
            if len(known) >= MOST:
                known.clear()
            found = known[id(one)] = (one, function(one))
        return found[1]

    return remembered
