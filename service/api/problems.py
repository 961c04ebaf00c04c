"""Problem documents (RFC 9457): what was wrong, where, and what would work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from http import HTTPStatus
from typing import Any

from flask import Response, g, has_app_context
from marshmallow import ValidationError

from ..engine.errors import Path, Permitted, Refused
from .decoding import Malformed
from .parameters import BadParameters, name_of
from .writing import dumps

MEDIA_TYPE = "application/problem+json"
MOST_TOLD = 100
"""Errors that one problem document lists."""
LONG_NAME = 80
"""No field has so long a name, so none is meant by one."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A type of problem; its URI is /v1/problems/ and its slug."""

    slug: str
    status: int
    title: str
    meaning: str

    @property
    def uri(self) -> str:
        return f"/v1/problems/{self.slug}"


KINDS: dict[str, Kind] = {
    kind.slug: kind
    for kind in (
        Kind("malformed", 400, "The request is not well formed",
             "Send one JSON document in UTF-8, or a query of parameters; the detail says where it"
             " goes wrong."),
        Kind("key-needed", 401, "A key is needed",
             "Whoever runs the service gives keys; send yours as Authorization: Bearer KEY. What is"
             " only read, as templates and tables are, needs none."),
        Kind("key-unknown", 401, "The key is not known",
             "Send the key as it was given to you; whoever runs the service may have taken it"
             " back."),
        Kind("origin-not-allowed", 403, "Pages of that origin may not ask",
             "Whoever runs the service lists the origins whose pages may; other programs may ask"
             " from anywhere."),
        Kind("not-found", 404, "There is nothing here",
             "The detail names what there is instead."),
        Kind("method-not-allowed", 405, "This resource does not take that method",
             "The Allow header names those it takes."),
        Kind("not-acceptable", 406, "No representation that you accept",
             "The errors name the media types there are."),
        Kind("too-large", 413, "The body is too large",
             "Ask for fewer things at once; the detail names the limit."),
        Kind("uri-too-long", 414, "The address is too long",
             "Ask by QUERY or POST, with the question in the body."),
        Kind("unsupported-media-type", 415, "The body is of a media type not taken here",
             "The Accept-Post header names the one that is; compressed bodies are not taken."),
        Kind("invalid-request", 422, "Some fields are not what they should be",
             "Each error points at its field and says what would be accepted."),
        Kind("invalid-line", 422, "The line is not a line of a batch",
             "Each error points into the line; an error in a line's body is told as it would be if"
             " the body were sent alone."),
        Kind("cannot-be-made", 422, "What was asked for cannot be made",
             "Each field is well formed, but together they ask for the impossible; each error says"
             " what would work."),
        Kind("too-many-requests", 429, "Too many requests at once",
             "Wait as long as the Retry-After header says, and ask again."),
        Kind("header-too-large", 431, "The header fields are too large",
             "Send shorter header fields, and fewer."),
        Kind("internal", 500, "The service failed",
             "The fault is the service's; nothing about the request needs changing."),
        Kind("unreachable", 502, "The service could not be reached",
             "The proxy in front had no answer from it; ask again: no request has an effect."),
        Kind("not-ready", 503, "The service cannot answer yet",
             "Try again shortly."),
        Kind("timed-out", 504, "The service took too long",
             "The proxy in front stopped waiting for it; ask again, for fewer things at once."),
    )
}  # fmt: skip


def pointer(path: Path) -> str:
    """JSON Pointer (RFC 6901) of a path; the whole document is the empty string.

    >>> pointer(("template", "sections", 1, "a/b"))
    '/template/sections/1/a~1b'
    """
    return "".join(f"/{str(p).replace('~', '~0').replace('/', '~1')}" for p in path)


