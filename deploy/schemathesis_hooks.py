"""What schemathesis must know of this service to hold it against its whole contract.

With the service on port 8000 (deploy/run), and schemathesis in an environment of its own:

    python -m venv checking && checking/bin/pip install 'schemathesis>=4.32,<5'
    checking/bin/schemathesis --config-file deploy/schemathesis.toml \\
        run http://127.0.0.1:8000/v1/openapi.json --max-examples 100

Beside its own checks, two of ours: no answer repeats markup, and a body that the schema allows is
not refused as one it does not.
"""

from __future__ import annotations

import json
from typing import Any

import schemathesis


@schemathesis.serializer("application/x-ndjson")
def ndjson(_context: Any, value: Any) -> Any:
    """A batch: what was generated is one line, or the lines."""
    if isinstance(value, bytes | str):
        return value
    lines = value if isinstance(value, list) else [value]
    return "\n".join(map(json.dumps, lines)).encode()


@schemathesis.check
def no_markup_comes_back(_context: Any, response: Any, _case: Any) -> None:
    """Nothing that a browser would run, in whatever form the answer came."""
    kind = response.headers.get("content-type", [""])[0]
    if "html" not in kind and "svg" not in kind and "javascript" not in kind and "css" not in kind:
        assert b"<script" not in response.content.lower()


@schemathesis.check
def what_the_schema_allows_is_well_formed(_context: Any, response: Any, case: Any) -> None:
    if case.meta is None or not case.meta.generation.mode.is_positive or case.method != "POST":
        return
    if response.status_code == 422:
        assert response.json()["type"] != "/v1/problems/invalid-request", response.text
