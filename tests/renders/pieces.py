"""Pieces to be drawn and written: every built-in, small and large, and pieces at random."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from service.api.builtins import TEMPLATES
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.openings import Button, ClosureOrder
from service.engine.patterns import Piece, piece
from service.engine.sizing import PieceOrder
from tests.answers import answered

HOSTILE = "Cup</script><b>*_`\"'&|[x](y) \u202e\u2066=1+1"
"""A title that means something in every form an answer is written in."""

Made = tuple[PieceOrder, Piece]


def built_in(name: str, scale: Fraction, **more: object) -> Made | None:
    template = TEMPLATES[name]
    sizes = {m.name: m.example * scale for m in template.measurements if m.example}
    asked = PieceOrder(square(16, 19), template, sizes)
    try:
        order = replace(asked, **more)  # type: ignore[arg-type]
        return order, piece(order)
    except Refused:
        return None


def _all() -> Iterator[tuple[str, Made]]:
    for name, made in answered("pieces").items():
        yield f"example {name}", made
    for name in TEMPLATES:
        for scale in (Fraction(1, 2), Fraction(2)):
            large = scale > 1
            made_up = {"units": "imperial" if large else "metric"}
            edging = {"edging": EdgingOrder(rounds=2)} if large and name != "ball" else {}
            made = built_in(name, scale, detail="rows", **made_up, **edging)
            assert made, name
            yield f"{name}, {'large' if large else 'small'}", made


PIECES: dict[str, Made] = dict(_all())


@st.composite
def pieces(draw: st.DrawFn) -> Made | None:
    """A built-in at a gauge and a size of its own, with or without edging and button."""
    name = draw(st.sampled_from(sorted(TEMPLATES)))
    stitch = draw(st.sampled_from(["single-crochet", "half-double-crochet", "double-crochet"]))
    gauge = square(draw(st.integers(6, 30)), draw(st.integers(5, 30)), stitch=stitch)
    template = TEMPLATES[name]
    sizes = {
        m.name: m.example * draw(st.fractions(Fraction(1, 4), Fraction(3), max_denominator=20))
        for m in template.measurements
        if m.example
    }
    closure = draw(
        st.sampled_from([None, ClosureOrder("slit"), ClosureOrder("slit", direction="along")])
    )
    button = draw(st.sampled_from([None, Button(Fraction(18))]))
    order = PieceOrder(
        gauge, template, sizes, detail="rows", button=button, closure=closure if button else None,
        edging=draw(st.sampled_from([None, EdgingOrder(), EdgingOrder(rounds=3)])),
        units=draw(st.sampled_from(["metric", "imperial"])),
    )  # fmt: skip
    try:
        return order, piece(order)
    except Refused:
        return None
