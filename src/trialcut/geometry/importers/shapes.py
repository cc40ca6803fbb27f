"""The shapes that drawn entities come down to: conics, splines and bulges, as lines and arcs."""

from __future__ import annotations

from math import atan, atan2, ceil, hypot, pi

import numpy as np

from trialcut.geometry.biarcs import Floats, arcs_from_curve
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.tolerances import CURVE, SAME_POINT

_FLAT_BULGE = 1.0e-9
"""A bulge that rises less than this over its chord is a line. [m]"""

_SPAN = (1.0e-9, 1.0e9)
"""Least and largest weight of a spline, and the largest knot. [-]"""


class NotFlatError(Exception):
    """The entity leaves the drawing plane."""


def conic_segments(
    centre: Point, u: Point, v: Point, start: float, end: float
) -> tuple[tuple[Segment, ...], bool]:
    """Return ``c + u cos t + v sin t`` from `start` to `end` as segments, and whether it is an ellipse."""
    ru, rv = hypot(*u), hypot(*v)
    area = u[0] * v[1] - u[1] * v[0]
    square = abs(u[0] * v[0] + u[1] * v[1])
    larger = max(ru, rv)
    if larger < SAME_POINT or end <= start:
        return (), False
    if abs(ru - rv) <= 1.0e-9 * larger and square <= 1.0e-9 * larger * larger:
        side = 1.0 if area > 0.0 else -1.0
        angle = atan2(u[1], u[0]) + side * start
        return (Arc(centre, ru, angle, side * (end - start)),), False
    if abs(area) < SAME_POINT * larger:
        raise NotFlatError  # seen edge on

    def curve(t: Floats) -> tuple[Floats, Floats]:
        c, s = np.cos(t), np.sin(t)
        points = np.stack((centre[0] + u[0] * c + v[0] * s, centre[1] + u[1] * c + v[1] * s), axis=1)
        slopes = np.stack((-u[0] * s + v[0] * c, -u[1] * s + v[1] * c), axis=1)
        return points, slopes

    quarters = np.arange(ceil(start / (pi / 4) + 1e-9), ceil(end / (pi / 4) - 1e-9)) * (pi / 4)
    return arcs_from_curve(curve, [start, *quarters.tolist(), end], tolerance=CURVE), True


def spline_segments(
    control: Floats, knots: Floats, weights: Floats | None, degree: int
) -> tuple[Segment, ...]:
    """Return tangent arcs for a rational spline.

    Parameters
    ----------
    control : array, shape (n, 2)
        Control points. [m]
    knots : array, shape (n + degree + 1,)
        Not descending. [-]
    weights : array, shape (n,), or None
        All one if None. [-]
    degree : int
        One or more. [-]
    """
    from scipy.interpolate import BSpline  # noqa: PLC0415

    w = np.ones(len(control)) if weights is None else weights
    homogeneous = BSpline(knots, np.column_stack((control * w[:, None], w)), degree)
    derivative = homogeneous.derivative()

    def curve(t: Floats) -> tuple[Floats, Floats]:
        value, slope = homogeneous(t), derivative(t)
        weight = value[:, 2:]
        points = value[:, :2] / weight
        return points, (slope[:, :2] - points * slope[:, 2:]) / weight

    spans = np.unique(knots[degree : len(control) + 1])
    breaks = spans if degree == 1 else np.union1d(spans, 0.5 * (spans[:-1] + spans[1:]))
    return arcs_from_curve(curve, breaks.tolist(), tolerance=CURVE)


def is_sound_spline(knots: Floats, weights: Floats | None) -> bool:
    """Whether knots and weights are numbers that can be computed with, shapes as in `spline_segments`."""
    if not (np.abs(knots) < _SPAN[1]).all():
        return False
    return weights is None or bool(((weights > _SPAN[0]) & (weights < _SPAN[1])).all())


def bulge_segment(start: Point, end: Point, bulge: float) -> Segment:
    """Return the line or arc of a polyline between two vertices; the bulge is tan(sweep / 4)."""
    rise = 0.5 * abs(bulge) * hypot(end[0] - start[0], end[1] - start[1])
    if rise < _FLAT_BULGE:
        return Line(start, end)
    sweep = 4.0 * atan(bulge)
    vx, vy = end[0] - start[0], end[1] - start[1]
    away = (1.0 - bulge * bulge) / (4.0 * bulge)
    centre = (0.5 * (start[0] + end[0]) - away * vy, 0.5 * (start[1] + end[1]) + away * vx)
    radius = hypot(vx, vy) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    return Arc(centre, radius, atan2(start[1] - centre[1], start[0] - centre[0]), sweep)
