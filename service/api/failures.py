"""Every way to fail, as a problem document: one handler each."""

from __future__ import annotations

import logging
import traceback
from typing import Any

from flask import Flask, Response, g
from marshmallow import ValidationError
from werkzeug.exceptions import (
    HTTPException,
    MethodNotAllowed,
    NotFound,
    RequestEntityTooLarge,
)

from ..engine.errors import Refused
from .decoding import Malformed
from .parameters import BadParameters
from .problems import explained, problem, sent
from .reading import LARGEST_BODY, LONGEST_QUERY, NotTaken, TooLong
from .representations import NotOffered

LOG = logging.getLogger("service")


def register(app: Flask) -> None:
    app.log_exception = _log  # type: ignore[method-assign, assignment]
    for refusal in (ValidationError, BadParameters, Refused, Malformed):
        app.register_error_handler(refusal, _refused)
    app.register_error_handler(NotTaken, _not_taken)
    app.register_error_handler(NotOffered, _not_offered)
    app.register_error_handler(RequestEntityTooLarge, _too_large)
    app.register_error_handler(TooLong, _too_long)
    app.register_error_handler(MethodNotAllowed, _wrong_method)
    app.register_error_handler(NotFound, _not_found)
    app.register_error_handler(500, _internal)
    app.register_error_handler(Exception, _failed)


def where(error: BaseException | None) -> str:
    """Where a fault arose and of what kind it is, for the log: without its words, since those may
    repeat what was sent."""
    told: list[str] = []
    while error:
        told = [*traceback.format_tb(error.__traceback__), f"{type(error).__qualname__}\n", *told]
        error = error.__cause__ or error.__context__
    return "".join(told)


def _log(info: Any) -> None:
    """The fault, findable by the id that the caller was given."""
    LOG.error("request %s failed\n%s", g.request_id, where(info[1]))


def _refused(error: Exception) -> Response:
    told = explained(error)
    assert told is not None
    return sent(told)


def _not_taken(error: NotTaken) -> Response:
    (taken,) = error.args
    detail = f"send the body as {taken}, not compressed"
    return problem("unsupported-media-type", detail, headers={"Accept-Post": taken})


def _not_offered(error: NotOffered) -> Response:
    detail = f"the answer comes as {', '.join(error.args)}"
    offer = {"pointer": "", "code": "not-offered", "detail": detail, "permitted": [*error.args]}
    return problem("not-acceptable", detail, [offer])


def _too_large(_: RequestEntityTooLarge) -> Response:
    # What was not read must not be taken for the next request.
    headers = {"Connection": "close"}
    return problem("too-large", f"a body holds at most {LARGEST_BODY} bytes", headers=headers)


def _too_long(_: TooLong) -> Response:
    detail = f"a query holds at most {LONGEST_QUERY} bytes; ask by QUERY or POST instead"
    return problem("uri-too-long", detail)


def _wrong_method(error: MethodNotAllowed) -> Response:
    allow = ", ".join(sorted(error.valid_methods or ()))
    return problem("method-not-allowed", f"this resource takes {allow}", headers={"Allow": allow})


def _not_found(error: NotFound) -> Response:
    told = error.description or ""
    detail = (
        told if told.startswith("there is no such") else "no such resource; see /v1/openapi.json"
    )
    return problem("not-found", detail)


def _internal(_: Exception) -> Response:
    return problem("internal", "the request was not answered; the fault has been logged")


def _failed(error: Exception) -> Response:
    if isinstance(error, HTTPException) and (error.code or 500) < 500:
        return problem("malformed", error.name)
    raise error
