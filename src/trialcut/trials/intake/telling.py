"""Findings in words, in the unit that the reading was typed in."""

from __future__ import annotations

from trialcut.trials.intake.expect import Expectation
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.form import QUANTITY_OF, depth_word
from trialcut.trials.intake.slips import typed_number
from trialcut.trials.types import Reading
from trialcut.units import format_spread, format_value
from trialcut.units.text import one_line


def place_text(reading: Reading) -> str:
    """
    Where a reading was taken, in words.

    Parameters
    ----------
    reading : Reading
        Any.

    Returns
    -------
    str
        ``"T7-1 X size, top"``.
    """
    words = " ".join(word for word in (reading.coupon, reading.cut, reading.kind.value) if word)
    return f"{words}, {depth_word(reading.depth)}" if reading.depth is not None else words


def value_text(reading: Reading) -> str:
    """What was typed, on one line."""
    return one_line(reading.text) or f"{reading.value:g}"


def in_typed_unit(value: float, reading: Reading) -> str:
    """
    A value as the reading would have been written.

    Parameters
    ----------
    value : float
        [SI]
    reading : Reading
        Whose unit it takes.

    Returns
    -------
    str
        With its unit.
    """
    quantity = QUANTITY_OF.get(reading.kind)
    if quantity is None:
        return "yes" if value else "no"
    typed = typed_number(reading)
    return format_value(value, quantity, "metric", unit=typed.unit.symbol if typed else None)


def expected_text(one: Expectation, reading: Reading) -> str:
    """What was expected, with its spread, in the unit of the reading."""
    quantity = QUANTITY_OF[reading.kind]
    typed = typed_number(reading)
    unit = typed.unit.symbol if typed else None
    return format_spread(one.centre, one.spread, quantity, "metric", unit=unit)


def told(
    place: int,
    reading: Reading,
    *,
    code: str,
    problem: str,
    cause: str,
    instead: float | None = None,
    text: str = "",
    others: tuple[int, ...] = (),
    rivals: tuple[str, ...] = (),
    remedy: str = "",
) -> ReadingFinding:
    """
    A finding on one reading.

    Parameters
    ----------
    place : int
        Of the reading, from 0.
    reading : Reading
        That is in doubt.
    code, problem, cause : str
        As `ReadingFinding` has them; `problem` goes on from what was typed.
    instead : float, optional
        Value if the cause is right. [SI]
    text : str
        The same as it would have been typed; in the unit of the reading unless given.
    others, rivals : tuple
        As `ReadingFinding` has them.
    remedy : str
        Usual advice unless given.

    Returns
    -------
    ReadingFinding
        Complete.
    """
    meant = text or (in_typed_unit(instead, reading) if instead is not None else "")
    advice = remedy or (
        f"look again; if so, correct it to {meant}" if meant else "look again, and read it once more"
    )
    return ReadingFinding(
        code=code,
        message=f"{place_text(reading)}: {value_text(reading)} {problem}",
        cause=cause,
        remedy=advice,
        reading=place,
        others=others,
        instead=instead,
        instead_text=meant,
        rivals=rivals,
    )