def document(slug: str, detail: str, errors: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    kind = KINDS[slug]
    made = {"type": kind.uri, "title": kind.title, "status": kind.status, "detail": detail}
    return {**made, "errors": [*map(_with_parameter, errors)]} if errors else made


def sent(told: dict[str, Any], headers: dict[str, str] | None = None) -> Response:
    return Response(dumps(told), told["status"], headers, mimetype=MEDIA_TYPE)


def problem(
    slug: str,
    detail: str,
    errors: list[dict[str, Any]] | None = None,
    headers: dict[str, str] | None = None,
) -> Response:
    return sent(document(slug, detail, errors), headers)


def refused_unread(status: int, told: str) -> bytes:
    """A whole answer, head and all, to what the server could not read as a request of HTTP."""
    phrase = HTTPStatus(status).phrase
    kind = next((k for k in KINDS.values() if k.status == status), None)
    made = {
        "type": kind.uri if kind else "about:blank",
        "title": kind.title if kind else phrase,
        "status": status,
        "detail": told[:200] or phrase,
    }
    body = dumps(made).encode()
    head = (
        f"HTTP/1.1 {status} {phrase}\r\nConnection: close\r\nContent-Type: {MEDIA_TYPE}\r\n"
        "Cache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    return head.encode() + body


def explained(error: Exception, invalid: str = "invalid-request") -> dict[str, Any] | None:
    """The problem document of what a caller did; None where the caller did nothing wrong."""
    if isinstance(error, Malformed):
        return document("malformed", str(error))
    if isinstance(error, ValidationError):
        slug, errors = invalid, from_messages(error.messages)
    elif isinstance(error, BadParameters):
        slug, errors = invalid, error.errors
    elif isinstance(error, Refused):
        slug = "cannot-be-made"
        errors = [_error(r.path, r.code, r.detail, r.permitted) for r in error.refusals]
    else:
        return None
    return document(slug, _in_all(errors), errors)


def _with_parameter(error: dict[str, Any]) -> dict[str, Any]:
    """The error, and which query parameter it is of where the question was one."""
    asked = g.get("parameters") if has_app_context() else None
    name = None if asked is None else name_of(error["pointer"], asked)
    return {**error, "parameter": name} if name and "parameter" not in error else error


def _error(path: Path, code: str, detail: str, permitted: Permitted | None) -> dict[str, Any]:
    error: dict[str, Any] = {"pointer": pointer(path), "code": code, "detail": detail}
    if permitted is not None:
        error["permitted"] = permitted
    return error


def from_messages(messages: dict[Any, Any] | list[Any]) -> list[dict[str, Any]]:
    """Each thing that is wrong, as far as anyone would read them."""
    found = list(_flat(messages, ()))
    made = [_message(path, message) for path, message in found[:MOST_TOLD]]
    more = len(found) - MOST_TOLD
    if more > 0:
        detail = f"{more} more are wrong, and are told when these are put right"
        made.append(_error((), "more-errors", detail, None))
    return made


def _in_all(errors: list[dict[str, Any]]) -> str:
    where = errors[0].get("parameter") or errors[0]["pointer"] or "the document"
    first = f"{where}: {errors[0]['detail']}"
    more = len(errors) - 1
    return first if not more else f"{first} (and {more} more)"


def _flat(messages: Any, path: Path) -> Iterator[tuple[Path, Any]]:
    """marshmallow's nested messages, one by one with their paths."""
    if isinstance(messages, dict):
        # marshmallow has the unknown in no order, and an answer must have one.
        for key, inner in sorted(messages.items(), key=_unknown_last):
            yield from _flat(inner, path if key == "_schema" else (*path, key))
        return
    for message in messages if isinstance(messages, list) else [messages]:
        yield path, message


def _unknown_last(item: tuple[Any, Any]) -> tuple[bool, str]:
    key, inner = item
    unknown = isinstance(inner, list) and getattr(inner[0], "code", "") == "unknown-field"
    return unknown, str(key) if unknown else ""


def _message(path: Path, message: Any) -> dict[str, Any]:
    code = getattr(message, "code", "invalid")
    permitted = getattr(message, "permitted", None)
    detail = str(message)
    if code == "unknown-field" and isinstance(permitted, list) and len(str(path[-1])) <= LONG_NAME:
        near = get_close_matches(str(path[-1]), permitted, n=1)
        detail = f"{detail}{f'; did you mean {near[0]}?' if near else ''}"
    return _error(path, code, detail, permitted)
