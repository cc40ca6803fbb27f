"""The reading form, cell by cell, and the doubts that no single slip can show."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from io import BytesIO

import openpyxl
import pytest
from numpy.testing import assert_allclose

from sample_coupons import CONTEXT, GAUGES, WHEN, filled, sample_expected, sample_lines, sample_trial
from trialcut.trials.intake import (
    FormError,
    doubts,
    form_csv,
    form_lines,
    form_workbook,
    read_form,
    rows_of_file,
)
from trialcut.trials.intake.slips import typed_number
from trialcut.trials.types import ReadingKind

TRIAL = sample_trial()
HEADING = ["coupon", "cut", "what", "depth", "gauge", "value", "unit", "remark"]


def one(*cells, **given):
    """The single reading of a form of one line."""
    intake = read_form([HEADING, list(cells)], trial=TRIAL, **{**CONTEXT, **given})
    (reading,) = intake.readings
    return reading


def problems(*rows, heading=HEADING, **given):
    with pytest.raises(FormError) as caught:
        read_form([heading, *rows], trial=TRIAL, **{**CONTEXT, **given})
    return caught.value.facts["problems"]


@pytest.mark.parametrize(
    ("value", "unit", "metres"),
    [
        ("40.06", "mm", 0.04006),
        ("40.06 mm", "", 0.04006),
        ("40,06", "mm", 0.04006),
        ("1.5772", "in", 1.5772 * 0.0254),
        ('1.5772"', "", 1.5772 * 0.0254),
        ("1 37/64", "in", (1 + 37 / 64) * 0.0254),
        ("1577.2", "thou", 1.5772 * 0.0254),
        ("4.006", "cm", 0.04006),
        (40.06, "mm", 0.04006),
        (40, "MM", 0.040),
        ("1½", "in", 0.0381),
    ],
)
def test_lengths_are_read_with_the_unit_of_the_cell_or_of_the_column(value, unit, metres):
    reading = one("T7-1", "X", "size", "top", "caliper", value, unit, "")
    assert_allclose(reading.value, metres, rtol=1e-12)
    assert reading.text == (f"{value} {unit}" if unit else str(value))


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("107.3 s", 107.3), ("1:47.3", 107.3), ("1:02:03", 3723.0), ("1 min 47 s", 107.0), ("2 min", 120.0)],
)
def test_times_are_read_as_a_watch_shows_them(text, seconds):
    reading = one("T7-1", "", "cycle time", "", "", text, "", "")
    assert_allclose(reading.value, seconds, rtol=1e-12)
    assert reading.text == text
    assert reading.standard_uncertainty == 0.2


@pytest.mark.parametrize(
    ("text", "depth"),
    [
        ("top", 0.0),
        ("Mid.", 0.5),
        ("bottom", 1.0),
        ("0.25", 0.25),
        ("0,25", 0.25),
        ("25 %", 0.25),
        ("1/8 in", 0.25),
    ],
)
def test_depths_are_words_fractions_or_distances(text, depth):
    assert_allclose(
        one("T7-1", "X", "Ra", text, "roughness tester", "3.6 µm", "", "").depth, depth, atol=1e-12
    )


def test_what_is_read_may_be_left_open_where_the_cut_says_it():
    assert one("T7-1", "X", "", "top", "caliper", "40.06 mm", "", "").kind is ReadingKind.SIZE
    assert one("T7-3", "S1", "", "", "", "yes", "", "").kind is ReadingKind.THROUGH
    assert one("T7-4", "S1", "", "top", "caliper", "1.05 mm", "", "").kind is ReadingKind.KERF
    assert one("T7-4", "S1", "width", "top", "caliper", "1.05 mm", "", "").kind is ReadingKind.KERF
    assert one("T7-1", "", "", "", "", "107 s", "", "").kind is ReadingKind.CYCLE_TIME


def test_the_usual_gauge_stands_in_for_lengths_but_not_for_times():
    assert one("T7-1", "X", "size", "top", "", "40.06 mm", "", "", gauge="caliper").gauge == "caliper"
    assert one("T7-1", "", "cycle time", "", "", "107 s", "", "", gauge="caliper").gauge == ""
    assert one("T7-1", "X", "size", "top", "Caliper", "40.06 mm", "", "").standard_uncertainty == 0.012e-3
    assert one("T7-3", "S1", "through", "", "", "no", "", "").standard_uncertainty == 0.0


def test_a_bare_number_names_both_choices():
    (problem,) = problems(["T7-1", "X", "size", "top", "caliper", "40.06", "", ""])
    assert problem == "line 2, column 'value': '40.06' has no unit: write '40.06 in' or '40.06 mm'"


def test_all_problems_come_at_once_with_line_and_column():
    found = problems(
        ["T7-1", "X", "size", "up", "calliper", "40.06", "", ""],
        ["T7-1", "X", "size", "top", "caliper", "40.06 mm", "", ""],
        ["T8-1", "X", "size", "top", "caliper", "40.06 mm", "", ""],
    )
    assert [each.split(":")[0] for each in found] == [
        "line 2, column 'depth'",
        "line 2, column 'value'",
        "line 2, column 'gauge'",
        "line 4, column 'coupon'",
    ]
    for each in found:
        assert ": " in each.split(":", 1)[1]  # a remedy follows


def test_a_depth_that_a_reading_cannot_have_is_kept_with_the_remark():
    reading = one("T7-4", "S1", "lag", "bottom", "caliper", "2.4 mm", "", "left wall")
    assert reading.depth is None
    assert reading.remark == "left wall; depth: bottom"


def test_who_and_when_are_the_forms_own_where_it_says_so():
    heading = [*HEADING, "who", "when", "place"]
    row = ["T7-1", "X", "size", "top", "caliper", "40.06 mm", "", ""]
    rows = [heading, [*row, "AB", "2026-03-05 09:15", "left"], [*row, "", "", "right"]]
    first, second = read_form(rows, trial=TRIAL, **CONTEXT).readings
    assert (first.who, first.when, first.place) == ("AB", datetime(2026, 3, 5, 9, 15, tzinfo=UTC), "left")
    assert (second.who, second.when, second.place) == ("MK", WHEN, "right")
    zone = timezone(timedelta(hours=-5))
    (own,) = read_form(
        [heading, [*row, "", "2026-03-05T09:15:00-05:00", ""]], trial=TRIAL, **CONTEXT
    ).readings
    assert own.when == datetime(2026, 3, 5, 9, 15, tzinfo=zone)


def test_a_workbook_opens_with_the_form_in_it():
    lines = sample_lines(TRIAL)
    book = openpyxl.load_workbook(BytesIO(form_workbook(lines, trial=TRIAL, system="inch")))
    rows = [[cell for cell in row if cell is not None] for row in book.active.iter_rows(values_only=True)]
    start = rows.index(HEADING)
    assert len(rows) - start - 1 == len(lines)
    assert all(row[0].startswith("#") for row in rows[:start])
    assert rows[start + 1] == ["T7-1", "X", "size", "top", "caliper", "in"]


def test_the_same_form_gives_the_same_workbook():
    lines = sample_lines(TRIAL)
    first = form_workbook(lines, trial=TRIAL, system="inch")
    time.sleep(1.1)  # the moment of saving is kept in whole seconds
    assert form_workbook(lines, trial=TRIAL, system="inch") == first


def test_an_unfilled_form_says_that_nothing_is_filled():
    lines = sample_lines(TRIAL)
    with pytest.raises(FormError, match="no value is filled in"):
        read_form(form_csv(lines, trial=TRIAL, system="metric"), trial=TRIAL, **CONTEXT)


def test_the_form_asks_only_for_the_kinds_and_depths_wanted():
    lines = form_lines(TRIAL, gauge="caliper", depths=(0.5,), kinds=[ReadingKind.SIZE])
    assert {line.kind for line in lines} == {ReadingKind.SIZE}
    assert {line.depth for line in lines} == {0.5}
    assert len(lines) == 6
    bare = replace(TRIAL, coupons=tuple(replace(coupon, cycle=None) for coupon in TRIAL.coupons))
    kinds = {line.kind for line in form_lines(bare, gauge="caliper")}
    assert kinds == {ReadingKind.SIZE, ReadingKind.THROUGH, ReadingKind.KERF, ReadingKind.LAG}


def test_a_file_too_large_or_of_another_kind_is_refused():
    with pytest.raises(FormError, match="20 MB"):
        rows_of_file("big.csv", b"a" * (20 * 2**20))
    with pytest.raises(FormError, match="50,000 lines"):
        rows_of_file("long.csv", b"x\n" * 50_001)


def readings_of(values, system="metric", trial=TRIAL):
    lines = sample_lines(trial)
    text = form_csv(lines, trial=trial, system=system, filled=values)
    return read_form(text, trial=trial, **CONTEXT).readings


def test_a_forecast_that_misses_all_sizes_alike_raises_no_doubt():
    # Eight standard deviations on all sizes is the shop's own kerf, not a slip of the hand.
    scores = {line: 8.0 for line in sample_lines(TRIAL) if line.kind is ReadingKind.SIZE}
    readings = readings_of(filled(TRIAL, scores=scores))
    assert doubts(readings, trial=TRIAL, expected=sample_expected(TRIAL), gauges=GAUGES) == ()


def test_one_reading_off_among_sizes_that_are_shifted_alike_is_still_found():
    lines = sample_lines(TRIAL)
    sizes = [line for line in lines if line.kind is ReadingKind.SIZE]
    values = filled(TRIAL, scores=dict.fromkeys(sizes, 6.0))
    number = values[sizes[0]].split()[0]
    values[sizes[0]] = f"{float(number) + 1.0:.2f} mm"
    (finding,) = doubts(readings_of(values), trial=TRIAL, expected=sample_expected(TRIAL), gauges=GAUGES)
    assert finding.reading == lines.index(sizes[0])
    assert finding.code == "digit-wrong"


def test_a_reading_far_off_without_a_slip_is_named_so():
    lines = sample_lines(TRIAL)
    values = filled(TRIAL)
    values[lines[0]] = "57.33 mm"
    (finding,) = doubts(readings_of(values), trial=TRIAL, expected=sample_expected(TRIAL), gauges=GAUGES)
    assert (finding.code, finding.reading, finding.instead) == ("far-off", 0, None)


@pytest.mark.parametrize(
    ("answers", "wrong"),
    [
        ("yyyyy", []),
        ("nnnnn", []),
        ("yyynn", []),
        ("ynyyy", [1]),
        ("nnnny", [4]),
        ("ynyn", [1, 2]),
        ("nyyyy", [0]),
    ],
)
def test_a_ladder_out_of_order_names_the_step_that_is_wrong(answers, wrong):
    rows = [
        ["T7-3", f"S{k}", "through", "", "", {"y": "yes", "n": "no"}[answer], "", ""]
        for k, answer in enumerate(answers, start=1)
    ]
    readings = read_form([HEADING, *rows], trial=TRIAL, **CONTEXT).readings
    found = doubts(readings, trial=TRIAL)
    assert [each.reading for each in found] == wrong
    assert {each.code for each in found} <= {"ladder-out-of-order"}


def test_a_gauge_is_held_to_its_steps_in_either_unit():
    # 0.01 mm is nearest to 0.0005 in, which is what such a caliper counts in when it is switched over.
    for text, wrong in [
        ("40.06 mm", False),
        ("40.063 mm", True),
        ("1.5770 in", False),
        ("1.5775 in", False),
        ("1.5772 in", True),
        ("1577.5 thou", False),
        ("1577.2 thou", True),
    ]:
        readings = [one("T7-1", "X", "size", "top", "caliper", text, "", "")]
        found = doubts(readings, trial=TRIAL, gauges=GAUGES)
        assert [each.code for each in found] == (["finer-than-gauge"] if wrong else [])


def test_a_value_beyond_the_gauge_is_a_finding():
    small = {"caliper": replace(GAUGES["caliper"], largest=25e-3, least=5e-3)}
    long = one("T7-1", "X", "size", "top", "caliper", "40.06 mm", "", "")
    short = one("T7-4", "S1", "kerf", "top", "caliper", "1.05 mm", "", "")
    found = doubts([long, short], trial=TRIAL, gauges=small)
    assert [(each.reading, each.code) for each in found] == [(0, "beyond-gauge"), (1, "beyond-gauge")]
    assert "5 mm to 25 mm" in found[0].message


def test_readings_at_two_places_are_no_duplicate():
    first = one("T7-1", "X", "size", "top", "caliper", "40.06 mm", "", "")
    second = replace(first, place="left end")
    assert doubts([first, second], trial=TRIAL) == ()
    assert [each.code for each in doubts([first, first], trial=TRIAL)] == ["duplicate"]


def test_the_typed_step_is_that_of_the_last_digit():
    for text, step in [("40.06 mm", 1e-5), ("40 mm", 1e-3), ("1.5772 in", 2.54e-6), ("3,6 mm", 1e-4)]:
        reading = one("T7-1", "X", "size", "top", "caliper", text, "", "")
        assert_allclose(typed_number(reading).step, step, rtol=1e-12)
    assert typed_number(one("T7-1", "X", "size", "top", "caliper", "1 37/64 in", "", "")) is None


def test_five_thousand_lines_take_less_than_a_second():
    trial = sample_trial(blocks=500)
    lines = sample_lines(trial)
    text = form_csv(lines, trial=trial, system="metric", filled=filled(trial))
    expected = sample_expected(trial)
    assert len(lines) > 5_000
    start = time.process_time()
    readings = read_form(text, trial=trial, **CONTEXT).readings
    found = doubts(readings, trial=trial, expected=expected, gauges=GAUGES)
    assert time.process_time() - start < 1.0
    assert len(readings) == len(lines)
    assert found == ()


def test_a_block_that_was_not_cut_through_can_say_so():
    reading = one("T7-2", "X", "through", "", "", "no", "", "came loose nowhere")
    assert (reading.kind, reading.value, reading.depth) == (ReadingKind.THROUGH, 0.0, None)
    assert doubts([reading], trial=TRIAL, expected=sample_expected(TRIAL)) == ()


def test_a_zero_that_one_wrong_digit_made_names_it():
    reading = one("T7-4", "S2", "kerf", "bottom", "caliper", "0.00 mm", "", "")
    expected = {("T7-4", "S2", ReadingKind.KERF, 1.0): (0.80e-3, 0.03e-3)}
    (finding,) = doubts([reading], trial=TRIAL, expected=expected, gauges=GAUGES)
    assert finding.code == "impossible"
    assert "digit-wrong" in finding.rivals
