"""What passes between the jet's path, the as-cut surface, the solid and the gauge.

Depth is measured from the top face as a fraction of the thickness. The wall of an edge deviates by ``e`` from
the drawn line along the normal that points into the scrap, positive where material is left standing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class JetPath:
    """Where the jet stands at N samples of the cut, in order of travel.

    Parameters
    ----------
    position : ndarray, shape (N, 2)
        Jet centre at the top face. [m]
    direction : ndarray, shape (N, 2)
        Unit vector of travel. [-]
    lean : ndarray, shape (N, 2)
        Sideways and forward shift of the jet centre per depth: tilt and lead as one vector. [-]
    speed : ndarray, shape (N,)
        By the time law. [m/s]
    time : ndarray, shape (N,)
        Since the start of the piece, piercing and traverses included. [s]
    edge : ndarray of int, shape (N,)
        Place of the edge in the part's order; -1 on a lead or a loop.
    run : ndarray of int, shape (N,)
        Place of the run in the cut path. The jet does not cut between samples of different runs.
    """

    position: FloatArray
    direction: FloatArray
    lean: FloatArray
    speed: FloatArray
    time: FloatArray
    edge: IntArray
    run: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviationField:
    """How the as-cut wall deviates from the drawn wall.

    Parameters
    ----------
    edges : tuple of str
        Ids in the part's order.
    edge : ndarray of int, shape (M,)
        Place in `edges` of each wall sample. Samples of an edge are consecutive, in its direction.
    fraction : ndarray, shape (M,)
        Of the edge's length. [-]
    point, normal : ndarray, shape (M, 2)
        On the drawn wall [m], and the unit normal into the scrap [-]; at a corner the bisector of both edges'
        normals, towards which the normals beside it fan.
    depth : ndarray, shape (L,)
        Layers, as fractions of the thickness. [-]
    deviation : ndarray, shape (M, L) or (M, L, D)
        Along `normal`; the last axis runs over parameter draws. ``inf`` where the jet leaves no cut, so where
        it does not cut through, ``-inf`` where it leaves no material. [m]
    thickness : float
        [m]
    """

    edges: tuple[str, ...]
    edge: IntArray
    fraction: FloatArray
    point: FloatArray
    normal: FloatArray
    depth: FloatArray
    deviation: FloatArray
    thickness: float

    def wall(self, layer: int) -> FloatArray:
        """Return the as-cut wall in one layer: shape (M, 2), or (M, 2, D) for draws. [m]"""
        height = self.deviation[:, layer]
        if height.ndim == 1:
            return self.point + self.normal * height[:, None]
        return self.point[:, :, None] + self.normal[:, :, None] * height[:, None, :]
