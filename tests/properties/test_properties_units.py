"""What holds for any quantity: print and read agree, no text breaks a reader, pint has the same factors."""

import re
from functools import partial

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trialcut.errors import QuantityError
from trialcut.units import (
    Kind,
    format_spread,
    format_value,
    parse,
    parse_limits,
    parse_roughness,
    parse_with_system,
)
from trialcut.units.formatting import last_place
from trialcut.units.table import PER, UNITS, printed_unit

PLAIN_KINDS = [kind for kind in UNITS if kind is not Kind.TIME]
PIECES = st.sampled_from(
    re.split(
        r"\|",
        "1|1/2|-|+|±|+/-|.005|1,5|60,000| |\u00a0|in|mm|\"|'|µin|um|RMS|Ra|Rz|H11|max|/|min|s|°|$|EUR|/h|kWh"
        "|psi|%|e9|1e999|½|nan|\n",
    )
)
TEXTS = st.one_of(st.text(max_size=40), st.lists(PIECES, max_size=8).map("".join), st.text(min_size=150))


def _message(read, text):
    """What a reader refuses a text with; empty if it can be read."""
    try:
        read(text)
    except QuantityError as error:
        return str(error)
    return ""


@given(TEXTS)
def test_no_text_breaks_the_readers(text):
    readers = [partial(parse, kind=kind) for kind in Kind]
    messages = [_message(read, text) for read in (*readers, parse_limits, parse_roughness)]
    assert not any("\n" in message for message in messages)


@given(
    st.sampled_from(PLAIN_KINDS),
    st.sampled_from(["inch", "metric"]),
    st.floats(-1e4, 1e4),
)
def test_a_printed_value_reads_back_within_its_last_digit(kind, system, scaled):
    unit = printed_unit(kind, system)
    value = scaled * unit.factor
    text = format_value(value, kind, system)
    read = parse(text, kind) / unit.factor
    assert abs(read - scaled) <= 0.5 * 10.0**-unit.decimals * (1.0 + 1e-6) + 1e-12 * abs(scaled)
    assert parse_with_system(text, kind).system in (system, None)


@given(
    st.sampled_from(PLAIN_KINDS),
    st.sampled_from(["inch", "metric"]),
    st.floats(-1e3, 1e3),
    st.floats(1e-3, 1e3),
)
def test_a_value_printed_with_its_spread_reads_back_within_a_part_of_the_spread(kind, system, scaled, spread):
    unit = printed_unit(kind, system)
    text = format_value(scaled * unit.factor, kind, system, spread=spread * unit.factor)
    read = parse(text, kind) / unit.factor
    assert abs(read - scaled) <= 0.5 * 10.0 ** last_place(spread) * (1.0 + 1e-6) + 1e-12 * abs(scaled)


@given(st.floats(1e-12, 1e12))
def test_a_spread_keeps_at_most_two_digits(spread):
    digits = spread / 10.0 ** last_place(spread)
    assert 0.94 <= digits < 36.0


@given(st.floats(0.0, 59.0))
def test_a_short_time_reads_back_within_a_tenth_of_a_second(seconds):
    assert abs(parse(format_value(seconds, Kind.TIME, "metric"), Kind.TIME) - seconds) <= 0.05 + 1e-9


@given(st.floats(60.0, 3590.0))
def test_a_time_in_minutes_reads_back_within_a_second(seconds):
    assert abs(parse(format_value(seconds, Kind.TIME, "inch"), Kind.TIME) - seconds) <= 0.5


@given(st.floats(3600.0, 1e6))
def test_a_time_in_hours_reads_back_within_a_minute(seconds):
    assert abs(parse(format_value(seconds, Kind.TIME, "inch"), Kind.TIME) - seconds) <= 30.0 + 0.5


@given(st.floats(0.0, 1e7), st.sampled_from(["EUR", "USD"]))
def test_an_amount_reads_back_within_a_cent(amount, currency):
    text = format_value(amount, Kind.MONEY, "metric", unit=currency)
    assert abs(parse(text, Kind.MONEY) - amount) <= 0.005 * (1.0 + 1e-6)


@given(st.sampled_from(list(PER)), st.sampled_from(["inch", "metric"]), st.floats(0.0, 1e4))
def test_a_price_reads_back_within_its_last_digit(kind, system, scaled):
    unit = printed_unit(kind, system)
    read = parse(format_value(scaled / unit.factor, kind, system, unit="EUR"), kind) * unit.factor
    assert abs(read - scaled) <= 0.5 * 10.0**-unit.decimals * (1.0 + 1e-6) + 1e-12 * scaled


@given(st.sampled_from(PLAIN_KINDS), st.floats(-1e3, 1e3), st.floats(1e-3, 1e3))
def test_a_value_and_its_spread_are_printed_to_one_place(kind, scaled, spread):
    unit = printed_unit(kind, "metric")
    text = format_spread(scaled * unit.factor, spread * unit.factor, kind, "metric")
    mean, _, rest = text.partition(" ± ")
    sd = "".join(c for c in rest.split(" ")[0] if c.isdigit() or c == ".")
    assert len(mean.partition(".")[2]) == len(sd.partition(".")[2])


