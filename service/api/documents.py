"""The contract as documents: JSON Schema for every request and answer, and OpenAPI 3.1.

Run ``python -m service.api.documents`` to write them anew into schemas/ and openapi/, and the
client's types from them; tests compare what stands there with what this makes. apispec is needed
for that, and not to serve.
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
from ..engine.working import MOST_OUTLINE_ROWS, MOST_WORK
from . import batch_documents
from . import fields as own
from .answers import EitherOf, Open, schema
from .batch_answers import BatchAnswer, BatchEnd, Echo
from .batch_lines import IDENTIFIER, Anything, BatchLineSchema, Identifier
from .flat_documents_in import TemplateSchema
from .operations import OPERATIONS
from .path_documents import (
    COMPONENTS,
    KEYS,
    LATER,
    ROOT,
    SECURITY,
    computed,
    failures,
    looked_up,
    name_of,
)
from .resources import (
    LINKED,
    ProblemDocument,
    TemplatesAnswer,
    table_answer,
)
from .round_documents_in import RoundTemplateSchema

DIALECT = "https://json-schema.org/draft/2020-12/schema"

BEARER = {
    "type": "http",
    "scheme": "bearer",
    "description": (
        "A key that whoever runs the service has given to a caller, by RFC 6750. Without keys there"
        " is none to send. Where keys are required, what is computed is answered with 401 without"
        " one; else who sends none is limited by address. A key may have a rate of its own: past it"
        " the answer is 429. What is only read needs no key."
    ),
}


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
        case Identifier():
            return {"anyOf": IDENTIFIER}
        case Echo():
            return {"anyOf": [*IDENTIFIER, {"type": "null"}]}
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
                **({"minProperties": field.fewest} if field.fewest else {}),
            }
        case EitherOf():
            return {"anyOf": [dict(converter.resolve_nested_schema(k)) for k in field.kinds]}
        case own.OneOfKinds():
            return {"anyOf": [convert(kind) for kind in field.kinds.values()]}
    return {}


class _Plugin(MarshmallowPlugin):
    """apispec's converter, told what our own fields accept."""

    def __init__(self) -> None:
        super().__init__(schema_name_resolver=name_of)

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
            (Anything, None),
            (Identifier, None),
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
                " US terms, in full. Every answer depends on the request and the version alone.\n\n"
                "Nothing that is asked has an effect, so any question may be asked again: after a"
                " broken connection, 429, 502, 503 or 504 wait as long as Retry-After says, else"
                " half a second and twice as long each time. Whoever runs the service may limit"
                " how much one client asks; the RateLimit and RateLimit-Policy fields then tell by"
                " a draft of the IETF (httpapi-ratelimit-headers) that may yet change.\n\n"
                f"A question takes at most {MOST_WORK:,} units of work, about a hundred times those"
                " of a small piece in one size, and an outline is followed for at most"
                f" {MOST_OUTLINE_ROWS:,} rows; what would take more is refused before it is begun"
                " (too-much-work, outline-too-long)."
            ),
        },
    )


def _published() -> dict[str, type[Schema]]:
    """Every published schema by its name."""
    named: dict[str, type[Schema]] = {}
    for operation in OPERATIONS:
        named[f"{operation.id}-request"] = operation.request
        named[f"{operation.id}-answer"] = schema(operation.answer)
    named["batch-line"] = BatchLineSchema
    named["batch-answer"] = BatchAnswer
    named["batch-end"] = BatchEnd
    named["template"] = TemplateSchema
    named["round-template"] = RoundTemplateSchema
    named["templates-answer"] = TemplatesAnswer
    named["problem"] = ProblemDocument
    for table in TABLES:
        named[f"{table}-answer"] = table_answer(table)
    return named


def components() -> dict[str, Any]:
    spec = _spec()
    for cls in _published().values():
        if name_of(cls) not in spec.components.schemas:
            spec.components.schema(name_of(cls), schema=cls)
    made: dict[str, Any] = spec.to_dict()["components"]["schemas"]
    descriptions = {name_of(cls): cls for cls in _all_schemas(_published().values())}
    for name, component in made.items():
        cls = descriptions[name]
        if cls.__doc__:
            component["description"] = " ".join(cls.__doc__.split())
        # Requests are closed, so that a slip is told; answers are open, so that they may grow.
        component.pop("additionalProperties", None)
        if not issubclass(cls, Open):
            component["additionalProperties"] = False
    line = made[name_of(BatchLineSchema)]
    line["allOf"] = batch_documents.bodies(lambda cls: COMPONENTS + name_of(cls))
    return made


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
    parts, documents = components(), {}
    for name, cls in _published().items():
        needed: set[str] = set()
        todo = {name_of(cls)}
        while todo:
            needed |= todo
            todo = set().union(*(_references(parts[n]) for n in needed)) - needed
        definitions = {n: _relocated(parts[n]) for n in sorted(needed - {name_of(cls)})}
        documents[name] = {
            "$schema": DIALECT,
            "$id": f"/v1/schemas/{name}",
            "title": name.replace("-", " "),
            **_relocated(parts[name_of(cls)]),
            **({"$defs": definitions} if definitions else {}),
        }
    return documents


def openapi() -> dict[str, Any]:
    """The OpenAPI document, examples included."""
    document: dict[str, Any] = _spec().to_dict()
    document["paths"] = {o.path: computed(o) for o in OPERATIONS}
    document["paths"]["/v1/batch"] = {
        "post": batch_documents.post(failures(*batch_documents.FAILURES, *KEYS, *LATER), SECURITY)
    }
    document["paths"] |= {path: {"get": looked_up(path, row)} for path, row in LINKED.items()}
    (named,) = document["paths"]["/v1/schemas/{name}"]["get"]["parameters"]
    named["schema"]["enum"] = sorted(_published())
    document["components"] = {
        "schemas": dict(sorted(components().items())),
        "securitySchemes": {"bearer": BEARER},
    }
    told = [
        asked["tags"]
        for path in document["paths"].values()
        for method, asked in path.items()
        if not method.startswith("x-")
    ]
    tags = dict.fromkeys(tag for tags in told for tag in tags)
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
    from . import client_types

    wanted = files()
    for stale in (ROOT / "schemas").glob("*.json"):
        if stale not in wanted:
            stale.unlink()
    for path, text in wanted.items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    client_types.FILE.write_text(client_types.text(), encoding="utf-8")


if __name__ == "__main__":
    main()
