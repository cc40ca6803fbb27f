"""Where lines and arcs cross, exactly, and how far points are from them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import atan2, cos, hypot, sin, sqrt, tau

import numpy as np

from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.table import Floats, Ints, SegmentTable, arc_covers

END = 1.0e-9
"""A crossing as near to an end is at the end. [m]"""


def crossings(first: Segment, second: Segment) -> list[tuple[float, float]]:
    """Return where two segments meet, as fractions of each, ends included.

    Segments on one line or one circle have no crossings.
    """
    if isinstance(first, Line):
        points = _of_lines(first, second) if isinstance(second, Line) else _of_line_and_arc(first, second)
    elif isinstance(second, Line):
        points = _of_line_and_arc(second, first)
    else:
        points = _of_arcs(first, second)
    found = []
    for point in points:
        t, u = fraction_at(first, point), fraction_at(second, point)
        if t is not None and u is not None:
            found.append((t, u))
    return found


def fraction_at(segment: Segment, point: Point) -> float | None:
    """Return the fraction of a segment's length at a point on its line or circle; None past its ends."""
    length = segment.length
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        along = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / length
    else:
        turned = atan2(point[1] - segment.centre[1], point[0] - segment.centre[0]) - segment.start_angle
        turned = turned % tau if segment.sweep > 0.0 else -turned % tau
        along = segment.radius * turned
        if along > length + END and segment.radius * (tau - turned) <= END:
            along = 0.0
    if not -END <= along <= length + END:
        return None
    return min(max(along / length, 0.0), 1.0)


def piece(segment: Segment, begin: float, end: float) -> Segment:
    """Return what lies between two fractions of a segment."""
    if isinstance(segment, Line):
        return Line(segment.point(begin), segment.point(end))
    return Arc(
        segment.centre,
        segment.radius,
        segment.start_angle + begin * segment.sweep,
        (end - begin) * segment.sweep,
    )


def first_of(segments: Iterable[Segment], length: float) -> Iterator[Segment]:
    """Yield the first so much of a row of segments. [m]"""
    for segment in segments:
        if length <= 0.0:
            return
        whole = segment.length <= length
        yield segment if whole else piece(segment, 0.0, length / segment.length)
        length -= segment.length


def _of_lines(first: Line, second: Line) -> list[Point]:
    (x0, y0), (x1, y1) = first.start, first.end
    (x2, y2), (x3, y3) = second.start, second.end
    ax, ay, bx, by = x1 - x0, y1 - y0, x3 - x2, y3 - y2
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * hypot(ax, ay) * hypot(bx, by):
        return []
    t = ((x2 - x0) * by - (y2 - y0) * bx) / cross
    return [(x0 + t * ax, y0 + t * ay)]


def _of_line_and_arc(line: Line, arc: Arc) -> list[Point]:
    (x0, y0), (x1, y1) = line.start, line.end
    length = line.length
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    cx, cy = arc.centre[0] - x0, arc.centre[1] - y0
    foot, away = cx * ux + cy * uy, cx * uy - cy * ux
    return [(x0 + t * ux, y0 + t * uy) for t in _half_chord(foot, arc.radius**2 - away**2, arc.radius)]


def _of_arcs(first: Arc, second: Arc) -> list[Point]:
    dx, dy = second.centre[0] - first.centre[0], second.centre[1] - first.centre[1]
    apart = hypot(dx, dy)
    if apart <= END:
        return []
    ux, uy = dx / apart, dy / apart
    along = 0.5 * (apart + (first.radius - second.radius) * (first.radius + second.radius) / apart)
    return [
        (first.centre[0] + along * ux - away * uy, first.centre[1] + along * uy + away * ux)
        for away in _half_chord(0.0, first.radius**2 - along**2, first.radius)
    ]


def _half_chord(middle: float, square: float, radius: float) -> list[float]:
    """Ends of a chord about its middle; one where it only touches, within the rounding of the radius."""
    if square < -2.0 * radius * 1e-12:
        return []
    half = sqrt(max(square, 0.0))
    return [middle] if half == 0.0 else [middle - half, middle + half]


def square_distances(points: Floats, table: SegmentTable, rows: Ints) -> Floats:
    """Return the distance of each point, shape (n, 2), from one row of a table each, measured square to it.

    ``inf`` where the foot would lie past an end. [m]
    """
    start, end, centre = table.start[rows], table.end[rows], table.centre[rows]
    step = end - start
    square = np.maximum((step**2).sum(axis=1), 1e-300)
    share = ((points - start) * step).sum(axis=1) / square
    to_line = np.hypot(*(points - start - share[:, None] * step).T)
    out = points - centre
    covered = arc_covers(table.angle[rows], table.sweep[rows], np.arctan2(out[:, 1], out[:, 0]))
    to_arc = np.abs(np.hypot(*out.T) - table.radius[rows])
    arc = table.is_arc[rows]
    beside = np.where(arc, covered, (share >= 0.0) & (share <= 1.0))
    return np.asarray(np.where(beside, np.where(arc, to_arc, to_line), np.inf))


def beside(segment: Segment, offset: float) -> Segment | None:
    """Return the segment at a distance to the right of travel; None where an arc is too tight for it."""
    if isinstance(segment, Line):
        heading = segment.heading()
        dx, dy = offset * sin(heading), -offset * cos(heading)
        (x0, y0), (x1, y1) = segment.start, segment.end
        return Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy))
    radius = segment.radius + (offset if segment.sweep > 0.0 else -offset)
    if radius <= END:
        return None
    return Arc(segment.centre, radius, segment.start_angle, segment.sweep)
