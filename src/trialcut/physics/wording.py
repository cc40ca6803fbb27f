"""How messages of this room print a value: inch first, metric beside it."""

from __future__ import annotations

from trialcut.units import Kind, format_value


def both(value: float, kind: Kind) -> str:
    """
    Print a value in both unit systems.

    Parameters
    ----------
    value : float
        In SI.
    kind : Kind
        What it is.

    Returns
    -------
    str
        As ``"0.014 in (0.356 mm)"``.

    Examples
    --------
    >>> both(0.3556e-3, Kind.LENGTH)
    '0.014 in (0.356 mm)'
    """
    return f"{format_value(value, kind, 'inch')} ({format_value(value, kind, 'metric')})"
