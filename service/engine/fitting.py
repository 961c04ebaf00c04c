"""The counts of every piece of a project in one size, group after group in the order of work."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from math import ceil

from .candidates import MOST_STEPS, Budget, TooMuchWork
from .dependence import reading, references
from .errors import Findings, Path, Refusal, Refused
from .exact import Fraction
from .hinges import added, counted, foretell, hinges
from .options import Chosen, Member, off
from .projectorder import ProjectOrder, Reference, SeamOrder
from .seams import agrees, ease, edge_count
from .sizing import PieceOrder, Sized
from .solving import solve
from .worked import any_size, size_any
from .working import Spent, share


@dataclass(frozen=True, slots=True)
class Shift:
    """A measurement whose count was moved off the nearest, so that seams agree."""

    measurement: str
    what: str
    nearest: int
    count: int


@dataclass(frozen=True, slots=True)
class Fitted:
    """A piece in one size: what was asked, the order that makes it, and its counts."""

    asked: Mapping[str, Fraction]
    order: PieceOrder
    sized: Sized
    shifts: tuple[Shift, ...] = ()


def fit(
    order: ProjectOrder, groups: tuple[tuple[int, ...], ...], size_name: str, budget: Budget
) -> dict[str, Fitted]:
    """The pieces of one size. Pieces that no seam touches take their nearest counts.

    Raises Refused for a piece that cannot be made as asked, and seams that cannot agree.
    Source: common-practice.

    >>> fit(ProjectOrder(("one",), ()), (), "one", Budget())
    {}
    """
    found, fitted = Findings(), dict[str, Fitted]()
    for group in groups:
        here = [order.pieces[i] for i in group]
        names = {p.name for p in here}
        if any(r.piece not in {*fitted, *names} for p in here for r in references(p).values()):
            continue  # it hangs on a piece that was refused
        with found.collecting():
            near = _nearest(order, group, size_name, fitted)
            seams = tuple(s for s in order.seams if s.edges[0].piece in names)
            if seams:
                near = _joined(order, group, size_name, {**fitted, **near}, seams, budget)
            fitted |= near
    found.settle()
    return fitted


def _asked(
    order: ProjectOrder, piece: int, size_name: str, made: Mapping[str, tuple[PieceOrder, Sized]]
) -> dict[str, Fraction]:
    """What is asked of a piece in one size, in millimetres; raises Refused where it is nothing."""
    found, asked = Findings(), dict[str, Fraction]()
    for name, wanted in order.pieces[piece].measurements.items():
        path: Path = ("pieces", piece, "measurements", name)
        if isinstance(wanted, Reference):
            came_to = reading(wanted, *made[wanted.piece])
            if came_to is None:
                found.add("nothing-to-measure", path, f"{wanted.piece} has no {wanted.measurement}")
                continue
            asked[name] = came_to * wanted.times + wanted.plus
            if asked[name] <= 0:
                found.add(
                    "measurement-not-positive",
                    (*path, "plus"),
                    f"{wanted.measurement} of {wanted.piece} is {float(came_to):g} mm: what is"
                    " taken off leaves nothing",
                    {"take_off_less_than_mm": float(came_to * wanted.times)},
                )
        else:
            asked[name] = wanted[size_name] if isinstance(wanted, Mapping) else wanted
    found.settle()
    return asked


def _sized(
    order: ProjectOrder, piece: int, asked: Mapping[str, Fraction]
) -> tuple[PieceOrder, Sized]:
    wanted = order.pieces[piece].order
    assert wanted is not None  # check_pieces saw to it
    wanted = replace(wanted, measurements=asked)
    return wanted, size_any(wanted)


def _nearest(
    order: ProjectOrder, group: tuple[int, ...], size_name: str, fitted: Mapping[str, Fitted]
) -> dict[str, Fitted]:
    """The group as asked, each measurement at its nearest count."""
    found, made = Findings(), dict[str, Fitted]()
    for i in group:
        piece = order.pieces[i]
        before = {name: (f.order, f.sized) for name, f in {**fitted, **made}.items()}
        if any(r.piece not in before for r in references(piece).values()):
            continue
        with found.collecting():
            asked = _asked(order, i, size_name, before)
            try:
                made[piece.name] = Fitted(asked, *_sized(order, i, asked))
            except Refused as refused:
                raise Refused(
                    *(replace(r, path=order.placed(i, r.path, size_name)) for r in refused.refusals)
                ) from None
    found.settle()
    return made


def _joined(
    order: ProjectOrder,
    group: tuple[int, ...],
    size_name: str,
    near: Mapping[str, Fitted],
    seams: tuple[SeamOrder, ...],
    budget: Budget,
) -> dict[str, Fitted]:
    """The group with the counts that let its seams agree; near holds it, and those before it."""
    members = tuple(
        _member(order, i, group, size_name, near, seams) for i in _by_seam(order, group)
    )
    try:
        best = solve(members, seams, order.most_off, budget)
        if best is None:
            raise Refused(*_no_agreement(order, size_name, near, seams, members, budget))
    except TooMuchWork:
        raise Refused(
            Refusal(
                "too-many-combinations",
                ("seams", order.seams.index(seams[0])),
                f"choosing counts for {', '.join(m.name for m in members)} in {size_name} takes"
                f" more than the {MOST_STEPS} steps that one request is given; fewer seams, sizes"
                " or joined pieces, measurements that agree more nearly, or a smaller"
                " most_off_percent would do",
                {"steps": MOST_STEPS},
            )
        ) from None
    made: dict[str, Fitted] = {}
    for i, member in ((i, m) for i in group for m in members if m.name == order.pieces[i].name):
        option = best.options[member.name]
        asked = _asked(order, i, size_name, _made(near, best.options))
        wanted = near[member.name].order
        shifts = tuple(
            Shift(name, counted.what, counted.nearest(asked[name], option.values).count, c.count)
            for name, c in option.candidates.items()
            for counted in (member.counted[name],)
            if c.moved
        )
        driven = replace(wanted, template=any_size(wanted.template), measurements=option.values)
        made[member.name] = Fitted(asked, driven, option.sized or size_any(driven), shifts)
    return made


def _no_agreement(
    order: ProjectOrder,
    size_name: str,
    near: Mapping[str, Fitted],
    seams: tuple[SeamOrder, ...],
    members: tuple[Member, ...],
    budget: Budget,
) -> list[Refusal]:
    """Each seam whose nearest counts do not agree, and what would let it.

    How far off they would agree is told where it can be found with little work: what is refused
    must not become "too much work" for the sake of it.
    """
    wider = None
    with share(budget.wider) as left, suppress(TooMuchWork, Spent):
        wider = solve(members, seams, Fraction(1), Budget())
    budget.wider = left.left
    limit = f"{float(100 * order.most_off):g} %"
    told = f"no counts within {limit} of what was asked let the seams of this group agree"
    also: dict[str, object] = {}
    if wider:
        percent = ceil(1000 * wider.worst) / 10
        told += f"; at {percent:g} % off they would"
        also["most_off_percent"] = percent
    refusals = []
    for seam in seams:
        first, second = (edge_count(near[e.piece].sized, e) for e in seam.edges)
        if agrees(seam, first, second):
            continue
        one, other = seam.edges
        needed = ceil(abs(ease(seam, first, second)))
        kind = "rows" if one.in_rows else "stitches"
        refusals.append(
            Refusal(
                "seam-cannot-agree",
                ("seams", order.seams.index(seam)),
                f"in {size_name}, {one.edge} of {one.piece} comes to {first} and {other.edge} of"
                f" {other.piece} to {second}; {told}. With {needed} {kind} of ease the nearest"
                " counts do",
                {"ease_at_most": needed, **also},
            )
        )
    return refusals


def _made(near: Mapping[str, Fitted], chosen: Chosen) -> dict[str, tuple[PieceOrder, Sized]]:
    return {
        name: (f.order, (chosen[name].sized if name in chosen else None) or f.sized)
        for name, f in near.items()
    }


def _by_seam(order: ProjectOrder, group: tuple[int, ...]) -> list[int]:
    """The group with each piece after those it measures by, and next to those it is joined to."""
    names = {order.pieces[i].name: i for i in group}
    joined: dict[int, list[int]] = {i: [] for i in group}
    for seam in order.seams:
        ends = [names[e.piece] for e in seam.edges if e.piece in names]
        for i in ends:
            joined[i] += ends
    needs = {
        i: {names[r.piece] for r in references(order.pieces[i]).values() if r.piece in names}
        for i in group
    }
    done: list[int] = []
    while len(done) < len(group):
        ready = [i for i in group if i not in done and needs[i] <= {*done}]
        done.append(max(ready, key=lambda i: sum(j in done for j in joined[i])))
    return done


def _member(
    order: ProjectOrder,
    piece: int,
    group: tuple[int, ...],
    size_name: str,
    near: Mapping[str, Fitted],
    seams: tuple[SeamOrder, ...],
) -> Member:
    asked_for = order.pieces[piece]
    names = {order.pieces[i].name for i in group}
    nearest = near[asked_for.name]
    wanted = replace(nearest.order, template=any_size(nearest.order.template))
    edges = tuple(dict.fromkeys(e for s in seams for e in s.edges if e.piece == asked_for.name))
    seen = tuple(
        r for i in group for r in references(order.pieces[i]).values() if r.piece == asked_for.name
    )

    fixed = not any(r.piece in names for r in references(asked_for).values())

    def asked(chosen: Chosen) -> Mapping[str, Fraction] | None:
        if fixed:
            return nearest.asked
        try:
            return _asked(order, piece, size_name, _made(near, chosen))
        except Refused:
            return None

    def sized(values: Mapping[str, Fraction]) -> Sized | None:
        try:
            return size_any(replace(wanted, measurements=values))
        except Refused:
            return None

    def read(made: Sized) -> tuple[object, ...]:
        return tuple(reading(r, wanted, made) for r in seen)

    return Member(
        name=asked_for.name,
        counted=counted(wanted, nearest.asked),
        near={name: off(nearest.sized, name, length) for name, length in nearest.asked.items()},
        hinges=hinges(wanted.template, nearest.asked, edges, seen),
        fixed=fixed,
        asked=asked,
        size=sized,
        edges=edges,
        read=read,
        added=added(wanted.template, nearest.asked, edges),
        foretell=None if seen else foretell(wanted.template, nearest.asked, edges),
    )
