"""Compiled thinning of a row of discs.

This module imports numba, so it is itself imported on first use and never at start-up.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut._kernels import Floats, released

WINDOW = 64
"""Most discs that one step passes over."""


@released
def thinned(discs: Floats, tolerance: float) -> NDArray[np.bool_]:
    """Which discs to keep so that all others lie within a tolerance of the sweep between the kept ones."""
    count = discs.shape[0]
    keep = np.zeros(count, np.bool_)
    keep[0] = keep[count - 1] = True
    first = 0
    while first < count - 1:
        last = first + 1
        while last + 1 < count and last + 1 - first <= WINDOW and between(discs, first, last + 1, tolerance):
            last += 1
        keep[last] = True
        first = last
    return keep


@released
def between(discs: Floats, first: int, last: int, tolerance: float) -> bool:
    """Whether the discs between two lie in order on the sweep from one to the other."""
    dx, dy = discs[last, 0] - discs[first, 0], discs[last, 1] - discs[first, 1]
    dr = discs[last, 2] - discs[first, 2]
    square = dx * dx + dy * dy
    if square == 0.0:
        return False
    before = 0.0
    for i in range(first + 1, last):
        px, py = discs[i, 0] - discs[first, 0], discs[i, 1] - discs[first, 1]
        share = (px * dx + py * dy) / square
        if share < before - 1e-12 or share > 1.0 + 1e-12:
            return False
        before = share
        away = abs(px * dy - py * dx) / sqrt(square)
        if away + abs(discs[i, 2] - discs[first, 2] - share * dr) > tolerance:
            return False
    return True
