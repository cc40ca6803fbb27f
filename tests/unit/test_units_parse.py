from math import pi

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import QuantityError
from trialcut.units import Kind, parse, parse_roughness, parse_with_system

INCH = 0.0254
POUND = 0.45359237

WRITTEN = [
    ("1/2 in", Kind.LENGTH, 0.5 * INCH),
    ('1-1/4"', Kind.LENGTH, 1.25 * INCH),
    ("1 1/4 in", Kind.LENGTH, 1.25 * INCH),
    ("1½″", Kind.LENGTH, 1.5 * INCH),
    ("3/8 inch", Kind.LENGTH, 0.375 * INCH),
    ("2 ft 6-1/2 in", Kind.LENGTH, 30.5 * INCH),
    ("0.005 in", Kind.LENGTH, 0.005 * INCH),
    ('.014"', Kind.LENGTH, 0.014 * INCH),
    ("5 thou", Kind.LENGTH, 0.005 * INCH),
    ("5 mil", Kind.LENGTH, 0.005 * INCH),
    ("−3 mm", Kind.LENGTH, -0.003),
    ("1,5 mm", Kind.LENGTH, 0.0015),
    ("0,005 mm", Kind.LENGTH, 5e-6),
    ("1.234,5 mm", Kind.LENGTH, 1.2345),
    ("1,234.5 mm", Kind.LENGTH, 1.2345),
    ("1 234,5 mm", Kind.LENGTH, 1.2345),
    ("20\u00a0µm", Kind.LENGTH, 2e-5),
    ("20 \u03bcm", Kind.LENGTH, 2e-5),
    ("6 ipm", Kind.SPEED, 6 * INCH / 60),
    ("6 in/min", Kind.SPEED, 6 * INCH / 60),
    ("6 inches per minute", Kind.SPEED, 6 * INCH / 60),
    ("150 mm/min", Kind.SPEED, 0.0025),
    ("1.2 m/min", Kind.SPEED, 0.02),
    ("60 ksi", Kind.PRESSURE, 60e3 * POUND * 9.80665 / INCH**2),
    ("60,000 psi", Kind.PRESSURE, 60e3 * POUND * 9.80665 / INCH**2),
    ("60 000 psi", Kind.PRESSURE, 60e3 * POUND * 9.80665 / INCH**2),
    ("4137 bar", Kind.PRESSURE, 413.7e6),
    ("4,137 bar", Kind.PRESSURE, 413.7e6),
    ("414 MPa", Kind.PRESSURE, 414e6),
    ("0.8 lb/min", Kind.MASS_FLOW, 0.8 * POUND / 60),
    ("360 g/min", Kind.MASS_FLOW, 0.006),
    ("3.5 l/min", Kind.VOLUME_FLOW, 3.5e-3 / 60),
    ("1 gpm", Kind.VOLUME_FLOW, 231 * INCH**3 / 60),
    ("30°", Kind.ANGLE, pi / 6),
    ("1° 30′", Kind.ANGLE, 1.5 * pi / 180),
    ("30 min", Kind.ANGLE, 0.5 * pi / 180),
    ("3 min 30 s", Kind.TIME, 210.0),
    ("1 h 20 min", Kind.TIME, 4800.0),
    ("90 %", Kind.PLAIN, 0.9),
    ("0.95", Kind.PLAIN, 0.95),
    ("$85", Kind.MONEY, 85.0),
    ("$1,250", Kind.MONEY, 1250.0),
    ("85,50 €", Kind.MONEY, 85.5),
    ("EUR 85/h", Kind.PRICE_PER_TIME, 85 / 3600),
    ("85 EUR per hour", Kind.PRICE_PER_TIME, 85 / 3600),
    ("$0.35/lb", Kind.PRICE_PER_MASS, 0.35 / POUND),
    ("0.45 EUR/kg", Kind.PRICE_PER_MASS, 0.45),
    ("4 EUR/m³", Kind.PRICE_PER_VOLUME, 4.0),
    ("$0.01/gal", Kind.PRICE_PER_VOLUME, 0.01 / (231 * INCH**3)),
    ("0.18 EUR/kWh", Kind.PRICE_PER_ENERGY, 0.18 / 3.6e6),
    ("50 hp", Kind.POWER, 50 * 550 * 12 * INCH * POUND * 9.80665),
    ("8 m/s^2", Kind.ACCELERATION, 8.0),
    ("50 m/s³", Kind.JERK, 50.0),
    ("20 deg/s", Kind.ANGLE_RATE, 20 * pi / 180),
    ("12 cm²/min", Kind.AREA_RATE, 2e-5),
    ("2.70 g/cm3", Kind.DENSITY, 2700.0),
]


