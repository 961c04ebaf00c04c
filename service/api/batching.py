"""The route of a batch."""

from __future__ import annotations

from flask import Blueprint, Response, request
from werkzeug.wsgi import get_input_stream

from .batch import NDJSON, answers
from .parameters import only
from .reading import check_media_type, pairs
from .representations import accepted

batching = Blueprint("batching", __name__)


@batching.post("/v1/batch")
def batch() -> Response:
    only(pairs(), [])
    accepted(NDJSON)
    check_media_type(NDJSON)
    # Past Flask's limit on bodies: a batch is bounded line by line.
    lines = answers(get_input_stream(request.environ), request.content_length)
    made = Response(lines, mimetype=NDJSON)
    made.headers.add("Link", '</v1/schemas/batch-answer>; rel="describedby"')
    return made
