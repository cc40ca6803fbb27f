"""Closed runs of segments to edges, corners and contours.

The same outline must give the same edges however it was drawn: the run is turned so that the material is
on the left, and edges are counted from a corner that depends on the shape alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, tau

import numpy as np

from trialcut.geometry.contours import Contour, ContourRole, Corner, Edge, EdgeKind
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.mend import Loop
from trialcut.geometry.table import Flags, Floats, SegmentTable
from trialcut.geometry.tolerances import (
    CORNER_LONG,
    CORNER_SHORT,
    FULL_TURN,
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


DEFAULT_RULE = CornerRule()


def joints(
    table: SegmentTable, free: Flags, *, rule: CornerRule = DEFAULT_RULE
) -> tuple[Flags, Flags, Floats]:
    """Say which segments end an edge.

    Parameters
    ----------
    table : SegmentTable
        Loops in their final direction, n rows.
    free : array, shape (n,)
        Rows that stand for a spline or an ellipse.
    rule : CornerRule
        What a corner is.

    Returns
    -------
    array, shape (n,)
        Rows that end at a corner.
    array, shape (n,)
        Rows that end at a smooth joint where kind or radius changes between features as drawn.
    array, shape (n,)
        Turn at the end of each row. [rad]
    """
    after = table.following
    turn, length = table.turns(), table.length
    shorter, longer = np.minimum(length, length[after]), np.maximum(length, length[after])
    limit = np.where(shorter > rule.long, rule.turn_long, rule.turn_short)
    whole = np.abs(table.sweep) > FULL_TURN
    corner = (np.abs(turn) > limit * (1.0 + 1.0e-9) + 1.0e-12) & ~whole

    micro = (length < rule.long) & (~table.is_arc | (np.abs(table.sweep) < MICRO_SWEEP))
    lines = ~table.is_arc & ~table.is_arc[after]
    straight_ends = (longer > rule.long) & (longer > LENGTH_RATIO * shorter)
    changes = np.where(lines, straight_ends, ~(micro & micro[after]))
    changes = np.where(free != free[after], True, np.where(free, False, changes))
    alone = after == np.arange(len(table))
    return corner, np.asarray(changes & ~corner & ~alone), turn


def _kind(segments: Sequence[Segment]) -> EdgeKind:
    if len(segments) > 1:
        return EdgeKind.FREE
    (segment,) = segments
    if isinstance(segment, Line):
        return EdgeKind.STRAIGHT
    return EdgeKind.ARC


def _first(points: Sequence[Point], corner: Point) -> int:
    """Index of the point nearest `corner`, the lower left; of equals the lower, then the left one."""
    near = [hypot(x - corner[0], y - corner[1]) for x, y in points]
    least = min(near) + SAME_POINT
    candidates = [i for i, d in enumerate(near) if d <= least]
    low = min(points[i][1] for i in candidates) + SAME_POINT
    return min((i for i in candidates if points[i][1] <= low), key=lambda i: points[i][0])


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedLoop:
    """A closed run, and what it is to become."""

    loop: Loop
    id: str
    role: ContourRole


def build_contours(named: Sequence[NamedLoop], *, rule: CornerRule = DEFAULT_RULE) -> list[Contour]:
    """Turn closed, mended runs the right way round, cut them into edges and number those.

    Parameters
    ----------
    named : sequence of NamedLoop
        Each segment ends where the next starts. [m]
    rule : CornerRule
        What a corner is.

    Returns
    -------
    list of Contour
        In the same order.
    """
    if not named:
        return []
    table = SegmentTable.of([item.loop.segments for item in named])
    areas, _ = table.areas_and_centroids()
    boxes = table.loop_boxes()
    outline = np.array([item.role is ContourRole.OUTLINE for item in named])
    flip = (areas > 0.0) != outline
    table, rows = table.flipped(flip)
    free = np.array([mark for item in named for mark in item.loop.free], dtype=bool)[rows]
    corner, smooth, turn = joints(table, free, rule=rule)
    ends = np.flatnonzero(corner | smooth)
    limits = np.searchsorted(ends, table.offsets)
    starts = table.start.tolist()
    turns = np.where(corner, turn, 0.0).tolist()
    contours = []
    for k, item in enumerate(named):
        segments = item.loop.segments
        if len(segments) == 1 and isinstance(segments[0], Arc):
            contours.append(_circle(item, segments[0], float(abs(areas[k]))))
            continue
        if flip[k]:
            segments = [segment.reversed() for segment in reversed(segments)]
        offset = int(table.offsets[k])
        last = [row - offset for row in ends[limits[k] : limits[k + 1]].tolist()]
        lower_left = (float(boxes[k, 0]), float(boxes[k, 1]))
        runs, bends = _cut(
            segments,
            last,
            turns[offset : offset + len(segments)],
            [tuple(p) for p in starts[offset : offset + len(segments)]],
            lower_left,
        )
        contours.append(_contour(item, runs, bends, float(abs(areas[k]))))
    return contours


def _circle(item: NamedLoop, arc: Arc, area: float) -> Contour:
    """Return the contour of one full circle, which starts at its rightmost point."""
    sweep = tau if item.role is ContourRole.OUTLINE else -tau
    edge = Edge(
        id=f"{item.id}1",
        contour=item.id,
        kind=EdgeKind.CIRCLE,
        segments=(Arc(arc.centre, arc.radius, 0.0, sweep),),
    )
    return Contour(id=item.id, role=item.role, edges=(edge,), corners=(), area=area)


def _cut(
    segments: Sequence[Segment],
    last: Sequence[int],
    turns: Sequence[float],
    starts: Sequence[Point],
    lower_left: Point,
) -> tuple[list[tuple[Segment, ...]], list[float]]:
    """Cut a closed run after the segments `last`; return the edges and the turn at the end of each."""
    count = len(segments)
    if not last:
        k = _first(starts, lower_left)
        return [(*segments[k:], *segments[:k])], []
    first = [(i + 1) % count for i in last]
    k = _first([starts[i] for i in first], lower_left)
    first = first[k:] + first[:k]
    ends = [*last[k + 1 :], *last[: k + 1]]
    runs = [
        tuple(segments[a : b + 1]) if b >= a else (*segments[a:], *segments[: b + 1])
        for a, b in zip(first, ends, strict=True)
    ]
    return runs, [turns[i] for i in ends]


def _contour(
    item: NamedLoop, runs: Sequence[tuple[Segment, ...]], bends: Sequence[float], area: float
) -> Contour:
    edges = tuple(
        Edge(id=f"{item.id}{n}", contour=item.id, kind=_kind(run), segments=run)
        for n, run in enumerate(runs, start=1)
    )
    following = edges[1:] + edges[:1]
    corners = tuple(
        Corner(position=edge.end, turn=bend, before=edge.id, after=after.id)
        for edge, bend, after in zip(edges, bends, following, strict=False)
    )
    return Contour(id=item.id, role=item.role, edges=edges, corners=corners, area=area)


def letters() -> Iterator[str]:
    """Yield contour ids: A to Z, then AA, AB and on."""
    n = 0
    while True:
        word, k = "", n
        while k >= 0:
            word = chr(ord("A") + k % 26) + word
            k = k // 26 - 1
        yield word
        n += 1
