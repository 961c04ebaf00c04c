"""What is read and not computed: templates, tables, schemas, the contract, health."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, request
from werkzeug.exceptions import NotFound

from ..engine.drawing import in_words, svg
from ..engine.standards import NOTES, TABLES
from ..engine.units import System
from .answers import write
from .builtins import DOCUMENTS, TEMPLATES, drawing
from .health import can_answer, draining
from .metrics import exposed
from .parameters import BadParameters, fault, only
from .problems import KINDS, problem
from .reading import pairs
from .representations import JSON_TYPE, accepted
from .writing import dumps

SVG = "image/svg+xml"
SCHEMA = "application/schema+json"
ROOT = Path(__file__).parent.parent.parent

_SYSTEMS: dict[str, System] = {"metric": "metric", "imperial": "imperial"}

lookups = Blueprint("lookups", __name__)
health = Blueprint("health", __name__)


def answer(value: Any, described_by: str | None = None) -> Response:
    made = Response(dumps(value), mimetype=JSON_TYPE)
    if described_by:
        made.headers.add("Link", f'</v1/schemas/{described_by}>; rel="describedby"')
    return made


@lookups.before_request
def check_parameters() -> None:
    """Only the tables come in units; a parameter that is not known is not ignored."""
    if request.method != "OPTIONS":
        only(pairs(), ["units"] if (request.endpoint or "").endswith(".one_standard") else [])


@lookups.get("/v1/templates")
def list_templates() -> Response:
    accepted(JSON_TYPE)
    listed = [
        {
            "name": t.name,
            "title": t.title,
            "description": t.description,
            "measurements": DOCUMENTS[t.name]["measurements"],
            "href": f"/v1/templates/{t.name}",
            "drawing": f"/v1/templates/{t.name}/drawing",
            "drawing_in_words": in_words(drawing(t.name)),
        }
        for t in TEMPLATES.values()
    ]
    return answer({"templates": listed}, "templates-answer")


@lookups.get("/v1/templates/<name>")
def one_template(name: str) -> Response:
    accepted(JSON_TYPE)
    document = found(name, DOCUMENTS, "template")
    return answer(document, "round-template" if "start" in document else "template")


@lookups.get("/v1/templates/<name>/drawing")
def drawing_of_template(name: str) -> Response:
    accepted(SVG)
    return Response(svg(drawing(found(name, TEMPLATES, "template").name)), mimetype=SVG)


@lookups.get("/v1/standards")
def list_standards() -> Response:
    accepted(JSON_TYPE)
    return answer({"tables": [{"name": n, "href": f"/v1/standards/{n}"} for n in TABLES]})


@lookups.get("/v1/standards/<table>")
def one_standard(table: str) -> Response:
    accepted(JSON_TYPE)
    rows = found(table, TABLES, "table")
    system = _system(dict(pairs()).get("units", "metric"))
    note = {"note": NOTES[table]} if table in NOTES else {}
    written = {"table": table, **note, "rows": [json.loads(write(row, system)) for row in rows]}
    return answer(written, f"{table}-answer")


def _system(name: str) -> System:
    if name not in _SYSTEMS:
        told = [*_SYSTEMS]
        raise BadParameters([fault("units", "not-a-choice", "units are metric or imperial", told)])
    return _SYSTEMS[name]


@lookups.get("/v1/problems/<slug>")
def one_problem(slug: str) -> Response:
    accepted(JSON_TYPE)
    kind = found(slug, KINDS, "problem type")
    return answer(
        {"type": kind.uri, "status": kind.status, "title": kind.title, "meaning": kind.meaning}
    )


@lookups.get("/v1/schemas")
def list_schemas() -> Response:
    accepted(JSON_TYPE)
    names = sorted(file.stem for file in (ROOT / "schemas").glob("*.json"))
    return answer({"schemas": [{"name": n, "href": f"/v1/schemas/{n}"} for n in names]})


@lookups.get("/v1/schemas/<name>")
def one_schema(name: str) -> Response:
    chosen = accepted(SCHEMA, JSON_TYPE)
    files = {file.stem: file for file in (ROOT / "schemas").glob("*.json")}
    text = found(name, files, "schema").read_text(encoding="utf-8")
    return Response(text, mimetype=chosen)


@cache
def contract() -> str:
    return (ROOT / "openapi" / "openapi.json").read_text(encoding="utf-8")


@cache
def later_contract() -> str:
    """The same by OpenAPI 3.2, which has a word for the QUERY method."""
    document = json.loads(contract())
    document["openapi"] = "3.2.0"
    for path in document["paths"].values():
        if path.pop("x-query", None):
            post = path["post"]
            path["query"] = {**post, "operationId": f"{post['operationId']}-by-query"}
    return dumps(document)


@lookups.get("/v1/openapi.json")
def openapi() -> Response:
    accepted(JSON_TYPE)
    return Response(contract(), mimetype=JSON_TYPE)


@lookups.get("/v1/openapi-3.2.json")
def openapi_with_query() -> Response:
    accepted(JSON_TYPE)
    return Response(later_contract(), mimetype=JSON_TYPE)


@health.get("/livez")
def livez() -> Response:
    return answer({"status": "alive"})


@health.get("/readyz")
def readyz() -> Response:
    if draining():
        told = "draining: this server is about to stop"
    elif not can_answer():
        told = "self-check failed"
    else:
        return answer({"status": "ready"})
    return problem("not-ready", told, headers={"Retry-After": "1"})


@health.get("/metrics")
def metrics() -> Response:
    text, media_type = exposed(request.headers.get("Accept"))
    return Response(text, content_type=media_type)


@health.after_request
def never_kept(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response


def found(name: str, things: Any, what: str) -> Any:
    if name not in things:
        raise NotFound(f"there is no such {what}; there are {', '.join(sorted(things))}")
    return things[name]
