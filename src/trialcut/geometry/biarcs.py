"""Tangent arcs in place of ellipses and splines, within a stated tolerance.

Between two points with tangents there is a pair of arcs that meet tangentially (a biarc). A curve is cut in
spans until the pair stays within the tolerance everywhere it is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import atan2, hypot, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import DrawingError
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.tolerances import CURVE

Floats = NDArray[np.float64]
Curve = Callable[[Floats], tuple[Floats, Floats]]
"""Parameters, shape (n,), to points and derivatives, both shape (n, 2). [m]"""

_PROBES = np.array([0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0])
_MOST_SPANS = 100_000
_STRAIGHT = 1.0e-9
_FLAT = 4.0e-11
"""Chord times half the sweep below which an arc is a line. [m]"""

_NOTHING = 1.0e-12
"""A span smaller than this is left out. [m]"""


def arc_through(start: Point, tangent: Point, end: Point) -> Segment:
    """Return the arc, or line, that leaves `start` along `tangent` and ends at `end`."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    chord = hypot(vx, vy)
    half = atan2(tangent[0] * vy - tangent[1] * vx, tangent[0] * vx + tangent[1] * vy)
    if chord * abs(half) < _FLAT:
        return Line(start, end)
    radius = chord / (2.0 * sin(abs(half)))
    side = 1.0 if half > 0.0 else -1.0
    centre = (start[0] - side * radius * tangent[1], start[1] + side * radius * tangent[0])
    return Arc(centre, radius, atan2(start[1] - centre[1], start[0] - centre[0]), 2.0 * half)


def biarc(start: Point, start_tangent: Point, end: Point, end_tangent: Point) -> tuple[Segment, ...]:
    """Return the tangent pair between two points with unit tangents, as one or two segments."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    tx, ty = start_tangent[0] + end_tangent[0], start_tangent[1] + end_tangent[1]
    vv, vt = vx * vx + vy * vy, vx * tx + vy * ty
    spread = 2.0 * (1.0 - start_tangent[0] * end_tangent[0] - start_tangent[1] * end_tangent[1])
    # The smaller root, written so that it does not cancel when the tangents are nearly parallel.
    root = sqrt(max(vt * vt + spread * vv, 0.0))
    if vt + root <= 0.0:
        return (Line(start, end),)
    reach = vv / (vt + root)
    middle = (
        0.5 * (start[0] + end[0] + reach * (start_tangent[0] - end_tangent[0])),
        0.5 * (start[1] + end[1] + reach * (start_tangent[1] - end_tangent[1])),
    )
    first = arc_through(start, start_tangent, middle)
    second = arc_through(end, (-end_tangent[0], -end_tangent[1]), middle).reversed()
    return (first, second)


def _units(vectors: Floats, fallback: Floats) -> Floats:
    """Unit vectors, shape (k, 2); where there is no direction, that of the fallback."""
    norm, other = np.hypot(*vectors.T), np.hypot(*fallback.T)
    weak = ~(norm > 1.0e-12 * other)
    vectors = np.where(weak[:, None], fallback, vectors)
    norm = np.asarray(np.where(weak, other, norm), dtype=np.float64)
    known = (norm > 0.0)[:, None]
    return np.where(known, vectors / np.where(known, norm[:, None], 1.0), np.array((1.0, 0.0)))


def _from_line(points: Floats, start: Floats, end: Floats) -> Floats:
    """Distances of points, shape (k, n, 2), from the lines through starts and ends, shape (k, 2)."""
    along = end - start
    length = np.maximum(np.hypot(*along.T), 1.0e-300)[:, None]
    away = points - start[:, None]
    return np.asarray(np.abs(away[..., 0] * along[:, None, 1] - away[..., 1] * along[:, None, 0]) / length)


def _from_arc(points: Floats, start: Floats, tangent: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Distances from the arcs' circles, shape (k, n), and the arcs' sweeps, shape (k,); as `arc_through`."""
    chord = end - start
    length = np.hypot(*chord.T)
    half = np.arctan2(
        tangent[:, 0] * chord[:, 1] - tangent[:, 1] * chord[:, 0], np.einsum("ij,ij->i", tangent, chord)
    )
    flat = length * np.abs(half) < _FLAT
    radius = length / (2.0 * np.where(flat, 1.0, np.sin(np.where(flat, 1.0, half))))
    centre = start + radius[:, None] * np.column_stack((-tangent[:, 1], tangent[:, 0]))
    away = points - centre[:, None]
    round_ = np.abs(np.hypot(away[..., 0], away[..., 1]) - np.abs(radius)[:, None])
    return np.where(flat[:, None], _from_line(points, start, end), round_), 2.0 * np.abs(half)


