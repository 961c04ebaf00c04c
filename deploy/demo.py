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

DEMO = Path(__file__).parent.parent / "openapi/examples/pieces/case-pocket.request.json"


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


def ask(base: str) -> Any:
    request = Request(f"{base}/v1/pieces", DEMO.read_bytes(), {"Content-Type": "application/json"})
    with urlopen(request, timeout=10) as response:
        return json.load(response)


def main(base: str, server: str) -> None:
    wait_until_ready(base, int(server))
    answer = ask(base)
    print(json.dumps(answer, indent=2, ensure_ascii=False))
    print("\nThe same, to crochet from (the pocket case of a field-sketching kit):\n")
    for line in answer["instructions"]:
        print(f"{line['step']:>3}. {line['text']}")
    for caution in answer["cautions"]:
        print(f"  !  {caution['text']}")
    print(f"\nServing at {base} until you press Ctrl-C. Ask it yourself:\n")
    print(
        f"curl -s {base}/v1/shaping -H 'Content-Type: application/json'"
        ' -d \'{"from": 38, "to": 20, "rows": 40}\'',
        flush=True,
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
