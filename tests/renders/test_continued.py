"""What is left of a piece: told as text and rows, and not drawn as if it were the whole."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.patterns import piece
from service.renders.grid_svg import grid_svg
from service.renders.outline_svg import outline_svg
from service.renders.rows import rows_of
from tests.pieces import order

CASE = order("flap-panel", square(16, 19), width=120, body_height=330, flap_depth=70)
LEFT = replace(CASE, continue_after=ContinueOrder("flap", 68))


def test_the_rows_that_are_left_are_those_of_the_whole() -> None:
    whole, left = list(rows_of(piece(CASE))), list(rows_of(piece(LEFT)))
    assert left == whole[68:]


@pytest.mark.parametrize("draw", [outline_svg, grid_svg])
def test_what_is_left_is_not_drawn(draw: object) -> None:
    assert callable(draw)
    with pytest.raises(Refused) as refused:
        draw(piece(LEFT), LEFT)
    (refusal,) = refused.value.refusals
    assert (refusal.code, refusal.path) == ("continued-not-drawn", ("continue_after",))
