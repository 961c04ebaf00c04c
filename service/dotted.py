"""Documents told by names with dots in them: ``gauge.width`` is the member width of gauge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

NUMBER = r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?"
"""A number as JSON writes it."""

Tree: TypeAlias = dict[str, Any]


class Leaf:
    """A value that was given, apart from the tree that leads to it."""

    def __init__(self, value: Any) -> None:
        self.value = value


def put(tree: Tree, path: Sequence[str], value: Any) -> int | None:
    """Put a value where the names lead; or say at which of them something else is in the way.

    >>> tree = {}
    >>> put(tree, ["gauge", "width"], 10), put(tree, ["gauge", "width", "unit"], "cm")
    (None, 1)
    """
    for at, name in enumerate(path[:-1]):
        tree = tree.setdefault(name, {})
        if isinstance(tree, Leaf):
            return at
    if path[-1] in tree:
        return len(path) - 1
    tree[path[-1]] = Leaf(value)
    return None


def numbered(made: Mapping[str, Any]) -> list[Any] | None:
    """The values as a list, where their names are the numbers from 0.

    >>> numbered({"1": "heat", "0": "carrying"}), numbered({"1": "heat"})
    (['carrying', 'heat'], None)
    """
    wanted = [str(number) for number in range(len(made))]
    return [made[name] for name in wanted] if set(made) == set(wanted) else None
