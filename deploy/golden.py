"""The golden corpus: five hundred requests, and the SHA-256 of what each is answered with.

    python deploy/golden.py ask     print the digests of now, a line a request
    python deploy/golden.py renew   take them as the corpus's own
    python deploy/golden.py new     make the corpus anew

An answer that has changed is acknowledged before it is taken: ``renew`` and ``new`` want a
``__version__`` that is not the corpus's where answers differ, and a line of "Changes" in
DEVELOPERS.md that names it. A version that is "(not released)" there may change as it stands.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT / "deploy"), str(ROOT)]

from service import __version__, create_app  # noqa: E402  (from a clone)
from service.api.operations import by_id  # noqa: E402

CORPUS = ROOT / "tests" / "golden" / "corpus.ndjson"
REQUESTS, REFUSED, LONGEST = 500, 60, 1800
SEED = "five hundred requests"

Line = dict[str, Any]


def corpus() -> tuple[str, list[Line]]:
    """The version that it was made at, and its lines."""
    head, *lines = CORPUS.read_text(encoding="utf-8").splitlines()
    return json.loads(head)["version"], [json.loads(line) for line in lines]


def asked(client: Any, line: Line, named: str = "json") -> tuple[int, bytes]:
    body = json.dumps(line["body"], ensure_ascii=False)
    path = f"/v1/{line['operation']}?as={named}"
    answer = client.post(path, data=body.encode(), content_type="application/json")
    return answer.status_code, answer.data


def digests(client: Any, line: Line) -> Iterator[str]:
    """Of the answer as JSON, and then of its other representations in one."""
    yield sha256(asked(client, line)[1]).hexdigest()
    others = (asked(client, line, offer.name)[1] for offer in by_id(line["operation"]).offers[1:])
    yield sha256(b"".join(others)).hexdigest()


def check_acknowledged(changed: bool, version: str | None) -> None:
    """Refuses to go on where an answer has changed and nobody says so."""
    changes = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Changes\n")[2]
    named = re.search(rf"^- {re.escape(__version__)}( \(not released\))?:", changes, re.MULTILINE)
    if not named:
        sys.exit(f'"Changes" in DEVELOPERS.md has no line "- {__version__}: ..."')
    if changed and version == __version__ and not named[1]:
        sys.exit(f"answers differ from those of {version}: raise __version__")


def made_anew(client: Any) -> list[Line]:
    """Documented requests changed by chance, the same number of each operation."""
    from mutating import Mutator, documented

    random = Random(SEED)
    mutator = Mutator(random)
    starts: dict[str, list[Any]] = {}
    for operation, request in documented():
        starts.setdefault(operation, []).append(request)
    lines: list[Line] = []
    seen: set[str] = set()
    refused = 0
    while len(lines) < REQUESTS:
        operation = [*starts][len(lines) % len(starts)]
        start = random.choice(starts[operation])
        request = mutator.mutated(operation, start, random.choice((0, 1, 2, 3, 4, 6)))
        text = json.dumps(request)
        if text in seen or len(text) > LONGEST + 3000 * (operation in ("projects", "audits")):
            continue
        seen.add(text)
        line = {"operation": operation, "body": request}
        status, answer = asked(client, line)
        if status != 200 and refused >= REFUSED:
            continue
        refused += status != 200
        lines.append({**line, "status": status, "sha256": sha256(answer).hexdigest()})
    return lines


def write(lines: list[Line]) -> None:
    head = {"version": __version__}
    told = (json.dumps(line, ensure_ascii=False) for line in (head, *lines))
    CORPUS.write_text("\n".join(told) + "\n", encoding="utf-8")


def main() -> None:
    client = create_app().test_client()
    if sys.argv[1:] == ["new"]:
        check_acknowledged(False, None)
        write(made_anew(client))
    elif sys.argv[1:] == ["renew"]:
        version, lines = corpus()
        before = [line["sha256"] for line in lines]
        for line in lines:
            line["status"], answer = asked(client, line)
            line["sha256"] = sha256(answer).hexdigest()
        check_acknowledged(before != [line["sha256"] for line in lines], version)
        write(lines)
    elif sys.argv[1:] == ["ask"]:
        for line in corpus()[1]:
            print(*digests(client, line))
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main()
