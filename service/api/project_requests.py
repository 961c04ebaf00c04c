"""A project as callers send it: pieces in sizes, and the seams between them."""

from __future__ import annotations

from typing import Any

from marshmallow import RAISE, post_load

from ..engine.projectorder import (
    MOST_PIECES,
    MOST_SEAMS,
    MOST_SIZES,
    EdgeOrder,
    ProjectOrder,
    ProjectPiece,
    Ratio,
    Reference,
    SeamOrder,
)
from ..engine.sizing import PieceOrder
from ..engine.units import System, system_of
from ..engine.yarnorder import SEWN, colours_of
from .fields import (
    LABEL,
    LEAST,
    NAME,
    WORDS,
    Choice,
    EaseSchema,
    Length,
    LengthSchema,
    Loaded,
    Named,
    Number,
    OneOfKinds,
    Part,
    Parts,
    Strict,
    Text,
    Whole,
    said,
)
from .parts_in import Asked, GaugeSchema, percent, terms_field, units_field
from .piece_requests import PieceRequest, piece_order
from .yarn_in import YarnSchema, yarns_field


class BySizeSchema(Strict):
    """A measurement that differs from size to size."""

    by_size = Named(
        Length("the measurement in this size"),
        MOST_SIZES,
        LABEL,
        required=True,
        **said("a length for every size, by its name"),
    )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Any:
        return data["by_size"]


class ReferenceSchema(Loaded):
    """A measurement taken from another piece: times a factor, plus an ease."""

    makes = Reference

    piece = Text(40, 1, WORDS, required=True, **said("piece it is taken from"))
    measurement = Text(
        40,
        1,
        NAME,
        required=True,
        **said("measurement of its template; width or height, of any piece, are its whole size"),
    )
    state = Choice(
        ("finished", "edged"),
        **said(
            "as whole stitches or rows make it, or (width and height) with its edging added;"
            " finished when left out"
        ),
    )
    times = Number(LEAST, 1000, **said("factor; 1 when left out"))
    plus = Part(EaseSchema, **said("ease, added; negative to take off"))


class ProjectPieceSchema(PieceRequest):
    """One piece of a project. What it leaves out of gauge and yarn is the project's."""

    class Meta:
        unknown = RAISE
        exclude = ("units", "terms", "detail", "continue_after")

    name = Text(40, 1, WORDS, required=True, **said("name of the piece"))
    gauge = Part(GaugeSchema, **said("gauge to size by; the project's when left out"))
    measurements = Named(
        OneOfKinds(
            {
                "value": Part(LengthSchema),
                "by_size": Part(BySizeSchema),
                "piece": Part(ReferenceSchema),
            },
            **said("the same in every size, by size, or taken from another piece"),
        ),
        40,
        **said("the measurements that the template asks for"),
    )
    yarn = Part(YarnSchema, **said("what is known of its yarn; the project's when left out"))

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> Any:
        # Made into a piece by the project, which has the fields it shares.
        return data


class EdgeSchema(Loaded):
    """An edge of a piece, as its right side faces you."""

    makes = EdgeOrder

    piece = Text(40, 1, WORDS, required=True, **said("name of the piece"))
    edge = Choice(
        ("foundation", "last-row", "left", "right"), required=True, **said("edge of the piece")
    )
    section = Text(
        40, 1, WORDS, **said("section whose left or right edge it is; all of them when left out")
    )


class RatioSchema(Loaded):
    """So many of the first edge to so many of the second."""

    makes = Ratio

    of = Whole(1, 100, required=True, **said("stitches or rows of the first edge"))
    to = Whole(1, 100, required=True, **said("stitches or rows of the second edge"))


class SeamSchema(Loaded):
    """Two edges that are joined."""

    makes = SeamOrder

    name = Text(40, 1, WORDS, required=True, **said("name of the seam"))
    edges = Parts(Part(EdgeSchema), 2, 2, required=True, **said("the two edges"))
    join = OneOfKinds(
        {
            "string": Choice(
                ("stitch-for-stitch", "row-for-row"), **said("one of each edge at a time")
            ),
            "of": Part(RatioSchema),
        },
        required=True,
        **said("how the edges are joined"),
    )
    ease_at_most = Whole(
        0,
        1000,
        **said("stitches or rows of the first edge that may be eased in; 0 when left out"),
    )
    sewn = Choice(
        SEWN, **said("what the seam is worked in, for the yarn it takes; mattress when left out")
    )


class ProjectRequest(Asked):
    """Several pieces in several sizes, made to fit each other."""

    sizes = Parts(
        Text(40, 1, LABEL),
        1,
        MOST_SIZES,
        required=True,
        **said("names of the sizes, smallest first"),
    )
    gauge = Part(GaugeSchema, **said("gauge of every piece that has none of its own"))
    yarn = Part(YarnSchema, **said("yarn of every piece that has none of its own"))
    yarns = yarns_field()
    pieces = Parts(
        Part(ProjectPieceSchema), 1, MOST_PIECES, required=True, **said("pieces of the project")
    )
    seams = Parts(Part(SeamSchema), 0, MOST_SEAMS, **said("edges that are joined"))
    most_off_percent = Number(
        0,
        100,
        **said(
            "the most a finished measurement may be off what was asked so that seams agree, where"
            " its nearest count is not further off; 25 when left out"
        ),
    )
    terms = terms_field()
    units = units_field()

    def units_of(self, original: dict[str, Any]) -> System:
        if "units" in original or "gauge" in original:
            return super().units_of(original)
        gauges = [p["gauge"] for p in original["pieces"] if "gauge" in p]
        return system_of(gauges[0]["width"]["unit"]) if gauges else "metric"

    @post_load(pass_original=True)
    def _make(self, data: dict[str, Any], original: dict[str, Any], **_: Any) -> ProjectOrder:
        units = self.units_of(original)
        shared: dict[str, Any] = {
            name: data[name] for name in ("gauge", "yarn", "yarns", "terms") if name in data
        }
        off = {"most_off": percent(data["most_off_percent"])} if "most_off_percent" in data else {}
        return ProjectOrder(
            data["sizes"],
            tuple(_piece(piece, shared, units) for piece in data["pieces"]),
            data.get("seams", ()),
            units=units,
            yarns=tuple(data.get("yarns", {})),
            **off,
        )


def _piece(data: dict[str, Any], shared: dict[str, Any], units: System) -> ProjectPiece:
    own = {k: v for k, v in data.items() if k not in ("name", "measurements")}
    order: PieceOrder | None = None
    colours = own.get("colours")
    used = colours_of(colours) if colours else set()
    if "yarns" in shared:  # of the project's yarns, those of this piece's colours
        ours = {name: yarn for name, yarn in shared["yarns"].items() if name in used}
        shared = {**shared, "yarns": ours}
    if "gauge" in {**shared, **own}:
        order = piece_order({**shared, **own}, units)
    return ProjectPiece(
        data["name"], order, data.get("measurements", {}), frozenset({*shared} - {*own})
    )
