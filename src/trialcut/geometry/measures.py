"""Exact area, centroid and extent of closed runs of lines and arcs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, cos, pi, sin

import numpy as np

from trialcut.geometry.curves import Arc, Point, Segment

Box = tuple[float, float, float, float]
"""Left, bottom, right, top. [m]"""


def area_and_centroid(segments: Sequence[Segment]) -> tuple[float, Point]:
    """Return signed area (positive counter-clockwise) and centroid of a closed run.

    The polygon of the chords, and one circular segment over every arc. [m^2], [m]
    """
    starts = np.array([segment.start for segment in segments])
    origin = starts.mean(axis=0)
    x, y = (starts - origin).T
    xn, yn = np.roll(x, -1), np.roll(y, -1)
    cross = x * yn - xn * y
    area = float(0.5 * cross.sum())
    mx = float(((x + xn) * cross).sum() / 6.0)
    my = float(((y + yn) * cross).sum() / 6.0)
    for segment in segments:
        if isinstance(segment, Arc):
            half = 0.5 * segment.sweep
            piece = 0.5 * segment.radius**2 * (segment.sweep - sin(segment.sweep))
            # First moment of a circular segment about the centre, along its bisector.
            moment = 2.0 / 3.0 * segment.radius**3 * sin(half) ** 3
            middle = segment.start_angle + half
            area += piece
            mx += moment * cos(middle) + piece * (segment.centre[0] - origin[0])
            my += moment * sin(middle) + piece * (segment.centre[1] - origin[1])
    if abs(area) < 1.0e-18:
        return area, (float(origin[0]), float(origin[1]))
    return area, (float(origin[0] + mx / area), float(origin[1] + my / area))


def bounding_box(segments: Iterable[Segment]) -> Box:
    """Return the exact extent of lines and arcs. [m]"""
    xs: list[float] = []
    ys: list[float] = []
    for segment in segments:
        for x, y in (segment.start, segment.end):
            xs.append(x)
            ys.append(y)
        if isinstance(segment, Arc):
            low = min(segment.start_angle, segment.start_angle + segment.sweep)
            high = max(segment.start_angle, segment.start_angle + segment.sweep)
            for k in range(ceil(low / (pi / 2)), int(high // (pi / 2)) + 1):
                xs.append(segment.centre[0] + segment.radius * (1, 0, -1, 0)[k % 4])
                ys.append(segment.centre[1] + segment.radius * (0, 1, 0, -1)[k % 4])
    return min(xs), min(ys), max(xs), max(ys)
