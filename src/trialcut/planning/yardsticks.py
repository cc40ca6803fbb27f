"""ISO 9013 ranges as a yardstick for jet-cut edges: only by agreement, and the result says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trialcut.errors import RangeError
from trialcut.planning.tables import read_table

_TABLE = "iso-9013"


@dataclass(frozen=True, slots=True, kw_only=True)
class Yardstick:
    """Where a value falls among the ranges of a standard.

    Parameters
    ----------
    number : int or None
        Finest range that still contains the value, 1 the finest; None beyond the coarsest.
    limit : float or None
        Limit of that range. [m]
    words : str
        What must be said beside it.
    """

    number: int | None
    limit: float | None
    words: str


def perpendicularity_limits(*, thickness: float) -> tuple[float, ...]:
    """Limits of perpendicularity, ranges 1 to 5.

    Parameters
    ----------
    thickness : float
        Plate thickness. [m]

    Returns
    -------
    tuple of float
        Finest first. [m]

    Raises
    ------
    RangeError
        If the thickness is not positive.

    References
    ----------
    ISO 9013:2017, by way of public summaries; range 5 from memory.
    """
    return _limits("perpendicularity", thickness, 1e-3)


def profile_height_limits(*, thickness: float) -> tuple[float, ...]:
    """Limits of the mean profile height Rz5, ranges 1 to 4.

    Parameters
    ----------
    thickness : float
        Plate thickness. [m]

    Returns
    -------
    tuple of float
        Finest first. [m]

    Raises
    ------
    RangeError
        If the thickness is not positive.

    References
    ----------
    ISO 9013:2017, by way of public summaries.
    """
    return _limits("profile_height", thickness, 1e-6)


def perpendicularity_range(*, thickness: float, deviation: float) -> Yardstick:
    """Range that a deviation from square falls into.

    Parameters
    ----------
    thickness : float
        Plate thickness. [m]
    deviation : float
        Distance between the two parallel lines that hold the cut face. [m]

    Returns
    -------
    Yardstick
        Finest range that contains it, with the words that it applies by agreement.

    Raises
    ------
    RangeError
        If the thickness is not positive.
    """
    return _range(perpendicularity_limits(thickness=thickness), deviation)


def profile_height_range(*, thickness: float, height: float) -> Yardstick:
    """Range that a mean profile height falls into.

    Parameters
    ----------
    thickness : float
        Plate thickness. [m]
    height : float
        Mean profile height Rz5. [m]

    Returns
    -------
    Yardstick
        Finest range that contains it, with the words that it applies by agreement.

    Raises
    ------
    RangeError
        If the thickness is not positive.
    """
    return _range(profile_height_limits(thickness=thickness), height)


def _limits(what: str, thickness: float, unit: float) -> tuple[float, ...]:
    if not thickness > 0.0:
        raise RangeError(f"thickness is {thickness:g} m: it must be greater than zero", thickness=thickness)
    rows: dict[str, Any] = read_table(_TABLE)[what]
    pairs = zip(rows["constant"], rows["slope"], strict=True)
    return tuple((constant + slope * thickness * 1e3) * unit for constant, slope in pairs)


def _range(limits: tuple[float, ...], value: float) -> Yardstick:
    words = read_table(_TABLE)["words"]
    for number, limit in enumerate(limits, start=1):
        if value <= limit:
            return Yardstick(number=number, limit=limit, words=words)
    return Yardstick(number=None, limit=None, words=words)
