"""The representations of an answer, and the choice among them (RFC 9110, section 12).

Every operation answers as JSON; which others it has stands in its row (``operations``). Two of one
media type (two kinds of drawing, say) are told apart by name, with the query parameter ``as``; by
``Accept`` the first of them is sent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from flask import request

from ..renders.markdown import markdown
from ..renders.plain_text import plain_text
from .answers import write
from .parameters import BadParameters, fault

JSON_TYPE = "application/json"
CHOSEN_BY = "as"


@dataclass(frozen=True, slots=True)
class Context:
    """What a representation may know besides the answer and the order.

    ``schema`` is the address of the answer's schema, ``question`` that of the question as a GET, if
    it has one: a question asked by POST, or a long one, has none.
    """

    operation: str
    schema: str
    question: str | None = None


Render = Callable[[Any, Any, Context], str | bytes]


@dataclass(frozen=True, slots=True)
class Representation:
    """One way to write an answer down: from the engine's answer and order, not from the JSON."""

    media_type: str
    name: str
    render: Render


class NotOffered(Exception):
    """The caller accepts none of the representations there are: its arguments."""


JSON = Representation(JSON_TYPE, "json", lambda made, order, _: write(made, order.units))

_TEXT = Representation("text/plain", "text", lambda made, order, _: plain_text(made, order))
_MARKDOWN = Representation(
    "text/markdown", "markdown", lambda made, order, _: markdown(made, order)
)
PRINTED = (_TEXT, _MARKDOWN)


def table(render: Callable[[Any, Any], str]) -> Representation:
    return Representation("text/csv", "rows", lambda made, order, _: render(made, order))


def drawing(name: str, render: Callable[[Any, Any], str]) -> Representation:
    return Representation("image/svg+xml", name, lambda made, order, _: render(made, order))


def page_data(render: Callable[[Any, Any], str]) -> Representation:
    return Representation(
        "application/ld+json", "page-data", lambda made, order, _: render(made, order)
    )


def choose(offers: Sequence[Representation], name: str | None = None) -> Representation:
    """Which of those to answer with: by name if one is given, and by the Accept header.

    Raises NotOffered, or BadParameters for a name there is not.
    """
    if name is not None:
        names = [offer.name for offer in offers]
        if name not in names:
            detail = f"the answer comes as {', '.join(names)}"
            raise BadParameters([fault(CHOSEN_BY, "not-a-choice", detail, names)])
        offers = [offer for offer in offers if offer.name == name]
    best = accepted(*(offer.media_type for offer in offers))
    return next(offer for offer in offers if offer.media_type == best)


def accepted(*offers: str) -> str:
    """The media type that the caller likes best of those there are; ties go to the first.

    Raises NotOffered. A header that cannot be parsed is taken as absent.
    """
    ranges = list(request.accept_mimetypes)
    if not ranges:
        return offers[0]
    best = max(offers, key=lambda offer: quality(offer, ranges))
    if not quality(best, ranges):
        raise NotOffered(*dict.fromkeys(offers))
    return best


def quality(offer: str, ranges: Sequence[tuple[str, float]]) -> float:
    """How well a media type is liked: the most specific range that covers it decides.

    Parameters of a range are not looked at: no two representations differ by them.

    >>> quality("text/csv", [("text/*", 0.5), ("*/*", 1), ("text/csv", 0)])
    0
    """
    return max(_matches(offer, ranges), default=(0, 0.0))[1]


def _matches(offer: str, ranges: Iterable[tuple[str, float]]) -> Iterable[tuple[int, float]]:
    family = offer.split("/")[0]
    for told, liking in ranges:
        bare = told.split(";")[0].strip().lower()
        for specific, covering in enumerate(("*/*", f"{family}/*", offer)):
            if bare == covering:
                yield specific, liking
