"""General tolerances by ISO 2768-1: what a size without limits of its own must hold."""

from __future__ import annotations

from bisect import bisect_left
from math import isnan, pi

from trialcut.errors import DataError
from trialcut.planning.tables import read_table

EDITION = "1989"

_TABLE = "iso-2768-1"
_CLASSES = "fmcv"


def linear_deviation(*, nominal: float, letter: str, edition: str = EDITION) -> float:
    """Plus-and-minus deviation of a linear size.

    Parameters
    ----------
    nominal : float
        Nominal size, from 0.5 mm. [m]
    letter : str
        Class ``"f"``, ``"m"``, ``"c"`` or ``"v"``.
    edition : str
        Year of the edition; only ``"1989"`` is carried.

    Returns
    -------
    float
        Half of the tolerance. [m]

    Raises
    ------
    DataError
        If class, size or edition is not in the table.

    References
    ----------
    ISO 2768-1:1989; read in public copies that agree.

    Examples
    --------
    >>> linear_deviation(nominal=0.035, letter="m")
    0.0003
    """
    return round(_looked_up("linear", nominal, letter, edition) * 1e-3, 9)


def radius_deviation(*, nominal: float, letter: str, edition: str = EDITION) -> float:
    """Plus-and-minus deviation of an outside radius or chamfer height.

    Parameters
    ----------
    nominal : float
        Nominal radius, from 0.5 mm. [m]
    letter : str
        Class ``"f"``, ``"m"``, ``"c"`` or ``"v"``.
    edition : str
        Year of the edition; only ``"1989"`` is carried.

    Returns
    -------
    float
        Half of the tolerance. [m]

    Raises
    ------
    DataError
        If class, size or edition is not in the table.

    References
    ----------
    ISO 2768-1:1989; read in public copies that agree.
    """
    return round(_looked_up("radius", nominal, letter, edition) * 1e-3, 9)


def angle_deviation(*, shorter_leg: float, letter: str, edition: str = EDITION) -> float:
    """Plus-and-minus deviation of an angle.

    Parameters
    ----------
    shorter_leg : float
        Length of the shorter leg of the angle. [m]
    letter : str
        Class ``"f"``, ``"m"``, ``"c"`` or ``"v"``.
    edition : str
        Year of the edition; only ``"1989"`` is carried.

    Returns
    -------
    float
        Half of the tolerance. [rad]

    Raises
    ------
    DataError
        If class, length or edition is not in the table.

    References
    ----------
    ISO 2768-1:1989; read in public copies that agree.
    """
    return _looked_up("angle", shorter_leg, letter, edition) * pi / (180.0 * 60.0)


def _looked_up(what: str, size: float, letter: str, edition: str) -> float:
    table = read_table(_TABLE)
    if not table["edition"].endswith(edition):
        raise DataError(f"ISO 2768-1:{edition} is not carried: use the edition of {EDITION}", edition=edition)
    if letter not in _CLASSES or len(letter) != 1:
        raise DataError(f"'{letter}' is no class of ISO 2768-1: use f, m, c or v", letter=letter)
    rows = table[what]
    size_mm = round(size * 1e3, 9)
    band = bisect_left(rows["up_to_mm"], size_mm)
    inside = size_mm > 0.0 and size_mm >= rows["least_mm"] and band < len(rows["up_to_mm"])
    value = float(rows[letter][band]) if inside else float("nan")
    if isnan(value):
        raise DataError(
            f"ISO 2768-1 class {letter} has no {what} tolerance at {size_mm:g} mm: "
            "write limits beside the size",
            letter=letter,
            nominal=size,
        )
    return value