def _fits(points: Floats, ends: Floats, tangents: Floats) -> tuple[Floats, Floats]:
    """How far points are from the biarc of their span, and the larger of its sweeps, both shape (k,)."""
    (p, q), (s, t) = np.swapaxes(ends, 0, 1), np.swapaxes(tangents, 0, 1)
    v, both = q - p, s + t
    vv, vt = np.einsum("ij,ij->i", v, v), np.einsum("ij,ij->i", v, both)
    spread = 2.0 * (1.0 - np.einsum("ij,ij->i", s, t))
    below = vt + np.sqrt(np.maximum(vt * vt + spread * vv, 0.0))
    reach = vv / np.where(below > 0.0, below, np.inf)
    middle = 0.5 * (p + q + reach[:, None] * (s - t))
    first, sweep = _from_arc(points, p, s, middle)
    second, other = _from_arc(points, q, -t, middle)
    return np.minimum(first, second).max(axis=1), np.maximum(sweep, other)


def arcs_from_curve(
    curve: Curve, breaks: Iterable[float], *, tolerance: float = CURVE
) -> tuple[Segment, ...]:
    """Replace a parametric curve by tangent arcs, and by lines where it is straight.

    Parameters
    ----------
    curve : callable
        Points and derivatives at parameters.
    breaks : iterable of float
        Ascending parameters; the curve is smooth between two neighbours.
    tolerance : float
        Largest distance between the curve and what replaces it. [m]

    Returns
    -------
    tuple of Segment
        In the direction of the parameter.

    Raises
    ------
    DrawingError
        If the curve is not finite, or so wild that it would need an absurd number of arcs.
    """
    limits = np.asarray(list(breaks), dtype=float)
    shortest = 1.0e-9 * (limits[-1] - limits[0])
    a, b = limits[:-1], limits[1:]
    done: list[tuple[float, tuple[Segment, ...]]] = []
    while len(a):
        # Slopes are taken a little within the span, because a curve may have a kink at its end.
        inner = a[:, None] + (b - a)[:, None] * np.clip(_PROBES, 1.0e-9, 1.0 - 1.0e-9)
        parameters = np.column_stack((inner, a, b))
        values, slopes = curve(parameters.ravel())
        if not np.isfinite(values).all():
            raise DrawingError(
                "a spline or ellipse has coordinates that are not numbers; mend it in the drawing",
                code="not-a-number",
            )
        values = values.reshape(*parameters.shape, 2)
        slopes = slopes.reshape(*parameters.shape, 2)
        points, ends = values[:, :-2], values[:, -2:]
        tangents = np.stack(
            (
                _units(slopes[:, 0], points[:, 1] - ends[:, 0]),
                _units(slopes[:, -3], ends[:, 1] - points[:, -2]),
            ),
            axis=1,
        )
        extent = np.ptp(points, axis=1).max(axis=1)
        chord = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
        straight = (_from_line(points, ends[:, 0], ends[:, 1]).max(axis=1) < _STRAIGHT) & (
            extent <= 1.0001 * chord
        )
        error, sweep = _fits(points, ends, tangents)
        ready = straight | ((error <= 0.7 * tolerance) & (sweep < pi / 2)) | (b - a < shortest)
        ready |= extent < _NOTHING
        for k in np.flatnonzero(ready & (extent >= _NOTHING)).tolist():
            (p, q), (s, t) = ([_point(row) for row in rows] for rows in (ends[k], tangents[k]))
            done.append((float(a[k]), (Line(p, q),) if straight[k] else biarc(p, s, q, t)))
        a, b = a[~ready], b[~ready]
        middle = 0.5 * (a + b)
        a, b = np.concatenate((a, middle)), np.concatenate((middle, b))
        if len(done) + len(a) > _MOST_SPANS:
            raise DrawingError(
                f"one spline would need more than {_MOST_SPANS:,} spans; simplify it in the drawing",
                code="curve-too-wild",
            )
    return tuple(segment for _, segments in sorted(done, key=lambda item: item[0]) for segment in segments)


def _point(row: Floats) -> Point:
    return (float(row[0]), float(row[1]))
