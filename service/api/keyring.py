"""The file of keys: a line for each, read, made and looked at anew.

A line, with blank lines and ``#`` lines between, is ``NAME sha256:DIGEST``, and where the key has a
rate of its own ``rate=N burst=N``: so many requests a second, and so many at once on top of one.
The file is looked at once a second at most and read anew when it has changed; one that is not as it
should be stops a start, and leaves a running service the keys it had.

A key is 256 bits of the system's randomness, so a plain SHA-256 keeps it: there is nothing to guess
from, and a slow digest, which is for passwords that people choose, would only make each request
dear. A key that is sent is held against all there are, without stopping at the one it is.
"""

from __future__ import annotations

import hmac
import logging
import os
import re
import secrets
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from .rates import Rates

LOG = logging.getLogger("service")
SETTING = "SIZING_KEYS"
MOST_KEYS = 1000
LOOKS_EVERY = 1.0
"""Seconds between two looks at the file."""

# A mark by which those who search files for secrets find one that was left somewhere.
_MARK = "sizing_"
_BYTES = 32
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}")
_DIGEST = re.compile(r"sha256:([0-9a-f]{64})")
_LIMIT = re.compile(r"(rate|burst)=([1-9][0-9]{0,5})")


class BadFile(ValueError):
    """A file of keys that is not one; the words never repeat what stands in it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A key as the file has it."""

    name: str
    digest: bytes
    rate: int | None = None
    burst: int = 0

    def __str__(self) -> str:
        limits = f" rate={self.rate} burst={self.burst}" if self.rate else ""
        return f"{self.name} sha256:{self.digest.hex()}{limits}"


def parsed(text: str) -> tuple[Entry, ...]:
    """The keys of a file. Raises BadFile.

    >>> [(e.name, e.rate, e.burst) for e in parsed(f"studio sha256:{'0' * 64} rate=5 burst=9")]
    [('studio', 5, 9)]
    """
    entries: list[Entry] = []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.split()
        if not words or words[0].startswith("#"):
            continue
        try:
            entry = _entry(words)
            for other in entries:
                if other.name == entry.name or other.digest == entry.digest:
                    raise BadFile("the same name or key stands in a line above")
        except BadFile as error:
            raise BadFile(f"line {number}: {error}") from None
        entries.append(entry)
    if not entries:
        raise BadFile("there is no key in it")
    if len(entries) > MOST_KEYS:
        raise BadFile(f"there are more than {MOST_KEYS} keys in it")
    return tuple(entries)


def _entry(words: Sequence[str]) -> Entry:
    name, digest, limits = words[0], _DIGEST.fullmatch(words[1] if len(words) > 1 else ""), {}
    if not _NAME.fullmatch(name):
        raise BadFile("a name has 1 to 40 letters, digits, dots, dashes and underscores")
    if not digest:
        raise BadFile("after the name stands sha256: and 64 digits in lower-case hexadecimal")
    for word in words[2:]:
        limit = _LIMIT.fullmatch(word)
        if not limit or limit[1] in limits:
            raise BadFile("after the digest stand at most rate=N and burst=N, N a whole number")
        limits[limit[1]] = int(limit[2])
    if "burst" in limits and "rate" not in limits:
        raise BadFile("a burst is on top of a rate, and there is none")
    rate = limits.get("rate")
    return Entry(name, bytes.fromhex(digest[1]), rate, limits.get("burst", rate or 0))


def made(name: str, rate: int | None = None, burst: int | None = None) -> tuple[str, Entry]:
    """A new key, and what the file keeps of it. Raises BadFile for a name that is none."""
    key = _MARK + secrets.token_urlsafe(_BYTES)
    limits = [f"{what}={n}" for what, n in (("rate", rate), ("burst", burst)) if n is not None]
    return key, _entry([name, f"sha256:{sha256(key.encode()).hexdigest()}", *limits])


def holder(key: bytes, entries: Iterable[Entry]) -> Entry | None:
    """Whose key it is. As long as there are entries, whichever it is and whether it is any."""
    digest, found = sha256(key).digest(), None
    for entry in entries:
        if hmac.compare_digest(entry.digest, digest):
            found = entry
    return found


class Ring:
    """The keys of a file, as it is now."""

    def __init__(self, path: Path, rates: Rates) -> None:
        self._path, self._rates = path, rates
        try:
            self._seen = self._read()
        except (OSError, BadFile) as error:
            raise ValueError(f"{SETTING}: {path}: {why(error)}") from None
        self._next = time.monotonic() + LOOKS_EVERY

    def _read(self) -> tuple[int, ...]:
        with self._path.open("rb") as file:
            seen, told = _state_of(os.fstat(file.fileno())), file.read()
        try:
            entries = parsed(told.decode())
        except UnicodeDecodeError:
            raise BadFile("it is not text in UTF-8") from None
        # Places first: another thread may be asking.
        self._places = self._rates.places(e.name for e in entries)
        self.entries = entries
        return seen

    def look(self) -> None:
        """Read the file anew if it has changed, and if it was not looked at just now."""
        now = time.monotonic()
        if now < self._next:
            return
        self._next = now + LOOKS_EVERY
        try:
            seen = _state_of(self._path.stat())
        except OSError:
            seen = ()
        if seen == self._seen:
            return
        try:
            self._seen = self._read()
        except (OSError, BadFile) as error:
            self._seen = seen
            LOG.error("%s: %s: %s; the keys before stay", SETTING, self._path, why(error))
        else:
            LOG.info("%s: %d keys were read", SETTING, len(self.entries))

    def wait(self, entry: Entry) -> int:
        """Nanoseconds until the holder may ask; 0 where it may now, and that is counted."""
        if entry.rate is None or entry.name not in self._places:
            return 0
        return self._rates.wait(self._places[entry.name], entry.rate, entry.burst)


def _state_of(stat: os.stat_result) -> tuple[int, ...]:
    """What a file that was written anew does not have the same of."""
    return (stat.st_dev, stat.st_ino, stat.st_size, stat.st_mtime_ns)


def why(error: Exception) -> str:
    return (error.strerror or "cannot be read") if isinstance(error, OSError) else str(error)
