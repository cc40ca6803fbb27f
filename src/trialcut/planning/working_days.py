"""Machine time into working days, Monday to Friday. Holidays are not known here."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil

_SATURDAY = 5
_ROUNDING = 1e-9
"""Share of a day that is only rounding. [-]"""


def days_for(time: float, day: float) -> int:
    """Return the working days, at least one, that a time takes; `day` is what a day has of it. [s]"""
    return max(1, ceil(time / day - _ROUNDING))


def day_done(start: date, days: int) -> date:
    """
    Last of a number of working days.

    Parameters
    ----------
    start : date
        The first one, or the weekend before it.
    days : int
        At least one.

    Returns
    -------
    date
        The day itself for one.
    """
    first = start
    while first.weekday() >= _SATURDAY:
        first += timedelta(days=1)
    weeks, rest = divmod(first.weekday() + days - 1, _SATURDAY)
    return first - timedelta(days=first.weekday()) + timedelta(weeks=weeks, days=rest)
