"""The contract as documents: JSON Schema for every request and answer, and OpenAPI 3.1.

Run ``python -m service.api.documents`` to write them anew into schemas/ and openapi/; a test
compares what stands there with what this makes. apispec is needed for that, and not to serve.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema

from .. import __version__
from ..engine.standards import TABLES
from . import fields as own
from .answers import EitherOf, Open, schema
from .flat_documents_in import TemplateSchema
from .operations import OPERATIONS
from .problems import KINDS, MEDIA_TYPE
from .resources import (
    LINKED,
    ProblemDocument,
    TemplatesAnswer,
    table_answer,
)
from .round_documents_in import RoundTemplateSchema

ROOT = Path(__file__).parent.parent.parent
DIALECT = "https://json-schema.org/draft/2020-12/schema"
COMPONENTS = "#/components/schemas/"


def _name(cls: type[Schema] | Schema) -> str:
    """Component name of a schema; what callers send is told from what they get by its ending."""
    made = cls if isinstance(cls, type) else type(cls)
    if issubclass(made, Open) or made.__name__.endswith("Request"):
        return made.__name__
    return f"{made.__name__.removesuffix('Schema')}Input"


def _accepts(converter: Any, field: Any, **_: Any) -> dict[str, Any]:
    """What one of our own fields accepts, as JSON Schema; apispec calls it for every field."""
    convert = converter.field2property
    match field:
        case own.Number():
            return {"minimum": float(field.low), "maximum": float(field.high)}
        case own.Whole():
            return {"minimum": field.low, "maximum": field.high}
        case own.Text():
            limits: dict[str, Any] = {"minLength": field.shortest, "maxLength": field.longest}
            return {**limits, "pattern": field.pattern} if field.pattern else limits
        case own.Choice():
            return {"enum": list(field.choices)}
        case own.Part():
            return dict(converter.resolve_nested_schema(field.schema))
        case own.Parts():
            return {
                "items": convert(field.inner),
                "minItems": field.fewest,
                "maxItems": field.most,
            }
        case own.Named():
            return {
                "propertyNames": {"pattern": field.pattern},
                "additionalProperties": convert(field.inner),
                "maxProperties": field.most,
            }
        case EitherOf():
            return {"anyOf": [dict(converter.resolve_nested_schema(k)) for k in field.kinds]}
        case own.OneOfKinds():
            return {"anyOf": [convert(kind) for kind in field.kinds.values()]}
    return {}


class _Plugin(MarshmallowPlugin):
    """apispec's converter, told what our own fields accept."""

    def __init__(self) -> None:
        super().__init__(schema_name_resolver=_name)

    def init_spec(self, spec: APISpec) -> None:
        super().init_spec(spec)
        assert self.converter is not None
        for ours, kind in (
            (own.Number, "number"),
            (own.Whole, "integer"),
            (own.Flag, "boolean"),
            (own.Text, "string"),
            (own.Choice, "string"),
            (own.Part, None),
            (own.Parts, "array"),
            (own.Named, "object"),
            (own.OneOfKinds, None),
            (EitherOf, None),
        ):
            self.converter.map_to_openapi_type(ours, kind, None)
        self.converter.add_attribute_function(_accepts)


def _spec() -> APISpec:
    return APISpec(
        title="Crochet sizing",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[_Plugin()],
        info={
            "description": (
                "From a gauge, target measurements and a piece template: chain and row counts,"
                " shaping, edging, openings, yarn and written instructions. Stitches are named in"
                " US terms, in full. Every answer depends on the request and the version alone."
            ),
        },
    )


def _published() -> dict[str, type[Schema]]:
    """Every published schema by its name."""
    named: dict[str, type[Schema]] = {}
    for operation in OPERATIONS:
        named[f"{operation.id}-request"] = operation.request
        named[f"{operation.id}-answer"] = schema(operation.answer)
    named["template"] = TemplateSchema
    named["round-template"] = RoundTemplateSchema
    named["templates-answer"] = TemplatesAnswer
    named["problem"] = ProblemDocument
    for table in TABLES:
        named[f"{table}-answer"] = table_answer(table)
    return named


def _components() -> dict[str, Any]:
    spec = _spec()
    for cls in _published().values():
        if _name(cls) not in spec.components.schemas:
            spec.components.schema(_name(cls), schema=cls)
    components: dict[str, Any] = spec.to_dict()["components"]["schemas"]
    descriptions = {_name(cls): cls for cls in _all_schemas(_published().values())}
    for name, component in components.items():
        cls = descriptions[name]
        if cls.__doc__:
            component["description"] = " ".join(cls.__doc__.split())
        # Requests are closed, so that a slip is told; answers are open, so that they may grow.
        component.pop("additionalProperties", None)
        if not issubclass(cls, Open):
            component["additionalProperties"] = False
    return components


def _all_schemas(roots: Any) -> set[type[Schema]]:
    """The schemas and all that they nest."""
    seen: set[type[Schema]] = set()
    todo = list(roots)
    while todo:
        cls = todo.pop()
        if cls not in seen:
            seen.add(cls)
            for field in cls().fields.values():
                todo += _nested(field)
    return seen


def _nested(field: Any) -> list[type[Schema]]:
    if isinstance(field, own.Part):
        return [field.schema_class]
    if isinstance(field, EitherOf):
        return field.kinds
    if isinstance(field, own.OneOfKinds):
        return [cls for kind in field.kinds.values() for cls in _nested(kind)]
    inner = getattr(field, "inner", None) or getattr(field, "value_field", None)
    if inner is not None:
        return _nested(inner)
    nested = getattr(field, "schema", None)
    return [type(nested)] if nested is not None else []


