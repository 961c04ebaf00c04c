"""The resources that are read and not computed: a row each, and the schemas of their answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marshmallow import Schema, fields

from ..engine.standards import NOTES, TABLES
from ..engine.units import SYSTEMS
from .answers import Open, Quantity, schema
from .builtins import TEMPLATES
from .fields import said
from .flat_documents_in import TemplateSchema
from .problems import KINDS
from .round_documents_in import RoundTemplateSchema


class ListedTakes(Open):
    """What a measurement may be made from, in place of a length."""

    body = fields.List(fields.String(), **said("body measures it may be made from"))
    object = fields.List(fields.String(), **said("what may be taken of an object for it"))


def _size(description: str) -> fields.Nested:
    return fields.Nested(Quantity, **said(description))


class ListedMeasurement(Open):
    """A measurement that a template asks for."""

    name = fields.String(required=True, **said("name it is asked for by"))
    meaning = fields.String(required=True, **said("where on the piece it is taken"))
    optional = fields.Boolean(**said("whether it may be left out"))
    minimum = _size("smallest the template is made for: its own limit, not a published one")
    maximum = _size("largest the template is made for: its own limit, not a published one")
    example = _size("a size it may have; the template is drawn with it")
    takes = fields.Nested(ListedTakes, **said("what it may be made from, in place of a length"))


class ListedTemplate(Open):
    """A template in the list."""

    name = fields.String(required=True, **said("name of the template"))
    title = fields.String(required=True, **said("name for people"))
    description = fields.String(required=True, **said("what the piece is"))
    measurements = fields.List(
        fields.Nested(ListedMeasurement), required=True, **said("measurements it asks for")
    )
    href = fields.String(required=True, **said("where the whole document is"))
    drawing = fields.String(
        required=True, **said("where a drawing is that shows the measurements (SVG)")
    )
    drawing_in_words = fields.String(required=True, **said("the same, for those without pictures"))


class TemplatesAnswer(Open):
    """The built-in templates."""

    templates = fields.List(
        fields.Nested(ListedTemplate), required=True, **said("the templates, by name")
    )


class ProblemItem(Open):
    """One thing that is wrong."""

    pointer = fields.String(required=True, **said("JSON Pointer of the field in the request"))
    parameter = fields.String(**said("the query parameter it is of, where the question was a GET"))
    code = fields.String(required=True, **said("stable name of what is wrong"))
    detail = fields.String(required=True, **said("what is wrong, for people"))
    permitted = fields.Raw(**said("what would work"))


class ProblemDocument(Open):
    """A problem document (RFC 9457)."""

    type = fields.String(required=True, **said("URI of the type of problem"))
    title = fields.String(required=True, **said("the type of problem, for people"))
    status = fields.Integer(required=True, **said("HTTP status"))
    detail = fields.String(required=True, **said("this problem, for people"))
    errors = fields.List(fields.Nested(ProblemItem), **said("everything that is wrong, at once"))


def table_answer(table: str) -> type[Schema]:
    """The schema of a standards table's answer."""
    row: Any = TABLES[table][0].__class__
    note = {"note": fields.String(required=True, **said("what to know of the whole table"))}
    return Open.from_dict(
        {
            "table": fields.String(required=True, **said("name of the table")),
            **(note if table in NOTES else {}),
            "rows": fields.List(
                fields.Nested(schema(row)), required=True, **said("rows, each with its source")
            ),
        },
        name=f"{row.__name__}Table",
    )


@dataclass(frozen=True, slots=True)
class Resource:
    """A resource that is read: how the OpenAPI document tells of it."""

    id: str
    summary: str
    tag: str
    schema: type[Schema] | None = None
    media_type: str = "application/json"
    parameters: tuple[tuple[str, str, tuple[str, ...]], ...] = ()
    failures: tuple[str, ...] = ()
    either: tuple[type[Schema], ...] = ()


_UNITS = ("units", "units of the figures; metric when left out", SYSTEMS)

_TEMPLATE = ("name", "name of the template", tuple(sorted(TEMPLATES)))

LINKED: dict[str, Resource] = {
    "/v1/templates": Resource("templates", "List the templates", "Look up", TemplatesAnswer),
    "/v1/templates/{name}": Resource(
        "template", "Read a template", "Look up",
        parameters=(_TEMPLATE,), failures=("not-found",),
        either=(TemplateSchema, RoundTemplateSchema),
    ),
    "/v1/templates/{name}/drawing": Resource(
        "template-drawing", "See where a template's measurements are taken", "Look up",
        media_type="image/svg+xml", parameters=(_TEMPLATE,),
        failures=("not-found",),
    ),
    "/v1/standards": Resource("standards", "List the tables", "Look up"),
    **{
        f"/v1/standards/{table}": Resource(
            f"standards-{table}", f"Read the table of {table.replace('-', ' ')}", "Look up",
            table_answer(table), parameters=(_UNITS,),
        )
        for table in TABLES
    },
    "/v1/schemas": Resource("schemas", "List the schemas", "The contract"),
    "/v1/schemas/{name}": Resource(
        "schema", "Read a schema", "The contract", media_type="application/schema+json",
        parameters=(("name", "name of the schema", ()),), failures=("not-found",),
    ),
    "/v1/problems/{slug}": Resource(
        "problem", "Read what a type of problem means", "The contract",
        parameters=(("slug", "name of the type", tuple(sorted(KINDS))),), failures=("not-found",),
    ),
    "/v1/openapi.json": Resource("openapi", "Read this document", "The contract"),
    "/v1/openapi-3.2.json": Resource(
        "openapi-with-query", "Read this document by OpenAPI 3.2, with the QUERY method",
        "The contract",
    ),
    "/livez": Resource("livez", "Whether the process runs", "For whoever runs it"),
    "/readyz": Resource(
        "readyz", "Whether it can answer", "For whoever runs it", failures=("not-ready",)
    ),
    "/metrics": Resource(
        "metrics", "Read the counts of this server's workers, for Prometheus",
        "For whoever runs it", media_type="text/plain",
    ),
}  # fmt: skip
