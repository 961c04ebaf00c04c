"""The golden corpus, a test a line: deploy/mutants.py runs those that reach a fault."""

from __future__ import annotations

from hashlib import sha256

import pytest
from flask.testing import FlaskClient

from tests.conftest import client  # noqa: F401  (a fixture)
from tests.test_golden import LINES, sent


@pytest.mark.parametrize("number", range(len(LINES)))
def test_the_answer_has_not_changed(client: FlaskClient, number: int) -> None:  # noqa: F811
    line = LINES[number]
    path = f"/v1/{line['operation']}"
    answer = client.post(path, data=sent(line), content_type="application/json")
    assert (answer.status_code, sha256(answer.data).hexdigest()) == (line["status"], line["sha256"])
