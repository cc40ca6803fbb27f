"""Amounts on papers are written in the coins that a currency has: ISO 4217, minor units."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from sample_offers import BREAKS
from sample_results import bracket_study, option_of
from trialcut.papers import cut_sheet_content
from trialcut.papers.house import amount, money, money_spread
from trialcut.papers.offer import offer_content
from trialcut.papers.offer_content import OfferWishes
from trialcut.papers.offer_prices import price_each
from trialcut.planning.house import House
from trialcut.units import Kind, format_value
from trialcut.units.table import CURRENCIES, minor_digits

LISTED = tomllib.loads(
    (Path(__file__).parents[1] / "published" / "currencies" / "iso_4217.toml").read_text(encoding="utf-8")
)
CODE, SYMBOL = House(), House(currency="symbol")


def in_currency(code: str, house: House = CODE):
    """A study and its option in a currency, a hundred times as many of it as of dollars."""
    study = bracket_study()
    study = replace(study, prices=replace(study.prices, currency=code), house=house)
    option = option_of(study)
    cost = option.forecast.cost
    cost = replace(
        cost,
        currency=code,
        each=scaled(cost.each),
        lot=scaled(cost.lot),
        lines=tuple(replace(line, each=scaled(line.each)) for line in cost.lines),
    )
    return study, replace(option, forecast=replace(option.forecast, cost=cost))


def scaled(spread):
    return replace(spread, mean=100.0 * spread.mean, sd=100.0 * spread.sd)


def test_every_currency_has_the_digits_that_iso_4217_lists():
    listed = {code: int(digits) for digits in ("0", "2") for code in LISTED[digits]}
    assert {code: minor_digits(code) for code in CURRENCIES} == listed


@pytest.mark.parametrize("code", LISTED["0"])
def test_an_amount_without_cents_has_no_decimals_whatever_its_spread(code):
    assert money(CODE, 1184.4, code) == f"1184 {code}"
    assert money(CODE, 1184.4, code, spread=0.03) == f"1184 {code}"
    assert money_spread(CODE, 1184.4, 12.0, code) == f"1184 ± 12 {code}"
    assert amount(1184.4, 1.2, code) == "1184 ± 1"
    assert amount(1184.4, 0.4, code) == "1184"
    assert price_each(1000.0, 0.3, code) == 1429.0


def test_an_amount_with_cents_keeps_two():
    assert money(CODE, 11.844, "EUR") == "11.84 EUR"
    assert amount(11.844, 0.42, "USD") == "11.84 ± 0.42"
    assert amount(11.844, 0.004, "USD") == "11.84"
    assert price_each(10.0, 0.3, "EUR") == 14.29


@pytest.mark.parametrize(
    ("code", "sign"), [("JPY", "¥"), ("KRW", "₩"), ("USD", "$"), ("EUR", "€"), ("GBP", "£"), ("INR", "₹")]
)
def test_a_sign_stands_before_the_amount_and_a_minus_before_the_sign(code, sign):
    digits = ".00" if minor_digits(code) else ""
    assert money(SYMBOL, 1850.0, code) == f"{sign}1850{digits}"
    assert money(SYMBOL, -1850.0, code) == f"−{sign}1850{digits}"


def test_a_currency_without_a_sign_of_its_own_keeps_its_code():
    assert money(SYMBOL, 1850.0, "ISK") == "1850 ISK"
    assert money(SYMBOL, 18.5, "CHF") == "18.50 CHF"


def test_a_rate_of_a_currency_without_cents_has_decimals_only_where_they_say_something():
    hour, kilogram = 3600.0, 1.0
    assert format_value(9000.0 / hour, Kind.PRICE_PER_TIME, "metric", unit="JPY/h") == "9000 JPY/h"
    assert format_value(40.5 / kilogram, Kind.PRICE_PER_MASS, "metric", unit="JPY/kg") == "40.5 JPY/kg"
    assert format_value(90.0 / hour, Kind.PRICE_PER_TIME, "metric", unit="EUR/h") == "90.00 EUR/h"


@pytest.mark.parametrize("house", [CODE, SYMBOL], ids=["code", "sign"])
@pytest.mark.parametrize("code", ["JPY", "KRW"])
def test_cost_and_headline_of_a_cut_sheet_have_no_cents(code, house):
    study, option = in_currency(code, house)
    sheet = cut_sheet_content(study, option)
    cells = [row.cells[-1] for row in sheet.cost.rows]
    assert cells[0] == "484 ± 19"
    assert all(re.fullmatch(r"\d+( ± \d+)?", cell) for cell in cells)
    assert not [fact for fact in sheet.headline if re.search(r"\d\.\d+ (JPY|KRW)|[¥₩]\d+\.", fact.value)]
    assert any(code in fact.value or "¥" in fact.value or "₩" in fact.value for fact in sheet.headline)


@pytest.mark.parametrize("margin", [None, 0.25])
@pytest.mark.parametrize("code", ["JPY", "ISK"])
def test_prices_of_an_offer_have_no_cents_and_a_lot_is_its_pieces_times_the_price(code, margin):
    study, option = in_currency(code)
    breaks = [replace(each, good=scaled(each.good)) for each in BREAKS]
    rows = offer_content(study, option, breaks, OfferWishes(margin=margin)).prices.rows
    cells = [cell for row in rows for cell in row.cells[1:3]]
    assert len(cells) == 2 * len(breaks)
    assert all(re.fullmatch(r"\d+( ± \d+)?", cell) for cell in cells)
    if margin is not None:
        for row in rows:
            assert int(row.cells[2]) == int(row.cells[0]) * int(row.cells[1])
