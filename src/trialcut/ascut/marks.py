"""What a corner and a start leave on the as-cut wall, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.corners import corner_radius
from trialcut.ascut.types import DeviationField, FloatArray
from trialcut.errors import ComputationError, RangeError
from trialcut.geometry.contours import EdgeKind, Part
from trialcut.geometry.curves import Point
from trialcut.motion.path import CutPath
from trialcut.motion.prepared import SMOOTH_TURN
from trialcut.motion.starts import place_on_edge

REACH = 3.0e-3
"""Length of wall beside a corner or a start that is looked at, at most a third of the edge. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerMark:
    """The as-cut wall at one corner, against the rest of its two edges.

    Parameters
    ----------
    before, after : str
        Edges.
    where : Point
        The drawn corner. [m]
    turn : float
        Positive at an outside corner. [rad]
    standing, washed : ndarray, shape (L,)
        Largest material left and largest material lost near the corner, zero or more. At an inside corner the
        round is material left. [m]
    radius : ndarray, shape (L,)
        That the jet leaves in an inside corner between straights; not a number elsewhere. [m]
    """

    before: str
    after: str
    where: Point
    turn: float
    standing: FloatArray
    washed: FloatArray
    radius: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class StartMark:
    """The witness of a start, against the rest of its edge.

    Parameters
    ----------
    contour, edge : str
        Whose cut starts, and on which edge.
    where : Point
        On the drawn wall. [m]
    standing, washed : ndarray, shape (L,)
        Largest material left and largest material lost near the start, zero or more. [m]
    """

    contour: str
    edge: str
    where: Point
    standing: FloatArray
    washed: FloatArray


def corner_marks(part: Part, field: DeviationField) -> tuple[CornerMark, ...]:
    """Return the marks at all real corners of a part, from a field without draws."""
    _certain(field)
    marks = []
    for contour in part.contours:
        for corner in contour.corners:
            if abs(corner.turn) < SMOOTH_TURN:
                continue
            ends = [
                _extremes(field, part.edge(corner.before).length, corner.before, at=1.0),
                _extremes(field, part.edge(corner.after).length, corner.after, at=0.0),
            ]
            marks.append(
                CornerMark(
                    before=corner.before,
                    after=corner.after,
                    where=corner.position,
                    turn=corner.turn,
                    standing=np.maximum(ends[0][0], ends[1][0]),
                    washed=np.maximum(ends[0][1], ends[1][1]),
                    radius=_radius(part, field, corner.before, corner.after, corner.turn),
                )
            )
    return tuple(marks)


def start_marks(part: Part, path: CutPath, field: DeviationField) -> tuple[StartMark, ...]:
    """Return the witnesses of all starts of a path, from a field without draws."""
    _certain(field)
    marks = []
    for run in path.runs:
        edge = part.edge(run.start_edge)
        standing, washed = _extremes(field, edge.length, edge.id, at=run.start_fraction, closed=edge.closed)
        marks.append(
            StartMark(
                contour=run.contour,
                edge=edge.id,
                where=place_on_edge(edge, run.start_fraction)[0],
                standing=standing,
                washed=washed,
            )
        )
    return tuple(marks)


def _certain(field: DeviationField) -> None:
    if field.deviation.ndim != 2:
        raise RangeError("marks are read off one certain as-cut part: choose a draw, or the medians")


def _extremes(
    field: DeviationField, length: float, edge: str, *, at: float, closed: bool = False
) -> tuple[FloatArray, FloatArray]:
    """Material left and lost near a place of an edge, over its median elsewhere, where there is a wall."""
    rows = np.flatnonzero(field.edge == field.edges.index(edge))
    away = np.abs(field.fraction[rows] - at)
    if closed:
        away = np.minimum(away, 1.0 - away)
    near = away * length <= min(REACH, length / 3.0)
    wall = field.deviation[rows]
    if not near.any() or near.all():
        return np.zeros(field.depth.size), np.zeros(field.depth.size)
    rest = _finite_median(wall[~near])
    over = np.where(np.isfinite(wall[near]), wall[near] - rest, 0.0)
    return np.maximum(over.max(axis=0), 0.0), np.maximum(-over.min(axis=0), 0.0)


def _finite_median(wall: FloatArray) -> FloatArray:
    """Median of each layer over the samples that have a wall; zero where none has."""
    known: NDArray[np.bool_] = np.isfinite(wall)
    return np.array(
        [np.median(layer[has]) if has.any() else 0.0 for layer, has in zip(wall.T, known.T, strict=True)]
    )


def _radius(part: Part, field: DeviationField, before: str, after: str, turn: float) -> FloatArray:
    nothing = np.full(field.depth.size, np.nan)
    straight = all(part.edge(edge).kind is EdgeKind.STRAIGHT for edge in (before, after))
    if turn >= 0.0 or not straight:
        return nothing
    radius = nothing.copy()
    for layer, depth in enumerate(field.depth.tolist()):
        try:
            radius[layer] = float(corner_radius(field, before, after, depth=depth).value)
        except (RangeError, ComputationError):
            continue
    return radius
