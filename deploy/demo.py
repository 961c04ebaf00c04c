"""Send the demo request to a running service and show the answer. Standard library only."""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import Request, urlopen

DEMO = Path(__file__).parent.parent / "openapi/examples/projects/field-sketching-kit.request.json"


def wait_until_ready(base: str, server: int) -> None:
    for _ in range(100):
        try:
            os.kill(server, 0)
            with urlopen(f"{base}/readyz", timeout=2):
                return
        except URLError:
            time.sleep(0.1)
        except ProcessLookupError:
            break
    sys.exit(f"the service did not come up at {base}; is the port taken? PORT sets another")


def ask(base: str, form: str) -> str:
    headers = {"Content-Type": "application/json", "Accept": form}
    request = Request(f"{base}/v1/projects", DEMO.read_bytes(), headers)
    with urlopen(request, timeout=10) as response:
        told: str = response.read().decode()
        return told


def counts(project: dict[str, Any]) -> None:
    """A line a piece and size, out of the JSON."""
    for piece in project["pieces"]:
        for size, made in piece["sizes"].items():
            start = made.get("foundation") or made["start"]
            begun = f"ch {start['chain']}" if start.get("chain") else "a ring"
            parts = (f"{s['name']} {s['rows']} to {s['stitches_at_end']}" for s in made["sections"])
            print(f"{piece['name']:<14} {size:<7} {begun:<7} {'; '.join(parts)}")


def main(base: str, server: str) -> None:
    wait_until_ready(base, int(server))
    print("A field-sketching kit in two sizes: what is begun, rows (or rounds) of each part, and")
    print("the stitches it ends with.\n")
    counts(json.loads(ask(base, "application/json")))
    print("\nThe same question, answered as text to crochet from:\n")
    print(ask(base, "text/plain"))
    print(f"Serving at {base} until you press Ctrl-C: {base}/docs tells what can be asked, and")
    print(f"{base}/widget shows the calculator for other people's pages. Ask it yourself:\n")
    print(
        f"curl -s {base}/v1/shaping -H 'Content-Type: application/json'"
        ' -d \'{"from": 38, "to": 20, "rows": 40}\'',
        flush=True,
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
