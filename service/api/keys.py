"""Keys for who may ask, where whoever runs the service wants them: ``Authorization: Bearer KEY``.

``SIZING_KEYS`` names a file of keys (see keyring); without it there are none, and nothing here is
in the way of a request. With it, and ``SIZING_KEYS_REQUIRED=yes``, what is computed is answered to
those with a key alone; else who sends none is held to the proxy's limits by address. What is only
read (templates, tables, the contract, health, pages) needs no key.

``python -m service.api.keys new NAME`` makes a key and its line of the file.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, request
from werkzeug.wsgi import get_input_stream

from .keyring import MOST_KEYS, SETTING, Entry, Ring, holder, made, parsed, why
from .problems import problem
from .rates import SECOND, Rates

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

REQUIRED = "SIZING_KEYS_REQUIRED"

# What the application is told with a request: "required" or "optional", and why it is refused.
_KEYS_ARE = "service.keys"
_REFUSAL = "service.key-refusal"
_PART = 64 * 1024
# Whatever else there is needs a key where keys are required.
_OPEN = frozenset({"lookups", "health", "pages"})


@dataclass(frozen=True, slots=True)
class _Refusal:
    slug: str
    detail: str
    headers: dict[str, str]


_NEEDED = _Refusal(
    "key-needed", "send a key as Authorization: Bearer KEY", {"WWW-Authenticate": "Bearer"}
)
_UNKNOWN = _Refusal(
    "key-unknown", "the key that was sent is not one of this service's, or no longer",
    {"WWW-Authenticate": 'Bearer error="invalid_token"'},
)  # fmt: skip


class Guard:
    """The application behind its keys. What answers are kept by is told nothing of the key; what is
    refused goes past them to the application, whose own way of refusing it is."""

    def __init__(
        self, ring: Ring, required: bool, kept: WSGIApplication, plain: WSGIApplication
    ) -> None:
        self.ring = ring
        self._required, self._kept, self._plain = required, kept, plain

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        self.ring.look()
        environ[_KEYS_ARE] = "required" if self._required else "optional"
        refusal = self._judged(environ.pop("HTTP_AUTHORIZATION", ""))
        if refusal is None:
            return self._kept(environ, start)
        environ[_REFUSAL] = refusal
        return self._plain(environ, start)

    def _judged(self, told: str) -> _Refusal | None:
        scheme, _, key = told.partition(" ")
        if scheme.lower() != "bearer":  # RFC 6750, 3.1: another scheme is as none
            return _NEEDED if self._required else None
        entry = holder(key.strip(" ").encode("utf-8", "surrogatepass"), self.ring.entries)
        if entry is None:
            return _UNKNOWN
        wait = self.ring.wait(entry)
        return _over(entry, wait) if wait else None


def _over(entry: Entry, wait: int) -> _Refusal:
    seconds = -(-wait // SECOND)
    detail = f"this key may ask {entry.rate} times a second, and {entry.burst} at once on top"
    headers = {
        "Retry-After": str(seconds),
        "RateLimit-Policy": f'"key";q={entry.rate};w=1',
        "RateLimit": f'"key";r=0;t={seconds}',
    }
    return _Refusal("too-many-requests", detail, headers)


def _is_open() -> bool:
    """Whether this request needs no key: what is only read, what is not there, a preflight."""
    return not request.url_rule or request.blueprint in _OPEN or request.method == "OPTIONS"


def _refuse() -> Response | None:
    refusal: _Refusal | None = request.environ.get(_REFUSAL)
    if refusal is None or _is_open():
        return None
    # A proxy that cannot send its body to the end may take the answer for lost, and ask again.
    with suppress(Exception):  # whatever a server raises for a broken transfer
        body = get_input_stream(request.environ)
        while body.read(_PART):
            pass
    return problem(refusal.slug, refusal.detail, headers=refusal.headers)


def there_are() -> bool:
    """Whether this service has keys."""
    return _KEYS_ARE in request.environ


def needed() -> bool:
    """Whether what this request asks for is for those with a key alone."""
    return request.environ.get(_KEYS_ARE) == "required" and not _is_open()


def required(environment: Mapping[str, str]) -> bool:
    """Whether keys are required. Raises ValueError for another word, and where there are none."""
    told = environment.get(REQUIRED, "") or "no"
    if told not in ("yes", "no"):
        raise ValueError(f"{REQUIRED}: {told!r} is neither yes nor no")
    if told == "yes" and not environment.get(SETTING):
        raise ValueError(f"{REQUIRED} is yes, and no file is named by {SETTING}")
    return told == "yes"


def guarding(
    app: Flask, kept: WSGIApplication, environment: Mapping[str, str] | None = None
) -> Any:
    """The application behind its keys, as the environment asks; without keys, as it is."""
    environment = os.environ if environment is None else environment
    wanted = required(environment)
    if not environment.get(SETTING):
        return kept
    ring = Ring(Path(environment[SETTING]), Rates(MOST_KEYS))
    app.before_request(_refuse)
    return Guard(ring, wanted, kept, app.wsgi_app)


def main(given: Sequence[str] | None = None) -> int:
    """The command: makes a key, or says whether a file is as it should be."""
    parser = argparse.ArgumentParser("python -m service.api.keys", description="keys for callers")
    todo = parser.add_subparsers(required=True, dest="todo")
    new = todo.add_parser("new", help="make a key: told this once, and kept nowhere")
    new.add_argument("name", metavar="NAME", help="whose it is; logs may tell it")
    new.add_argument("--rate", type=int, metavar="N", help="requests a second")
    new.add_argument("--burst", type=int, metavar="N", help="as many at once on top of one")
    check = todo.add_parser("check", help="whether a file of keys is as it should be")
    check.add_argument("file", type=Path, metavar="FILE")
    asked = parser.parse_args(given)
    try:
        if asked.todo == "new":
            key, entry = made(asked.name, asked.rate, asked.burst)
            print(f"key:  {key}\nline: {entry}")
        else:
            print(f"{len(parsed(asked.file.read_text(encoding='utf-8')))} keys")
    except (OSError, ValueError) as error:
        print(f"keys: {why(error)}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
