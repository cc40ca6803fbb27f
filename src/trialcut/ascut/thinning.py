"""Leaving out samples that a straight line between their neighbours stands in for, within a tolerance."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.ascut.types import FloatArray

Mask = NDArray[np.bool_]


def kept_columns(position: FloatArray, tolerance: float) -> Mask:
    """
    Columns of a wall that must stay so that the wall moves by no more than a tolerance.

    Parameters
    ----------
    position : ndarray, shape (N, L, 2)
        The wall at N places along it and L layers. [m]
    tolerance : float
        Largest distance from a column that is left out to the chord that replaces it, in any layer. [m]

    Returns
    -------
    ndarray of bool, shape (N,)
        True for the first, the last, and those between that must stay.
    """

    def excess(first: int, last: int) -> FloatArray:
        start, chord = position[first], position[last] - position[first]
        inner = position[first + 1 : last] - start
        length = np.maximum((chord**2).sum(axis=1), 1e-300)
        share = np.clip((inner * chord).sum(axis=2) / length, 0.0, 1.0)
        off = inner - share[:, :, None] * chord
        return np.asarray(np.sqrt((off**2).sum(axis=2)).max(axis=1) - tolerance)

    return _kept(len(position), excess)


def kept_samples(parameter: FloatArray, values: FloatArray, tolerances: ArrayLike) -> Mask:
    """
    Samples that must stay so that linear interpolation gives back every value within its tolerance.

    Parameters
    ----------
    parameter : ndarray, shape (N,)
        What is interpolated over, not falling; time, say.
    values : ndarray, shape (N, K)
        K quantities.
    tolerances : array, shape (K,)
        Largest error of each, in its own unit.

    Returns
    -------
    ndarray of bool, shape (N,)
        True for the first, the last, and those between that must stay.
    """
    scaled = values / np.asarray(tolerances, dtype=float)

    def excess(first: int, last: int) -> FloatArray:
        span = parameter[last] - parameter[first]
        inner = parameter[first + 1 : last] - parameter[first]
        share = inner / span if span > 0.0 else np.zeros_like(inner)
        line = scaled[first] + share[:, None] * (scaled[last] - scaled[first])
        return np.asarray(np.abs(scaled[first + 1 : last] - line).max(axis=1) - 1.0)

    return _kept(len(parameter), excess)


def _kept(count: int, excess: Callable[[int, int], FloatArray]) -> Mask:
    """Split where the line is worst until it is nowhere too bad (Ramer 1972, Douglas and Peucker 1973)."""
    kept = np.zeros(count, dtype=bool)
    kept[[0, count - 1]] = True
    waiting = [(0, count - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        off = excess(first, last)
        worst = int(off.argmax())
        if off[worst] > 0.0:
            middle = first + 1 + worst
            kept[middle] = True
            waiting += [(first, middle), (middle, last)]
    return kept
