"""The typed client: made from the definitions, and used against a running service."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator

import pytest

from service.api import client_types
from service.api.operations import OPERATIONS
from service.client import Problem, Sizing, Unreachable, new_session
from tests.client import typed_use
from tests.conftest import ROOT


@pytest.fixture
def sizing(server: str) -> Iterator[Sizing]:
    with Sizing(server) as client:
        yield client


def test_the_types_are_as_the_definitions_make_them() -> None:
    # Made anew by: python -m service.api.documents
    assert client_types.FILE.read_text(encoding="utf-8") == client_types.text()


def test_every_operation_has_a_method() -> None:
    for operation in OPERATIONS:
        assert callable(getattr(Sizing, operation.id.replace("-", "_")))


def test_a_piece_is_asked_for_and_comes_back(sizing: Sizing) -> None:
    # 24 cm at 1.6 stitches a cm is 38.4: 38 stitches, and one chain more to turn.
    assert typed_use.stitches_of_the_chain(sizing) == 39
    assert typed_use.words_of_a_flap(sizing).endswith("every row 18 times")


def test_a_refusal_is_raised_as_its_problem_document(sizing: Sizing) -> None:
    problem = typed_use.a_flap_too_short(sizing)
    assert problem
    # RFC 9457: 36 stitches at 2 a row are 18 rows.
    assert (problem.type, problem.status) == ("/v1/problems/cannot-be-made", 422)
    assert problem.errors[0]["permitted"]["minimum_rows"] == 18
    assert str(problem).startswith("422 What was asked for cannot be made: /rows")


def test_a_service_that_is_not_there_is_no_problem_of_the_request() -> None:
    with Sizing("http://127.0.0.1:9", new_session(0)) as client, pytest.raises(Unreachable):
        client.shaping({"from": 38, "to": 2, "rows": 18})
    assert not issubclass(Unreachable, Problem)


def test_the_client_needs_nothing_of_the_service() -> None:
    script = (
        "import sys; import service.client;"
        "assert not {'flask', 'marshmallow', 'tqdm', 'service.engine'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True)
