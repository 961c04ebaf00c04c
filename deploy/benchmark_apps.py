"""What the service is measured against: applications that take the demo and return fixed bytes.

``bare`` only reads the body; ``floor`` is Flask with the service's own marshmallow schema loading
it. The third, which needs packages of its own, is in benchmark_peer.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

FIXED = b'"' + b"x" * (int(os.environ.get("BENCHMARK_BYTES", "10000")) - 2) + b'"'


def bare(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    environ["wsgi.input"].read()
    length = str(len(FIXED))
    start_response("200 OK", [("Content-Type", "application/json"), ("Content-Length", length)])
    return [FIXED]


def floor() -> Any:
    from flask import Flask, Response, request

    from service.api.piece_requests import PieceRequest

    app, schema = Flask(__name__), PieceRequest()

    @app.post("/v1/pieces")
    def pieces() -> Response:
        schema.load(request.get_json())
        return Response(FIXED, mimetype="application/json")

    return app
