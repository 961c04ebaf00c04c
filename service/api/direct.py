"""Questions that are answered before the framework, since all that it would say is known.

What an answer by POST carries in its header depends on how it was asked and not on what was asked,
but for its length and the ids of the request. So the framework is asked the first time that a
question comes in some way (its path, its query, its header fields), and what it said is learned;
questions that come the same way later are loaded, answered and written here. Whatever is not
plainly right, and whatever fails, is left to the framework, which alone knows how to say no.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..engine.errors import Refused
from ..engine.working import allowance
from . import sharing
from .compiled import reader
from .decoding import decode
from .operations import OPERATIONS
from .representations import JSON_TYPE
from .store import remember

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIEnvironment

MOST_WAYS = 256
"""Ways of asking that are remembered; past them all are forgotten and learned anew."""
REFUSED = "service.refused"
"""Where a refusal waits for the framework to tell it, so that nothing is reckoned twice."""

_ASKED = {o.path: (reader(o.request()), o.id) for o in OPERATIONS}

Headers = list[tuple[str, str]]
Way = tuple[Any, ...]


class Ways:
    """The header fields that answers carry, by the way of asking."""

    def __init__(self) -> None:
        self._learned: dict[Way, Headers] = {}
        self._met: dict[Way, Way] = {}

    def one(self, way: Way) -> Way:
        """The same way as it was met first, so that what is kept by it is held but once."""
        if way not in self._met:
            remember(self._met, way, way, MOST_WAYS)
        return self._met[way]

    def headers(self, way: Way) -> Headers | None:
        return self._learned.get(way)

    def learn(self, way: Way, environ: WSGIEnvironment, headers: Headers) -> None:
        """Remember them where they are of a JSON answer by POST; their length is not among them."""
        told = {name.lower(): value for name, value in headers}
        if environ["REQUEST_METHOD"] != "POST" or told["content-type"] != JSON_TYPE:
            return
        remember(self._learned, way, headers, MOST_WAYS)


def answer(path: str, body: bytes, environ: WSGIEnvironment) -> bytes | None:
    """The answer as the framework would give it; None where it is to be asked."""
    load, operation = _ASKED[path]
    try:
        asked = sharing.question(operation, decode(body), load)
    except Exception:  # the schema is to judge
        return None
    try:
        with allowance():
            return sharing.answer(asked)
    except Refused as refused:
        environ[REFUSED] = refused
    except Exception:  # it fails there again, and is logged and told
        pass
    return None
