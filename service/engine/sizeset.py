"""Instructions for all sizes in one text: the smallest first and the rest in brackets."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated

from .exact import Fraction
from .instructions import Instruction
from .working import COMPARED, STEP, spend

_NUMBER = r"(?<![\w./])(?:\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)(?![\w/])"
_COUNTS = rf"{_NUMBER}(?:, (?:{_NUMBER}|…))*"
_RANGE = rf"{_NUMBER}–{_NUMBER}"
# Counts that end a row, "(6, 4, 2 sts)", are one figure: sizes may have more or fewer of them.
# So is a range: both of its ends stand together.
_FIGURE = re.compile(rf"(?<=\(){_COUNTS}(?= sts)|{_RANGE}|{_NUMBER}")
_MOST_COMPARED = 40_000
"""Pairs of steps: texts longer than this are merged at their two ends only."""


@dataclass(frozen=True, slots=True)
class SetInstruction:
    step: Annotated[int, "place in the working order, from 1"]
    text: Annotated[str, "what to do"]
    size: Annotated[str | None, "the size that the step is for; left out where it is for all"]
    stitches: Annotated[
        tuple[int, ...],
        "stitches in work after the step: of each size in their order, or of the one it is for",
    ]


def one_text(texts: tuple[str, ...]) -> str | None:
    """One text for all sizes; None where more than figures differ. Source: common-practice.

    >>> one_text(("Ch 31. (30 sts)", "Ch 43. (42 sts)"))
    'Ch 31 (43). (30 (42) sts)'
    >>> one_text(("Rows 2–57: Ch 1, turn.", "Rows 2–71: Ch 1, turn."))
    'Rows 2–57 (71): Ch 1, turn.'
    >>> one_text(("Rows 65–68: Work as Row 64.", "Rows 116–126: Work as Row 115."))
    'Rows 65–68 (116–126): Work as Row 64 (115).'
    >>> one_text(("Repeat once more.", "Repeat 2 more times."))
    """
    if len({_wording(text) for text in texts}) > 1:
        return None
    rows = zip(*(_FIGURE.findall(text) for text in texts), strict=True)
    figures = iter([_figure(row) for row in rows])
    merged = _FIGURE.sub(lambda _: next(figures), texts[0])
    kept = (own_text(merged, i, len(texts)) == text for i, text in enumerate(texts))
    return merged if all(kept) else None


def _wording(text: str) -> str:
    return _FIGURE.sub(lambda figure: "#–#" if "–" in figure[0] else "#", text)


def _figure(sizes: tuple[str, ...]) -> str:
    """One figure for all sizes; ranges that begin alike tell their beginning once."""
    first, *rest = sizes
    if not rest or set(rest) == {first}:
        return first
    begun = {size.split("–")[0] for size in sizes}
    if "–" in first and len(begun) == 1:
        rest = [size.split("–")[1] for size in rest]
    return f"{first} ({('; ' if any(',' in s for s in sizes) else ', ').join(rest)})"


def own_text(text: str, size: int, sizes: int) -> str:
    """The text of one of so many sizes, taken out of the text for all.

    Source: common-practice.

    >>> own_text("Ch 31 (43, 55). (30 (42, 54) sts)", 1, 3)
    'Ch 43. (42 sts)'
    >>> own_text("Rows 65–68 (116–126): Work as Row 64 (115).", 1, 2)
    'Rows 116–126: Work as Row 115.'
    """
    if sizes == 1:
        return text
    more = sizes - 2
    lists = rf"(?<=\()({_COUNTS}) \(({_COUNTS}(?:; {_COUNTS}){{{more}}})\)(?= sts)"
    ranges, figures = (
        rf"({figure}) \(({figure}(?:, {figure}){{{more}}})\)" for figure in (_RANGE, _NUMBER)
    )

    def own(match: re.Match[str], apart: str) -> str:
        first, rest = match.groups()
        return str([first, *(rest.split(apart) if more else [rest])][size])

    text = re.sub(lists, lambda m: own(m, "; "), text)
    for figure in (ranges, figures):
        text = re.sub(figure, lambda m: own(m, ", "), text)
    return text


def label(size: str) -> str:
    """What stands before a step that is for one size only. Source: common-practice.

    >>> label("pocket")
    'Pocket: '
    """
    return f"{size[0].upper()}{size[1:]}: "


def size_set(steps: Mapping[str, tuple[Instruction, ...]]) -> tuple[SetInstruction, ...]:
    """The steps of all sizes, given smallest first, merged where their wording is the same.

    Where it differs, each size has its own steps, with its name before them. Nothing is lost:
    the steps for all and those of a size, in order, are the size's own. Source: common-practice.

    >>> ch = {"pocket": (Instruction(1, "Ch 20.", 19),), "desk": (Instruction(1, "Ch 39.", 38),)}
    >>> size_set(ch)[0].text
    'Ch 20 (39).'
    """
    names, made = [*steps], list[SetInstruction]()
    done = [0] * len(names)

    def own_steps(upto: list[int]) -> None:
        for place, (name, own) in enumerate(steps.items()):
            for step in own[done[place] : upto[place]]:
                text = f"{label(name)}{step.text}"
                made.append(SetInstruction(len(made) + 1, text, name, (step.stitches,)))

    spend(STEP * sum(map(len, steps.values())), ("sizes",))
    for row in _aligned([[_wording(i.text) for i in own] for own in steps.values()]):
        own_steps(row)
        shared = [steps[name][at] for name, at in zip(names, row, strict=True)]
        text = one_text(tuple(i.text for i in shared))
        if text is None:
            done[:] = row
            own_steps([at + 1 for at in row])
        else:
            stitches = tuple(i.stitches for i in shared)
            made.append(SetInstruction(len(made) + 1, text, None, stitches))
        done[:] = [at + 1 for at in row]
    own_steps([len(own) for own in steps.values()])
    return tuple(made)


def _aligned(wordings: list[list[str]]) -> list[list[int]]:
    """Places, size by size, of the steps that all sizes have in common and in one order."""
    common = wordings[0]
    for own in wordings[1:]:
        common = _in_common(common, own)
    rows = []
    at = [-1] * len(wordings)
    for wording in common:
        at = [own.index(wording, after + 1) for own, after in zip(wordings, at, strict=True)]
        rows.append(at)
    return rows


def _in_common(one: list[str], other: list[str]) -> list[str]:
    """The longest run of steps that both have in the same order, others between them or not."""
    head = 0
    while head < min(len(one), len(other)) and one[head] == other[head]:
        head += 1
    tail = 0
    while tail < min(len(one), len(other)) - head and one[-1 - tail] == other[-1 - tail]:
        tail += 1
    first, second = one[head : len(one) - tail], other[head : len(other) - tail]
    middle: list[str] = []
    if 0 < len(first) * len(second) <= _MOST_COMPARED:
        spend(COMPARED * len(first) * len(second), ("sizes",))
        middle = _longest(first, second)
    return [*one[:head], *middle, *one[len(one) - tail :]]


def _longest(one: list[str], other: list[str]) -> list[str]:
    """Longest common subsequence, by the table of lengths."""
    lengths = [[0] * (len(other) + 1) for _ in range(len(one) + 1)]
    for i in range(len(one) - 1, -1, -1):
        for j in range(len(other) - 1, -1, -1):
            same = one[i] == other[j]
            lengths[i][j] = (
                lengths[i + 1][j + 1] + 1 if same else max(lengths[i + 1][j], lengths[i][j + 1])
            )
    found, i, j = [], 0, 0
    while i < len(one) and j < len(other):
        if one[i] == other[j]:
            found.append(one[i])
            i, j = i + 1, j + 1
        elif lengths[i + 1][j] >= lengths[i][j + 1]:
            i += 1
        else:
            j += 1
    return found


def smallest_first(widths: Mapping[str, Fraction]) -> tuple[str, ...]:
    """The sizes in the order of instructions: as given if the widths never fall, else by width.

    Source: common-practice.

    >>> smallest_first({"desk": Fraction(24), "pocket": Fraction(12)})
    ('pocket', 'desk')
    """
    in_order = all(one <= other for one, other in pairwise(widths.values()))
    return tuple(widths) if in_order else tuple(sorted(widths, key=lambda size: widths[size]))