def _references(node: Any) -> set[str]:
    if isinstance(node, dict):
        here = (
            {node["$ref"].removeprefix(COMPONENTS)} if isinstance(node.get("$ref"), str) else set()
        )
        return here.union(*(_references(value) for value in node.values()))
    if isinstance(node, list):
        return set().union(*(_references(value) for value in node))
    return set()


def _relocated(node: Any) -> Any:
    if isinstance(node, dict):
        return {
            key: value.replace(COMPONENTS, "#/$defs/") if key == "$ref" else _relocated(value)
            for key, value in node.items()
        }
    return [_relocated(value) for value in node] if isinstance(node, list) else node


def schemas() -> dict[str, dict[str, Any]]:
    """Each published schema as a document that stands alone."""
    components, documents = _components(), {}
    for name, cls in _published().items():
        needed: set[str] = set()
        todo = {_name(cls)}
        while todo:
            needed |= todo
            todo = set().union(*(_references(components[n]) for n in needed)) - needed
        definitions = {n: _relocated(components[n]) for n in sorted(needed - {_name(cls)})}
        documents[name] = {
            "$schema": DIALECT,
            "$id": f"/v1/schemas/{name}",
            "title": name.replace("-", " "),
            **_relocated(components[_name(cls)]),
            **({"$defs": definitions} if definitions else {}),
        }
    return documents


def examples(operation: str) -> dict[str, dict[str, Any]]:
    """The documented cases of an operation: request and answer by name."""
    folder = ROOT / "openapi" / "examples" / operation
    found: dict[str, dict[str, Any]] = {}
    for file in sorted(folder.glob("*.json")):
        case, kind = file.name.removesuffix(".json").rsplit(".", 1)
        found.setdefault(case, {})[kind] = json.loads(file.read_text(encoding="utf-8"))
    return found


def _said(name: str, cls: type[Schema] | None, cases: dict[str, Any]) -> dict[str, Any]:
    media: dict[str, Any] = {"schema": {"$ref": COMPONENTS + _name(cls)}} if cls else {}
    if cases:
        media["examples"] = {case: {"value": value} for case, value in cases.items()}
    return {"description": name, "content": {"application/json": media}} if media else {}


def _failures(*slugs: str, cases: dict[str, Any] | None = None) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for slug in slugs:
        kind = KINDS[slug]
        media: dict[str, Any] = {"schema": {"$ref": COMPONENTS + "ProblemDocument"}}
        told = {c: v for c, v in (cases or {}).items() if v["status"] == kind.status}
        if told:
            media["examples"] = {case: {"value": value} for case, value in told.items()}
        made[str(kind.status)] = {"description": kind.title, "content": {MEDIA_TYPE: media}}
    return made


def _post(operation: Any) -> dict[str, Any]:
    # A request that has not been answered yet (see examples.py) is not documented yet.
    cases = {c: v for c, v in examples(operation.id).items() if "response" in v}
    fine = {c: v for c, v in cases.items() if "type" not in v["response"]}
    refused = {c: v["response"] for c, v in cases.items() if "type" in v["response"]}
    answered = _said(
        "The answer", schema(operation.answer), {c: v["response"] for c, v in fine.items()}
    )
    answered["content"] |= {media: {"schema": {"type": "string"}} for media in operation.renders}
    return {
        "operationId": operation.id,
        "summary": operation.summary,
        "description": operation.description,
        "tags": [operation.tag],
        "requestBody": {
            "required": True,
            "content": _said("", operation.request, {c: v["request"] for c, v in cases.items()})[
                "content"
            ],
        },
        "responses": {
            "200": answered,
            **_failures(
                "malformed",
                "method-not-allowed",
                "not-acceptable",
                "too-large",
                "unsupported-media-type",
                "invalid-request",
                "internal",
                cases=refused,
            ),
        },
    }


def _get(path: str, row: Any) -> dict[str, Any]:
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
    failures = [*row.failures, "method-not-allowed", "not-acceptable", "internal"]
    content = _said("The answer", row.schema, {})
    if row.either:
        kinds = [{"$ref": COMPONENTS + _name(cls)} for cls in row.either]
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
        "responses": {"200": content, **_failures(*failures)},
    }


def openapi() -> dict[str, Any]:
    """The OpenAPI document, examples included."""
    document: dict[str, Any] = _spec().to_dict()
    document["paths"] = {o.path: {"post": _post(o)} for o in OPERATIONS}
    document["paths"] |= {path: {"get": _get(path, row)} for path, row in LINKED.items()}
    document["components"] = {"schemas": dict(sorted(_components().items()))}
    tags = dict.fromkeys([o.tag for o in OPERATIONS] + [row.tag for row in LINKED.values()])
    document["tags"] = [{"name": tag} for tag in tags]
    return document


def files() -> dict[Path, str]:
    """Every generated file and what it should hold."""
    made = {ROOT / "schemas" / f"{name}.json": document for name, document in schemas().items()}
    made[ROOT / "openapi" / "openapi.json"] = openapi()
    return {
        path: json.dumps(document, indent=2, ensure_ascii=False) + "\n"
        for path, document in made.items()
    }


def main() -> None:
    wanted = files()
    for stale in (ROOT / "schemas").glob("*.json"):
        if stale not in wanted:
            stale.unlink()
    for path, text in wanted.items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
