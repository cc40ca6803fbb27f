"""A closed surface of triangles that carries a deviation at every vertex, and what proves it closed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.ascut.types import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Triangles about a solid.

    Parameters
    ----------
    vertices : ndarray, shape (V, 3)
        x and y of the drawing; z from zero at the bottom face to the thickness at the top face. [m]
    faces : ndarray of int, shape (F, 3)
        Places of the vertices, counter-clockwise as seen from outside.
    deviation : ndarray, shape (V,)
        Of the as-cut wall from the drawn wall, positive where material is left standing. [m]
    """

    vertices: FloatArray
    faces: IntArray
    deviation: FloatArray

    @property
    def volume(self) -> float:
        """Enclosed volume, by the divergence theorem; negative if the faces look inwards. [m^3]"""
        middle = (self.vertices.min(axis=0) + self.vertices.max(axis=0)) / 2
        first, second, third = self._corners(self.vertices - middle)
        return float(np.einsum("ij,ij->", first, np.cross(second, third)) / 6.0)

    @property
    def normals(self) -> FloatArray:
        """Unit vectors out of the solid, shape (F, 3). [-]"""
        first, second, third = self._corners(self.vertices)
        across = np.cross(second - first, third - first)
        return np.asarray(across / np.linalg.norm(across, axis=1)[:, None])

    @property
    def euler_characteristic(self) -> int:
        """Vertices less edges plus faces: two for a body, and two less for every opening through it."""
        used = np.unique(self.faces).size
        return int(used - len(np.unique(self._edges(directed=False))) + len(self.faces))

    @property
    def closed(self) -> bool:
        """Whether every edge is run through once each way: watertight, and all faces look outwards."""
        there = self._edges(directed=True)
        count = len(self.vertices)
        back = there % count * count + there // count
        single = len(np.unique(there)) == len(there)
        return single and bool(np.array_equal(np.sort(there), np.sort(back)))

    @property
    def smallest_height(self) -> float:
        """Smallest height of any triangle over its longest side; zero for one without area. [m]"""
        first, second, third = self._corners(self.vertices)
        sides = np.linalg.norm([second - first, third - second, first - third], axis=2)
        double_area = np.linalg.norm(np.cross(second - first, third - first), axis=1)
        return float((double_area / sides.max(axis=0)).min())

    def _corners(self, points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        return points[self.faces[:, 0]], points[self.faces[:, 1]], points[self.faces[:, 2]]

    def _edges(self, *, directed: bool) -> IntArray:
        """One number for each side of each face."""
        start = self.faces.ravel()
        end = self.faces[:, [1, 2, 0]].ravel()
        if not directed:
            start, end = np.minimum(start, end), np.maximum(start, end)
        return np.asarray(start * len(self.vertices) + end)
