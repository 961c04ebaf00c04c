"""How the engine's cost grows with rows: CPU of one answer at 10, 100, 1,000 and 10,000 rows.

python deploy/benchmark_rows.py [FILE.json]   (from the repository root, with nothing installed)

The cases are interleaved, the least of several runs of each is taken, and each is also given as a
ratio to its own 10 rows. Nothing is judged here: machines are shared and noisy.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from service.engine.gauge import square
from service.engine.patterns import piece
from service.engine.roundplans import RoundPlan, RoundTemplate, StartPlan
from service.engine.sizing import PieceOrder, size
from service.engine.templates import FoundationPlan, SectionPlan, Template, Term

GAUGE = square(100, 100)
ROWS = (10, 100, 1_000, 10_000)
RUNS = 7


def flat(rows: int, shape: str, detail: str) -> PieceOrder:
    section = (
        SectionPlan("part", "even", rows=rows)
        if shape == "even"
        else SectionPlan("part", "taper", to_stitches=3, rows=rows)
    )
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


CASES: dict[str, Callable[[int], Callable[[], object]]] = {
    "even, counts": lambda rows: lambda: size(flat(rows, "even", "runs")),
    "taper, counts": lambda rows: lambda: size(flat(rows, "taper", "runs")),
    "taper, counts of every row": lambda rows: lambda: size(flat(rows, "taper", "rows")),
    "taper, whole answer": lambda rows: lambda: piece(flat(rows, "taper", "runs")),
    "tube, whole answer": lambda rows: lambda: piece(tube(rows)),
    "disc, whole answer": lambda rows: lambda: piece(disc(rows)),
}


def cpu(work: Callable[[], object]) -> float:
    work()  # once to warm what the case before has cooled
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    asked = {(name, rows): make(rows) for name, make in CASES.items() for rows in ROWS}
    least = dict.fromkeys(asked, float("inf"))
    for _ in range(RUNS):
        for case, work in asked.items():
            least[case] = min(least[case], cpu(work))
    table = {name: {rows: round(1e6 * least[name, rows], 1) for rows in ROWS} for name in CASES}
    print(f"{'CPU microseconds':<28}" + "".join(f"{rows:>12,} rows" for rows in ROWS))
    for name, row in table.items():
        told = "".join(f"{t:>9,.0f} ({t / row[10]:>4.1f}x)" for t in row.values())
        print(f"{name:<28}{told}")
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(json.dumps(table, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
