"""The command ``size-in-bulk``."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Sequence
from itertools import islice
from pathlib import Path
from typing import Any

import requests
from tqdm import tqdm

from ..client import RETRIES, Unreachable, new_session
from .asking import Asker, groups
from .flatform import Unclear, flat_to_document, loads, merged
from .keeping import InTheWay, Kept, fingerprint
from .reading import Form, Unusable, items

KEY = "SIZING_KEY"
TOLD = """\
Ask the sizing service about every line of a file. INPUT is a table (CSV: a header of dotted names
such as gauge.stitches, cells such as 24.5cm) or JSON lines; OUTPUT has an answer a line in the
same order, as JSON lines or a table. Run the same again after an interruption and it goes on where
it was.
"""
CODES = """\
Where the service wants a key it is taken from the environment (SIZING_KEY). It is no option, since
others on the machine can read a command's line, and a shell keeps it.

exit codes: 0 every line has its answer; 1 some were refused or failed (they say why in OUTPUT);
2 the run could not be made or finished; 130 interrupted.
"""


def arguments(given: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser("size-in-bulk", description=TOLD, epilog=CODES)
    add = parser.add_argument
    add("input", type=Path, metavar="INPUT", help="file to read: a name in .csv is a table")
    add("output", type=Path, metavar="OUTPUT", help="file to write: a name in .csv is a table")
    add("--url", default="http://127.0.0.1:8000", help="where the service is (%(default)s)")
    add("--operation", metavar="NAME",
        help="question that each line asks, such as pieces; without it each line is"
             " {id, operation, body}, and each row has a cell for it")  # fmt: skip
    add("--defaults", type=Path, metavar="FILE",
        help="JSON object of what every request has unless its line says otherwise")  # fmt: skip
    add("--set", action="append", default=[], metavar="NAME=VALUE", dest="constants",
        help="one such member, as in a table (gauge.stitches=16); may be repeated")  # fmt: skip
    add("--columns", default="", metavar="NAME,NAME",
        help="columns of a table written; all there are when left out")  # fmt: skip
    add("--lines", type=int, default=100, metavar="N", help="most lines a batch (%(default)s)")
    add("--retries", type=int, default=RETRIES, metavar="N",
        help="times to ask again before giving up (%(default)s)")  # fmt: skip
    add("--timeout", type=float, default=60, metavar="S",
        help="seconds to wait for the service at one time (%(default)s)")  # fmt: skip
    add("--anew", action="store_true", help="drop what an earlier run wrote")
    made = parser.parse_args(given)
    if made.lines < 1 or made.retries < 0 or made.timeout <= 0:
        parser.error("--lines is at least 1, --retries at least 0 and --timeout more than 0")
    return made


def form_of(asked: argparse.Namespace) -> Form:
    """How the input is taken. Raises Unusable."""
    table = asked.input.suffix.lower() == ".csv"
    pairs = [tuple(constant.split("=", 1)) for constant in asked.constants]
    if any(len(pair) < 2 for pair in pairs):
        raise Unusable("--set wants NAME=VALUE")
    try:
        text = asked.defaults.read_text(encoding="utf-8") if asked.defaults else "{}"
        defaults: Any = loads(text)
        constants = flat_to_document([(name, value) for name, value in pairs])
    except (OSError, ValueError) as error:
        raise Unusable(f"the defaults cannot be read: {error}") from None
    if not isinstance(defaults, dict):
        raise Unusable("the defaults must be one JSON object")
    defaults = merged(defaults, constants)
    if defaults and not table and asked.operation is None:
        raise Unusable("defaults need a table, or lines that are requests (--operation)")
    return Form(table, asked.operation, defaults or None)


def session_of(retries: int) -> requests.Session:
    """A session with the key of the environment, if there is one. Raises Unusable."""
    try:
        return new_session(retries, os.environ.get(KEY, "").strip() or None)
    except ValueError as error:
        raise Unusable(f"{KEY}: {error}") from None


def run(asked: argparse.Namespace) -> int:
    """Ask everything, and give the exit code."""
    form = form_of(asked)
    watched = sys.stderr.isatty()
    total = sum(1 for _ in items(asked.input, form)) if watched else None
    kept = Kept(asked.output, fingerprint(asked.input, form), asked.anew)
    try:
        if kept.done:
            print(f"going on after {kept.done} lines that are answered", file=sys.stderr)
        session = session_of(asked.retries)
        asker = Asker(asked.url, session, asked.retries, asked.timeout)
        rest = islice(items(asked.input, form), kept.done, None)
        start, earlier = time.monotonic(), kept.done
        with session, tqdm(
            total=total, initial=kept.done, unit=" lines", disable=not watched
        ) as bar:  # fmt: skip
            for group in groups(rest, asked.lines):
                kept.keep(asker.ask(group))
                bar.update(len(group))
        took = time.monotonic() - start
        kept.finish(
            asked.output.suffix.lower() == ".csv", [c for c in asked.columns.split(",") if c]
        )
    finally:
        kept.close()
    good = kept.statuses[200]
    refused = sum(n for status, n in kept.statuses.items() if 400 <= status < 500)
    failed = kept.done - good - refused
    rate = (kept.done - earlier) / took if took else 0
    print(
        f"{kept.done} lines: {good} good, {refused} refused, {failed} failed;"
        f" {took:.1f} s, {rate:.0f} lines a second",
        file=sys.stderr,
    )
    return 0 if good == kept.done else 1


def main(given: Sequence[str] | None = None) -> int:
    """Run the command; the exit code says whether any line failed."""
    asked = arguments(given)
    try:
        return run(asked)
    except (Unusable, InTheWay, Unreachable, Unclear, OSError) as error:
        print(f"size-in-bulk: {error}", file=sys.stderr)
        if isinstance(error, Unreachable):
            print("run the same again to go on where this ended", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("interrupted; run the same again to go on where this ended", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
