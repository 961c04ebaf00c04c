"""What is asked: questions whose answers are known to the byte, and ones never asked before.

The answers are those of the application in process, since an answer depends on the question and
the version alone.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from service import create_app  # noqa: E402  (from a clone)

from .numbered import Template, filled, fresh  # noqa: E402

MANY = 300
Way = tuple[str, ...]
_M = "measurements"
# Examples with a measurement that is exchanged for a number, which the answer says again, and
# with another that comes after it in the body and lies between these.
_VARIED: tuple[tuple[str, Way, Way, int, int], ...] = (
    ("pieces/case-pocket", (_M, "width"), (_M, "body_height"), 20, 60),
    ("pieces/brush-cup", (_M, "diameter"), (_M, "height"), 10, 24),
    ("pieces/wrap-band-with-slit", (_M, "length"), (_M, "depth"), 10, 20),
    ("pieces/carrying-strap", (_M, "length"), (_M, "depth"), 10, 12),
    ("yarn/wrap-band-in-another-yarn", ("yarn", "ball", "length"), (), 0, 0),
    ("gauge-checks/case-on-course", ("measured", "height"), (), 0, 0),
    ("conversions/hook-for-a-larger-case", ("from", "width"), (), 0, 0),
    ("shaping/over-a-height", ("height",), (), 0, 0),
    ("buttonholes/eight-along-a-length", ("placing", "length"), (), 0, 0),
)
_MARK, _OTHER_MARK = 12.345678, 12.345
# Of those that are asked again and again the heaviest are left out: they would be most of the work.
_HEAVY = ("projects", "batch")


@dataclass(frozen=True)
class Questions:
    """``known``: what is sent, status and body of its answer. ``templates``: see numbered.fresh."""

    known: list[tuple[bytes, int, bytes]]
    templates: list[Template]


def sent(method: str, path: str, body: bytes) -> bytes:
    head = f"{method} {path} HTTP/1.1\r\nHost: localhost\r\n"
    if method != "GET":
        head += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
    return head.encode() + b"\r\n" + body


@cache
def _application() -> Any:
    return create_app().test_client()


def answer(request: bytes) -> tuple[int, bytes]:
    """Status and body of the application's answer to what is sent."""
    head, _, body = request.partition(b"\r\n\r\n")
    method, path, _ = head.split(b"\r\n")[0].decode().split(" ")
    told = {"data": body, "content_type": "application/json"} if body else {}
    got = _application().open(path, method=method, **told)
    return got.status_code, got.data


def _template(name: str, told: Way, other: Way, low: int, high: int) -> Template:
    document = json.loads((ROOT / f"openapi/examples/{name}.request.json").read_bytes())
    # No depth of flap fits every width: left out, the flap comes to its point as it may.
    document.get(_M, {}).pop("flap_depth", None)
    for way, mark in ((told, _MARK), (other, _OTHER_MARK)):
        if way:
            holder = document
            for member in way:
                holder = holder[member]
            holder["value"] = mark
    # Marks are as long as any number that takes their place, so that Content-Length holds for all.
    whole = sent("POST", f"/v1/{name.partition('/')[0]}", json.dumps(document).encode())
    before, _, rest = whole.partition(b"%r" % _MARK)
    between, _, after = rest.partition(b"%r" % _OTHER_MARK)
    return before, between, after, low, high - low


def questions(many: int = MANY) -> Questions:
    """The same at every call. Raises ValueError where an answer does not tell its number."""
    templates = [_template(*varied) for varied in _VARIED]
    for template in templates:
        for number in (0, 4321):
            one, must_hold = fresh(template, number)
            status, told = answer(one)
            if status != 200 or must_hold not in told:
                raise ValueError(f"{must_hold!r} is not told: {status} {told[:300]!r} to {one!r}")
    asked: list[bytes] = []
    for file in sorted((ROOT / "openapi/examples").glob("*/*.request.json")):
        if file.parent.name not in _HEAVY:
            method = "QUERY" if len(asked) % 3 == 2 else "POST"
            asked.append(sent(method, f"/v1/{file.parent.name}", file.read_bytes()))
    for rows in range(40, 60):
        asked.append(sent("GET", f"/v1/shaping?from=38&to=20&rows={rows}", b""))
    for number in range(many - len(asked)):  # a whole part that never-seen ones do not have
        template = templates[number % len(templates)]
        asked.append(filled(template, b"10.%06d" % (number * 10 + 1), number))
    return Questions([(one, *answer(one)) for one in asked[:many]], templates)


def wrong_samples(samples: list[tuple[bytes, bytes]]) -> list[str]:
    """Of questions with the answers they got, those that the application answers otherwise."""
    return [
        f"{body[:200]!r} to {asked[-300:]!r}"
        for asked, body in samples
        if (200, body) != answer(asked)
    ]
