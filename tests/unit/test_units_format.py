import pytest

from trialcut.errors import QuantityError
from trialcut.units import Kind, format_spread, format_value
from trialcut.units.formatting import last_place

INCH = 0.0254


@pytest.mark.parametrize(
    ("value", "kind", "inch", "metric"),
    [
        (1.194e-4, Kind.LENGTH, "0.0047 in", "0.119 mm"),
        (0.5 * INCH, Kind.LENGTH, "0.5 in", "12.7 mm"),
        (6.25 * INCH / 60, Kind.SPEED, "6.25 in/min", "158.8 mm/min"),
        (413.7e6, Kind.PRESSURE, "60 ksi", "414 MPa"),
        (3.175e-6, Kind.ROUGHNESS, "125 µin", "3.2 µm"),
        (0.8 * 0.45359237 / 60, Kind.MASS_FLOW, "0.8 lb/min", "363 g/min"),
        (210.0, Kind.TIME, "3 min 30 s", "3 min 30 s"),
        (4830.0, Kind.TIME, "1 h 20 min", "1 h 20 min"),
        (42.12, Kind.TIME, "42.1 s", "42.1 s"),
        (0.95, Kind.PLAIN, "0.95", "0.95"),
        (float("inf"), Kind.JERK, "unlimited", "unlimited"),
        (float("nan"), Kind.LENGTH, "not known", "not known"),
    ],
)
def test_a_value_is_printed_in_either_system(value, kind, inch, metric):
    assert format_value(value, kind, "inch") == inch
    assert format_value(value, kind, "metric") == metric


@pytest.mark.parametrize(
    ("value", "spread", "expected"),
    [
        (1.194e-4, 2.1e-5, "0.119 mm"),
        (1.194e-4, 4.4e-5, "0.12 mm"),
        (0.0254, 2e-5, "25.400 mm"),
        (0.0254, 9.6e-4, "25.4 mm"),
        (1.2345, 0.2, "1230 mm"),
    ],
)
def test_digits_match_the_spread(value, spread, expected):
    assert format_value(value, Kind.LENGTH, "metric", spread=spread) == expected


@pytest.mark.parametrize(
    ("spread", "place"),
    [(0.00119, -4), (0.00354, -4), (0.00356, -3), (0.00949, -3), (0.00951, -3), (119.0, 1), (1.0, -1)],
)
def test_the_spread_keeps_one_or_two_digits(spread, place):
    """The 100 to 354, 355 to 949 rule, from memory; 0.00951 counts as 0.010."""
    assert last_place(spread) == place


def test_a_spread_is_printed_to_the_same_place_as_its_value():
    assert format_spread(1.194e-4, 3e-5, Kind.LENGTH, "inch") == "0.0047 ± 0.0012 in"
    assert format_spread(1.194e-4, 3e-5, Kind.LENGTH, "metric") == "0.119 ± 0.030 mm"
    assert format_spread(210.0, 12.0, Kind.TIME, "inch") == "3 min 30 s ± 12 s"
    assert format_spread(12.3, 1.2, Kind.MONEY, "inch", unit="USD") == "12.30 ± 1.20 USD"
    assert format_spread(0.0254, 0.0, Kind.LENGTH, "inch") == "1 in"


def test_money_is_printed_with_its_currency_and_two_decimals():
    assert format_value(12.5, Kind.MONEY, "metric", unit="EUR") == "12.50 EUR"
    assert format_value(85 / 3600, Kind.PRICE_PER_TIME, "inch", unit="USD") == "85.00 USD/h"
    assert format_value(0.45, Kind.PRICE_PER_MASS, "metric", unit="EUR") == "0.45 EUR/kg"
    assert format_value(1234.5, Kind.MONEY, "metric", unit="EUR", spread=120.0) == "1230 EUR"


def test_money_without_its_currency_is_refused():
    with pytest.raises(QuantityError, match="needs its currency"):
        format_value(12.5, Kind.MONEY, "metric")


def test_another_unit_can_be_asked_for_and_must_exist():
    assert format_value(413.7e6, Kind.PRESSURE, "metric", unit="bar") == "4137 bar"
    with pytest.raises(QuantityError, match="no unit of pressure"):
        format_value(413.7e6, Kind.PRESSURE, "metric", unit="kg")


def test_a_negative_value_below_the_last_digit_loses_its_sign():
    assert format_value(-1e-9, Kind.LENGTH, "metric") == "0 mm"
