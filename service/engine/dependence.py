"""Which piece hangs on which: references read and checked, and the order of work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from .asks import check_measurements
from .edgings import Extent
from .errors import Findings, Path
from .exact import Fraction
from .projectorder import ProjectOrder, ProjectPiece, Reference
from .sizing import PieceOrder, Sized
from .worked import any_size, check_any, growth_of

EXTENT = ("width", "height")
"""What every piece has, whichever measurements its template names."""


def reading(reference: Reference, order: PieceOrder, sized: Sized) -> Fraction | None:
    """What the measurement referred to came to, in millimetres; None where the piece has none.

    A measurement of the template first, else the widest width or the whole height. Edged, a
    width or height has the edging of both its sides added. Source: geometry.

    >>> from .gauge import square
    >>> from .sizing import size
    >>> from .templates import FoundationPlan, SectionPlan, Template
    >>> tab = Template("tab", "Tab", (), FoundationPlan(stitches=8),
    ...     (SectionPlan("base", "even", rows=19),))
    >>> order = PieceOrder(square(16, 19), tab, {})
    >>> reading(Reference("tab", "height"), order, size(order))
    Fraction(100, 1)
    """
    name, extent = reference.measurement, sized.extent
    if reference.state == "edged":
        grown = growth_of(order)
        extent = Extent(extent.width + grown.width, extent.height + grown.height)
    elif name in sized.measurements:
        return sized.measurements[name].finished
    return {"width": extent.width, "height": extent.height}.get(name)


def check_pieces(order: ProjectOrder) -> None:
    """Whether the names of sizes, pieces and measurements hold together.

    Raises Refused for names given twice, a gauge missing, templates that make no sense,
    measurements unknown or missing, sizes unknown or missing, and references to what there is
    not. Source: common-practice.

    >>> check_pieces(ProjectOrder(("one",), ()))
    """
    found = Findings()
    _twice(order.sizes, "sizes", (), "size", found)
    _twice([p.name for p in order.pieces], "pieces", ("name",), "piece", found)
    for i, piece in enumerate(order.pieces):
        path: Path = ("pieces", i)
        if piece.order is None:
            found.add(
                "gauge-missing",
                (*path, "gauge"),
                f"{piece.name} has no gauge: give it one, or one for the whole project",
                {"add": "gauge"},
            )
        else:
            template = piece.order.template
            with found.collecting((*path, "template")):
                check_any(template)
            with found.collecting(path):
                check_measurements(
                    any_size(template),
                    dict.fromkeys(piece.measurements, Fraction(1)),
                )
        for name, wanted in piece.measurements.items():
            here = (*path, "measurements", name)
            if isinstance(wanted, Reference):
                _check_reference(wanted, order.pieces, here, found)
            elif isinstance(wanted, Mapping):
                _check_sizes(wanted, order.sizes, (*here, "by_size"), name, found)
    found.settle()


def _twice(names: Sequence[str], at: str, member: Path, what: str, found: Findings) -> None:
    for i, name in enumerate(names):
        if name in names[:i]:
            found.add(f"{what}-twice", (at, i, *member), f"two {what}s are called {name}")


def _check_sizes(
    wanted: Mapping[str, Fraction], sizes: tuple[str, ...], path: Path, name: str, found: Findings
) -> None:
    for size in wanted:
        if size not in sizes:
            found.add(
                "unknown-size",
                (*path, size),
                f"no size is called {size}; there are {', '.join(sizes)}",
                [*sizes],
            )
    for size in dict.fromkeys(sizes):
        if size not in wanted:
            detail = f"{name} is given by size, but not for {size}"
            found.add("size-missing", (*path, size), detail, {"sizes": [*sizes]})


def _check_reference(
    wanted: Reference, pieces: tuple[ProjectPiece, ...], path: Path, found: Findings
) -> None:
    named = {p.name: p for p in pieces}
    other = named.get(wanted.piece)
    if other is None:
        found.add(
            "unknown-piece",
            (*path, "piece"),
            f"no piece is called {wanted.piece}; there are {', '.join(named)}",
            [*named],
        )
        return
    if other.order is None:
        return
    edged = wanted.state == "edged"
    if edged and other.order.edging is None:
        found.add(
            "piece-not-edged",
            (*path, "state"),
            f"{other.name} has no edging: give it one, or take its finished measurement",
            ["finished"],
        )
    own = [] if edged else [m.name for m in other.order.template.measurements]
    if wanted.measurement not in (*own, *EXTENT):
        found.add(
            "unknown-measurement",
            (*path, "measurement"),
            f"{other.name} has no {'edged ' if edged else ''}measurement {wanted.measurement}",
            list(dict.fromkeys((*own, *EXTENT))),
        )


def references(piece: ProjectPiece) -> dict[str, Reference]:
    """The measurements of a piece that are taken from others. Source: common-practice.

    >>> band = ProjectPiece("band", None, {"length": Reference("case", "width")})
    >>> references(band)["length"].piece
    'case'
    """
    return {m: w for m, w in piece.measurements.items() if isinstance(w, Reference)}


def order_of_work(order: ProjectOrder) -> tuple[int, ...]:
    """Indexes of the pieces, each after those it takes a measurement from.

    Raises Refused where pieces take their measure from each other in a circle.
    Source: common-practice.

    >>> band = ProjectPiece("band", None, {"length": Reference("case", "width")})
    >>> order_of_work(ProjectOrder(("one",), (band, ProjectPiece("case", None, {}))))
    (1, 0)
    """
    index = {p.name: i for i, p in enumerate(order.pieces)}
    needs = [{index[r.piece] for r in references(p).values()} for p in order.pieces]
    done: list[int] = []
    while len(done) < len(needs):
        ready = next((i for i in range(len(needs)) if i not in done and needs[i] <= {*done}), None)
        if ready is None:
            _refuse_circles(order, index, {*done})
        else:
            done.append(ready)
    return tuple(done)


def _refuse_circles(order: ProjectOrder, index: dict[str, int], done: set[int]) -> None:
    """Every circle among the pieces that are left, each told once, from its first piece on."""
    found, told = Findings(), set(done)
    for start in range(len(order.pieces)):
        way: list[tuple[int, str]] = []
        at = start
        while at not in told and at not in [i for i, _ in way]:
            taken = references(order.pieces[at])
            name = next((m for m, r in taken.items() if index[r.piece] not in done), None)
            if name is None:
                break
            way.append((at, name))
            at = index[taken[name].piece]
        else:
            circle = way[next((k for k, (i, _) in enumerate(way) if i == at), len(way)) :]
            if circle:
                names = [order.pieces[i].name for i, _ in circle]
                first, name = circle[0]
                found.add(
                    "measurements-in-a-circle",
                    ("pieces", first, "measurements", name),
                    "takes its measure from itself: "
                    + " from ".join([*names, names[0]])
                    + "; give one of these measurements a length of its own",
                    {"one_of": [f"/pieces/{i}/measurements/{m}" for i, m in circle]},
                )
        told |= {i for i, _ in way}
    found.settle()


def worked_together(order: ProjectOrder, work: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """Pieces whose counts must be chosen together, group after group in the order of work.

    Joined pieces are one group; so are groups that hang on each other both ways.
    Source: common-practice.

    >>> a, b = ProjectPiece("a", None, {}), ProjectPiece("b", None, {})
    >>> worked_together(ProjectOrder(("one",), (a, b)), (0, 1))
    ((0,), (1,))
    """
    index = {p.name: i for i, p in enumerate(order.pieces)}
    reach = [{i} | {index[r.piece] for r in references(p).values()}
             for i, p in enumerate(order.pieces)]  # fmt: skip
    for seam in order.seams:
        one, other = (index[edge.piece] for edge in seam.edges)
        reach[one].add(other)
        reach[other].add(one)
    for middle in range(len(reach)):
        for i in range(len(reach)):
            if middle in reach[i]:
                reach[i] |= reach[middle]
    groups: list[tuple[int, ...]] = []
    # A group that others hang on reaches fewer pieces than they do.
    for i in sorted(work, key=lambda i: len(reach[i])):
        if not any(i in group for group in groups):
            groups.append(tuple(j for j in work if j in reach[i] and i in reach[j]))
    return tuple(groups)
