"""What an instrument measures, and how well before anybody has studied it in use."""

from __future__ import annotations

from enum import StrEnum
from math import sqrt

from trialcut.errors import RangeError


class Measure(StrEnum):
    """What gauges are used on."""

    SIZE = "size"
    """From outside: a width, a diameter, over two faces."""
    OPENING = "opening"
    """From inside: a bore, a slot that jaws or anvils go into."""
    KERF = "kerf"
    """Width of the cut itself."""
    LIGHT_GAP = "light gap"
    """Out-of-squareness of a wall."""
    LAG = "lag"
    """Exit behind entry, on the wall."""
    RA = "Ra"
    """Mean roughness."""
    RQ = "Rq"
    """Root mean square roughness."""


def instrument_uncertainty(
    *,
    standard_uncertainty: float = 0.0,
    largest_error: float = 0.0,
    resolution: float = 0.0,
    repeatability: float = 0.0,
) -> float:
    """
    Standard uncertainty of one reading, from what is known of an instrument.

    Parameters
    ----------
    standard_uncertainty : float
        As a calibration states it. [m]
    largest_error : float
        Largest permissible error: the true one lies anywhere within plus and minus this. [m]
    resolution : float
        Step of the display or the scale, where nothing else covers it. [m]
    repeatability : float
        Standard deviation of repeated readings, from a study. [m]

    Returns
    -------
    float
        Root of the sum of squares. [m]

    Raises
    ------
    RangeError
        If one of them is negative.

    Notes
    -----
    An even spread over plus and minus a has standard deviation a over root three; a rounding to steps r lies
    evenly within plus and minus r/2, which gives r over root twelve.

    References
    ----------
    JCGM 100:2008, 4.3.7, 5.1.2 and F.2.2.1 (from memory).

    Examples
    --------
    >>> round(instrument_uncertainty(largest_error=30e-6), 8)
    1.732e-05
    """
    given = {
        "standard uncertainty": standard_uncertainty,
        "largest error": largest_error,
        "resolution": resolution,
        "repeatability": repeatability,
    }
    for name, value in given.items():
        if not value >= 0.0:
            raise RangeError(f"{name} is {value:g} m: it must be zero or more")
    return sqrt(standard_uncertainty**2 + largest_error**2 / 3.0 + resolution**2 / 12.0 + repeatability**2)
