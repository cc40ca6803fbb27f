"""One edge of a deviation field as a gauge meets it: samples, heights at a depth, places along it.

Words of this module:

height
    deviation of the wall along the ray of its sample, positive where material stands proud.
face
    the wall of one edge at one depth; at depth None the proudest height through the whole thickness, which is
    what a gauge meets that spans the plate.
keep-off
    length at each end of an edge that a gauge stays away from.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError, UnknownNameError

FloatArray = NDArray[np.float64]

STRAIGHT_WITHIN = 2.0e-6
"""Largest distance of a straight edge's drawn points from its chord. [m]"""

SQUARE_RAY = 0.999
"""Cosine from which a ray on a bent edge counts as square to it. [-]"""

KEPT = 1.0 / 3.0
"""Middle share of an edge that a keep-off never takes away. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """The wall of one edge as a gauge meets it.

    Parameters
    ----------
    edge : str
        Id.
    fraction : ndarray, shape (m,)
        Of the edge's length. [-]
    point, normal : ndarray, shape (m, 2)
        On the drawn wall [m], and the unit ray into the scrap along which it deviates [-].
    height : ndarray, shape (m,) or (m, D)
        Along the ray. [m]
    """

    edge: str
    fraction: FloatArray
    point: FloatArray
    normal: FloatArray
    height: FloatArray

    @property
    def draws(self) -> bool:
        """Whether heights are given for several draws."""
        return self.height.ndim == 2

    @property
    def wall(self) -> FloatArray:
        """As-cut points, shape (m, 2) or (D, m, 2). [m]"""
        return np.asarray(self.point + self.height.T[..., None] * self.normal)

    @property
    def spacing(self) -> FloatArray:
        """Length that each sample stands for, shape (m,). [m]"""
        steps = np.hypot(*np.diff(self.point, axis=0).T)
        share = np.zeros(len(self.point))
        share[:-1] += 0.5 * steps
        share[1:] += 0.5 * steps
        return share if share.any() else np.ones(len(self.point))

    @property
    def lift(self) -> FloatArray:
        """Cosine of each ray to the drawn wall's own normal, shape (m,); rays fan out near corners. [-]"""
        if self.straight:
            return np.asarray(np.clip(self.normal @ self.straight_normal(), 0.0, 1.0))
        along = np.gradient(self.point, axis=0)
        across = np.stack((along[:, 1], -along[:, 0]), axis=1) / np.hypot(*along.T)[:, None]
        cosine = np.abs((across * self.normal).sum(axis=1))
        return np.where(cosine > SQUARE_RAY, 1.0, cosine)

    @property
    def straight(self) -> bool:
        """Whether the drawn points lie on their chord."""
        return self._off_chord() <= STRAIGHT_WITHIN

    def straight_normal(self) -> FloatArray:
        """Return the one normal of a straight edge, shape (2,); `RangeError` if the edge bends. [-]

        It is square to the chord of the drawn points: the rays of the samples may fan out near corners.
        """
        middle = self.normal[len(self.normal) // 2]
        if not self.straight:
            raise self._bends()
        chord = self.point[-1] - self.point[0]
        length = float(np.hypot(*chord))
        across = np.array((chord[1], -chord[0])) / length if length > 0.0 else middle
        return np.asarray(across if float(across @ middle) > 0.0 else -across)

    def _off_chord(self) -> float:
        """Largest distance of a drawn point from the chord, or from its one end where that is closed. [m]"""
        off = self.point - self.point[0]
        chord = off[-1]
        length = float(np.hypot(*chord))
        if length == 0.0:
            return float(np.hypot(off[:, 0], off[:, 1]).max())
        return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max()) / length

    def _bends(self) -> RangeError:
        return RangeError(
            f"edge {self.edge} bends, and this gauge needs a straight one: use a pin or a bore gauge",
            code="gauge",
            edge=self.edge,
        )

    def height_at(self, fraction: float) -> FloatArray:
        """Return the height between samples, shape () or (D,). [m]"""
        return np.asarray(interpolated(self.fraction, self.height, np.array([fraction]))[0])


def face_of(field: DeviationField, edge: str, *, depth: float | None = None, keep_off: float = 0.0) -> Face:
    """Wall of one edge at one depth, or at its proudest.

    Parameters
    ----------
    field : DeviationField
        The as-cut part.
    edge : str
        Id.
    depth : float, optional
        Fraction of the thickness; between layers the wall runs straight. None takes at each sample the
        proudest height of all layers. [-]
    keep_off : float
        Length left out at each end, at most a third of the edge. [m]

    Returns
    -------
    Face
        At least one sample.

    Raises
    ------
    UnknownNameError
        If the field has no such edge.
    RangeError
        If the depth lies outside the layers.
    """
    rows = rows_of(field, edge, keep_off=keep_off)
    profile = field.deviation[rows]
    height = profile.max(axis=1) if depth is None else at_depth(field, profile, depth)
    return Face(
        edge=edge,
        fraction=field.fraction[rows],
        point=field.point[rows],
        normal=field.normal[rows],
        height=height,
    )


def rows_of(field: DeviationField, edge: str, *, keep_off: float = 0.0) -> NDArray[np.int64]:
    """Places of the samples of an edge in the field, in its direction, less what is kept off at its ends."""
    if edge not in field.edges:
        near = get_close_matches(edge, field.edges, n=1, cutoff=0.0)
        hint = f"; the nearest is {near[0]}" if near else ""
        raise UnknownNameError(f"the as-cut part has no edge {edge}{hint}", code="unknown-name", name=edge)
    rows = np.flatnonzero(field.edge == field.edges.index(edge))
    if not len(rows):
        raise RangeError(
            f"edge {edge} has no sample of the as-cut wall: sample the part more finely",
            code="gauge",
            edge=edge,
        )
    if keep_off <= 0.0:
        return rows
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(field.point[rows], axis=0).T))))
    off = min(keep_off, 0.5 * (1.0 - KEPT) * along[-1])
    kept = (along >= off) & (along <= along[-1] - off)
    if not kept.any():
        kept[len(rows) // 2] = True
    return np.asarray(rows[kept])


def at_depth(field: DeviationField, profile: FloatArray, depth: float) -> FloatArray:
    """Heights at a depth from those at the layers: shape (m, L) or (m, L, D) in, (m,) or (m, D) out. [m]"""
    layers = field.depth
    if not float(layers[0]) - 1e-12 <= depth <= float(layers[-1]) + 1e-12:
        raise RangeError(
            f"depth {depth:g} lies outside the layers, {layers[0]:g} to {layers[-1]:g} of the thickness: "
            "ask for a depth between them",
            code="gauge",
            depth=depth,
        )
    return np.moveaxis(interpolated(layers, np.moveaxis(profile, 1, 0), np.array([depth])), 0, 1)[:, 0]


def interpolated(places: FloatArray, values: FloatArray, wanted: FloatArray) -> FloatArray:
    """Values between rising places, held at the ends: shapes (m,), (m, ...) and (k,), gives (k, ...)."""
    if len(places) == 1:
        return np.repeat(values, len(wanted), axis=0)
    after = np.clip(np.searchsorted(places, wanted), 1, len(places) - 1)
    gap = places[after] - places[after - 1]
    share = np.clip((wanted - places[after - 1]) / np.where(gap > 0.0, gap, 1.0), 0.0, 1.0)
    share = share.reshape(-1, *(1,) * (values.ndim - 1))
    return (1.0 - share) * values[after - 1] + share * values[after]
