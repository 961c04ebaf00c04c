"""Audits held against published worked arithmetic, and against slips planted in clean patterns."""

from __future__ import annotations

import copy
import random
from typing import Any

import pytest

from service.engine.auditfindings import Finding
from tests.auditing import Json, audited
from tests.planting import SIZES, SLIPS, Slip, clean, planted

PRACTICE = "common practice, no published source"


def codes(form: Json) -> list[str]:
    return [f.code for f in audited(form).findings]


@pytest.mark.parametrize("seed", range(40))
def test_a_clean_pattern_gives_no_alarm(seed: int) -> None:
    made = audited(clean(random.Random(seed)))
    assert made.holds, made.findings[0].text
    assert not made.not_audited
    assert made.left_out == 0


def test_the_slips_are_of_many_classes() -> None:
    assert len({slip.name for slip in SLIPS}) == len(SLIPS) >= 20


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip.name)
def test_a_planted_slip_is_found_once_where_it_stands(slip: Slip) -> None:
    for seed in range(6):
        dice = random.Random(f"{slip.name}{seed}")
        form, size = clean(dice), dice.choice(SIZES)
        spoiled = planted(form, slip, size)
        sizes = set(SIZES) if slip.everywhere else {slip.found_in or size}
        row = {s: slip.row(spoiled, s) for s in sizes}
        code = slip.code or ("stitches-short" if size == "pocket" else "stitches-left-over")
        found = audited(spoiled).findings
        assert [(f.code, f.piece, f.size, f.row) for f in found] == [
            (code, slip.piece, s, row[s]) for s in SIZES if s in sizes
        ], [f.text for f in found]


def put_right(form: Json, finding: Finding) -> bool:
    """Put the correction's count or length where it says; False where it is words alone."""
    value = finding.correction.count
    length = finding.correction.length
    if value is None and length is None:
        return False
    holder: Any = form
    *way, last = finding.correction.field
    for step in way:
        holder = holder[step]
    if length is not None:
        value = {"value": float(length), "unit": "mm"}  # type: ignore[assignment]
    elif not isinstance(holder[last], int):
        return False
    holder[last] = value
    return True


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip.name)
def test_a_correction_that_is_put_in_works(slip: Slip) -> None:
    dice = random.Random(slip.name)
    form, size = clean(dice), dice.choice(SIZES)
    spoiled = planted(form, slip, size)
    before = audited(spoiled)
    assert before.findings
    for finding in before.findings:
        mended = copy.deepcopy(spoiled)
        if put_right(mended, finding):
            left = audited(mended).findings
            told = (finding.code, finding.size, finding.row)
            assert told not in [(f.code, f.size, f.row) for f in left], finding.text
            assert len(left) < len(before.findings), (finding.text, [f.text for f in left])


def test_several_slips_are_all_found() -> None:
    for seed in range(40):
        dice = random.Random(seed)
        form, chosen = clean(dice), list[Slip]()
        for slip in dice.sample([s for s in SLIPS if s.code == "stated-count"], 4):
            # Lines apart, so that the count between them is not in doubt.
            near = [abs((slip.row(form, "desk") or 0) - (s.row(form, "desk") or 0)) for s in chosen]
            if slip.piece == "case" and min(near, default=9) > 3:
                chosen.append(slip)
        for slip in chosen:
            form = planted(form, slip, "desk")
        found = [(f.code, f.row) for f in audited(form).findings if f.size == "desk"]
        assert sorted(found) == sorted((s.code, s.row(form, "desk")) for s in chosen), found


def test_rows_alike_that_go_on_too_long_are_to_end_where_they_fit() -> None:
    # By hand: 9 stitches less 2 a row are 7, 5 and 3 after row 3; of 3, two together leave one, and
    # row 4 has to stop two before the end.
    dec = {"together": 2}
    rows = [{"last_row": 5, "work": [dec, {"plain": {"to_last": 2}}, dec], "stitches": 1}]
    piece = {"name": "flap", "foundation": {"stitches": 9}, "rows": rows}
    (found,) = audited({"sizes": ["pocket"], "pieces": [piece]}).findings
    assert (found.code, found.row) == ("stitches-short", 4)
    assert "where 1 stitch is left" in found.text
    assert found.text.endswith("let the one before be the last of these rows.")
