"""A page to be printed, before it is plain text or Markdown: headings, words, lists, tables."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Heading:
    level: int
    text: str


@dataclass(frozen=True, slots=True)
class Words:
    text: str


@dataclass(frozen=True, slots=True)
class Points:
    """A list; numbered from 1 where the order counts."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Heading | Words | Points | Table
Paper = tuple[Block, ...]
