"""What a slip of the hand would have made of a number: every value that was perhaps meant."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from trialcut.trials.intake.form import QUANTITY_OF
from trialcut.trials.types import Reading
from trialcut.units import Kind
from trialcut.units.table import Unit, find_unit
from trialcut.units.text import tidy, unit_text

_NUMBER = re.compile(r"\s*(?P<sign>[-+−]?)(?P<digits>[0-9]*[.,]?[0-9]+)\s*(?P<unit>[^0-9.,].*)?", re.ASCII)
_MOST_DIGITS = 12

MISTAKEN_UNITS: dict[Kind, dict[str, tuple[str, ...]]] = {
    Kind.LENGTH: {"mm": ("in", "thou", "µm"), "in": ("mm", "thou"), "thou": ("in", "mm"), "µm": ("mm",)},
    Kind.ROUGHNESS: {"µm": ("µin",), "µin": ("µm",)},
    Kind.TIME: {"s": ("min",), "min": ("s",)},
}
"""Units that are taken for each other."""
UNIT_WORDS = {"in": "inch", "µm": "um", "µin": "uin"}
"""In a code. In a sentence only the inch needs its word."""
DECIMAL_SHIFTS = (1, -1, 2, -2, 3, -3)
"""Places by which a decimal mark is set wrong."""

COSTS = {"unit": 0.0, "decimal-slip": 0.3, "digits-swapped": 1.5, "digit-doubled": 3.0, "digit-missing": 3.0}
COSTS |= {"digit-wrong": 3.5}
"""How much rarer each is than a wrong unit, as a negative logarithm: our own working values."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One value that was perhaps meant: SI value, its text, code and words of the cause, and its cost.

    A whole form can have a slip that is `shared`: a wrong unit, or decimal marks left out.
    """

    value: float
    text: str
    code: str
    cause: str
    cost: float
    shared: bool = False


@dataclass(frozen=True, slots=True)
class Typed:
    """A plain decimal number as typed, with its unit."""

    digits: str
    unit: Unit

    @property
    def step(self) -> float:
        """Value of its last digit. [SI]"""
        _, mark, tail = self.digits.partition(".")
        return self.unit.factor * 10.0 ** -(len(tail) if mark else 0)


def typed_number(reading: Reading) -> Typed | None:
    """
    The number and unit of a reading's text.

    Parameters
    ----------
    reading : Reading
        With its text.

    Returns
    -------
    Typed or None
        None for what is no plain decimal number: a fraction, yes or no, minutes and seconds.
    """
    quantity = QUANTITY_OF.get(reading.kind)
    match = _NUMBER.fullmatch(reading.text)
    if quantity is None or match is None or len(match["digits"]) > _MOST_DIGITS:
        return None
    unit = find_unit(unit_text(match["unit"] or ""), quantity)
    if unit is None:
        return None
    return Typed(match["digits"].replace(",", "."), unit)


def slips(reading: Reading) -> Iterator[Slip]:
    """
    Every value that may have been meant by a reading, if one slip was made.

    Parameters
    ----------
    reading : Reading
        With its text.

    Yields
    ------
    Slip
        Units, decimal marks, then digits.
    """
    typed = typed_number(reading)
    if typed is None:
        return
    yield from _units(typed, QUANTITY_OF[reading.kind])
    yield from _decimals(typed)
    yield from _digits(typed)


def _units(typed: Typed, quantity: Kind) -> Iterator[Slip]:
    own = typed.unit.symbol
    for symbol in MISTAKEN_UNITS[quantity].get(own, ()):
        unit = find_unit(symbol, quantity)
        if unit is not None:
            code = f"{UNIT_WORDS.get(symbol, symbol)}-as-{UNIT_WORDS.get(own, own)}"
            yield Slip(
                tidy(float(typed.digits) * unit.factor),
                f"{typed.digits} {symbol}",
                code,
                f"read in {_word(symbol)} and written as {_word(own)}",
                COSTS["unit"],
                shared=True,
            )


def _word(symbol: str) -> str:
    return "inch" if symbol == "in" else symbol


def _decimals(typed: Typed) -> Iterator[Slip]:
    for places in DECIMAL_SHIFTS:
        digits = _shifted(typed.digits, places)
        yield Slip(
            tidy(float(digits) * typed.unit.factor),
            f"{digits} {typed.unit.symbol}",
            "decimal-slip",
            "the decimal mark is set wrong",
            COSTS["decimal-slip"],
            shared=True,
        )


def _shifted(digits: str, places: int) -> str:
    """Return a decimal number with its mark moved to the right by so many places."""
    head, _, tail = digits.partition(".")
    if places > 0:
        tail = tail.ljust(places, "0")
        head, tail = head + tail[:places], tail[places:]
    else:
        head = head.rjust(1 - places, "0")
        head, tail = head[:places], head[places:] + tail
    head = head.lstrip("0") or "0"
    return f"{head}.{tail}" if tail else head


def _digits(typed: Typed) -> Iterator[Slip]:
    written = typed.digits
    places = [k for k, character in enumerate(written) if character != "."]

    def slip(digits: str, code: str, cause: str) -> Slip:
        digits = digits.removesuffix(".")
        value = tidy(float(digits) * typed.unit.factor)
        return Slip(value, f"{digits} {typed.unit.symbol}", code, cause, COSTS[code])

    for a, b in pairwise(places):
        if written[a] != written[b]:
            swapped = list(written)
            swapped[a], swapped[b] = swapped[b], swapped[a]
            yield slip("".join(swapped), "digits-swapped", "two digits beside each other are swapped")
    for k in places:
        shorter = written[:k] + written[k + 1 :]
        if len(places) > 1 and shorter not in {".", ""}:
            yield slip(shorter, "digit-doubled", "one digit too many was typed")
        for digit in "0123456789":
            if digit != written[k]:
                yield slip(written[:k] + digit + written[k + 1 :], "digit-wrong", "one digit is wrong")
    for k in range(len(written) + 1):
        for digit in "0123456789":
            yield slip(written[:k] + digit + written[k:], "digit-missing", "a digit was left out")
