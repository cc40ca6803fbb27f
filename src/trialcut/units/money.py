"""Amounts of money and prices out of text, with ``$``, ``€`` or a code before or after the number."""

from __future__ import annotations

import re

from trialcut.errors import QuantityError
from trialcut.units.kinds import Kind
from trialcut.units.table import CURRENCIES, CURRENCY_SIGNS, LIKELY, PER, Unit, find_unit
from trialcut.units.text import UNSIGNED, read_number, unit_text

_SIGNS = "".join(CURRENCY_SIGNS)
_CURRENCY = rf"(?:[A-Za-z]{{3}}(?![A-Za-z])|[{_SIGNS}])"
_AMOUNT = re.compile(
    rf"(?P<sign>[-+]?)\s*(?P<before>{_CURRENCY})?\s*(?P<body>{UNSIGNED})\s*(?P<after>{_CURRENCY})?"
    r"(?:\s*(?:/|\bper\b)\s*(?P<per>[A-Za-z]+3?)\.?)?",
    re.ASCII,
)


def parse_amount(plain: str, shown: str) -> tuple[float, str]:
    """Amount and currency code.

    Parameters
    ----------
    plain : str
        Text in plain form.
    shown : str
        The text in quotes, for messages.

    Returns
    -------
    tuple of float and str
        Amount in its currency, code as ``"EUR"``.

    Raises
    ------
    QuantityError
        If it is no amount or names no currency.
    """
    match = _AMOUNT.fullmatch(plain)
    if match is None or match["per"]:
        raise QuantityError(f"{shown} is no amount of money: write it as '12.50 USD' or '12.50 EUR'")
    return _value(match, shown, Kind.MONEY), _code(match, shown)


def parse_price(plain: str, shown: str, kind: Kind) -> tuple[float, str, Unit]:
    """Price per SI unit, currency code, and the unit that it was given per.

    Parameters
    ----------
    plain : str
        Text in plain form.
    shown : str
        The text in quotes, for messages.
    kind : Kind
        One of the price kinds.

    Returns
    -------
    tuple of float, str and Unit
        Price per SI unit, code as ``"EUR"``, unit as ``h``.

    Raises
    ------
    QuantityError
        If it is no such price or names no currency.
    """
    match = _AMOUNT.fullmatch(plain)
    per = find_unit(unit_text(match["per"]), kind) if match and match["per"] else None
    if match is None or per is None:
        one, other = LIKELY[kind]
        units = ", ".join(unit.symbol for unit in PER[kind])
        raise QuantityError(f"{shown} is no {kind}: write it as '5 {one}' or '5 {other}', per one of {units}")
    code = _code(match, shown)
    return _value(match, shown, kind) / per.factor, code, per


def _value(match: re.Match[str], shown: str, kind: Kind) -> float:
    value = read_number(match["body"], whole=kind is Kind.MONEY, shown=shown)
    return -value if match["sign"] == "-" else value


def _code(match: re.Match[str], shown: str) -> str:
    named = [name for name in (match["before"], match["after"]) if name]
    codes = {CURRENCY_SIGNS.get(name, name.upper()) for name in named}
    if not codes:
        number, per = match["body"], f"/{match['per']}" if match["per"] else ""
        raise QuantityError(
            f"{shown} has no currency: write '{number} USD{per}' or '{number} EUR{per}'", code="unit-missing"
        )
    unknown = codes - CURRENCIES
    if unknown:
        raise QuantityError(
            f"{shown}: {unknown.pop()!r} is no currency code known here: write 'USD', 'EUR' and so on"
        )
    if len(codes) > 1:
        raise QuantityError(f"{shown} names two currencies: keep one, {' or '.join(sorted(codes))}")
    return codes.pop()
