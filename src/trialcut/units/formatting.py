"""Quantities into text, with digits that match their spread.

Digits follow the rule of the Particle Data Group (from memory): of the spread's three leading digits, 100 to
354 keep two, 355 to 949 keep one, and from 950 on the spread rounds up to 1000 and keeps two. The value is
printed to the same place. Without a spread, the unit's own usual number of decimals is printed, less trailing
zeros.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from math import floor, isfinite, isnan, log10

from trialcut.errors import QuantityError
from trialcut.units.kinds import Kind
from trialcut.units.table import PER, Unit, find_unit, minor_digits, printed_unit

_FLOAT_DIGITS = 15
_NO_SPREAD = 1e-100
_FINEST = -12


def format_value(
    value: float, kind: Kind, system: str, *, spread: float | None = None, unit: str | None = None
) -> str:
    """A quantity for people.

    Parameters
    ----------
    value : float
        In SI; money in its currency, a price in its currency per SI unit.
    kind : Kind
        What it is.
    system : str
        ``"inch"`` or ``"metric"``.
    spread : float, optional
        Its standard deviation, which decides the digits.
    unit : str, optional
        Unit to print in, ``"bar"``, instead of the usual one. Money needs its currency here, ``"EUR"``;
        a price its currency alone or with the unit, ``"EUR/h"``.

    Returns
    -------
    str
        As ``"0.0047 in"``, ``"3 min 30 s"``, ``"12.50 EUR"``.

    Raises
    ------
    QuantityError
        If the unit is unknown for the kind, or money comes without its currency.

    Examples
    --------
    >>> format_value(1.194e-4, Kind.LENGTH, "inch")
    '0.0047 in'
    >>> format_value(1.194e-4, Kind.LENGTH, "metric", spread=2.1e-5)
    '0.119 mm'
    """
    printed, label = _printed(kind, system, unit)
    if not isfinite(value):
        return "not known" if isnan(value) else "unlimited" if value > 0.0 else "-unlimited"
    if kind is Kind.TIME and unit is None and abs(value) >= 59.95:
        return _clock(value, spread)
    scaled = value / printed.factor if kind not in PER else value * printed.factor
    scaled_spread = _scaled_spread(spread, printed, kind)
    return _joined(_digits(scaled, scaled_spread, printed, kind, label), label)


def format_spread(mean: float, sd: float, kind: Kind, system: str, *, unit: str | None = None) -> str:
    """A quantity with its standard deviation.

    Parameters
    ----------
    mean, sd : float
        In SI; money in its currency.
    kind : Kind
        What it is.
    system : str
        ``"inch"`` or ``"metric"``.
    unit : str, optional
        As for `format_value`.

    Returns
    -------
    str
        As ``"0.0047 ± 0.0012 in"``.

    Raises
    ------
    QuantityError
        As `format_value`.
    """
    text = format_value(mean, kind, system, spread=sd, unit=unit)
    if not (isfinite(mean) and isfinite(sd) and sd > _NO_SPREAD):
        return text
    printed, label = _printed(kind, system, unit)
    if kind is Kind.TIME and unit is None and abs(mean) >= 59.95:
        return f"{text} ± {format_value(sd, kind, system, spread=sd)}"
    scaled, spread = (x / printed.factor if kind not in PER else x * printed.factor for x in (mean, sd))
    numbers = " ± ".join(_digits(each, spread, printed, kind, label) for each in (scaled, spread))
    return _joined(numbers, label)


def last_place(spread: float) -> int:
    """Power of ten of the last digit that a spread justifies.

    Parameters
    ----------
    spread : float
        Positive and finite.

    Returns
    -------
    int
        -4 where the fourth decimal is the last to print.
    """
    exponent = floor(log10(spread))
    leading = round(spread / 10.0**exponent * 100.0)
    if leading >= 1000:
        exponent, leading = exponent + 1, 100
    if leading <= 354:
        return exponent - 1
    return exponent


def _printed(kind: Kind, system: str, unit: str | None) -> tuple[Unit, str]:
    if kind is Kind.MONEY:
        if not unit:
            raise QuantityError(
                "an amount of money needs its currency to be printed: give unit='EUR' or unit='USD'"
            )
        return Unit(unit, 1.0, None, minor_digits(unit), False, ()), unit
    if kind in PER:
        code, _, per = (unit or "").partition("/")
        found = find_unit(per, kind) if per else printed_unit(kind, system)
        if not code or found is None:
            raise QuantityError(f"a {kind} needs its currency to be printed, as unit='EUR' or unit='EUR/h'")
        return found, f"{code}/{found.symbol}"
    found = printed_unit(kind, system) if unit is None else find_unit(unit, kind)
    if found is None:
        raise QuantityError(f"{unit!r} is no unit of {kind}")
    return found, found.symbol


def _scaled_spread(spread: float | None, printed: Unit, kind: Kind) -> float | None:
    if spread is None or not isfinite(spread) or spread <= _NO_SPREAD:
        return None
    return spread / printed.factor if kind not in PER else spread * printed.factor


def _joined(number: str, label: str) -> str:
    if label in {"", "°", "%"} or label.startswith("°/"):
        return f"{number}{' %' if label == '%' else label}"
    return f"{number} {label}"


def _digits(value: float, spread: float | None, unit: Unit, kind: Kind, label: str) -> str:
    if spread is None:
        text = _rounded(value, -unit.decimals)
        coins = kind is Kind.MONEY or (kind in PER and minor_digits(label.partition("/")[0]) > 0)
        return text if coins or "." not in text else text.rstrip("0").rstrip(".")
    place = max(last_place(spread), _FINEST)
    if kind is Kind.MONEY and place < 0:
        place = -unit.decimals
    return _rounded(value, place)


def _rounded(value: float, place: int) -> str:
    """A number to a decimal place, never to more than the digits that a float carries."""
    if value:
        place = max(place, floor(log10(abs(value))) - _FLOAT_DIGITS + 1)
    number = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(place), rounding=ROUND_HALF_EVEN)
    return format(number if number else abs(number), "f")


def _clock(value: float, spread: float | None) -> str:
    """Minutes and seconds below an hour, hours and minutes from there."""
    sign, seconds = ("-" if value < 0.0 else ""), abs(value)
    step = 1.0
    if spread is not None and isfinite(spread) and spread > 0.0:
        step = 60.0 if spread >= 300.0 else 10.0 if spread >= 35.5 else 1.0
    whole = round(seconds / step) * int(step)
    if whole >= 3600:
        minutes = round(seconds / 60.0)
        return f"{sign}{minutes // 60} h {minutes % 60} min"
    if step == 60.0:
        return f"{sign}{whole // 60} min"
    return f"{sign}{whole // 60} min {whole % 60} s"
