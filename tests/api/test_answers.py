"""Numbers in answers, against the standard library's own JSON."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.api.answers import write


@dataclass(frozen=True, slots=True)
class Told:
    number: Annotated[float, "alone"]
    numbers: Annotated[tuple[float, ...], "in a row"]


@given(st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(10**6), 10**6))
def test_numbers_are_written_as_json_has_them(number: float) -> None:
    rounded = round(number, 6)
    expected = json.dumps({"number": rounded, "numbers": [rounded]})
    assert write(Told(number, (number,)), "metric") == expected


@pytest.mark.parametrize("number", [float("inf"), float("-inf"), float("nan")])
def test_what_is_no_number_of_json_is_never_sent(number: float) -> None:
    for told in (Told(number, ()), Told(0, (number,))):
        with pytest.raises(ValueError, match="JSON compliant"):
            write(told, "metric")
