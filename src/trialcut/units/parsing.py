"""Quantities out of text."""

from __future__ import annotations

import re

from trialcut.errors import QuantityError
from trialcut.units.kinds import Kind, Quantity
from trialcut.units.money import parse_amount, parse_price
from trialcut.units.table import LIKELY, PER, UNITS, Unit, find_unit
from trialcut.units.text import NUMBER, plain_text, quoted, read_number, tidy, unit_text

_COMPOUND = {Kind.TIME, Kind.ANGLE, Kind.LENGTH}
_UNIT_RUN = re.compile(r"[^0-9.,+\-±]*")


def parse(text: str, kind: Kind) -> float:
    """SI value of a quantity written with its unit.

    Parameters
    ----------
    text : str
        As ``"1-1/4 in"``, ``"60 ksi"``, ``"3 min 30 s"``.
    kind : Kind
        What it must be.

    Returns
    -------
    float
        In SI; money in its currency, a price in its currency per SI unit.

    Raises
    ------
    QuantityError
        If it is not such a quantity, lacks its unit, or can be read two ways.

    Examples
    --------
    >>> round(parse('1-1/4"', Kind.LENGTH), 6)
    0.03175
    """
    return parse_with_system(text, kind).value


def parse_with_system(text: str, kind: Kind) -> Quantity:
    """A quantity with the unit and the unit system that it was written in.

    Parameters
    ----------
    text : str
        As for `parse`.
    kind : Kind
        What it must be.

    Returns
    -------
    Quantity
        Value in SI, unit as printed, system.

    Raises
    ------
    QuantityError
        As `parse`.
    """
    plain = plain_text(text)
    shown = quoted(text)
    if kind is Kind.MONEY:
        value, code = parse_amount(plain, shown)
        return Quantity(value, code, None, text)
    if kind in PER:
        value, code, per = parse_price(plain, shown, kind)
        return Quantity(value, f"{code}/{per.symbol}", per.system, text)
    sign, terms = _terms(plain, kind, shown)
    value = tidy(sign * sum(number * unit.factor for number, unit in terms))
    first = terms[0][1]
    return Quantity(value, first.symbol, first.system, text)


def _terms(plain: str, kind: Kind, shown: str) -> tuple[float, list[tuple[float, Unit]]]:
    terms: list[tuple[float, Unit]] = []
    sign, rest = 1.0, plain
    while rest:
        match = NUMBER.match(rest)
        if match is None or (terms and match["sign"]):
            raise not_a_quantity(kind, shown)
        if match["sign"] == "-":
            sign = -1.0
        rest = rest[match.end() :]
        if kind in _COMPOUND:
            name = _UNIT_RUN.match(rest)[0]  # type: ignore[index]
            rest = rest[len(name) :]
        else:
            name, rest = rest, ""
        unit = _unit(unit_text(name), kind, shown, match["body"])
        if terms and not unit.factor < terms[-1][1].factor:
            raise QuantityError(f"{shown} is no {kind}: a second unit must be smaller than the first")
        terms.append((read_number(match["body"], whole=unit.whole, shown=shown), unit))
    return sign, terms


def _unit(name: str, kind: Kind, shown: str, body: str) -> Unit:
    unit = find_unit(name, kind)
    if unit is not None:
        return unit
    if not name:
        raise unit_missing(body, kind, shown)
    known = ", ".join(unit.symbol for unit in UNITS[kind] if unit.symbol)
    raise QuantityError(f"{shown} is no {kind}: its unit must be one of {known or '%'}")


def unit_missing(number: str, kind: Kind, shown: str) -> QuantityError:
    """The error for a bare number, naming both likely readings.

    Parameters
    ----------
    number : str
        The number as written.
    kind : Kind
        What it should be.
    shown : str
        The whole text in quotes.

    Returns
    -------
    QuantityError
        To be raised.
    """
    inch, metric = LIKELY[kind]
    number = number.strip()
    if kind is Kind.PRESSURE and len(re.sub(r"[^0-9]", "", number.split(".")[0])) > 3:
        inch, metric = "psi", "bar"
    return QuantityError(
        f"{shown} has no unit: write '{number} {inch}' or '{number} {metric}'",
        code="unit-missing",
        readings=(f"{number} {inch}", f"{number} {metric}"),
    )


def not_a_quantity(kind: Kind, shown: str) -> QuantityError:
    """The error for a text that holds no such quantity.

    Parameters
    ----------
    kind : Kind
        What it should be.
    shown : str
        The text in quotes.

    Returns
    -------
    QuantityError
        To be raised.
    """
    inch, metric = LIKELY[kind]
    example = f"'5 {inch}' or '5 {metric}'" if inch else "'0.95' or '95 %'"
    return QuantityError(f"{shown} is no {kind}: write a number with its unit, as {example}")
