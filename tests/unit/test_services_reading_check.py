"""Readings looked over while they are typed: each row by itself, whatever is wrong with the others.

What counts as doubtful is held in the tests of the doubts themselves.
"""

from __future__ import annotations

import pytest

from sample_coupons import sample_trial
from trialcut.services import check_readings, load_shop, read_what_can_be
from trialcut.trials.intake.form import COLUMNS
from trialcut.trials.intake.sheets import rows_of_cells, rows_of_text
from trialcut.trials.knowledge import PriorKnowledge

TRIAL = sample_trial()
SHOP = load_shop(None)
COUPON = TRIAL.coupons[0].id


def row(value: str, *, depth: str = "top", cut: str = "X", unit: str = "mm") -> tuple[str, ...]:
    return (COUPON, cut, "size", depth, "micrometer", value, unit, "")


def test_each_row_has_its_own_answer_in_the_order_of_the_rows() -> None:
    rows = [row("x"), row("40.06"), row("40.05", depth="nowhere"), row("400.5", depth="bottom")]
    wrong, right, nowhere, slip = check_readings(rows, trial=TRIAL, shop=SHOP, knowledge=PriorKnowledge())
    assert wrong.fault
    assert not wrong.text
    assert (right.text, right.fault, right.findings) == ("40.06 mm", "", ())
    assert "is no depth" in nowhere.fault
    assert slip.text == "400.5 mm"
    assert [finding.code for finding in slip.findings] == ["decimal-slip"]


def test_no_rows_and_rows_without_any_good_one_are_answered_too() -> None:
    assert check_readings([], trial=TRIAL, shop=SHOP, knowledge=PriorKnowledge()) == ()
    [only] = check_readings([row("x")], trial=TRIAL, shop=SHOP, knowledge=PriorKnowledge())
    assert only.fault


def test_a_dash_is_no_reading_and_says_so() -> None:
    dash, right = check_readings([row("-"), row("40.06")], trial=TRIAL, shop=SHOP, knowledge=PriorKnowledge())
    assert "nothing was read" in dash.fault
    assert right.text == "40.06 mm"
    [alone] = check_readings([row("n/a")], trial=TRIAL, shop=SHOP, knowledge=PriorKnowledge())
    assert "nothing was read" in alone.fault


def test_lines_of_a_pasted_table_keep_their_numbers() -> None:
    text = f"coupon,cut,depth,value (mm)\n# morning\n\n{COUPON},X,top,40.06\n{COUPON},Q,top,40.06\n"
    faults, intake = read_what_can_be(rows_of_text(text), trial=TRIAL, shop=SHOP, gauge="micrometer")
    assert list(faults) == [5]
    assert intake is not None
    assert [reading.text for reading in intake.readings] == ["40.06 mm"]


@pytest.mark.parametrize("cells", [[("a", "b"), ("c", "d")], [COLUMNS[:2], (COUPON, "X")], []])
def test_a_table_that_is_no_form_is_told_as_a_whole(cells: list[tuple[str, ...]]) -> None:
    faults, intake = read_what_can_be(rows_of_cells(cells), trial=TRIAL, shop=SHOP)
    assert intake is None
    assert list(faults) == [0]
    assert faults[0]
