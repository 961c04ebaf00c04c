"""The client as a caller writes it. mypy reads this: the slips marked below must stay slips."""

from __future__ import annotations

from service.client import Problem, Sizing
from service.client.operations import GaugeInput, Piece, PieceRequest

GAUGE: GaugeInput = {
    "stitch": "single-crochet",
    "stitches": 16,
    "width": {"value": 10, "unit": "cm"},
    "rows": 19,
    "height": {"value": 10, "unit": "cm"},
}


def case(client: Sizing) -> Piece:
    """The desk case of the field-sketching kit."""
    request: PieceRequest = {
        "gauge": GAUGE,
        "template": "flap-panel",
        "measurements": {
            "width": {"value": 24, "unit": "cm"},
            "body_height": {"value": 30, "unit": "cm"},
        },
    }
    return client.pieces(request)


def stitches_of_the_chain(client: Sizing) -> int:
    foundation = case(client).get("foundation")
    return foundation["chain"] if foundation else 0


def words_of_a_flap(client: Sizing) -> str:
    return client.shaping({"from": 38, "to": 2, "rows": 18})["in_words"]


def a_flap_too_short(client: Sizing) -> Problem | None:
    try:
        client.shaping({"from": 38, "to": 2, "rows": 14})
    except Problem as problem:
        return problem
    return None


def slips(client: Sizing) -> None:
    client.shaping({"from": 38, "too": 2})  # type: ignore[typeddict-item]
    client.shaping({"from": "38", "to": 2, "rows": 9})  # type: ignore[typeddict-item]
    client.gauge({"gauge": {**GAUGE, "stitch": "sc"}})  # type: ignore[typeddict-item]
    client.shaping({"from": 38, "to": 2})["in_word"]  # type: ignore[typeddict-item]
