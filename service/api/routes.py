"""Routes: translate, call the engine, translate back. Errors are handled in one place each."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from flask import Blueprint, Flask, Response, request
from marshmallow import Schema, ValidationError
from werkzeug.exceptions import (
    HTTPException,
    MethodNotAllowed,
    NotFound,
    RequestEntityTooLarge,
)

from ..engine.drawing import in_words, svg
from ..engine.errors import Refused
from ..engine.standards import NOTES, TABLES
from ..engine.units import System
from .answers import write
from .builtins import DOCUMENTS, DRAWINGS, TEMPLATES
from .decoding import Malformed, decode
from .health import can_answer
from .operations import OPERATIONS, Operation
from .problems import KINDS, from_messages, from_refusals, problem

JSON = "application/json"
SVG = "image/svg+xml"
LARGEST_BODY = 64 * 1024
ROOT = Path(__file__).parent.parent.parent
VERSION_HEADER = "Service-Version"

routes = Blueprint("v1", __name__)


class NotTaken(Exception):
    """A body of another media type, or compressed."""


class NotOffered(Exception):
    """The caller accepts none of the representations there are: its arguments."""


def answer(value: Any, described_by: str | None = None) -> Response:
    made = Response(json.dumps(value, ensure_ascii=False, allow_nan=False), mimetype=JSON)
    made.headers.add("Link", '</v1/openapi.json>; rel="service-desc"')
    if described_by:
        made.headers.add("Link", f'</v1/schemas/{described_by}>; rel="describedby"')
    return made


def body_of_request() -> Any:
    """The request's JSON, refused before it is read where its headers already say no."""
    if request.mimetype != JSON or request.content_encoding:
        raise NotTaken
    if (request.content_length or 0) > LARGEST_BODY:
        raise RequestEntityTooLarge
    try:
        body = request.get_data(cache=False)
    except HTTPException:
        raise
    except Exception as error:  # a broken transfer must not look like a fault of the service
        raise Malformed("the body could not be read as it was sent") from error
    if request.content_length is not None and len(body) < request.content_length:
        raise Malformed("the body is shorter than its Content-Length")
    return decode(body)


def check_accept(*offered: str) -> str:
    """The media type to answer in: the caller's best; the first where any will do."""
    # werkzeug parses the header; a header it cannot parse is taken as absent.
    offers = offered or (JSON,)
    if not request.accept_mimetypes:
        return offers[0]
    best = request.accept_mimetypes.best_match(offers)
    if not best:
        raise NotOffered(*offers)
    return best


def view_of(operation: Operation) -> Callable[[], Response]:
    schema: Schema = operation.request()

    def view() -> Response:
        chosen = check_accept(JSON, *operation.renders)
        order = schema.load(body_of_request())
        made = operation.compute(order)
        if chosen == JSON:
            response = answer(write(made, order.units), f"{operation.id}-answer")
        else:
            response = Response(operation.renders[chosen](made, order.units), mimetype=chosen)
        if operation.renders:
            response.vary.add("Accept")
        return response

    return view


for _operation in OPERATIONS:
    routes.add_url_rule(_operation.path, _operation.id, view_of(_operation), methods=["POST"])


@routes.get("/v1/templates")
def list_templates() -> Response:
    check_accept()
    listed = [
        {
            "name": t.name,
            "title": t.title,
            "description": t.description,
            "measurements": DOCUMENTS[t.name]["measurements"],
            "href": f"/v1/templates/{t.name}",
            "drawing": f"/v1/templates/{t.name}/drawing",
            "drawing_in_words": in_words(DRAWINGS[t.name]),
        }
        for t in TEMPLATES.values()
    ]
    return answer({"templates": listed}, "templates-answer")


@routes.get("/v1/templates/<name>")
def one_template(name: str) -> Response:
    check_accept()
    document = found(name, DOCUMENTS, "template")
    return answer(document, "round-template" if "start" in document else "template")


@routes.get("/v1/templates/<name>/drawing")
def drawing_of_template(name: str) -> Response:
    check_accept(SVG)
    return Response(svg(found(name, DRAWINGS, "template")), mimetype=SVG)


