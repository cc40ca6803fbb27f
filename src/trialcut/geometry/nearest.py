"""Nearest points among many."""

from __future__ import annotations

from math import inf

import numpy as np

from trialcut.geometry.table import Floats, Ints


def neighbours(points: Floats, *, to: Floats, count: int, reach: float = inf) -> tuple[Floats, Ints]:
    """Find the nearest of other points.

    Parameters
    ----------
    points : array, shape (n, 2)
        [m]
    to : array, shape (m, 2)
        The others; may be the same points, which then find themselves first. [m]
    count : int
        How many to find.
    reach : float
        How far to look. [m]

    Returns
    -------
    array, shape (n, count)
        Distances, ascending, infinite where there is none. [m]
    array, shape (n, count)
        Rows of `to`.
    """
    from scipy.spatial import KDTree  # noqa: PLC0415

    found = KDTree(to).query(points, k=list(range(1, count + 1)), distance_upper_bound=reach)
    distances, rows = found
    return np.asarray(distances, dtype=np.float64), np.asarray(rows, dtype=np.int64)


def close_pairs(points: Floats, *, reach: float) -> Ints:
    """Return pairs of rows, shape (k, 2), that lie within reach of each other. [m]"""
    from scipy.spatial import KDTree  # noqa: PLC0415

    return np.asarray(KDTree(points).query_pairs(reach, output_type="ndarray"), dtype=np.int64)
