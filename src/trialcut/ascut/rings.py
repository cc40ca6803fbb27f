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
    known : ndarray of bool, shape (N, L)
        False where the field knows no wall, because the jet does not cut through there or leaves nothing; the
        wall is then drawn from the nearest known places beside it.
    """

    contour: str
    edge: IntArray
    drawn: FloatArray
    position: FloatArray
    deviation: FloatArray
    known: NDArray[np.bool_]

    def at(self, columns: NDArray[np.bool_] | NDArray[np.intp]) -> Ring:
        """Return the ring of some of the columns."""
        return replace(
            self,
            edge=self.edge[columns],
            drawn=self.drawn[columns],
            position=self.position[columns],
            deviation=self.deviation[columns],
            known=self.known[columns],
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
    starts = np.cumsum([0, *(own.size for own in rows)])
    every = np.concatenate(rows)
    known = np.isfinite(deviation[every])
    height = _filled(contour, field, deviation[every], known)
    walls = field.point[every, None, :] + field.normal[every, None, :] * height[:, :, None]
    first, last = starts[:-1], starts[1:] - 1
    position = walls.copy()
    for k, start in enumerate(first):
        end = last[k - 1]
        same_ray = abs(_turn(field.normal[every[end]], field.normal[every[start]])) < SAME_RAY
        before, after = walls[[end - 1, end]], walls[[start, start + 1]]
        position[start] = _joint(before, after, same_ray=same_ray)
    height[first] = (height[first] + height[np.roll(last, 1)]) / 2
    known[first] &= known[np.roll(last, 1)]
    whole = Ring(
        contour=contour.id,
        edge=field.edge[every],
        drawn=field.point[every],
        position=position,
        deviation=height,
        known=known,
    )
    kept = np.ones(every.size, dtype=bool)
    kept[last] = False  # the next edge begins there
    return whole.at(kept)


def _filled(
    contour: Contour, field: DeviationField, deviation: FloatArray, known: NDArray[np.bool_]
) -> FloatArray:
    """The deviation, unknown ones interpolated from those beside them in the same layer."""
    if known.all():
        return deviation.copy()
    height = deviation.copy()
    place = np.arange(len(known))
    for layer in np.flatnonzero(~known.all(axis=0)):
        here = known[:, layer]
        if not here.any():
            depth = float(field.depth[layer])
            raise RangeError(
                f"contour {contour.id} has no as-cut wall at {100.0 * depth:.0f} % of the depth: "
                "the jet does not cut through there, or leaves nothing; cut it slower",
                contour=contour.id,
                depth=depth,
            )
        height[~here, layer] = np.interp(
            place[~here], place[here], deviation[here, layer], period=float(len(known))
        )
    return height


def _turn(before: FloatArray, after: FloatArray) -> float:
    """Sine of the angle from one unit vector to another."""
    return float(before[0] * after[1] - before[1] * after[0])


def _joint(before: FloatArray, after: FloatArray, *, same_ray: bool) -> FloatArray:
    """Where the last piece of a wall and the first of the next, shape (2, L, 2), meet: shape (L, 2)."""
    end, start = before[1], after[0]
    halfway = np.asarray((end + start) / 2)
    if same_ray:
        return halfway
    ahead, onward = end - before[0], after[1] - start
    across = ahead[:, 0] * onward[:, 1] - ahead[:, 1] * onward[:, 0]
    gap = start - end
    flat = np.abs(across) <= 1e-6 * np.sqrt((ahead**2).sum(axis=1) * (onward**2).sum(axis=1))
    share = (gap[:, 0] * onward[:, 1] - gap[:, 1] * onward[:, 0]) / np.where(flat, 1.0, across)
    meet = end + share[:, None] * ahead
    far = np.hypot(*(meet - halfway).T) > MITRE * np.hypot(*gap.T)
    return np.asarray(np.where((flat | far)[:, None], halfway, meet))
