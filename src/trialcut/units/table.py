"""Every unit that is understood: its names, its exact factor to SI, and how it is printed.

The inch is 25.4 mm, the pound 0.45359237 kg, standard gravity 9.80665 m/s^2 and the US gallon 231 cubic
inches, each exact by definition; the other inch units follow from these.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from math import pi

from trialcut.units.kinds import Kind, System

INCH = 0.0254
POUND = 0.45359237
GRAVITY = 9.80665
GALLON = 231.0 * INCH**3
PSI = POUND * GRAVITY / INCH**2
HORSEPOWER = 550.0 * 12.0 * INCH * POUND * GRAVITY
MINUTE = 60.0
HOUR = 3600.0
DEGREE = pi / 180.0


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Parameters
    ----------
    symbol : str
        As it is printed.
    factor : float
        SI value of one of it.
    system : str or None
        Unit system that it belongs to; None for both.
    decimals : int
        Decimals printed where no spread says otherwise.
    whole : bool
        Nobody writes thousandths of it, so that a single comma before three digits parts thousands.
    names : tuple of str
        Other ways to write it.
    """

    symbol: str
    factor: float
    system: str | None
    decimals: int
    whole: bool
    names: tuple[str, ...]


def _inch(symbol: str, factor: float, decimals: int, *names: str, whole: bool = False) -> Unit:
    return Unit(symbol, factor, System.INCH.value, decimals, whole, names)


def _metric(symbol: str, factor: float, decimals: int, *names: str, whole: bool = False) -> Unit:
    return Unit(symbol, factor, System.METRIC.value, decimals, whole, names)


def _both(symbol: str, factor: float, decimals: int, *names: str, whole: bool = False) -> Unit:
    return Unit(symbol, factor, None, decimals, whole, names)


