"""A clean form is taken without a word, a single slip is found with its cause, and all files agree."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sample_coupons import CONTEXT, GAUGES, filled, sample_expected, sample_lines, sample_trial
from trialcut.trials.intake import (
    FormError,
    doubts,
    form_csv,
    form_workbook,
    read_form,
    readings_csv,
    rows_of_file,
)
from trialcut.trials.intake.expect import expectation, expectations, key_of
from trialcut.trials.types import ReadingKind

TRIAL = sample_trial()
LINES = sample_lines(TRIAL)
EXPECTED = sample_expected(TRIAL)
SYSTEMS = st.sampled_from(["metric", "inch"])
SCORES = st.fixed_dictionaries({line: st.floats(-2.0, 2.0) for line in LINES})
"""How far off what is expected each reading is, in standard deviations."""
NUMBERS = st.sampled_from([line for line in LINES if line.kind is not ReadingKind.THROUGH])
LENGTHS = st.sampled_from([line for line in LINES if line.kind in {ReadingKind.SIZE, ReadingKind.KERF}])
SEEN = 6.0
"""Standard deviations by which a slip must change a value to be seen for certain. [-]"""


def found(values, system):
    text = form_csv(LINES, trial=TRIAL, system=system, filled=values)
    readings = read_form(text, trial=TRIAL, **CONTEXT).readings
    return readings, doubts(readings, trial=TRIAL, expected=EXPECTED, gauges=GAUGES)


def taken(rows):
    """The readings of a form, or the problems that it has, each on one line."""
    try:
        return read_form(rows() if callable(rows) else rows, trial=TRIAL, **CONTEXT).readings, ()
    except FormError as error:
        return (), error.facts["problems"]


def place_of(line):
    return LINES.index(line)


def slipped(values, line, text, system):
    """The findings on a form in which one value was typed as `text`; only if it is far off."""
    truth, _ = found(values, system)
    readings, findings = found({**values, line: text}, system)
    place = place_of(line)
    one = expectation(key_of(readings[place]), readings[place], trial=TRIAL, expected=EXPECTED)
    assume(abs(one.score(readings[place].value)) > SEEN)
    about = expectations(readings, trial=TRIAL, expected=EXPECTED)[place]
    assume(abs(about.shifted(readings[place].value)) > SEEN)  # else the others of its kind lie there as well
    assume(abs(one.score(truth[place].value)) < 3.0)
    here = [each for each in findings if each.reading == place or place in each.others]
    return truth[place], readings[place], here, findings


def explained(cause, truth, findings, others=()):
    """One finding on this reading, with the true cause first or among its rivals; none on other readings."""
    (finding,) = [each for each in findings if each.code not in others]
    assert cause in (finding.code, *finding.rivals)
    if (
        finding.code == cause
        and finding.instead is not None
        and cause not in {"digit-wrong", "digit-missing"}
    ):
        assert finding.instead == pytest.approx(
            truth.value, abs=3.0 * truth.standard_uncertainty + 1e-3 * truth.value
        )


@settings(max_examples=60)
@given(SCORES, SYSTEMS)
def test_a_clean_form_yields_no_finding(scores, system):
    readings, findings = found(filled(TRIAL, scores=scores, system=system), system)
    assert len(readings) == len(LINES)
    assert findings == ()


@settings(max_examples=60)
@given(SCORES, SYSTEMS)
def test_a_clean_form_yields_no_finding_without_a_forecast(scores, system):
    text = form_csv(LINES, trial=TRIAL, system=system, filled=filled(TRIAL, scores=scores, system=system))
    readings = read_form(text, trial=TRIAL, **CONTEXT).readings
    assert doubts(readings, trial=TRIAL, gauges=GAUGES) == ()


@settings(max_examples=80)
@given(SCORES, SYSTEMS, LENGTHS)
def test_a_wrong_length_unit_is_found(scores, system, line):
    values = filled(TRIAL, scores=scores, system=system)
    number, unit = values[line].split()
    text = f"{number} {'in' if unit == 'mm' else 'mm'}"
    truth, _, findings, every = slipped(values, line, text, system)
    explained("mm-as-inch" if unit == "mm" else "inch-as-mm", truth, findings)
    assert len(every) == 1


@settings(max_examples=80)
@given(SCORES, SYSTEMS, NUMBERS, st.sampled_from([0.001, 0.01, 0.1, 10.0, 100.0, 1000.0]))
def test_a_decimal_slip_is_found(scores, system, line, factor):
    values = filled(TRIAL, scores=scores, system=system)
    number, unit = values[line].split()
    text = f"{float(number) * factor:.8f}".rstrip("0").rstrip(".") + f" {unit}"
    truth, _, findings, every = slipped(values, line, text, system)
    explained("decimal-slip", truth, findings)
    assert len(every) == 1


@settings(max_examples=80)
@given(SCORES, SYSTEMS, NUMBERS, st.data())
def test_two_digits_swapped_are_found(scores, system, line, data):
    values = filled(TRIAL, scores=scores, system=system)
    number, unit = values[line].split()
    digits = [k for k, character in enumerate(number) if character != "."]
    k = data.draw(st.integers(0, len(digits) - 2))
    a, b = digits[k], digits[k + 1]
    assume(number[a] != number[b])
    swapped = list(number)
    swapped[a], swapped[b] = swapped[b], swapped[a]
    truth, _, findings, every = slipped(values, line, f"{''.join(swapped)} {unit}", system)
    explained("digits-swapped", truth, findings, others=("impossible",))
    assert len(every) == 1


@settings(max_examples=80)
@given(SCORES, SYSTEMS, NUMBERS, st.data())
def test_one_wrong_digit_is_found(scores, system, line, data):
    values = filled(TRIAL, scores=scores, system=system)
    number, unit = values[line].split()
    k = data.draw(st.sampled_from([k for k, character in enumerate(number) if character != "."]))
    digit = data.draw(st.sampled_from([d for d in "0123456789" if d != number[k]]))
    truth, _, findings, every = slipped(values, line, f"{number[:k]}{digit}{number[k + 1 :]} {unit}", system)
    explained("digit-wrong", truth, findings)
    assert len(every) == 1


@settings(max_examples=80)
@given(SCORES, SYSTEMS, NUMBERS, st.data())
def test_a_digit_left_out_or_typed_twice_is_found(scores, system, line, data):
    values = filled(TRIAL, scores=scores, system=system)
    number, unit = values[line].split()
    k = data.draw(st.sampled_from([k for k, character in enumerate(number) if character != "."]))
    out = data.draw(st.booleans())
    text = number[:k] + number[k + 1 :] if out else number[:k] + number[k] + number[k:]
    assume(any(character.isdigit() for character in text))
    assume(float(text) > 0.0)
    truth, _, findings, every = slipped(values, line, f"{text.removesuffix('.')} {unit}", system)
    explained("digit-missing" if out else "digit-doubled", truth, findings)
    assert len(every) == 1


@settings(max_examples=60)
@given(SCORES, SYSTEMS, st.sampled_from(["T7-1", "T7-2"]), st.sampled_from(["X", "Y", "H"]))
def test_swapped_top_and_bottom_are_found(scores, system, coupon, cut):
    values = filled(TRIAL, scores={line: 0.25 * score for line, score in scores.items()}, system=system)
    top, bottom = (
        next(
            line
            for line in LINES
            if (line.coupon, line.cut, line.kind, line.depth) == (coupon, cut, ReadingKind.SIZE, depth)
        )
        for depth in (0.0, 1.0)
    )
    _, findings = found({**values, top: values[bottom], bottom: values[top]}, system)
    (finding,) = findings
    assert finding.code == "top-bottom-swapped"
    assert finding.reading == place_of(top)
    assert finding.others == (place_of(bottom),)
    assert finding.instead_text == values[top]


@settings(max_examples=60)
@given(SCORES, SYSTEMS, st.sampled_from(["T7-1", "T7-2"]), st.permutations(["X", "Y", "H"]))
def test_the_size_of_another_feature_is_found(scores, system, coupon, cuts):
    values = filled(TRIAL, scores=scores, system=system)
    typed, read = (
        next(
            line
            for line in LINES
            if (line.coupon, line.cut, line.kind, line.depth) == (coupon, cut, ReadingKind.SIZE, 0.0)
        )
        for cut in cuts[:2]
    )
    _, findings = found({**values, typed: values[read]}, system)
    (finding,) = findings
    assert "other-feature" in (finding.code, *finding.rivals)
    assert finding.reading == place_of(typed)
    both = found({**values, typed: values[read], read: values[typed]}, system)[1]
    assert {each.reading for each in both} == {place_of(typed), place_of(read)}
    for each in both:
        assert "other-feature" in (each.code, *each.rivals)


@settings(max_examples=40)
@given(SCORES, SYSTEMS, st.sampled_from(LINES))
def test_a_line_typed_twice_is_found(scores, system, line):
    values = filled(TRIAL, scores=scores, system=system)
    text = form_csv((*LINES, line), trial=TRIAL, system=system, filled=values)
    readings = read_form(text, trial=TRIAL, **CONTEXT).readings
    findings = doubts(readings, trial=TRIAL, expected=EXPECTED, gauges=GAUGES)
    assert [(each.code, each.reading, each.others) for each in findings] == [
        ("duplicate", len(LINES), (place_of(line),))
    ]


@settings(max_examples=40)
@given(SCORES, SYSTEMS, NUMBERS)
def test_a_minus_sign_is_found(scores, system, line):
    assume(line.kind is not ReadingKind.LAG)
    values = filled(TRIAL, scores=scores, system=system)
    _, findings = found({**values, line: f"-{values[line]}"}, system)
    (finding,) = findings
    assert finding.code == "impossible"
    assert finding.instead_text == values[line].replace("  ", " ") or finding.instead == pytest.approx(
        read_form(form_csv(LINES, trial=TRIAL, system=system, filled=values), trial=TRIAL, **CONTEXT)
        .readings[place_of(line)]
        .value
    )


def test_a_nan_is_a_finding_too():
    readings = list(
        read_form(
            form_csv(LINES, trial=TRIAL, system="metric", filled=filled(TRIAL)), trial=TRIAL, **CONTEXT
        ).readings
    )
    readings[0] = replace(readings[0], value=float("nan"))
    (finding,) = doubts(readings, trial=TRIAL, expected=EXPECTED)
    assert (finding.code, finding.reading, finding.instead) == ("impossible", 0, None)


@settings(max_examples=60)
@given(SCORES, SYSTEMS, st.sampled_from([",", ";", "\t"]))
def test_what_is_written_is_what_is_read(scores, system, separator):
    values = filled(TRIAL, scores=scores, system=system)
    text = form_csv(LINES, trial=TRIAL, system=system, filled=values, separator=separator)
    intake = read_form(text, trial=TRIAL, **CONTEXT)
    assert [(r.coupon, r.cut, r.kind, r.depth) for r in intake.readings] == [
        (line.coupon, line.cut, line.kind, line.depth) for line in LINES
    ]
    assert [reading.text for reading in intake.readings] == list(values.values())
    again = read_form(readings_csv(intake.readings), trial=TRIAL, gauges=GAUGES, who="", when=CONTEXT["when"])
    assert again.readings == intake.readings


@settings(max_examples=20, deadline=None)
@given(SCORES, SYSTEMS, st.sets(st.sampled_from(LINES), max_size=20))
def test_a_workbook_says_what_the_text_says(scores, system, unfilled):
    values = {k: v for k, v in filled(TRIAL, scores=scores, system=system).items() if k not in unfilled}
    text = form_csv(LINES, trial=TRIAL, system=system, filled=values)
    book = form_workbook(LINES, trial=TRIAL, system=system, filled=values)
    from_text = read_form(text, trial=TRIAL, **CONTEXT)
    from_book = read_form(rows_of_file("form.xlsx", book), trial=TRIAL, **CONTEXT)
    assert from_book == from_text
    assert from_text.unfilled == len(unfilled)


@settings(max_examples=60)
@given(SCORES, st.permutations(range(8)))
def test_columns_may_stand_in_any_order(scores, order):
    values = filled(TRIAL, scores=scores)
    text = form_csv(LINES, trial=TRIAL, system="metric", filled=values)
    rows = [line.split(",") for line in text.splitlines() if not line.startswith("#")]
    moved = [[row[k] for k in order] for row in rows]
    straight = read_form(rows, trial=TRIAL, **CONTEXT)
    assert read_form(moved, trial=TRIAL, **CONTEXT) == straight


@settings(max_examples=300)
@given(st.text(max_size=400) | st.binary(max_size=400))
def test_garbage_is_an_error_of_ours(garbage):
    data = garbage if isinstance(garbage, bytes) else garbage.encode()
    readings, problems = taken(lambda: rows_of_file("form.csv", data))
    assert bool(readings) != bool(problems)
    assert not any("\n" in problem for problem in problems)


CELLS = st.one_of(
    st.sampled_from(["T7-1", "X", "S1", "Ra", "size", "top", "25%", "caliper", "yes", "#", '"', "-"]),
    st.sampled_from(["40,06", "1/2", "mm", "in", "12\xa0mm", "1e999", "1:20"]),
    st.text(max_size=12),
)


@settings(max_examples=300)
@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=10), max_size=8), st.sampled_from([",", ";", "\t", "  "])
)
def test_garbage_under_a_good_heading_is_an_error_of_ours(rows, separator):
    heading = separator.join(("coupon", "cut", "what", "depth", "gauge", "value", "unit", "remark"))
    readings, problems = taken("\n".join([heading, *(separator.join(row) for row in rows)]))
    assert bool(readings) != bool(problems)
    assert not any("\n" in problem for problem in problems)
    for finding in doubts(readings, trial=TRIAL, expected=EXPECTED, gauges=GAUGES):
        assert "\n" not in finding.message


@settings(max_examples=60)
@given(st.data())
def test_a_damaged_workbook_is_an_error_of_ours_or_still_read(data):
    book = bytearray(form_workbook(LINES, trial=TRIAL, system="metric", filled=filled(TRIAL)))
    for _ in range(data.draw(st.integers(1, 20))):
        book[data.draw(st.integers(0, len(book) - 1))] = data.draw(st.integers(0, 255))
    readings, problems = taken(lambda: rows_of_file("form.xlsx", bytes(book)))
    assert bool(readings) != bool(problems)
