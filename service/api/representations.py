"""The representations of an answer, and the choice among them (RFC 9110, section 12).

Every operation answers as JSON. To give one another representation, add it to ``OTHERS``: routes,
negotiation and the OpenAPI document follow. Two of one media type (two kinds of drawing, say) are
told apart by name, with the query parameter ``as``; by ``Accept`` the first of them is sent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from flask import request

from ..renders.audit_paper import audit_csv
from ..renders.conversion_paper import conversion_csv
from ..renders.grid_svg import grid_svg, shaping_grid_svg
from ..renders.howto import piece_howto, project_howto
from ..renders.markdown import markdown
from ..renders.outline_svg import outline_svg
from ..renders.plain_text import plain_text
from ..renders.project_svg import project_svg
from ..renders.rows_csv import piece_csv, project_csv, shaping_csv
from ..renders.size_table_csv import size_table_csv
from ..renders.yarn_paper import yarn_csv
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
_PRINTED = (_TEXT, _MARKDOWN)


def _table(render: Callable[[Any, Any], str]) -> Representation:
    return Representation("text/csv", "rows", lambda made, order, _: render(made, order))


def _drawing(name: str, render: Callable[[Any, Any], str]) -> Representation:
    return Representation("image/svg+xml", name, lambda made, order, _: render(made, order))


def _page_data(render: Callable[[Any, Any], str]) -> Representation:
    return Representation(
        "application/ld+json", "page-data", lambda made, order, _: render(made, order)
    )


# By operation id, in the service's order of preference; JSON comes before them all.
OTHERS: dict[str, tuple[Representation, ...]] = {
    "pieces": (
        *_PRINTED, _table(lambda piece, _: piece_csv(piece)), _drawing("outline", outline_svg),
        _drawing("grid", grid_svg), _page_data(piece_howto),
    ),
    "projects": (
        *_PRINTED, _table(lambda project, _: project_csv(project)),
        _drawing("outline", project_svg), _page_data(project_howto),
    ),
    "shaping": (*_PRINTED, _table(shaping_csv), _drawing("grid", shaping_grid_svg)),
    "edgings": _PRINTED,
    "buttonholes": _PRINTED,
    "gauge": _PRINTED,
    "yarn": (*_PRINTED, _table(yarn_csv)),
    "gauge-checks": _PRINTED,
    "conversions": (*_PRINTED, _table(conversion_csv)),
    "audits": (*_PRINTED, _table(audit_csv)),
    "size-tables": (
        _table(lambda table, order: size_table_csv(table, order.units)), *_PRINTED,
    ),
}  # fmt: skip


def of(operation: str) -> tuple[Representation, ...]:
    return (JSON, *OTHERS.get(operation, ()))


def choose(operation: str, name: str | None = None) -> Representation:
    """What to answer with: by name if one is given, and by the Accept header.

    Raises NotOffered, or BadParameters for a name there is not.
    """
    offers = of(operation)
    if name is not None:
        names = [offer.name for offer in offers]
        if name not in names:
            detail = f"the answer comes as {', '.join(names)}"
            raise BadParameters([fault(CHOSEN_BY, "not-a-choice", detail, names)])
        offers = tuple(offer for offer in offers if offer.name == name)
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
