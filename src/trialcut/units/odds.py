"""Odds into text."""

from __future__ import annotations

from math import isnan


def format_odds(odds: float) -> str:
    """Odds for people, in whole percent, never rounded up to certainty or down to none.

    Parameters
    ----------
    odds : float
        Probability. [-]

    Returns
    -------
    str
        As ``"95 %"``, ``"over 99 %"``, ``"under 1 %"``.

    Examples
    --------
    >>> format_odds(0.9537)
    '95 %'
    >>> format_odds(0.9996)
    'over 99 %'
    """
    if isnan(odds):
        return "not known"
    if odds > 0.99:
        return "over 99 %"
    if odds < 0.01:
        return "under 1 %"
    return f"{100.0 * odds:.0f} %"
