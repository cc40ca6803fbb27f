"""What the writer of an offer chooses, from texts."""

from __future__ import annotations

from datetime import date

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import TrialcutError
from trialcut.services import offer_quantities, offer_wishes


def test_quantities_are_read_in_any_order_and_put_in_order():
    assert offer_quantities("200, 1,50 ,10") == (1, 10, 50, 200)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "'' is no number of pieces"),
        ("1,,3", "'' is no number of pieces"),
        ("ten", "'ten' is no number of pieces"),
        ("0", "'0' is no number of pieces"),
        ("-5", "'-5' is no number of pieces"),
        ("2.5", "'2.5' is no number of pieces"),
        ("1e3", "'1e3' is no number of pieces"),
        ("²", "'²' is no number of pieces"),
        ("99999999999", "'99999999999' is no number of pieces"),
        ("5,10,5", "5 comes twice"),
        (",".join(str(n) for n in range(1, 20)), "19 lots are too many: at most 12 fit"),
    ],
)
def test_bad_quantities_are_one_line_that_says_what_to_write(text, why):
    with pytest.raises(TrialcutError) as caught:
        offer_quantities(text)
    assert str(caught.value).startswith("--quantities: ")
    assert why in str(caught.value)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_status == 2


@pytest.mark.parametrize("text", ["25 %", "25%", "0.25"])
def test_a_margin_is_a_share(text):
    assert_allclose(offer_wishes(margin=text).margin, 0.25, rtol=1e-12)


@pytest.mark.parametrize("text", ["8", "8 h", "480 min", "8.0"])
def test_a_working_day_is_hours_or_a_time(text):
    assert_allclose(offer_wishes(hours_per_day=text).day, 28_800.0, rtol=1e-12)


def test_dates_are_year_month_and_day():
    found = offer_wishes(dated="2026-11-25", start="2026-11-30", hours_per_day="8")
    assert (found.dated, found.start) == (date(2026, 11, 25), date(2026, 11, 30))


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"dated": "25.11.2026"}, "--date: '25.11.2026' is no date: write year, month and day"),
        ({"dated": "2026-02-30"}, "--date: '2026-02-30' is no date"),
        ({"dated": "20261125"}, "--date: '20261125' is no date"),
        ({"dated": "2026-W48-3"}, "--date: '2026-W48-3' is no date"),
        ({"dated": "9999-12-31"}, "--date: '9999-12-31' is no date"),
        ({"start": "soon", "hours_per_day": "8"}, "--start: 'soon' is no date"),
        ({"start": "2026-11-25"}, "--start needs --hours-per-day"),
        (
            {"dated": "2026-11-25", "start": "2026-11-24", "hours_per_day": "8"},
            "--start 2026-11-24 is before --date 2026-11-25",
        ),
        ({"valid_days": 0}, "--valid-days: 0 is out of range: from 1 to 3650 days"),
        ({"valid_days": 4000}, "--valid-days: 4000 is out of range"),
        ({"margin": "25"}, "--margin: '25' is no share of a price: it lies from 0 to 0.9"),
        ({"margin": "100 %"}, "--margin: '100 %' is no share of a price"),
        ({"margin": "-5 %"}, "--margin: '-5 %' is no share of a price"),
        ({"margin": "some"}, "--margin: "),
        ({"hours_per_day": "0"}, "--hours-per-day: '0' is no working day"),
        ({"hours_per_day": "25"}, "--hours-per-day: '25' is no working day"),
        ({"hours_per_day": "8 mm"}, "--hours-per-day: "),
        ({"hours_per_day": "day"}, "--hours-per-day: "),
    ],
)
def test_a_bad_wish_is_one_line_that_names_its_option(given, why):
    with pytest.raises(TrialcutError) as caught:
        offer_wishes(**given)
    assert str(caught.value).startswith(why)
    assert "\n" not in str(caught.value)
    assert caught.value.exit_status == 2


def test_terms_are_paragraphs_of_a_text_file(tmp_path):
    path = tmp_path / "terms.txt"
    path.write_text("\ufeffNet 30 days,\r\nex works.\r\n\r\n\r\n\r\nTitle stays.\r\n", encoding="utf-8")
    assert offer_wishes(terms=path).terms == ("Net 30 days, ex works.", "Title stays.")


@pytest.mark.parametrize(
    ("content", "why"), [(None, "cannot read the terms"), (b"\xff\xfe\x00a", "is not text in UTF-8")]
)
def test_terms_that_cannot_be_read_are_one_line(tmp_path, content, why):
    path = tmp_path / "terms.txt"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(TrialcutError, match=why) as caught:
        offer_wishes(terms=path)
    assert "\n" not in str(caught.value)
