"""What the OpenAPI document says of each path: every operation and every resource that is read."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from marshmallow import Schema

from ..engine.working import MOST_WORK
from .answers import Open, schema
from .decoding import DEEPEST
from .parameter_documents import asked_by, chosen_by
from .problems import KINDS, MEDIA_TYPE
from .reading import LARGEST_BODY, LONGEST_QUERY
from .representations import JSON, JSON_TYPE

ROOT = Path(__file__).parent.parent.parent
COMPONENTS = "#/components/schemas/"
# What is computed may be asked with a key, and where the service has keys may have to be.
SECURITY: list[dict[str, list[str]]] = [{}, {"bearer": []}]
KEYS = ("key-needed", "key-unknown")
# What the proxy in front answers with (deploy/nginx.conf), or a server that is about to stop.
LATER = ("too-many-requests", "unreachable", "not-ready", "timed-out")


def name_of(cls: type[Schema] | Schema) -> str:
    """Component name of a schema; what callers send is told from what they get by its ending."""
    made = cls if isinstance(cls, type) else type(cls)
    if issubclass(made, Open) or made.__name__.endswith("Request"):
        return made.__name__
    return f"{made.__name__.removesuffix('Schema')}Input"


def examples(operation: str) -> dict[str, dict[str, Any]]:
    """The documented cases of an operation: request and answer by name."""
    folder = ROOT / "openapi" / "examples" / operation
    found: dict[str, dict[str, Any]] = {}
    for file in sorted(folder.glob("*.json")):
        case, kind = file.name.removesuffix(".json").rsplit(".", 1)
        found.setdefault(case, {})[kind] = json.loads(file.read_text(encoding="utf-8"))
    return found


def _said(name: str, cls: type[Schema] | None, cases: dict[str, Any]) -> dict[str, Any]:
    media: dict[str, Any] = {"schema": {"$ref": COMPONENTS + name_of(cls)}} if cls else {}
    if cases:
        media["examples"] = {case: {"value": value} for case, value in cases.items()}
    return {"description": name, "content": {JSON_TYPE: media}} if media else {}


def failures(*slugs: str, cases: dict[str, Any] | None = None) -> dict[str, Any]:
    """The problems that a path may answer with, by status."""
    made: dict[str, Any] = {}
    for slug in slugs:
        kind = KINDS[slug]
        media: dict[str, Any] = {"schema": {"$ref": COMPONENTS + "ProblemDocument"}}
        told = {c: v for c, v in (cases or {}).items() if v["status"] == kind.status}
        if told:
            media["examples"] = {case: {"value": value} for case, value in told.items()}
        before = made.get(str(kind.status), {}).get("description")
        title = f"{before}; or: {kind.title}" if before else kind.title
        made[str(kind.status)] = {"description": title, "content": {MEDIA_TYPE: media}}
        if slug in KEYS:
            made[str(kind.status)]["headers"] = {
                "WWW-Authenticate": {
                    "description": "Bearer, with an error where a key was sent (RFC 6750)",
                    "schema": {"type": "string"},
                }
            }
        if slug in LATER:
            made[str(kind.status)]["headers"] = {
                "Retry-After": {"description": "seconds to wait", "schema": {"type": "integer"}}
            }
    return made


_BY_POST = "POST is for clients that cannot send QUERY (RFC 10008), which asks the same."
_BY_GET = (
    "The question in the query: a member within a member is named with dots, a quantity is a number"
    " and its unit (24.5cm), a list is repeated or numbered from 0. An answer may be kept. A member"
    " that is named by the caller is told likewise (measurements.width=24cm)."
)
_BOUNDS = (
    f"At most {MOST_WORK:,} units of work (too-much-work; see the head of this document), JSON at"
    f" most {DEEPEST} levels deep, and "
)
_BODY = f"{_BOUNDS}{LARGEST_BODY:,} bytes of it."
_QUERY = f"{_BOUNDS}{LONGEST_QUERY:,} bytes of query."
_HEADERS = {
    "ETag": "strong validator of this representation",
    "Cache-Control": "how long it may be kept",
    "Vary": "which request fields it depends on",
}


def _computed(operation: Any, *more: str, cases: dict[str, Any]) -> dict[str, Any]:
    """What an operation answers, by whatever method it is asked."""
    fine = {c: v["response"] for c, v in cases.items() if "type" not in v["response"]}
    refused = {c: v["response"] for c, v in cases.items() if "type" in v["response"]}
    told = _said("The answer", schema(operation.answer), fine)
    for offer in operation.offers:
        if offer is not JSON:
            # Of two with one media type, the first is what Accept brings.
            kind = "object" if "json" in offer.media_type else "string"
            told["content"].setdefault(offer.media_type, {"schema": {"type": kind}})
    always = ("method-not-allowed", "not-acceptable", "invalid-request", "internal", *KEYS, *LATER)
    return {"200": told, **failures("malformed", *more, *always, cases=refused)}


def _post(operation: Any, cases: dict[str, Any]) -> dict[str, Any]:
    asked = {case: pair["request"] for case, pair in cases.items()}
    unsent = ("too-large", "unsupported-media-type")
    return {
        "operationId": operation.id,
        "summary": operation.summary,
        "description": f"{operation.description} {_BY_POST} {_BODY}",
        "tags": [operation.tag],
        "security": SECURITY,
        "parameters": [chosen_by(operation)],
        "requestBody": {
            "required": True,
            "content": _said("", operation.request, asked)["content"],
        },
        "responses": _computed(operation, *unsent, cases=cases),
    }


def _asked_by_get(operation: Any, cases: dict[str, Any]) -> dict[str, Any]:
    responses = _computed(operation, "uri-too-long", cases=cases)
    for media in (m for r in responses.values() for m in r["content"].values()):
        media.pop("examples", None)  # they stand with POST
    responses["200"]["headers"] = {
        name: {"description": told, "schema": {"type": "string"}} for name, told in _HEADERS.items()
    }
    responses["304"] = {"description": "The caller has this answer already (If-None-Match)"}
    return {
        "operationId": f"{operation.id}-by-get",
        "summary": f"{operation.summary} (small questions)",
        "description": f"{operation.description} {_BY_GET} {_QUERY}",
        "tags": [operation.tag],
        "security": SECURITY,
        "parameters": asked_by(operation, COMPONENTS + name_of(operation.request)),
        "responses": responses,
    }


def computed(operation: Any) -> dict[str, Any]:
    """The path of an operation: by GET and by POST."""
    # A request that has not been answered yet (see examples.py) is not documented yet.
    cases = {c: v for c, v in examples(operation.id).items() if "response" in v}
    # OpenAPI 3.1 has no word for QUERY; /v1/openapi-3.2.json has.
    return {
        "get": _asked_by_get(operation, cases),
        "post": _post(operation, cases),
        "x-query": "as post",
    }


def looked_up(path: str, row: Any) -> dict[str, Any]:
    """The path of a resource that is read."""
    parameters = [
        {
            "name": name,
            "in": "path" if "{" + name + "}" in path else "query",
            "required": "{" + name + "}" in path,
            "description": told,
            "schema": {"type": "string", **({"enum": choices} if choices else {})},
        }
        for name, told, choices in row.parameters
    ]
    slugs = [*row.failures, "method-not-allowed", "not-acceptable", "internal"]
    if path.startswith("/v1"):
        slugs += ["uri-too-long", "invalid-request", "malformed"]
    content = _said("The answer", row.schema, {})
    if row.either:
        kinds = [{"$ref": COMPONENTS + name_of(cls)} for cls in row.either]
        media = {row.media_type: {"schema": {"anyOf": kinds}}}
        content = {"description": "The answer", "content": media}
    elif not content:
        kind = "object" if "json" in row.media_type else "string"
        content = {
            "description": "The answer",
            "content": {row.media_type: {"schema": {"type": kind}}},
        }
    return {
        "operationId": row.id,
        "summary": row.summary,
        "tags": [row.tag],
        **({"parameters": parameters} if parameters else {}),
        "responses": {"200": content, **failures(*slugs)},
    }