# The first inch (or common) unit and the first metric (or common) unit of a kind are the ones printed.
UNITS: dict[Kind, tuple[Unit, ...]] = {
    Kind.LENGTH: (
        _inch("in", INCH, 4, '"', "inch", "inches"),
        _metric("mm", 1e-3, 3, "millimetre", "millimetres", "millimeter", "millimeters"),
        _inch("thou", INCH * 1e-3, 1, "mil", "mils", "thousandth", "thousandths"),
        _inch("ft", 12.0 * INCH, 3, "'", "foot", "feet"),
        _inch("µin", INCH * 1e-6, 0, "uin", "microinch", "microinches", "micro-inch", whole=True),
        _metric("µm", 1e-6, 1, "um", "micron", "microns", "micrometre", "micrometer"),
        _metric("cm", 1e-2, 2, "centimetre", "centimeter"),
        _metric("m", 1.0, 4, "metre", "metres", "meter", "meters"),
    ),
    Kind.SPEED: (
        _inch(
            "in/min", INCH / MINUTE, 2, "ipm", '"/min', "inch/min", "inches/min", "in/minute", "inches/minute"
        ),
        _metric("mm/min", 1e-3 / MINUTE, 1, "mm/minute"),
        _inch("in/s", INCH, 3, "ips", "in/sec", '"/s'),
        _inch("in/h", INCH / HOUR, 4, "in/hr"),
        _inch("ft/min", 12.0 * INCH / MINUTE, 3, "fpm"),
        _inch("ft/s", 12.0 * INCH, 3, "ft/sec"),
        _metric("m/min", 1.0 / MINUTE, 3, "m/minute"),
        _metric("mm/s", 1e-3, 2, "mm/sec"),
        _metric("cm/min", 1e-2 / MINUTE, 2),
        _metric("m/s", 1.0, 4, "m/sec"),
        _metric("mm/h", 1e-3 / HOUR, 4, "mm/hr"),
        _metric("µm/h", 1e-6 / HOUR, 2, "um/h", "um/hr"),
    ),
    Kind.PRESSURE: (
        _inch("ksi", PSI * 1e3, 1, "kpsi"),
        _metric("MPa", 1e6, 0),
        _inch("psi", PSI, 0, whole=True),
        _metric("bar", 1e5, 0, "bars", whole=True),
        _metric("kbar", 1e8, 2),
        _metric("kPa", 1e3, 0),
        _metric("GPa", 1e9, 3),
        _metric("Pa", 1.0, 0, whole=True),
    ),
    Kind.VOLUME_FLOW: (
        _inch("gpm", GALLON / MINUTE, 2, "gal/min", "gallon/min", "gallons/min", "gallons/minute"),
        _metric("l/min", 1e-3 / MINUTE, 2, "lpm", "litre/min", "litres/min", "liter/min", "liters/min"),
        _inch("gal/h", GALLON / HOUR, 1, "gph", "gal/hr"),
        _inch("in3/min", INCH**3 / MINUTE, 1),
        _metric("ml/min", 1e-6 / MINUTE, 0, "cm3/min", "cc/min"),
        _metric("l/h", 1e-3 / HOUR, 1, "l/hr"),
        _metric("l/s", 1e-3, 4, "l/sec"),
        _metric("m3/h", 1.0 / HOUR, 4, "m3/hr"),
        _metric("m3/s", 1.0, 7),
    ),
    Kind.MASS_FLOW: (
        _inch("lb/min", POUND / MINUTE, 3, "lbs/min", "lbm/min", "pound/min", "pounds/min", "pounds/minute"),
        _metric("g/min", 1e-3 / MINUTE, 0, "gram/min", "grams/min", "g/minute"),
        _inch("lb/h", POUND / HOUR, 1, "lb/hr", "lbs/h", "lbs/hr", "lb/hour"),
        _metric("kg/min", 1.0 / MINUTE, 3),
        _metric("kg/h", 1.0 / HOUR, 1, "kg/hr", "kg/hour"),
        _metric("g/s", 1e-3, 2, "g/sec"),
        _metric("kg/s", 1.0, 5),
    ),
    Kind.ANGLE: (
        _both("°", DEGREE, 2, "deg", "degs", "degree", "degrees"),
        _both("arcmin", DEGREE / 60.0, 1, "'", "min", "minute", "minutes"),
        _both("arcsec", DEGREE / 3600.0, 0, '"', "sec", "second", "seconds", "s"),
        _both("rad", 1.0, 5, "radian", "radians"),
        _both("mrad", 1e-3, 2),
    ),
    Kind.TIME: (
        _both("s", 1.0, 1, "sec", "secs", "second", "seconds"),
        _both("min", MINUTE, 2, "mins", "minute", "minutes"),
        _both("h", HOUR, 3, "hr", "hrs", "hour", "hours"),
        _both("ms", 1e-3, 0),
        _both("d", 24.0 * HOUR, 3, "day", "days"),
    ),
    Kind.ROUGHNESS: (
        _inch("µin", INCH * 1e-6, 0, "uin", "microinch", "microinches", "micro-inch", whole=True),
        _metric("µm", 1e-6, 1, "um", "micron", "microns", "micrometre", "micrometer"),
        _metric("nm", 1e-9, 0, whole=True),
        _metric("mm", 1e-3, 4),
    ),
    Kind.POWER: (
        _inch("hp", HORSEPOWER, 1, "horsepower"),
        _metric("kW", 1e3, 2),
        _metric("W", 1.0, 0, whole=True),
    ),
    Kind.MASS: (
        _inch("lb", POUND, 3, "lbs", "lbm", "pound", "pounds"),
        _metric("kg", 1.0, 3, "kilogram", "kilograms"),
        _inch("oz", POUND / 16.0, 2, "ounce", "ounces"),
        _metric("g", 1e-3, 0, "gram", "grams"),
        _metric("t", 1e3, 4, "tonne", "tonnes"),
    ),
    Kind.ACCELERATION: (
        _inch("in/s2", INCH, 1, "in/s/s", "in/sec2"),
        _metric("mm/s2", 1e-3, 0, "mm/s/s", "mm/sec2"),
        _inch("ft/s2", 12.0 * INCH, 2),
        _metric("m/s2", 1.0, 3, "m/s/s", "m/sec2"),
        _both("g", GRAVITY, 4),
    ),
    Kind.JERK: (
        _inch("in/s3", INCH, 0, "in/sec3"),
        _metric("mm/s3", 1e-3, 0, "mm/sec3"),
        _inch("ft/s3", 12.0 * INCH, 2),
        _metric("m/s3", 1.0, 3, "m/sec3"),
    ),
    Kind.ANGLE_RATE: (
        _both("°/s", DEGREE, 2, "deg/s", "degree/s", "degrees/s", "deg/sec", "degrees/second"),
        _both("°/min", DEGREE / MINUTE, 1, "deg/min", "degrees/min"),
        _both("rad/s", 1.0, 5),
    ),
    Kind.AREA_RATE: (
        _inch("in2/min", INCH**2 / MINUTE, 2, "sq in/min", "in2/minute"),
        _metric("cm2/min", 1e-4 / MINUTE, 2, "cm2/minute"),
        _inch("in2/h", INCH**2 / HOUR, 1, "in2/hr"),
        _metric("mm2/min", 1e-6 / MINUTE, 0, whole=True),
        _metric("m2/h", 1.0 / HOUR, 4, "m2/hr"),
        _metric("m2/s", 1.0, 8),
    ),
    Kind.DENSITY: (
        _inch("lb/in3", POUND / INCH**3, 4),
        _metric("kg/m3", 1.0, 0),
        _inch("lb/ft3", POUND / (12.0 * INCH) ** 3, 1),
        _metric("g/cm3", 1e3, 3, "g/cc", "kg/l"),
    ),
    Kind.PLAIN: (
        _both("", 1.0, 6),
        _both("%", 1e-2, 1, "percent", "pct"),
    ),
}

