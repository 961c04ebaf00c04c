"""How the engine's cost grows: CPU of one answer at 10, 100, 1,000 and 10,000 rows, and of one
project as its pieces, its sizes and its seams grow.

python deploy/benchmark_rows.py [FILE.json]   (from the repository root, with nothing installed)

The cases are interleaved, the least of several runs of each is taken, and each is also given as a
ratio to its own smallest. Nothing is judged here: machines are shared and noisy.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from service.engine.edgeplans import SegmentPlan
from service.engine.gauge import square
from service.engine.patterns import piece
from service.engine.projectorder import EdgeOrder, ProjectOrder, ProjectPiece, SeamOrder
from service.engine.projects import project
from service.engine.roundplans import RoundPlan, RoundTemplate, StartPlan
from service.engine.sizing import PieceOrder, size
from service.engine.templates import (
    FoundationPlan,
    MeasurementPlan,
    SectionPlan,
    Template,
    Term,
)

GAUGE = square(100, 100)
ROWS = (10, 100, 1_000, 10_000)
RUNS = 7

WIDE = square(16, 19)
WIDTH = (MeasurementPlan("width", "across"),)
PANEL = Template(
    "panel", "Panel", WIDTH, FoundationPlan(Term("width")), (SectionPlan("panel", "even", rows=20),)
)
CUP = RoundTemplate(
    "cup",
    "Cup",
    WIDTH,
    StartPlan("ring"),
    (
        RoundPlan("base", "disc", to_diameter=Term("width")),
        RoundPlan("wall", "even", rounds=20),
    ),
)


def flat(rows: int, shape: str, detail: str) -> PieceOrder:
    section = (
        SectionPlan("part", "even", rows=rows)
        if shape == "even"
        else SectionPlan("part", "taper", to_stitches=3, rows=rows)
    )
    template = Template("part", "Part", (), FoundationPlan(stitches=17), (section,))
    return PieceOrder(GAUGE, template, {}, detail=detail)  # type: ignore[arg-type]


def outline(rows: int, detail: str) -> PieceOrder:
    """A rounded edge a millimetre to the row; it comes in by 8 of 17 stitches however long."""
    side = (SegmentPlan("arc", Term(None, plus=Fraction(8)), Term(None, plus=Fraction(rows))),)
    section = SectionPlan("part", "outline", sides=side)
    template = Template("part", "Part", (), FoundationPlan(stitches=17), (section,))
    return PieceOrder(GAUGE, template, {}, detail=detail)  # type: ignore[arg-type]


def tube(rows: int) -> PieceOrder:
    part = RoundPlan("part", "even", rounds=rows)
    template = RoundTemplate("part", "Part", (), StartPlan("chain", stitches=40), (part,))
    return PieceOrder(GAUGE, template, {})


def disc(rows: int) -> PieceOrder:
    across = Term(None, plus=Fraction(2 * rows))
    part = RoundPlan("part", "disc", to_diameter=across, increases=1)
    template = RoundTemplate("part", "Part", (), StartPlan("ring"), (part,))
    return PieceOrder(GAUGE, template, {})


def pieces(many: int, sizes: int, seams: int) -> ProjectOrder:
    """Panels a few stitches apart, each joined to the next; the first to a cup's rim."""
    names = tuple(f"size {i}" for i in range(sizes))
    parts, joins = [], []
    for i in range(many):
        shape = CUP if i == 0 else PANEL
        around = {size: Fraction(400 + 10 * k + 3 * (i % 4)) for k, size in enumerate(names)}
        across = {size: length / 3 for size, length in around.items()}
        wide = across if shape is CUP else around
        parts.append(ProjectPiece(f"part {i}", PieceOrder(WIDE, shape, {}), {"width": wide}))
    for i in range(seams):
        ends = (EdgeOrder(f"part {i}", "last-row"), EdgeOrder(f"part {i + 1}", "last-row"))
        joins.append(SeamOrder(f"seam {i}", ends, "stitch-for-stitch", ease_at_most=2))
    return ProjectOrder(names, tuple(parts), tuple(joins))


CASES: dict[str, Callable[[int], Callable[[], object]]] = {
    "even, counts": lambda rows: lambda: size(flat(rows, "even", "runs")),
    "taper, counts": lambda rows: lambda: size(flat(rows, "taper", "runs")),
    "taper, counts of every row": lambda rows: lambda: size(flat(rows, "taper", "rows")),
    "outline, counts": lambda rows: lambda: size(outline(rows, "runs")),
    "outline, counts of every row": lambda rows: lambda: size(outline(rows, "rows")),
    "outline, whole answer": lambda rows: lambda: piece(outline(rows, "runs")),
    "taper, whole answer": lambda rows: lambda: piece(flat(rows, "taper", "runs")),
    "tube, whole answer": lambda rows: lambda: piece(tube(rows)),
    "disc, whole answer": lambda rows: lambda: piece(disc(rows)),
}


PROJECTS: dict[str, tuple[tuple[int, ...], Callable[[int], ProjectOrder]]] = {
    "pieces, 1 size, no seams": ((2, 5, 10, 20), lambda n: pieces(n, 1, 0)),
    "pieces, 1 size, all joined": ((2, 5, 10, 20), lambda n: pieces(n, 1, n - 1)),
    "sizes, 5 pieces, no seams": ((1, 2, 10, 20), lambda n: pieces(5, n, 0)),
    "sizes, 5 pieces, 4 seams": ((1, 2, 10, 20), lambda n: pieces(5, n, 4)),
    "seams, 20 pieces, 1 size": ((1, 5, 10, 19), lambda n: pieces(20, 1, n)),
    "seams, 20 pieces, 5 sizes": ((1, 5, 10, 19), lambda n: pieces(20, 5, n)),
}


def joined(order: ProjectOrder) -> Callable[[], object]:
    return lambda: project(order)


def cpu(work: Callable[[], object]) -> float:
    work()  # once to warm what the case before has cooled
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    asked = {(name, rows): make(rows) for name, make in CASES.items() for rows in ROWS}
    asked |= {
        (name, many): joined(make(many))
        for name, (steps, make) in PROJECTS.items()
        for many in steps
    }
    least = dict.fromkeys(asked, float("inf"))
    for _ in range(RUNS):
        for case, work in asked.items():
            least[case] = min(least[case], cpu(work))
    steps = dict.fromkeys(CASES, ROWS) | {name: many for name, (many, _) in PROJECTS.items()}
    table = {
        name: {many: round(1e6 * least[name, many], 1) for many in each}
        for name, each in steps.items()
    }
    print(f"{'CPU microseconds':<30}" + "".join(f"{rows:>12,} rows" for rows in ROWS))
    for name, row in table.items():
        first = next(iter(row.values()))
        if name in PROJECTS:
            print(f"\n{'':<30}" + "".join(f"{many:>17,}" for many in row))
        told = "".join(f"{t:>9,.0f} ({t / first:>4.1f}x)" for t in row.values())
        print(f"{name:<30}{told}")
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(json.dumps(table, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
