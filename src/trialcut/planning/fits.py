"""Limits of size by ISO 286 tolerance class: ``H11``, ``g6``."""

from __future__ import annotations

import re
from bisect import bisect_left

from trialcut.errors import DataError
from trialcut.planning.tables import read_table

_TABLE = "iso-286-1"
_MICRON = 1e-6
_CLASS = re.compile(r"([A-Za-z]{1,2})([0-9]{1,2})", re.ASCII)


def fit_deviations(*, nominal: float, fit: str) -> tuple[float, float]:
    """Lower and upper deviation of a tolerance class at a nominal size.

    Parameters
    ----------
    nominal : float
        Nominal size, over 0 up to and including 500 mm. [m]
    fit : str
        Tolerance class: capital letter for a hole, small letter for a shaft, then the grade.

    Returns
    -------
    tuple of float
        Lower and upper deviation. [m]

    Raises
    ------
    DataError
        If the class or the size is not in the table; the message names what is.

    Notes
    -----
    The table, not the formula behind it, is the standard: ISO's rounding is its own. A size on the border of
    two bands belongs to the smaller band. ``js`` and ``JS`` are plus and minus half the grade, unrounded.

    References
    ----------
    ISO 286-1:2010; read in pressfit 0.1.0 and public code tables.

    Examples
    --------
    >>> fit_deviations(nominal=0.025, fit="H7")
    (0.0, 2.1e-05)
    """
    table = read_table(_TABLE)
    match = _CLASS.fullmatch(fit)
    if match is None:
        raise DataError(
            f"'{fit}' is no tolerance class: write a letter and a grade, as 'H11' or 'g6'", fit=fit
        )
    letter, grade = match[1], match[2]
    if grade not in table["grades"]:
        raise DataError(f"'{fit}': grade IT{grade} is not carried: use IT5 to IT14", fit=fit)
    upper_letters, lower_letters = table["shaft_upper"], table["shaft_lower"]
    shafts = {*upper_letters, *lower_letters, "js"}
    holes = {*(name.upper() for name in upper_letters), "JS"}
    if letter not in shafts | holes:
        raise DataError(
            f"'{fit}': deviation {letter} is not carried: "
            f"holes {', '.join(sorted(holes))} and shafts {', '.join(sorted(shafts))} are",
            fit=fit,
        )
    band = _band(table["up_to_mm"], nominal, fit)
    width = table["grades"][grade][band]
    if letter.lower() == "js":
        lower, upper = -0.5 * width, 0.5 * width
    elif letter in lower_letters:
        lower = 0 if letter == "k" and int(grade) > 7 else lower_letters[letter][band]
        upper = lower + width
    else:
        es = upper_letters[letter.lower()][band]
        lower, upper = (es - width, es) if letter.islower() else (0 - es, width - es)
    return round(lower * _MICRON, 10), round(upper * _MICRON, 10)


def _band(up_to_mm: list[float], nominal: float, fit: str) -> int:
    size_mm = round(nominal * 1e3, 9)
    if not 0.0 < size_mm <= up_to_mm[-1]:
        raise DataError(
            f"'{fit}' at {size_mm:g} mm: the table goes from over 0 up to {up_to_mm[-1]} mm: "
            "write the limits themselves",
            fit=fit,
            nominal=nominal,
        )
    return bisect_left(up_to_mm, size_mm)
