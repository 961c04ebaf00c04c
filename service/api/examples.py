"""Answer every documented request anew: ``python -m service.api.examples``.

The requests under openapi/examples are written by hand. Read what this changes before you commit
it: a test asks a running service the same and wants these answers to the letter.
"""

from __future__ import annotations

import json

from .. import create_app
from .path_documents import ROOT


def main() -> None:
    client = create_app().test_client()
    for file in sorted((ROOT / "openapi" / "examples").glob("*/*.request.json")):
        response = client.post(
            f"/v1/{file.parent.name}", data=file.read_bytes(), content_type="application/json"
        )
        text = json.dumps(response.get_json(), indent=2, ensure_ascii=False) + "\n"
        file.with_name(file.name.replace(".request.", ".response.")).write_text(text, "utf-8")


if __name__ == "__main__":
    main()
