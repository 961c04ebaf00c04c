"""A caller's own words in every form of every answer: what they hold is never markup there.

Wherever a documented request holds a word of the caller's, and the schema takes another one there,
it is exchanged for one that means harm; the forms are judged by tests/harmless.py.
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from marshmallow import ValidationError

from service.api.decoding import decode
from service.api.operations import OPERATIONS, by_id
from service.api.path_documents import examples

from .. import harmless

# Each begins in another way, since what begins a line or a cell may be taken for something else.
WORDS = [
    "</text><script>x</script>\u202etac\u2066\0\x1b|`a`",
    "=1+1](javascript:a) [b]\r\n# c <img src=x>",
    '"--><!--]]><![CDATA[<svg onload=a>&lt;b',
]
SLUGS = ["constructor", "hasownproperty", "tostring", "valueof", "prototype"]


def words(document: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Paths of the strings in a document."""
    if isinstance(document, str):
        yield path
    elif isinstance(document, dict | list):
        for key, inner in document.items() if isinstance(document, dict) else enumerate(document):
            yield from words(inner, (*path, key))


def exchanged(document: Any, path: tuple[Any, ...], word: str) -> Any:
    made = copy.deepcopy(document)
    place = made
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = word
    return made


def places(operation: Any) -> list[tuple[Any, tuple[Any, ...]]]:
    """One place of each kind where the schema takes a word that means harm, and its request."""
    found: dict[str, tuple[Any, tuple[Any, ...]]] = {}
    schema = operation.request()
    for pair in examples(operation.id).values():
        for path in words(pair["request"]) if "type" not in pair["response"] else []:
            kind = "/".join("*" if isinstance(key, int) else key for key in path)
            if kind in found:
                continue
            try:
                schema.load(decode(json.dumps(exchanged(pair["request"], path, "<b>")).encode()))
            except ValidationError:
                continue
            found[kind] = (pair["request"], path)
    return list(found.values())


# Where any word will do: the title of a template, the name of a side or a section.
ANSWERED = ("pieces", "projects", "edgings", "conversions")
PLACES = {operation.id: places(operation) for operation in OPERATIONS}


def test_there_are_such_words() -> None:
    assert {name for name, found in PLACES.items() if found} >= {*ANSWERED}


@pytest.mark.parametrize("word", WORDS, ids=range(len(WORDS)))
@pytest.mark.parametrize("operation", [o for o in OPERATIONS if PLACES[o.id]], ids=lambda o: o.id)
def test_no_words_are_markup_in_any_form(client: FlaskClient, operation: Any, word: str) -> None:
    answered = 0
    for request, path in PLACES[operation.id]:
        body = json.dumps(exchanged(request, path, word))
        for offer in operation.offers:
            response = client.post(
                f"{operation.path}?as={offer.name}", data=body, content_type="application/json"
            )
            assert response.status_code in (200, 422), response.text[:300]
            harmless.check(response.mimetype, response.text)
            assert response.headers["X-Content-Type-Options"] == "nosniff"
            answered += response.status_code == 200
        # The same by GET and in a batch, as JSON.
        if len(query := quote(body)) < 6000:
            response = client.get(f"{operation.path}?ask={query}")
            harmless.check(response.mimetype, response.text)
        line = f'{{"id": {json.dumps(word)}, "operation": "{operation.id}", "body": {body}}}'
        batch = client.post("/v1/batch", data=line, content_type="application/x-ndjson")
        harmless.check(batch.mimetype, batch.text)
        assert json.loads(batch.text.split("\n")[0])["id"] == word
    assert answered or operation.id not in ANSWERED


@pytest.mark.parametrize("name", SLUGS)
def test_a_name_that_objects_have_in_other_languages_is_a_name_like_any(
    client: FlaskClient, name: str
) -> None:
    (request,) = [
        pair["request"]
        for case, pair in examples("pieces").items()
        if case == "brush-cup-from-a-document"
    ]
    text = re.sub(r'"(rim)"', f'"{name}"', json.dumps(request))
    assert text != json.dumps(request)
    for offer in by_id("pieces").offers:
        before, after = (
            client.post(f"/v1/pieces?as={offer.name}", data=body, content_type="application/json")
            for body in (json.dumps(request), text)
        )
        assert after.status_code == 200, after.text
        harmless.check(after.mimetype, after.text)
        if offer.name == "json":
            assert after.text == before.text.replace('"rim"', f'"{name}"')
