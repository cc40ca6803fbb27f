"""The readings of a gauge study: out of text, and what is said where they cannot be used."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import DataError, QuantityError
from trialcut.trials.gauges import GaugeReading, gauge_table, read_gauge_table

INCH = 0.0254
ROWS = [
    "A,1,1,1.5",
    "A,2,1,1.51",
    "A,1,2,1.6",
    "A,2,2,1.62",
    "B,1,1,1.52",
    "B,2,1,1.5",
    "B,1,2,1.63",
    "B,2,2,1.6",
]


def text(rows=ROWS, head="appraiser,trial,part,value [in]"):
    return "\n".join([head, *rows])


def test_readings_are_arranged_by_appraiser_part_and_trial():
    table = read_gauge_table(text())
    assert (table.appraisers, table.parts, table.trials) == (("A", "B"), ("1", "2"), ("1", "2"))
    assert_allclose(table.values[1, 1], [1.63 * INCH, 1.6 * INCH], rtol=1e-12)
    assert table.system == "inch"


@pytest.mark.parametrize(
    "head",
    [
        "appraiser,trial,part,value [in]",
        "Operator,Repeat,Piece,Reading (inch)",
        'who,run,sample,"measurement [in]"',
        " Appraiser , TRIAL ,part,Value [in]",
    ],
)
def test_headings_go_by_their_usual_names(head):
    assert_allclose(read_gauge_table(text(head=head)).values[0, 0, 0], 1.5 * INCH, rtol=1e-12)


def test_columns_may_come_in_any_order_with_others_between():
    rows = [",".join([*row.split(",")[::-1], "ok"]) for row in ROWS]
    table = read_gauge_table(text(rows, "value [mm],part,trial,appraiser,remark"))
    assert_allclose(table.values, read_gauge_table(text(head="appraiser,trial,part,value [mm]")).values)
    assert table.system == "metric"


def test_rows_pasted_from_a_spreadsheet_are_read():
    pasted = text().replace(",", "\t").replace("\n", "\r\n") + "\r\n\r\n"
    assert_allclose(read_gauge_table(pasted).values, read_gauge_table(text()).values, rtol=1e-15)


def test_decimal_commas_are_read_between_semicolons():
    rows = [row.replace(",", ";").replace(".", ",") for row in ROWS]
    table = read_gauge_table("\ufeff" + text(rows, "appraiser;trial;part;value [in]"))
    assert_allclose(table.values, read_gauge_table(text()).values, rtol=1e-15)


def test_units_may_stand_with_every_value_and_go_before_the_heading():
    rows = [f"{row} in" for row in ROWS]
    for head in ("appraiser,trial,part,value", "appraiser,trial,part,value [mm]"):
        assert_allclose(read_gauge_table(text(rows, head)).values[0, 0, 0], 1.5 * INCH, rtol=1e-12)


@pytest.mark.parametrize("written", ["1.5", "1-1/2", "1 1/2", "+1.5", "15e-1", "1.5 in", '1.5"', "38.1 mm"])
def test_a_value_may_be_written_in_any_usual_way(written):
    table = read_gauge_table(text([f"A,1,1,{written}", *ROWS[1:]]))
    assert_allclose(table.values[0, 0, 0], 1.5 * INCH, rtol=1e-12)


def test_readings_of_a_comparator_may_be_negative():
    table = read_gauge_table(text(["A,1,1,-0.002", *ROWS[1:]]))
    assert_allclose(table.values[0, 0, 0], -0.002 * INCH, rtol=1e-12)


def test_a_bare_number_names_its_line_and_both_readings():
    with pytest.raises(QuantityError) as caught:
        read_gauge_table(text(head="appraiser,trial,part,value"), name="caliper.csv")
    message = caught.value.message
    assert message.startswith("caliper.csv line 2: '1.5' has no unit: write '1.5 in' or '1.5 mm'")
    assert "'value [in]' or 'value [mm]'" in message
    assert caught.value.facts["readings"] == ("1.5 in", "1.5 mm")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "is empty"),
        ("appraiser,trial,part,value [in]", "headings and no readings"),
        ("appraiser,trial,value [in]\nA,1,2", "no column part"),
        ("appraiser,trial,part,value [in]\nA,1,1," + 200_000 * "1", "is no table of readings"),
        (text(["A,1,1"]), "3 columns under 4 headings"),
        (text([*ROWS, "A,,1,1.5"]), "line 10: appraiser, trial and part must all be filled in"),
        (text(head="appraiser,trial,part,part"), "two columns are headed as part"),
        (text([*ROWS, ROWS[0]]), "trial 1 is there twice, in lines 2 and 10"),
        (text(ROWS[:-1]), r"1 of 8 readings are missing \(appraiser B, part 2, trial 2\)"),
        (text(["A,1,1,1.5", "B,2,2,1.6"]), "and 3 more"),
        (text([row for row in ROWS if ",1,1," in row or ",2,1," in row]), "a study of 1 part read 2 times"),
    ],
)
def test_what_cannot_be_used_is_one_line_that_says_why(content, words):
    with pytest.raises(DataError, match=words) as caught:
        read_gauge_table(content)
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(
    ("row", "words"),
    [("A,1,1,abc", "line 2: 'abc' is no length"), ("A,1,1,1.5 kg", "line 2: '1.5 kg' is no length")],
)
def test_a_value_that_is_no_length_names_its_line(row, words):
    with pytest.raises(QuantityError, match=words):
        read_gauge_table(text([row]))


def test_a_heading_with_another_unit_is_refused():
    with pytest.raises(QuantityError, match=r"'kg' is no unit of length"):
        read_gauge_table(text(head="appraiser,trial,part,value [kg]"))


def test_a_gap_in_readings_without_a_file_names_no_line():
    reading = GaugeReading(appraiser="A", part="1", trial="1", value=1.0)
    with pytest.raises(DataError) as caught:
        gauge_table([reading, reading])
    assert "line" not in caught.value.message