@pytest.mark.parametrize(("text", "kind", "expected"), WRITTEN, ids=[text for text, _, _ in WRITTEN])
def test_what_people_write_is_read_in_si(text, kind, expected):
    """Values are kept to 15 digits, which takes the binary noise off: 3/8 in is 0.009525 m."""
    assert_allclose(parse(text, kind), expected, rtol=5e-15)


def test_a_converted_decimal_carries_no_binary_noise():
    assert parse("3/8 in", Kind.LENGTH) == 0.009525
    assert parse("20 µm", Kind.LENGTH) == 2e-5


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("0.005", Kind.LENGTH, "'0.005' has no unit: write '0.005 in' or '0.005 mm'"),
        ("6", Kind.SPEED, "'6' has no unit: write '6 in/min' or '6 mm/min'"),
        ("60", Kind.PRESSURE, "'60' has no unit: write '60 ksi' or '60 MPa'"),
        ("60000", Kind.PRESSURE, "'60000' has no unit: write '60000 psi' or '60000 bar'"),
        ("0.8", Kind.MASS_FLOW, "'0.8' has no unit: write '0.8 lb/min' or '0.8 g/min'"),
        ("125", Kind.ROUGHNESS, "'125' has no unit: write '125 uin' or '125 um'"),
        ("85/h", Kind.PRICE_PER_TIME, "'85/h' has no currency: write '85 USD/h' or '85 EUR/h'"),
        (
            "1,500 mm",
            Kind.LENGTH,
            "'1,500 mm' can be read two ways: write '1500' for thousands or '1.500' for a decimal mark",
        ),
        (
            "5 kg",
            Kind.LENGTH,
            "'5 kg' is no length: its unit must be one of in, mm, thou, ft, µin, µm, cm, m",
        ),
        ("nan mm", Kind.LENGTH, "'nan mm' is no length: write a number with its unit, as '5 in' or '5 mm'"),
        ("inf mm", Kind.LENGTH, "'inf mm' is no length: write a number with its unit, as '5 in' or '5 mm'"),
        ("1e999 mm", Kind.LENGTH, "'1e999 mm' is too large to be a quantity: write a finite number"),
        (
            "1/0 in",
            Kind.LENGTH,
            "'1/0 in' divides by zero: write the fraction with a number below the line",
        ),
        ("  ", Kind.LENGTH, "an empty text is no quantity: write a number with its unit, as '0.005 in'"),
        ("3 s 2 min", Kind.TIME, "'3 s 2 min' is no time: a second unit must be smaller than the first"),
        ("$5 EUR", Kind.MONEY, "'$5 EUR' names two currencies: keep one, EUR or USD"),
    ],
)
def test_what_is_no_quantity_is_refused_in_one_line_with_the_remedy(text, kind, message):
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "kind", "unit", "system"),
    [
        ("5 mil", Kind.LENGTH, "thou", "inch"),
        ("12.7 mm", Kind.LENGTH, "mm", "metric"),
        ("4137 bar", Kind.PRESSURE, "bar", "metric"),
        ("3 min", Kind.TIME, "min", None),
        ("$0.35/lb", Kind.PRICE_PER_MASS, "USD/lb", "inch"),
    ],
)
def test_a_quantity_remembers_its_unit_and_system(text, kind, unit, system):
    quantity = parse_with_system(text, kind)
    assert (quantity.unit, quantity.system, quantity.text) == (unit, system, text)


def test_a_price_remembers_its_currency_and_a_length_has_none():
    assert parse_with_system("EUR 85/h", Kind.PRICE_PER_TIME).currency == "EUR"
    assert parse_with_system("5 in", Kind.LENGTH).currency == ""


@pytest.mark.parametrize(
    ("text", "value", "is_rms", "system"),
    [
        ("125 uin", 3.175e-6, False, "inch"),
        ("125 µin RMS", 3.175e-6, True, "inch"),
        ("RMS 125 uin", 3.175e-6, True, "inch"),
        ("3.2 um", 3.2e-6, False, "metric"),
        ("Ra 3.2 µm", 3.2e-6, False, "metric"),
        ("Rq = 4 um", 4e-6, True, "metric"),
        ("max 3.2 um", 3.2e-6, False, "metric"),
    ],
)
def test_a_roughness_says_which_height_it_is(text, value, is_rms, system):
    roughness = parse_roughness(text)
    assert_allclose(roughness.value, value, rtol=1e-15)
    assert (roughness.is_rms, roughness.system) == (is_rms, system)


@pytest.mark.parametrize("text", ["Rz 20 um", "Ra 3 um RMS", "0 um", "-3 um", "Ra", "125"])
def test_a_roughness_that_does_not_convert_is_refused(text):
    with pytest.raises(QuantityError):
        parse_roughness(text)
