"""Asking the service in batches until every line has its answer."""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Any

import requests

from ..client import Unreachable
from .reading import Item

NDJSON = "application/x-ndjson"
# requests sends a whole body before it reads: what it sends must fit into the network's buffers
# while answers, which are longer, come the other way.
MOST_BYTES = 48 * 1024


def groups(items: Iterable[Item], most: int) -> Iterator[list[Item]]:
    """The items in groups that are asked at once."""
    group: list[Item] = []
    size = 0
    for item in items:
        if group and (len(group) == most or size + len(item.line) > MOST_BYTES):
            yield group
            group, size = [], 0
        group.append(item)
        size += len(item.line) + 1
    if group:
        yield group


class Asker:
    """Asks for groups over one session."""

    def __init__(self, url: str, session: requests.Session, retries: int, timeout: float) -> None:
        self._url, self._session = url.rstrip("/"), session
        self._retries, self._timeout = retries, timeout

    def ask(self, group: list[Item]) -> list[dict[str, Any]]:
        """The answers to a group, in order.

        What was answered before a cut is kept, and the rest asked again; a line that is cut off
        however often it is asked alone is given up. Raises Unreachable.
        """
        todo = [item for item in group if not item.unclear]
        told = {item.number: _unclear(item) for item in group if item.unclear}
        alone, cuts = False, 0
        while todo:
            before = len(told)
            fault, retried = self._some(todo[:1] if alone else todo, told)
            todo = todo[len(told) - before :]
            if len(told) > before:
                alone, cuts = False, 0
            elif not self._ready():
                raise Unreachable(fault)
            elif not alone:
                alone = True  # the first that was not answered may be what breaks the rest
            elif not retried and cuts < self._retries:
                time.sleep(min(30, 0.5 * 2**cuts))
                cuts += 1
            else:
                first = todo.pop(0)
                told[first.number] = _given_up(first, fault)
                alone, cuts = False, 0
        return [told[item.number] for item in group]

    def _some(self, items: list[Item], told: dict[int, dict[str, Any]]) -> tuple[str, bool]:
        """Ask and keep what is answered; say what ended it early, if anything did, and whether
        the session has asked again before giving up."""
        body = b"".join(item.line + b"\n" for item in items)
        headers = {"Content-Type": NDJSON, "Accept": NDJSON}
        try:
            response = self._session.post(
                f"{self._url}/v1/batch", body, headers=headers, timeout=self._timeout, stream=True
            )
        except requests.RequestException as error:
            return str(error), True
        with response:
            if response.status_code != 200:
                told_why = response.text[:300]
                raise Unreachable(f"the service answered {response.status_code}: {told_why}")
            try:
                return _read(response, items, told), False
            except (requests.RequestException, ValueError) as error:
                return str(error), False

    def _ready(self) -> bool:
        try:
            return self._session.get(f"{self._url}/readyz", timeout=self._timeout).ok
        except requests.RequestException:
            return False


def _read(response: requests.Response, items: list[Item], told: dict[int, dict[str, Any]]) -> str:
    waiting = iter(items)
    for line in response.iter_lines(64 * 1024):
        answer = json.loads(line)
        if "summary" in answer:
            return str(answer["summary"].get("problem", {}).get("detail", ""))
        item = next(waiting, None)
        if item is None or (None not in (item.id, answer["id"]) and item.id != answer["id"]):
            raise Unreachable("what answers is not the service: its ids are not those sent")
        told[item.number] = _named(item, answer)
    return "the answer ended before its summary"


def _named(item: Item, answer: dict[str, Any]) -> dict[str, Any]:
    """The answer with the number of its line in the whole input, where it has no id."""
    if answer["id"] is not None:
        return answer
    answer.pop("line", None)
    name = {"id": None, "line": item.number} if item.id is None else {"id": item.id}
    return {**name, **{k: v for k, v in answer.items() if k != "id"}}


def _own(item: Item, status: int, slug: str, title: str, detail: str) -> dict[str, Any]:
    problem = {"type": f"/v1/problems/{slug}", "title": title, "status": status, "detail": detail}
    return _named(item, {"id": None, "status": status, "body": problem})


def _unclear(item: Item) -> dict[str, Any]:
    return _own(item, 400, "malformed", "The row makes no request", item.unclear)


def _given_up(item: Item, fault: str) -> dict[str, Any]:
    made = _own(item, 500, "internal", "The service did not answer this line", fault)
    if item.id is None:
        with suppress(ValueError, TypeError, KeyError, RecursionError):
            name = json.loads(item.line)["id"]
            made = {"id": name} | {k: v for k, v in made.items() if k not in ("id", "line")}
    return made
