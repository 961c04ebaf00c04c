"""What the contract costs elsewhere: msgspec loading the body into typed structures, on Granian.

Granian is a server in Rust whose own interface (RSGI) needs no framework, and msgspec decodes and
validates in one pass of C: the least that a Python service that checks its bodies can take.
"""

from typing import Annotated, Any, Literal

from benchmark_apps import FIXED
from msgspec import Meta, Struct, ValidationError
from msgspec.json import Decoder

Size = Annotated[float, Meta(ge=0.001, le=100_000)]
Count = Annotated[float, Meta(ge=0.001, le=1000)]
Stitch = Literal[
    "chain", "slip-stitch", "single-crochet", "half-double-crochet", "double-crochet",
    "treble-crochet",
]  # fmt: skip
Name = Annotated[str, Meta(pattern="^[a-z][a-z0-9_]{0,39}$")]


class Strict(Struct, forbid_unknown_fields=True):
    pass


class Length(Strict):
    value: Size
    unit: Literal["mm", "cm", "in", "m", "yd"]


class Mass(Strict):
    value: Size
    unit: Literal["g", "oz"]


class Gauge(Strict):
    stitch: Stitch
    stitches: Count
    width: Length
    rows: Count
    height: Length


class Button(Strict):
    diameter: Length
    thickness: Length | None = None


class Edging(Strict):
    stitch: Stitch | None = None


class Ball(Strict):
    mass: Mass | None = None
    length: Length | None = None


class Yarn(Strict):
    weight_category: Annotated[int, Meta(ge=0, le=7)] | None = None
    ball: Ball | None = None


class Piece(Strict):
    """What the demo asks with; the rest of the contract would cost nothing more here."""

    gauge: Gauge
    template: str
    measurements: dict[Name, Length]
    button: Button | None = None
    edging: Edging | None = None
    yarn: Yarn | None = None


_decode = Decoder(Piece).decode
_HEADERS = [("content-type", "application/json")]


async def peer(scope: Any, protocol: Any) -> None:
    try:
        _decode(await protocol())
    except ValidationError:
        protocol.response_str(422, _HEADERS, "{}")
        return
    protocol.response_bytes(200, _HEADERS, FIXED)