@given(
    st.integers(0, 99),
    st.integers(1, 63),
    st.sampled_from([2, 4, 8, 16, 32, 64]),
    st.sampled_from(["-", " "]),
)
def test_mixed_numbers_are_sums(whole, over, under, joint):
    text = f"{whole}{joint}{over}/{under} in"
    assert_allclose(parse(text, Kind.LENGTH), (whole + over / under) * 0.0254, rtol=1e-15)


@given(st.floats(1e-4, 10.0), st.floats(1e-4, 1.0))
def test_plus_and_minus_is_the_same_as_two_equal_deviations(nominal, half):
    one = parse_limits(f"{nominal:.4f} in ±{half:.4f}")
    other = parse_limits(f"{nominal:.4f} in +{half:.4f}/-{half:.4f}")
    assert one == other


@given(
    st.sampled_from(list(Kind)),
    st.floats(-1e200, 1e200) | st.sampled_from([float("inf"), float("-inf"), float("nan")]),
    st.none() | st.floats(0.0, 1e200),
)
def test_any_value_can_be_printed(kind, value, spread):
    unit = "EUR" if kind is Kind.MONEY or kind in PER else None
    alone = format_value(np.float64(value), kind, "inch", spread=spread, unit=unit)
    with_spread = format_spread(value, spread or 0.0, kind, "metric", unit=unit)
    assert not set("\nEe") & set((alone + with_spread).replace("EUR", "").replace("unlimited", ""))


PINT_NAMES = {
    "°": "degree",
    "°/s": "degree/s",
    "°/min": "degree/min",
    "µin": "microinch",
    "gpm": "gallon/min",
    "gal/h": "gallon/h",
    "in/min": "inch/min",
    "in/s": "inch/s",
    "in/h": "inch/h",
    "in/s2": "inch/s**2",
    "in/s3": "inch/s**3",
    "ft/s2": "ft/s**2",
    "ft/s3": "ft/s**3",
    "mm/s2": "mm/s**2",
    "mm/s3": "mm/s**3",
    "m/s2": "m/s**2",
    "m/s3": "m/s**3",
    "in": "inch",
    "lb/in3": "lb/inch**3",
    "lb/ft3": "lb/ft**3",
    "kg/m3": "kg/m**3",
    "g/cm3": "g/cm**3",
    "in3/min": "inch**3/min",
    "in2/min": "inch**2/min",
    "in2/h": "inch**2/h",
    "cm2/min": "cm**2/min",
    "mm2/min": "mm**2/min",
    "m2/h": "m**2/h",
    "m2/s": "m**2/s",
    "m3/h": "m**3/h",
    "m3/s": "m**3/s",
    "d": "day",
    "%": "percent",
    "": "dimensionless",
    "t": "metric_ton",
    "l/min": "liter/min",
    "l/h": "liter/h",
    "l/s": "liter/s",
    "ml/min": "milliliter/min",
    "hp": "horsepower",
    "gal": "gallon",
    "m3": "m**3",
    "ft3": "ft**3",
    "l": "liter",
}
SI = {
    Kind.LENGTH: "m",
    Kind.SPEED: "m/s",
    Kind.PRESSURE: "Pa",
    Kind.VOLUME_FLOW: "m**3/s",
    Kind.MASS_FLOW: "kg/s",
    Kind.ANGLE: "rad",
    Kind.TIME: "s",
    Kind.ROUGHNESS: "m",
    Kind.POWER: "W",
    Kind.MASS: "kg",
    Kind.ACCELERATION: "m/s**2",
    Kind.JERK: "m/s**3",
    Kind.ANGLE_RATE: "rad/s",
    Kind.AREA_RATE: "m**2/s",
    Kind.DENSITY: "kg/m**3",
    Kind.PLAIN: "dimensionless",
    Kind.PRICE_PER_TIME: "s",
    Kind.PRICE_PER_MASS: "kg",
    Kind.PRICE_PER_VOLUME: "m**3",
    Kind.PRICE_PER_ENERGY: "J",
}
EVERY_UNIT = [(kind, unit) for table in (UNITS, PER) for kind, units in table.items() for unit in units]


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize(("kind", "unit"), EVERY_UNIT, ids=lambda x: getattr(x, "symbol", str(x)))
def test_every_factor_agrees_with_pint(registry, kind, unit):
    """Both sides follow from exact definitions, so 12 digits are asked for."""
    name = PINT_NAMES.get(unit.symbol, unit.symbol)
    if (kind, unit.symbol) == (Kind.ACCELERATION, "g"):
        name = "standard_gravity"
    assert_allclose(registry(f"1 {name}").to(SI[kind]).magnitude, unit.factor, rtol=1e-12)
