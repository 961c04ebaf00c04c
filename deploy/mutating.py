"""Requests made from the documented ones by chance: grown, stretched, spliced and cut.

What is changed hangs on a seed alone, so that a request that was found can be found again.
"""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

EXAMPLES = Path(__file__).parent.parent / "openapi" / "examples"
FACTORS = (0.001, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 5, 10, 100, 1000)
LARGEST = 64 * 1024
Node = tuple[Any, Any]  # a container, and the key or index in it


def documented() -> list[tuple[str, Any]]:
    """Operation and request of every example but the batches, in one order everywhere."""
    files = sorted(EXAMPLES.glob("*/*.request.json"))
    return [(f.parent.name, json.loads(f.read_text(encoding="utf-8"))) for f in files]


def nodes(value: Any) -> list[Node]:
    """Every member and item within a value."""
    keys = value.keys() if isinstance(value, dict) else range(len(value))
    found: list[Node] = []
    for key in keys:
        found.append((value, key))
        if isinstance(value[key], dict | list):
            found += nodes(value[key])
    return found


class Mutator:
    """Changes a request by chance, with parts of the other examples."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.by_key: dict[str, list[Any]] = {}
        # What an object under a key may hold, as far as any example shows.
        self.within: dict[str, list[tuple[str, Any]]] = {}
        for operation, request in documented():
            self._learn(operation, request)

    def _learn(self, name: str, value: Any) -> None:
        if isinstance(value, dict):
            for key, inner in value.items():
                self.by_key.setdefault(key, []).append(inner)
                self.within.setdefault(name, []).append((key, inner))
                self._learn(key, inner)
        elif isinstance(value, list):
            for inner in value:
                self._learn(f"{name}[]", inner)

    def mutated(self, operation: str, request: Any, changes: int = 1) -> Any:
        """The request with so many changes, no longer than a body may be."""
        made = json.loads(json.dumps(request))
        for _ in range(changes):
            self._change(operation, made)
        return made if len(json.dumps(made)) < LARGEST else request

    def _change(self, operation: str, request: Any) -> None:
        here = nodes(request)
        if not here:
            return
        container, key = self.random.choice(here)
        value = container[key]
        kind = self.random.random()
        if kind < 0.15:
            self._add(operation, request, here)
        elif kind < 0.2:
            del container[key]
        elif kind < 0.35 and isinstance(key, str):
            container[key] = self._copy(self.random.choice(self.by_key.get(key, [value])))
        elif isinstance(value, list):
            self._grow(value)
        elif isinstance(container, list):
            self._grow(container)
        elif isinstance(value, bool):
            container[key] = not value
        elif isinstance(value, int | float):
            container[key] = self._stretched(value)
        elif isinstance(value, dict) and value:
            name = self.random.choice([*value])
            value[f"{name}{self.random.randrange(40)}"[:40]] = self._copy(value[name])
        elif isinstance(key, str):
            container[key] = self._copy(self.random.choice(self.by_key.get(key, [value])))

    def _add(self, operation: str, request: Any, here: list[Node]) -> None:
        objects = [(operation, request)]
        objects += [(k, c[k]) for c, k in here if isinstance(c[k], dict) and isinstance(k, str)]
        for container, key in here:
            if isinstance(container[key], list) and isinstance(key, str):
                items = (item for item in container[key] if isinstance(item, dict))
                objects += [(f"{key}[]", item) for item in items]
        name, chosen = self.random.choice(objects)
        if known := self.within.get(name):
            key, value = self.random.choice(known)
            chosen[key] = self._copy(value)

    def _grow(self, items: list[Any]) -> None:
        if not items:
            return
        for _ in range(self.random.choice((1, 1, 2, 5, 20, 100))):
            item = self._copy(self.random.choice(items))
            if isinstance(item, dict) and isinstance(item.get("name"), str):
                item["name"] = f"{item['name'][:30]} {self.random.randrange(1000)}"
            items.append(item)

    def _stretched(self, value: float) -> float:
        made = value * self.random.choice(FACTORS)
        return max(1, round(made)) if isinstance(value, int) else round(made, 6)

    def _copy(self, value: Any) -> Any:
        return json.loads(json.dumps(value))