# What a price is per: the factor is the SI amount of one.
PER: dict[Kind, tuple[Unit, ...]] = {
    Kind.PRICE_PER_TIME: (
        _both("h", HOUR, 2, "hr", "hour"),
        _both("min", MINUTE, 2, "minute"),
        _both("s", 1.0, 4, "sec", "second"),
    ),
    Kind.PRICE_PER_MASS: (
        _inch("lb", POUND, 2, "lbs", "pound"),
        _metric("kg", 1.0, 2),
        _metric("t", 1e3, 2, "tonne"),
        _metric("g", 1e-3, 4),
    ),
    Kind.PRICE_PER_VOLUME: (
        _inch("gal", GALLON, 4, "gallon"),
        _metric("m3", 1.0, 2),
        _inch("ft3", (12.0 * INCH) ** 3, 4),
        _metric("l", 1e-3, 4, "litre", "liter"),
    ),
    Kind.PRICE_PER_ENERGY: (
        _both("kWh", 3.6e6, 3),
        _both("MWh", 3.6e9, 2),
        _both("MJ", 1e6, 4),
    ),
}

CURRENCY_SIGNS = {"$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY", "₹": "INR", "₩": "KRW"}
CURRENCIES = frozenset(
    re.findall(
        r"[A-Z]{3}",
        "AED ARS AUD BGN BRL CAD CHF CLP CNY COP CZK DKK EGP EUR GBP HKD HUF IDR ILS INR ISK JPY "
        "KRW MAD MXN MYR NOK NZD PEN PHP PLN RON RSD SAR SEK SGD THB TRY TWD UAH USD VND ZAR",
    )
)
_NO_MINOR_UNIT = frozenset({"CLP", "ISK", "JPY", "KRW", "VND"})
_MINOR_DIGITS = 2


def minor_digits(currency: str) -> int:
    """
    Decimals that amounts of a currency are written with.

    Parameters
    ----------
    currency : str
        ISO 4217 code.

    Returns
    -------
    int
        Its minor unit as ISO 4217 lists it: 2 for ``"EUR"``, 0 for ``"JPY"``. [-]
    """
    return 0 if currency in _NO_MINOR_UNIT else _MINOR_DIGITS


# Two readings to name when the unit is missing: the larger unit below 1000, the smaller from there.
LIKELY: dict[Kind, tuple[str, str]] = {
    Kind.LENGTH: ("in", "mm"),
    Kind.SPEED: ("in/min", "mm/min"),
    Kind.PRESSURE: ("ksi", "MPa"),
    Kind.VOLUME_FLOW: ("gpm", "l/min"),
    Kind.MASS_FLOW: ("lb/min", "g/min"),
    Kind.ANGLE: ("deg", "rad"),
    Kind.TIME: ("s", "min"),
    Kind.MONEY: ("USD", "EUR"),
    Kind.ROUGHNESS: ("uin", "um"),
    Kind.POWER: ("hp", "kW"),
    Kind.MASS: ("lb", "kg"),
    Kind.ACCELERATION: ("in/s2", "mm/s2"),
    Kind.JERK: ("in/s3", "mm/s3"),
    Kind.ANGLE_RATE: ("deg/s", "rad/s"),
    Kind.AREA_RATE: ("in2/min", "cm2/min"),
    Kind.DENSITY: ("lb/in3", "kg/m3"),
    Kind.PRICE_PER_TIME: ("USD/h", "EUR/h"),
    Kind.PRICE_PER_MASS: ("USD/lb", "EUR/kg"),
    Kind.PRICE_PER_VOLUME: ("USD/gal", "EUR/m3"),
    Kind.PRICE_PER_ENERGY: ("USD/kWh", "EUR/kWh"),
    Kind.PLAIN: ("", "%"),
}


@cache
def _by_name(kind: Kind) -> dict[str, Unit]:
    names: dict[str, Unit] = {}
    for unit in (*UNITS.get(kind, ()), *PER.get(kind, ())):
        for name in (unit.symbol, *unit.names):
            names[name] = unit
            names.setdefault(name.replace("µ", "u"), unit)
    for name, unit in list(names.items()):
        names.setdefault(name.lower(), unit)
    return names


def find_unit(name: str, kind: Kind) -> Unit | None:
    """Unit of a kind by any of its names, capitals as printed or not; None if there is none."""
    names = _by_name(kind)
    return names.get(name) or names.get(name.lower())


def printed_unit(kind: Kind, system: str) -> Unit:
    """Unit that quantities of a kind are printed in."""
    for unit in UNITS.get(kind) or PER[kind]:
        if unit.system in (system, None):
            return unit
    raise KeyError(kind)