@routes.get("/v1/standards")
def list_standards() -> Response:
    check_accept()
    return answer({"tables": [{"name": n, "href": f"/v1/standards/{n}"} for n in TABLES]})


@routes.get("/v1/standards/<table>")
def one_standard(table: str) -> Response:
    check_accept()
    rows = found(table, TABLES, "table")
    system: System = "imperial" if request.args.get("units") == "imperial" else "metric"
    note = {"note": NOTES[table]} if table in NOTES else {}
    written = {"table": table, **note, "rows": [write(row, system) for row in rows]}
    return answer(written, f"{table}-answer")


@routes.get("/v1/problems/<slug>")
def one_problem(slug: str) -> Response:
    kind = found(slug, KINDS, "problem type")
    return answer(
        {"type": kind.uri, "status": kind.status, "title": kind.title, "meaning": kind.meaning}
    )


@routes.get("/v1/schemas")
def list_schemas() -> Response:
    check_accept()
    names = sorted(file.stem for file in (ROOT / "schemas").glob("*.json"))
    return answer({"schemas": [{"name": n, "href": f"/v1/schemas/{n}"} for n in names]})


@routes.get("/v1/schemas/<name>")
def one_schema(name: str) -> Response:
    files = {file.stem: file for file in (ROOT / "schemas").glob("*.json")}
    text = found(name, files, "schema").read_text(encoding="utf-8")
    return Response(text, mimetype="application/schema+json")


@routes.get("/v1/openapi.json")
def openapi() -> Response:
    text = (ROOT / "openapi" / "openapi.json").read_text(encoding="utf-8")
    return Response(text, mimetype=JSON)


@routes.get("/livez")
def livez() -> Response:
    return answer({"status": "alive"})


@routes.get("/readyz")
def readyz() -> Response:
    return (
        answer({"status": "ready"}) if can_answer() else problem("not-ready", "self-check failed")
    )


def found(name: str, things: Any, what: str) -> Any:
    if name not in things:
        raise NotFound(f"there is no such {what}; there are {', '.join(sorted(things))}")
    return things[name]


def register(app: Flask) -> None:
    """Routes, the limit on bodies, and every error as a problem document."""
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
    app.register_blueprint(routes)
    app.register_error_handler(ValidationError, lambda e: from_messages(e.messages))
    app.register_error_handler(Refused, lambda e: from_refusals(e.refusals))
    app.register_error_handler(Malformed, lambda e: problem("malformed", str(e)))
    app.register_error_handler(NotTaken, _not_taken)
    app.register_error_handler(NotOffered, _not_offered)
    app.register_error_handler(RequestEntityTooLarge, _too_large)
    app.register_error_handler(MethodNotAllowed, _wrong_method)
    app.register_error_handler(NotFound, _not_found)
    app.register_error_handler(Exception, _failed)


def _not_taken(_: NotTaken) -> Response:
    detail = f"send the body as {JSON}, not compressed"
    return problem("unsupported-media-type", detail, headers={"Accept-Post": JSON})


def _not_offered(error: NotOffered) -> Response:
    detail = f"the answer comes as {', '.join(error.args)}"
    offer = {"pointer": "", "code": "not-offered", "detail": detail, "permitted": [*error.args]}
    return problem("not-acceptable", detail, [offer])


def _too_large(_: RequestEntityTooLarge) -> Response:
    # What was not read must not be taken for the next request.
    headers = {"Connection": "close"}
    return problem("too-large", f"a body holds at most {LARGEST_BODY} bytes", headers=headers)


def _wrong_method(error: MethodNotAllowed) -> Response:
    allow = ", ".join(sorted(error.valid_methods or ()))
    return problem("method-not-allowed", f"this resource takes {allow}", headers={"Allow": allow})


def _not_found(error: NotFound) -> Response:
    told = error.description or ""
    detail = (
        told if told.startswith("there is no such") else "no such resource; see /v1/openapi.json"
    )
    return problem("not-found", detail)


def _failed(error: Exception) -> Response:
    if isinstance(error, HTTPException) and (error.code or 500) < 500:
        return problem("malformed", error.name)
    raise error
