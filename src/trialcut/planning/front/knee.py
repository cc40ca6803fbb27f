"""Where a falling curve bends most: farthest from the chord between its ends."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

PRONOUNCED = 0.15
"""Distance from the chord, both axes scaled to one, from which a knee is named: our own working value. [-]"""
LEAST_FALL = 0.02
"""Fall of the cost along the curve, over its end, below which there is nothing to trade. [-]"""


def knee_of(across: Sequence[float], up: Sequence[float]) -> tuple[int, float]:
    """
    Find the point of a falling curve that lies farthest below the chord between its ends.

    Parameters
    ----------
    across, up : sequence of float
        Tolerance and cost, above zero; both are taken by their logarithm and scaled to one.

    Returns
    -------
    tuple of int and float
        Its place, and its height: how far below the chord it lies, along the axis. [-]

    Notes
    -----
    Satopää, Albrecht, Irwin & Raghavan 2011, ICDCS workshops (from memory): the largest difference between
    a normalised curve and its chord. On axes scaled to one the vertical distance is the distance to the chord
    times the root of two, so that both name the same point.
    """
    x, y = _scaled(across), _scaled(up)
    below = 1.0 - x - y
    place = int(below.argmax())
    return place, float(below[place])


def _scaled(values: Sequence[float]) -> NDArray[np.float64]:
    logs = np.log(np.asarray(values, dtype=float))
    span = float(logs.max() - logs.min())
    return np.asarray((logs - logs.min()) / span if span > 0.0 else np.zeros_like(logs))
