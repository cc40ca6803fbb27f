"""Closed runs of segments to edges, corners and contours.

The same outline must give the same edges however it was drawn: superfluous vertices are taken out, the
run is turned so that the material is on the left, and edges are counted from a corner that depends on the
shape alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin, tau

import numpy as np

from trialcut.geometry.contours import Contour, ContourRole, Corner, Edge, EdgeKind
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.measures import area_and_centroid, bounding_box
from trialcut.geometry.tolerances import (
    CORNER_LONG,
    CORNER_SHORT,
    LENGTH_RATIO,
    LONG_SEGMENT,
    MICRO_SWEEP,
    SAME_POINT,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerRule:
    """When a turn of direction is a corner.

    Parameters
    ----------
    turn_long : float
        Between two segments that are both longer than `long`. [rad]
    turn_short : float
        Between any others. [rad]
    long : float
        [m]
    """

    turn_long: float = CORNER_LONG
    turn_short: float = CORNER_SHORT
    long: float = LONG_SEGMENT

    def is_corner(self, *, turn: float, shorter: float) -> bool:
        """Whether a turn beside a segment of length `shorter`, and a longer one, is a corner."""
        limit = self.turn_long if shorter > self.long else self.turn_short
        return abs(turn) > limit * (1.0 + 1.0e-9) + 1.0e-12


DEFAULT_RULE = CornerRule()


def turn_between(before: Segment, after: Segment) -> float:
    """Return the signed turn of direction where one segment follows another. [rad]"""
    turn = (after.heading(0.0) - before.heading(1.0)) % tau
    return turn - tau if turn > pi else turn


# -- superfluous vertices ----------------------------------------------------------------------------


def _same_carrier(before: Segment, after: Segment) -> bool:
    """Whether one segment carries the other on: along one line, or round one centre."""
    if isinstance(before, Arc):
        return (
            isinstance(after, Arc)
            and (before.sweep > 0.0) == (after.sweep > 0.0)
            and abs(before.radius - after.radius) <= SAME_POINT
            and hypot(before.centre[0] - after.centre[0], before.centre[1] - after.centre[1]) <= SAME_POINT
        )
    if isinstance(after, Arc):
        return False
    (x0, y0), (x1, y1), (x2, y2) = before.start, before.end, after.end
    chord = hypot(x2 - x0, y2 - y0)
    if chord <= max(before.length, after.length):
        return False
    return abs((x1 - x0) * (y2 - y0) - (y1 - y0) * (x2 - x0)) <= SAME_POINT * chord


def _merged(run: Sequence[Segment]) -> list[Segment]:
    """Return one segment for a run of one carrier, or the run itself where small bends add up."""
    if len(run) == 1:
        return list(run)
    first, last = run[0], run[-1]
    if isinstance(first, Arc):
        widest = max((s for s in run if isinstance(s, Arc)), key=lambda s: abs(s.sweep))
        sweep = sum(s.sweep for s in run if isinstance(s, Arc))
        if abs(abs(sweep) - tau) < 1.0e-9:
            return [Arc(widest.centre, widest.radius, 0.0, tau if sweep > 0.0 else -tau)]
        if abs(sweep) > tau:
            return list(run)
        return [Arc(widest.centre, widest.radius, first.start_angle, sweep)]
    (x0, y0), (x1, y1) = first.start, last.end
    chord = hypot(x1 - x0, y1 - y0)
    points = np.array([segment.end for segment in run[:-1]])
    away = np.abs((points[:, 0] - x0) * (y1 - y0) - (points[:, 1] - y0) * (x1 - x0))
    if chord == 0.0 or float(away.max()) > SAME_POINT * chord:
        return list(run)
    return [Line(first.start, last.end)]


def merge_carriers(segments: Sequence[Segment], free: Sequence[bool]) -> tuple[list[Segment], list[bool]]:
    """Take superfluous vertices out of a closed run: one line for collinear lines, one arc for cocircular arcs."""
    count = len(segments)
    if count < 2:
        return list(segments), list(free)
    breaks = [
        i for i in range(count) if free[i - 1] != free[i] or not _same_carrier(segments[i - 1], segments[i])
    ]
    if not breaks:
        whole = _merged(segments)
        return whole, [free[0]] * len(whole)
    merged: list[Segment] = []
    marks: list[bool] = []
    for a, b in zip(breaks, [*breaks[1:], breaks[0] + count], strict=True):
        run = [segments[i % count] for i in range(a, b)]
        for segment in _merged(run):
            merged.append(segment)
            marks.append(free[a])
    return merged, marks


# -- joints ------------------------------------------------------------------------------------------


def _micro(segment: Segment, rule: CornerRule) -> bool:
    """Whether a segment is a facet of a smooth run and not a feature by itself."""
    return segment.length < rule.long and (isinstance(segment, Line) or abs(segment.sweep) < MICRO_SWEEP)


def _splits(
    before: Segment, after: Segment, *, before_free: bool, after_free: bool, rule: CornerRule
) -> bool:
    """Whether a smooth joint ends an edge: where kind or radius changes between features as drawn."""
    if before_free != after_free:
        return True
    if before_free:
        return False
    if isinstance(before, Line) and isinstance(after, Line):
        longer, shorter = max(before.length, after.length), min(before.length, after.length)
        return longer > rule.long and longer > LENGTH_RATIO * shorter
    return not (_micro(before, rule) and _micro(after, rule))


def _kind(segments: Sequence[Segment]) -> EdgeKind:
    if len(segments) > 1:
        return EdgeKind.FREE
    (segment,) = segments
    if isinstance(segment, Line):
        return EdgeKind.STRAIGHT
    return EdgeKind.CIRCLE if abs(segment.sweep) > tau - 1.0e-9 else EdgeKind.ARC


def _first_joint(points: Sequence[Point], box: tuple[float, float, float, float]) -> int:
    """Index of the point nearest the lower left of the box; of equals the lower, then the left one."""
    xy = np.array(points)
    near = np.hypot(xy[:, 0] - box[0], xy[:, 1] - box[1])
    candidates = np.flatnonzero(near <= near.min() + SAME_POINT)
    low = xy[candidates, 1]
    candidates = candidates[low <= low.min() + SAME_POINT]
    return int(candidates[np.argmin(xy[candidates, 0])])


def split_into_runs(
    segments: Sequence[Segment], free: Sequence[bool], *, rule: CornerRule = DEFAULT_RULE
) -> tuple[list[tuple[Segment, ...]], list[float]]:
    """Cut a closed run at its corners and smooth joints, beginning at the canonical one.

    Parameters
    ----------
    segments : sequence of Segment
        Closed, merged, in the final direction. [m]
    free : sequence of bool
        Which of them stand for a spline or an ellipse.
    rule : CornerRule
        What a corner is.

    Returns
    -------
    list of tuple of Segment
        Edge by edge.
    list of float
        Turn at the end of each edge, smooth joints exactly zero; empty for a run without corner. [rad]
    """
    count = len(segments)
    joints: list[tuple[int, float]] = []
    for i in range(count):
        before, after = segments[i - 1], segments[i]
        if count == 1 and isinstance(before, Arc) and abs(before.sweep) > tau - 1.0e-9:
            break
        turn = turn_between(before, after)
        if rule.is_corner(turn=turn, shorter=min(before.length, after.length)):
            joints.append((i, turn))
        elif count > 1 and _splits(before, after, before_free=free[i - 1], after_free=free[i], rule=rule):
            joints.append((i, 0.0))
    box = bounding_box(segments)
    if not joints:
        if count == 1:
            return [tuple(segments)], []
        first = _first_joint([segment.start for segment in segments], box)
        return [(*segments[first:], *segments[:first])], []
    first = _first_joint([segments[i].start for i, _ in joints], box)
    joints = joints[first:] + joints[:first]
    indices = [i for i, _ in joints]
    runs = []
    for a, b in zip(indices, [*indices[1:], indices[0]], strict=True):
        stop = b if b > a else b + count
        runs.append(tuple(segments[i % count] for i in range(a, stop)))
    turns = [turn for _, turn in joints]
    return runs, [*turns[1:], turns[0]]


def orient(segments: Sequence[Segment], *, counter_clockwise: bool) -> tuple[list[Segment], bool]:
    """Return the run in the asked direction, and whether it was reversed."""
    area, _ = area_and_centroid(segments)
    if (area > 0.0) == counter_clockwise:
        return list(segments), False
    return [segment.reversed() for segment in reversed(segments)], True


def canonical_circle(arc: Arc) -> Arc:
    """Return a full circle started at its rightmost point."""
    return Arc(arc.centre, arc.radius, 0.0, tau if arc.sweep > 0.0 else -tau)


def build_contour(
    segments: Sequence[Segment],
    free: Sequence[bool],
    *,
    contour_id: str,
    role: ContourRole,
    rule: CornerRule = DEFAULT_RULE,
) -> Contour:
    """Return the contour of a closed, healed and merged run: turned, cut into edges and numbered.

    Parameters
    ----------
    segments : sequence of Segment
        Closed; each ends where the next starts. [m]
    free : sequence of bool
        Which of them stand for a spline or an ellipse.
    contour_id : str
        Letter of the contour.
    role : ContourRole
        Outlines run counter-clockwise, openings clockwise.
    rule : CornerRule
        What a corner is.
    """
    turned, was_reversed = orient(segments, counter_clockwise=role is ContourRole.OUTLINE)
    marks = list(reversed(free)) if was_reversed else list(free)
    if len(turned) == 1 and isinstance(turned[0], Arc):
        turned = [canonical_circle(turned[0])]
    runs, turns = split_into_runs(turned, marks, rule=rule)
    edges = tuple(
        Edge(id=f"{contour_id}{n}", contour=contour_id, kind=_kind(run), segments=run)
        for n, run in enumerate(runs, start=1)
    )
    corners = (
        tuple(
            Corner(position=edge.end, turn=turn, before=edge.id, after=edges[(i + 1) % len(edges)].id)
            for i, (edge, turn) in enumerate(zip(edges, turns, strict=True))
        )
        if turns
        else ()
    )
    area, _ = area_and_centroid(turned)
    return Contour(id=contour_id, role=role, edges=edges, corners=corners, area=abs(area))


def letters(first: int = 0) -> Iterator[str]:
    """Yield contour ids: A to Z, then AA, AB and on."""
    n = first
    while True:
        word, k = "", n
        while True:
            word = chr(ord("A") + k % 26) + word
            k = k // 26 - 1
            if k < 0:
                break
        yield word
        n += 1


# -- healing -----------------------------------------------------------------------------------------


def _refit(arc: Arc, start: Point, end: Point) -> Arc:
    """Return an arc of the same sweep between new ends."""
    ox, oy = arc.end[0] - arc.start[0], arc.end[1] - arc.start[1]
    nx, ny = end[0] - start[0], end[1] - start[1]
    old = hypot(ox, oy)
    if old < SAME_POINT:
        return arc
    stretch = hypot(nx, ny) / old
    rotation = atan2(ny, nx) - atan2(oy, ox)
    angle = arc.start_angle + rotation
    radius = arc.radius * stretch
    return Arc((start[0] - radius * cos(angle), start[1] - radius * sin(angle)), radius, angle, arc.sweep)


def heal(segments: Sequence[Segment]) -> list[Segment]:
    """Make neighbours of a closed run meet.

    A line gives way to an arc, so that arcs stay as drawn; two lines meet half way; two arcs that are apart
    by more than a rounding meet half way and keep their sweep.
    """
    count = len(segments)
    if count == 1:
        return list(segments)
    meets: list[Point] = []
    moved = [False] * count
    for i in range(count):
        before, after = segments[i - 1], segments[i]
        p, q = before.end, after.start
        apart = hypot(p[0] - q[0], p[1] - q[1])
        if isinstance(before, Arc) and isinstance(after, Line):
            meets.append(p)
        elif isinstance(before, Line) and isinstance(after, Arc):
            meets.append(q)
        elif isinstance(before, Arc):
            meets.append((0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])))
            if apart > SAME_POINT:
                moved[i - 1] = moved[i] = True
        else:
            meets.append(p if apart == 0.0 else (0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])))
    healed: list[Segment] = []
    for i, segment in enumerate(segments):
        start, end = meets[i], meets[(i + 1) % count]
        if isinstance(segment, Line):
            if segment.start == start and segment.end == end:
                healed.append(segment)
            elif start != end:
                healed.append(Line(start, end))
        elif moved[i]:
            healed.append(_refit(segment, start, end))
        else:
            healed.append(segment)
    return healed
