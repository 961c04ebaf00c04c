"""The work that a question asks for, reckoned by hand from the list of what things take.

The list is our own measurements (in units, a two-hundredth of a small piece): a piece 40, a section
12, an edging 25, yarn 30, a row of an outline 9 and 4 more where its limits strain it, a round 0.6,
a run of a schedule in words 5 (3 in the round), a piece's four steps 8 each, a row of an audit 1
and a step of it 0.3. What a caller is refused by hangs on these sums.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from service.engine.continuing import ContinueOrder
from service.engine.edgings import EdgingOrder
from service.engine.errors import Refused
from service.engine.gauge import square
from service.engine.patterns import piece
from service.engine.projectorder import EdgeOrder, ProjectOrder, ProjectPiece, Ratio, SeamOrder
from service.engine.projects import project
from service.engine.working import MOST_WORK, Spent, allowance, share, spend
from service.engine.yarnorder import YarnOrder
from tests.auditing import audited
from tests.engine.test_audit_values import one, plain, rep
from tests.pieces import order

SC = square(16, 19)
FINE = square(20, 20)


def takes(ask: Callable[[], object], units: float) -> bool:
    """Whether a question takes so many units and no fewer."""
    with allowance(units + 1e-6):
        ask()
    with pytest.raises(Refused) as refused, allowance(units - 1e-3):
        ask()
    return [r.code for r in refused.value.refusals] == ["too-much-work"]


def of(template: str, gauge: Any, made_up: Any = None, **measurements: int) -> Any:
    return lambda: piece(order(template, gauge, made_up, **measurements))


@pytest.mark.parametrize(
    ("ask", "units"),
    [
        # A piece of one section, told in four steps at least; its height is of no account.
        (of("panel", SC, width=100, height=100), 40 + 12 + 4 * 8),
        (of("panel", SC, width=100, height=400), 40 + 12 + 4 * 8),
        (of("panel", SC, {"edging": EdgingOrder()}, width=100, height=100), 84 + 25),
        (of("panel", SC, {"yarn": YarnOrder(4)}, width=100, height=100), 84 + 30),
        # Two sections; a point in every row is one run. In 29 rows (15 cm) it is two.
        (of("flap-panel", SC, width=240, body_height=300), 40 + 2 * 12 + 32 + 5),
        (of("flap-panel", SC, width=240, body_height=300, flap_depth=150), 96 + 2 * 5),
        # 10 rounds flat, 7 runs: 6, 7, 6 6 6, 7, 6 6, 7, 6.
        (of("disc", FINE, diameter=100), 40 + 12 + 10 * 0.6 + 32 + 7 * 3),
        (of("tube", SC, circumference=240, height=100), 40 + 12 + 19 * 0.6 + 32),
        (of("tube", SC, circumference=240, height=200), 40 + 12 + 38 * 0.6 + 32),
        (of("cup", FINE, diameter=100, height=50), 40 + 24 + 20 * 0.6 + 32 + 7 * 3),
        # A row is met, asked for once, and its steps are worked; those in a repeat once.
        (lambda: audited(one([{"work": [plain(9)]}] * 3, {"stitches": 9})), 3 * (1 + 2 * 0.3)),
        (lambda: audited(one([{"work": [plain(3), rep(2, plain(3))]}] * 3, {"stitches": 9})),
         3 * (1 + 4 * 0.3)),
        # A schedule's run, and what is left over after it.
        (lambda: audited(one([{"last_row": 9, "schedule": [{"rows": 9}]}], {"stitches": 9})),
         2 * 1.3),
    ],
)  # fmt: skip
def test_what_a_question_takes(ask: Callable[[], object], units: float) -> None:
    ask()  # so that what is kept of a template is there
    assert takes(ask, units)


@pytest.mark.parametrize(("depth", "rows"), [(80, 15), (160, 30)])
@pytest.mark.parametrize("strained", [False, True])
def test_an_outline_takes_its_rows(depth: int, rows: int, strained: bool) -> None:
    more = {"max_change": 2} if strained else {}
    asked = order("rounded-flap-panel", SC, more, width=240, body_height=100, flap_depth=depth)
    made = piece(asked)
    runs = sum(len(s.schedule) for s in made.sections)
    assert made.sections[1].rows == rows
    assert takes(lambda: piece(asked), 96 + (13 if strained else 9) * rows + 5 * runs)


def test_an_outline_gone_on_with_takes_its_rows_again() -> None:
    def asks(depth: int) -> Callable[[], object]:
        on = {"continue_after": ContinueOrder("flap", 25, stitches=36)}
        return of("rounded-flap-panel", SC, on, width=240, body_height=100, flap_depth=depth)

    # At least its plan's rows and its own, and twice that is what it would take three times over.
    for depth, rows in ((80, 15), (160, 30)):
        with pytest.raises(Refused), allowance(160 + 2 * 9 * rows):
            asks(depth)()
        with allowance(160 + 3 * 9 * rows):
            asks(depth)()


def test_what_is_spent_is_left_to_nobody_and_past_the_last_is_refused() -> None:
    with allowance():
        spend(MOST_WORK - 0.5)
        spend(0.5)
    with pytest.raises(Refused) as refused, allowance(0.5):
        spend(0.51, ("pieces", 0))
    (refusal,) = refused.value.refusals
    assert refusal.path == ("pieces", 0)
    with allowance(10):
        with allowance(10):
            spend(9)
        spend(9)
    spend(10 * MOST_WORK)


# --- a seam that cannot agree -------------------------------------------------------------------


def far_apart(*sizes: str) -> ProjectOrder:
    """The last row of a narrow panel sewn up the side of a long case, four to five.

    By hand: 12.5 cm are 20 stitches, 25 rows' worth; the case is 114 rows and 57 of flap, 171, so
    136.8 stitches. A quarter off, 25 stitches at most against 128 rows at least.
    """
    tab = order("panel", SC, width=125, height=100)
    case = order("flap-panel", SC, width=240, body_height=600, flap_depth=300)
    ends = (EdgeOrder("tab", "last-row"), EdgeOrder("case", "left"))
    return ProjectOrder(
        sizes,
        tuple(ProjectPiece(n, p, p.measurements) for n, p in (("tab", tab), ("case", case))),
        (SeamOrder("side", ends, Ratio(4, 5), 1),),
    )


@pytest.mark.parametrize("sizes", [("pocket",), ("pocket", "desk"), tuple("abcdefgh")])
def test_a_seam_that_cannot_agree_is_told_as_such_and_not_as_too_much_work(
    sizes: tuple[str, ...],
) -> None:
    asked = far_apart(*sizes)
    with pytest.raises(Refused) as refused, allowance():
        project(asked)
    assert {r.code for r in refused.value.refusals} == {"seam-cannot-agree"}
    assert len(refused.value.refusals) == len(sizes)
    first = refused.value.refusals[0]
    assert "last-row of tab comes to 20 and left of case to 171" in first.detail
    assert isinstance(first.permitted, dict)
    assert first.permitted["ease_at_most"] == 117  # 136.8 - 20, and a whole stitch


def test_what_a_seam_is_refused_with_does_not_hang_on_who_asks() -> None:
    asked = far_apart("pocket", "desk")
    with pytest.raises(Refused) as within, allowance():
        project(asked)
    with pytest.raises(Refused) as outside:
        project(asked)
    assert within.value.refusals == outside.value.refusals


def test_a_share_that_is_spent_leaves_the_rest() -> None:
    with allowance(100):
        with pytest.raises(Spent), share(30):
            spend(31)
        spend(69)  # 70 are left of 100
        with share(30):  # and no more than is left
            spend(1)
        with pytest.raises(Spent):
            spend(0.5)
