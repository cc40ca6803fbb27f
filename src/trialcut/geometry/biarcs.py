"""Tangent arcs in place of ellipses and splines, within a stated tolerance.

Between two points with tangents there is a pair of arcs that meet tangentially (a biarc). A curve is cut in
spans until the pair stays within the tolerance everywhere it is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise
from math import atan2, hypot, isfinite, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import DrawingError
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.tolerances import CURVE

Floats = NDArray[np.float64]
Curve = Callable[[Floats], tuple[Floats, Floats]]
"""Parameters, shape (n,), to points and derivatives, both shape (n, 2). [m]"""

_PROBES = np.array([0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0])
_MOST_SEGMENTS = 200_000
_STRAIGHT = 1.0e-9


def arc_through(start: Point, tangent: Point, end: Point) -> Segment:
    """Return the arc, or line, that leaves `start` along `tangent` and ends at `end`."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    chord = hypot(vx, vy)
    half = atan2(tangent[0] * vy - tangent[1] * vx, tangent[0] * vx + tangent[1] * vy)
    if chord * abs(half) < 4.0 * _STRAIGHT * 1.0e-2:
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


def _unit(vector: Floats, fallback: Floats) -> Point:
    norm = hypot(vector[0], vector[1])
    if not norm > 1.0e-12 * hypot(fallback[0], fallback[1]):
        vector, norm = fallback, hypot(fallback[0], fallback[1])
    return (float(vector[0] / norm), float(vector[1] / norm)) if norm > 0.0 else (1.0, 0.0)


def _distance(points: Floats, segments: Iterable[Segment]) -> float:
    """Largest distance of points to the nearest of a few segments' carriers."""
    best = np.full(len(points), np.inf)
    for segment in segments:
        if isinstance(segment, Arc):
            away = np.abs(
                np.hypot(points[:, 0] - segment.centre[0], points[:, 1] - segment.centre[1]) - segment.radius
            )
        else:
            (x0, y0), (x1, y1) = segment.start, segment.end
            length = max(segment.length, 1.0e-300)
            away = np.abs((points[:, 0] - x0) * (y1 - y0) - (points[:, 1] - y0) * (x1 - x0)) / length
        best = np.minimum(best, away)
    return float(best.max())


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
    limits = list(breaks)
    stack = list(pairwise(limits))[::-1]
    segments: list[Segment] = []
    while stack:
        a, b = stack.pop()
        inset = (b - a) * 1.0e-9
        parameters = a + (b - a) * _PROBES
        parameters[0], parameters[-1] = a + inset, b - inset
        points, slopes = curve(parameters)
        ends, _ = curve(np.array([a, b]))
        if not (np.isfinite(points).all() and np.isfinite(ends).all()):
            raise DrawingError(
                "a spline or ellipse has coordinates that are not numbers; mend it in the drawing",
                code="not-a-number",
            )
        start: Point = (float(ends[0, 0]), float(ends[0, 1]))
        end: Point = (float(ends[1, 0]), float(ends[1, 1]))
        chord = Line(start, end)
        extent = float(np.ptp(points, axis=0).max())
        if extent < 1.0e-12:
            continue
        if _distance(points, (chord,)) < _STRAIGHT and extent <= 1.0001 * chord.length:
            segments.append(chord)
            continue
        pair = biarc(
            start, _unit(slopes[0], points[1] - ends[0]), end, _unit(slopes[-1], ends[1] - points[-2])
        )
        sweeps = [abs(s.sweep) for s in pair if isinstance(s, Arc)]
        good = (
            all(isfinite(s.length) for s in pair)
            and max(sweeps, default=0.0) < pi / 2
            and _distance(points, pair) <= 0.7 * tolerance
        )
        if good or b - a < 1.0e-9 * (limits[-1] - limits[0]):
            segments.extend(pair)
        else:
            middle = 0.5 * (a + b)
            stack.append((middle, b))
            stack.append((a, middle))
        if len(segments) > _MOST_SEGMENTS:
            raise DrawingError(
                f"one spline would need more than {_MOST_SEGMENTS:,} arcs; simplify it in the drawing",
                code="curve-too-wild",
            )
    return tuple(segments)
