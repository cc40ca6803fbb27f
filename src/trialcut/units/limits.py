"""Limits of size as drawings state them: plus and minus, two limits, one limit, a fit, or a bare size."""

from __future__ import annotations

import re
from dataclasses import dataclass

from trialcut.errors import QuantityError
from trialcut.units.kinds import Kind
from trialcut.units.parsing import unit_missing
from trialcut.units.table import UNITS, Unit, find_unit
from trialcut.units.text import UNSIGNED, plain_text, quoted, read_number, tidy, unit_text

_NAMES = sorted(
    {name for unit in UNITS[Kind.LENGTH] for name in (unit.symbol, *unit.names)},
    key=lambda name: (-len(name), name),
)
_UNIT = rf"(?:{'|'.join(re.escape(name) for name in _NAMES)})(?![A-Za-z])\.?"
_ROUND = r"(?:Ø|dia\.?|diameter)?\s*"


def _length(name: str) -> str:
    return rf"(?P<{name}>{UNSIGNED})\s*(?P<{name}_unit>{_UNIT})?"


def _signed(name: str) -> str:
    return rf"(?P<{name}_sign>[-+]?)\s*{_length(name)}"


def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern, re.ASCII | re.IGNORECASE)


_FIT = re.compile(
    rf"{_ROUND}(?:(?P<nominal>{UNSIGNED})\s*(?P<nominal_unit>{_UNIT})?)??\s*"
    r"(?P<fit>[A-Za-z]{1,2}\s?[0-9]{1,2})",
    re.ASCII,
)
_NOMINAL = rf"{_ROUND}(?:{_length('nominal')}\s*)?"
_PLUS_MINUS = _compiled(rf"{_NOMINAL}±\s*{_length('upper')}")
_TWO_SIDED = _compiled(
    rf"{_NOMINAL}(?=[-+]|0[0.,]*\s*/){_signed('upper')}(?:\s*/\s*|\s+|(?=[-+])){_signed('lower')}"
)
_RANGE = _compiled(rf"{_ROUND}{_length('lower')}\s*(?:/|to|-|\.\.\.?)\s*{_length('upper')}")
_ONE_DEVIATION = _compiled(rf"{_ROUND}{_length('nominal')}\s*(?P<upper_sign>[-+])\s*{_length('upper')}")
_ONE_SIDED = _compiled(
    r"(?P<side>max(?:imum)?|min(?:imum)?|≤|<=|≥|>=|at most|at least|under|up to|within)\.?\s*"
    rf"{_length('limit')}"
)
_ONE_SIDED_AFTER = _compiled(rf"{_length('limit')}\s*(?P<side>max(?:imum)?|min(?:imum)?)\.?")
_BARE = _compiled(rf"{_ROUND}{_length('nominal')}")
_LEAST = ("min", "≥", ">=", "at least")
_METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one size.

    Parameters
    ----------
    nominal : float or None
        Nominal size, if written. [m]
    lower, upper : float or None
        Deviations from nominal; or, where `absolute`, the least and the largest size themselves. [m]
    fit : str or None
        ISO 286 tolerance class, ``"H11"``.
    system : str
        ``"inch"`` or ``"metric"``.
    absolute : bool
        `lower` and `upper` are sizes, not deviations.
    """

    nominal: float | None = None
    lower: float | None = None
    upper: float | None = None
    fit: str | None = None
    system: str = _METRIC
    absolute: bool = False


def parse_limits(text: str) -> Limits:
    """Limits of a size; a unit written once holds for every number of the text.

    Parameters
    ----------
    text : str
        As ``"±0.005 in"``, ``"40 mm ±0.1"``, ``"1.250 +0.005/-0.000 in"``, ``"25.00/25.10 mm"``,
        ``"10 H11"``, ``"max 0.1 mm"``, ``"40 mm"``. A fit without a unit is in millimetres, as in ISO 286.

    Returns
    -------
    Limits
        What was written.

    Raises
    ------
    QuantityError
        If it is none of these, a number has no unit, or the limits leave no room between them.

    Examples
    --------
    >>> parse_limits("25 H7")
    Limits(nominal=0.025, lower=None, upper=None, fit='H7', system='metric', absolute=False)
    """
    plain = plain_text(text)
    shown = quoted(text)
    for pattern, read in (
        (_PLUS_MINUS, _plus_minus),
        (_TWO_SIDED, _two_sided),
        (_ONE_DEVIATION, _one_deviation),
        (_RANGE, _range),
        (_ONE_SIDED, _one_sided),
        (_ONE_SIDED_AFTER, _one_sided),
        (_BARE, _bare),
        (_FIT, _fit),
    ):
        match = pattern.fullmatch(plain)
        if match is not None:
            limits = read(match, shown)
            if limits is not None:
                return limits
    raise QuantityError(
        f"{shown} is no limits of size: write as '±0.005 in', '+0.1/-0 mm', '25.0/25.1 mm' or '10 H11'"
    )


def _units(match: re.Match[str], shown: str, *names: str) -> list[Unit]:
    """Units of the named numbers, each carried over from its neighbours where it was left out."""
    found = [
        find_unit(unit_text(match[f"{name}_unit"]), Kind.LENGTH) if match[f"{name}_unit"] else None
        for name in names
    ]
    stated = [unit for unit in found if unit is not None]
    if not stated:
        raise unit_missing(match.string, Kind.LENGTH, shown)
    units = []
    for position, unit in enumerate(found):
        later = [other for other in found[position + 1 :] if other is not None]
        earlier = [other for other in found[:position] if other is not None]
        units.append(unit or (later[0] if later else earlier[-1]))
    return units


def _value(match: re.Match[str], name: str, unit: Unit, shown: str) -> float:
    value = tidy(read_number(match[name], whole=unit.whole, shown=shown) * unit.factor)
    return 0.0 - value if match.groupdict().get(f"{name}_sign") == "-" else value


def _system(unit: Unit) -> str:
    return unit.system or _METRIC


def _room(lower: float, upper: float, shown: str) -> tuple[float, float]:
    if lower == upper:
        raise QuantityError(f"{shown} leaves no room between the limits: nothing measures exactly that")
    return min(lower, upper), max(lower, upper)


def _plus_minus(match: re.Match[str], shown: str) -> Limits:
    nominal_unit, unit = _units(match, shown, "nominal", "upper")
    half = _value(match, "upper", unit, shown)
    lower, upper = _room(-half, half, shown)
    nominal = _value(match, "nominal", nominal_unit, shown) if match["nominal"] else None
    return Limits(nominal, lower, upper, None, _system(nominal_unit))


def _two_sided(match: re.Match[str], shown: str) -> Limits:
    names = ("nominal", "upper", "lower")
    units = _units(match, shown, *names)
    first, second = (
        _value(match, name, unit, shown) for name, unit in zip(names[1:], units[1:], strict=True)
    )
    if (first and not match["upper_sign"]) or (second and not match["lower_sign"]):
        raise QuantityError(f"{shown} has a deviation without a sign: write both, as '+0.1/-0.05 mm'")
    lower, upper = _room(first, second, shown)
    nominal = _value(match, "nominal", units[0], shown) if match["nominal"] else None
    return Limits(nominal, lower, upper, None, _system(units[0]))


def _one_deviation(match: re.Match[str], shown: str) -> Limits | None:
    nominal_unit, unit = _units(match, shown, "nominal", "upper")
    nominal, deviation = _value(match, "nominal", nominal_unit, shown), _value(match, "upper", unit, shown)
    if deviation < -0.5 * nominal:
        return None
    lower, upper = _room(0.0, deviation, shown)
    return Limits(nominal, lower, upper, None, _system(nominal_unit))


def _range(match: re.Match[str], shown: str) -> Limits | None:
    if not (match["lower_unit"] or _has_mark(match["lower"]) or _has_mark(match["upper"])):
        return None
    unit_low, unit_high = _units(match, shown, "lower", "upper")
    low, high = _value(match, "lower", unit_low, shown), _value(match, "upper", unit_high, shown)
    lower, upper = _room(low, high, shown)
    return Limits(None, lower, upper, None, _system(unit_high), absolute=True)


def _has_mark(body: str) -> bool:
    return "." in body or "," in body


def _one_sided(match: re.Match[str], shown: str) -> Limits:
    (unit,) = _units(match, shown, "limit")
    value = _value(match, "limit", unit, shown)
    if match["side"].lower().startswith(_LEAST):
        return Limits(lower=value, system=_system(unit), absolute=True)
    return Limits(upper=value, system=_system(unit), absolute=True)


def _bare(match: re.Match[str], shown: str) -> Limits:
    (unit,) = _units(match, shown, "nominal")
    body = match["nominal"]
    if "/" in body and unit.system == _METRIC:
        one, _, other = body.partition("/")
        raise QuantityError(
            f"{shown} can be read two ways: write '{one.strip()}.0/{other.strip()}.0 {unit.symbol}' for two "
            "limits, or the fraction as a decimal"
        )
    return Limits(_value(match, "nominal", unit, shown), system=_system(unit))


def _fit(match: re.Match[str], shown: str) -> Limits:
    unit = find_unit(unit_text(match["nominal_unit"] or "mm"), Kind.LENGTH)
    if unit is None:
        raise QuantityError(f"{shown} is no fit: write as '10 H11' or '10 mm H11'")
    nominal = _value(match, "nominal", unit, shown) if match["nominal"] else None
    return Limits(nominal, fit=match["fit"].replace(" ", ""), system=_system(unit))
