"""The as-cut wall of each contour as one closed ring of columns, the same columns in every layer.

A column stands at one place of the drawn wall and has a position in every layer. Where two edges meet, their
last and first samples become one column; where their rays differ, it stands where the two walls meet.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.thinning import kept_columns
from trialcut.ascut.types import DeviationField, FloatArray, IntArray
from trialcut.errors import RangeError
from trialcut.geometry.contours import Contour, Part

SAME_RAY = 1.0e-6
"""Rays that differ by less are one ray. [rad]"""

MITRE = 3.0
"""How far a corner may stand off the middle between the two walls' ends, in units of their gap. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """The wall of one contour: N columns in L layers.

    Parameters
    ----------
    contour : str
        Id of the contour.
    edge : ndarray of int, shape (N,)
        Place, in the part's order, of the edge that a column begins or lies on.
    drawn : ndarray, shape (N, 2)
        Where the column stands on the drawn wall. [m]
    position : ndarray, shape (N, L, 2)
        On the as-cut wall. [m]
    deviation : ndarray, shape (N, L)
        Of the as-cut wall, positive where material is left standing. [m]
    """

    contour: str
    edge: IntArray
    drawn: FloatArray
    position: FloatArray
    deviation: FloatArray

    def at(self, columns: NDArray[np.bool_] | NDArray[np.intp]) -> Ring:
        """Return the ring of some of the columns."""
        return replace(
            self,
            edge=self.edge[columns],
            drawn=self.drawn[columns],
            position=self.position[columns],
            deviation=self.deviation[columns],
        )

    def thinned(self, tolerance: float) -> Ring:
        """Return the ring without columns whose absence moves the wall by less than a tolerance.

        The columns that edges begin with stay.
        """
        starts = np.flatnonzero(self.edge != np.roll(self.edge, 1)) if np.ptp(self.edge) else np.array([0])
        place = np.append(np.arange(len(self.edge)), 0)
        kept = np.zeros(len(self.edge), dtype=bool)
        for first, last in zip(starts, (*starts[1:], len(self.edge)), strict=True):
            span = place[first : last + 1]
            kept[span] |= kept_columns(self.position[span], tolerance)
        return self.at(kept)


def rings_of(part: Part, field: DeviationField, *, draw: int | None = None) -> tuple[Ring, ...]:
    """
    The rings of a part, outline first.

    Parameters
    ----------
    part : Part
        Whose walls the field is of.
    field : DeviationField
        Both ends of every edge are among its samples.
    draw : int, optional
        Which draw, of a field of draws.

    Returns
    -------
    tuple of Ring
        In the order of the part's contours.

    Raises
    ------
    RangeError
        If the field is not of this part, or has draws and none is named.
    """
    deviation = field.deviation
    if deviation.ndim == 3:
        if draw is None:
            raise RangeError("a deviation field of many draws has no single solid: name the draw")
        deviation = deviation[:, :, draw]
    order = {name: place for place, name in enumerate(field.edges)}
    missing = [edge.id for edge in part.edges if edge.id not in order]
    if missing:
        raise RangeError(
            f"the deviation field does not know edge {missing[0]}: reckon it for this part", edge=missing[0]
        )
    return tuple(
        _ring(contour, field, deviation, [order[edge.id] for edge in contour.edges])
        for contour in part.contours
    )


def _ring(contour: Contour, field: DeviationField, deviation: FloatArray, edges: list[int]) -> Ring:
    rows = [np.flatnonzero(field.edge == edge) for edge in edges]
    for edge, own in zip(edges, rows, strict=True):
        if own.size < 2:
            raise RangeError(
                f"edge {field.edges[edge]} has {own.size} wall samples and needs both ends: sample it closer",
                edge=field.edges[edge],
            )
    wall = [field.point[own, None, :] + field.normal[own, None, :] * deviation[own, :, None] for own in rows]
    after = [*range(1, len(rows)), 0]
    joint = [
        _joint(wall[k], wall[n], same_ray=bool(np.abs(_turn(field, rows[k], rows[n])) < SAME_RAY))
        for k, n in enumerate(after)
    ]
    height = [(deviation[rows[k][-1]] + deviation[rows[n][0]]) / 2 for k, n in enumerate(after)]
    own_rows = [own[:-1] for own in rows]  # the last of each edge begins the next
    return Ring(
        contour=contour.id,
        edge=np.concatenate([field.edge[own] for own in own_rows]),
        drawn=np.concatenate([field.point[own] for own in own_rows]),
        position=np.concatenate([np.concatenate((joint[k - 1][None], w[1:-1])) for k, w in enumerate(wall)]),
        deviation=np.concatenate(
            [np.concatenate((height[k - 1][None], deviation[own[1:]])) for k, own in enumerate(own_rows)]
        ),
    )


def _turn(field: DeviationField, own: IntArray, after: IntArray) -> float:
    """Sine of the angle from the last ray of an edge to the first of the next."""
    (x0, y0), (x1, y1) = field.normal[own[-1]], field.normal[after[0]]
    return float(x0 * y1 - y0 * x1)


def _joint(before: FloatArray, after: FloatArray, *, same_ray: bool) -> FloatArray:
    """Where two walls of shape (N, L, 2) meet, layer by layer: shape (L, 2)."""
    end, start = before[-1], after[0]
    halfway = (end + start) / 2
    if same_ray:
        return halfway
    ahead, onward = end - before[-2], after[1] - start
    across = ahead[:, 0] * onward[:, 1] - ahead[:, 1] * onward[:, 0]
    gap = start - end
    flat = np.abs(across) <= 1e-6 * np.sqrt((ahead**2).sum(axis=1) * (onward**2).sum(axis=1))
    share = (gap[:, 0] * onward[:, 1] - gap[:, 1] * onward[:, 0]) / np.where(flat, 1.0, across)
    meet = end + share[:, None] * ahead
    far = np.hypot(*(meet - halfway).T) > MITRE * np.hypot(*gap.T)
    return np.where((flat | far)[:, None], halfway, meet)
