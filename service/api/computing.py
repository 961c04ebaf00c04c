"""The computing endpoints: each row of the operations table by POST, by QUERY and by GET."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, Response, request
from marshmallow import Schema

from ..engine.working import allowance
from .compiled import loader
from .direct import REFUSED
from .operations import OPERATIONS, Operation
from .reading import address, question, representation
from .representations import JSON, Context

# GET brings HEAD; the framework answers OPTIONS.
METHODS = ("GET", "QUERY", "POST")

computing = Blueprint("computing", __name__)


def view_of(operation: Operation) -> Callable[[], Response]:
    schema: Schema = operation.request()
    load = loader(schema)
    described_by = f"/v1/schemas/{operation.id}-answer"

    def view() -> Response:
        if refused := request.environ.get(REFUSED):
            raise refused
        chosen = representation(operation.offers)
        order = load(question(schema))
        at = address(operation.path, chosen)
        with allowance():
            made = operation.compute(order)
            rendered = chosen.render(made, order, Context(operation.id, described_by, at))
        response = Response(rendered, mimetype=chosen.media_type)
        if chosen is JSON:
            response.headers.add("Link", f'<{described_by}>; rel="describedby"')
        if request.method == "QUERY" and at:
            response.headers["Content-Location"] = at
        return response

    return view


for _operation in OPERATIONS:
    computing.add_url_rule(_operation.path, _operation.id, view_of(_operation), methods=METHODS)
