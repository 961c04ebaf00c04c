"""What was asked: the document in the body, or in the query of a GET."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from flask import g, request
from marshmallow import Schema
from werkzeug.exceptions import ClientDisconnected, HTTPException, RequestEntityTooLarge

from . import parameters
from .decoding import Malformed, decode
from .problems import from_messages
from .representations import CHOSEN_BY, JSON, JSON_TYPE, Representation, choose

LARGEST_BODY = 64 * 1024
# Both leave room for the path and the method within the 8,190 bytes of gunicorn's request line.
LONGEST_QUERY = 7000
_LONGEST_ADDRESS = 2000
_STRING_OR_SPACE = re.compile(r'("(?:[^"\\]|\\.)*")|\s+')
READS = ("GET", "HEAD")
_SHORT = "the body is shorter than its Content-Length"


class NotTaken(Exception):
    """A body of another media type than its argument, or compressed."""


class TooLong(Exception):
    """A query that is too long."""


def pairs() -> parameters.Pairs:
    """The parameters of the request's query, read strictly."""
    if len(request.query_string) > LONGEST_QUERY:
        raise TooLong
    return parameters.parse(request.query_string)


def representation(offers: Sequence[Representation]) -> Representation:
    """Which of them the caller wants; a name for it may be given with any method."""
    given = pairs()
    if request.method in READS:
        given = [(name, value) for name, value in given if name == CHOSEN_BY]
    return choose(offers, parameters.only(given, [CHOSEN_BY]).get(CHOSEN_BY))


def question(schema: Schema) -> Any:
    """The document that was asked with, however it was sent."""
    if request.method not in READS:
        return decode(body())
    told = [(name, value) for name, value in pairs() if name != CHOSEN_BY]
    # Errors name the parameter too.
    g.parameters = [name for name, _ in told]
    document, errors = parameters.document(schema, told)
    if errors:
        # What else is wrong is told at once with them.
        raise parameters.BadParameters(errors + from_messages(schema.validate(document)))
    return document


def body() -> bytes:
    """The request's body, refused before it is read where its headers already say no."""
    check_media_type(JSON_TYPE)
    if (request.content_length or 0) > LARGEST_BODY:
        raise RequestEntityTooLarge
    try:
        sent = request.get_data()
    except ClientDisconnected:
        raise Malformed(_SHORT) from None
    except HTTPException:
        raise
    except Exception as error:  # a broken transfer must not look like a fault of the service
        raise Malformed("the body could not be read as it was sent") from error
    if len(sent) > LARGEST_BODY:
        raise RequestEntityTooLarge
    if request.content_length is not None and len(sent) < request.content_length:
        raise Malformed(_SHORT)
    return sent


def check_media_type(taken: str) -> None:
    if request.mimetype != taken or request.content_encoding:
        raise NotTaken(taken)


def address(path: str, chosen: Representation) -> str | None:
    """Where GET gives this answer, if that address is short enough; by POST it is not asked for."""
    if request.method in READS:
        return f"{path}?{request.query_string.decode()}"
    if request.method == "POST":
        return None
    compact = _STRING_OR_SPACE.sub(r"\1", request.get_data().decode())
    if len(compact) > _LONGEST_ADDRESS:
        return None
    named = "" if chosen is JSON else f"{CHOSEN_BY}={chosen.name}&"
    made = f"{path}?{named}{parameters.WHOLE}={quote(compact, safe=':,')}"
    return made if len(made) <= _LONGEST_ADDRESS else None
