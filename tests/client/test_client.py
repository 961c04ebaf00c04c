"""The typed client: made from the definitions, and used against a running service."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.api import client_types
from service.api.keyring import made
from service.api.operations import OPERATIONS
from service.bulk.__main__ import main as bulk
from service.client import Problem, Sizing, Unreachable, new_session
from service.client.operations import ShapingRequest
from tests.client import typed_use
from tests.conftest import ROOT, serving


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


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """A service that wants a key, and the key."""
    folder = tmp_path_factory.mktemp("keys")
    key, entry = made("studio")
    (folder / "keys").write_text(str(entry))
    settings = {"SIZING_KEYS": str(folder / "keys"), "SIZING_KEYS_REQUIRED": "yes"}
    with serving(WORKERS="1", ACCESS_LOG="off", **settings) as base:
        yield base, key


def test_a_key_is_sent_where_there_is_one_and_never_told(
    keyed: tuple[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    base, key = keyed
    question: ShapingRequest = {"from": 38, "to": 2, "rows": 18}
    # A file of passwords for the same host is not put in its place.
    (tmp_path / "netrc").write_text("machine 127.0.0.1 login kit password kit\n")
    monkeypatch.setenv("NETRC", str(tmp_path / "netrc"))
    for client in (Sizing(base, key=key), Sizing(base, new_session(key=key)),
                   Sizing(base, new_session(), key=key)):  # fmt: skip
        with client:
            assert client.shaping(question)["rows"] == 18
            assert key not in repr(vars(client)) + repr(client.session.auth)
    for wrong, slug in ((None, "key-needed"), ("sizing_x", "key-unknown")):
        with Sizing(base, key=wrong) as client, pytest.raises(Problem) as told:
            client.shaping(question)
        assert (told.value.status, told.value.type) == (401, f"/v1/problems/{slug}")
    for none in (f"{key}\n", f"{key} x", "caf\u00e9", f"{key}\x00"):
        with pytest.raises(ValueError, match="a key is letters") as fault:
            Sizing(base, key=none)
        assert key not in str(fault.value)


def test_the_bulk_command_takes_its_key_from_the_environment_alone(
    keyed: tuple[str, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    base, key = keyed
    (tmp_path / "in.ndjson").write_text('{"from": 38, "to": 2, "rows": 18}\n')
    command = [str(tmp_path / "in.ndjson"), str(tmp_path / "out.ndjson"), "--url", base,
               "--operation", "shaping"]  # fmt: skip
    for told, code, why in (
        (None, 2, "401"), ("sizing_x", 2, "401"), (f"{key} x", 2, "SIZING_KEY: a key is letters"),
        (f"{key}\n", 0, "1 good"),
    ):  # fmt: skip
        if told:
            monkeypatch.setenv("SIZING_KEY", told)
        assert bulk([*command, "--anew"]) == code
        out, err = capsys.readouterr()
        assert why in err
        assert key not in out + err
    assert key not in (tmp_path / "out.ndjson").read_text()
    for option in ("--key", "--api-key", "--token"):
        with pytest.raises(SystemExit):
            bulk([*command, option, key])
    capsys.readouterr()
