"""Mending of closed runs: ends that do not quite meet, and vertices that are not needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, sin, tau

import numpy as np

from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.table import Flags, SegmentTable
from trialcut.geometry.tolerances import EXACT, SAME_POINT


@dataclass(slots=True)
class Loop:
    """A closed run of segments, each with the mark whether it stands for a spline or ellipse."""

    segments: list[Segment]
    free: list[bool]


def mend_loops(loops: Sequence[Loop]) -> tuple[list[Loop], SegmentTable]:
    """Heal and thin out loops where they need it; loops of which nothing is left are dropped.

    Returns
    -------
    list of Loop
        Neighbours meet, and no vertex lies within a line or an arc.
    SegmentTable
        Of these loops.
    """
    kept = [loop for loop in loops if loop.segments]
    table = SegmentTable.of([loop.segments for loop in kept])
    changed = False
    for k in _loops_where(table, table.apart() > EXACT):
        if len(kept[k].segments) > 1:
            kept[k] = heal(kept[k])
            changed = True
    if changed:
        kept = [loop for loop in kept if loop.segments]
        table = SegmentTable.of([loop.segments for loop in kept])
    redundant = _redundant(table, np.array([mark for loop in kept for mark in loop.free], dtype=bool))
    touched = _loops_where(table, redundant)
    for k in touched:
        a, b = table.offsets[k], table.offsets[k + 1]
        kept[k] = _thin(kept[k], redundant[a:b])
    if touched:
        table = SegmentTable.of([loop.segments for loop in kept])
    return kept, table


def _loops_where(table: SegmentTable, rows: Flags) -> list[int]:
    """Loops with at least one marked row."""
    if not rows.any():
        return []
    return [int(k) for k in np.unique(table.loop[rows])]


# -- ends that do not meet ---------------------------------------------------------------------------


def heal(loop: Loop) -> Loop:
    """Make neighbours of a closed run meet.

    A line gives way to an arc, so that arcs stay as drawn; two lines meet half way; two arcs that are apart
    by more than a rounding meet half way and keep their sweep.
    """
    segments = loop.segments
    count = len(segments)
    meets: list[Point] = []
    moved = [False] * count
    for i, after in enumerate(segments):
        before = segments[i - 1]
        p, q = before.end, after.start
        if isinstance(before, Arc) and isinstance(after, Line):
            meets.append(p)
        elif isinstance(before, Line) and isinstance(after, Arc):
            meets.append(q)
        else:
            meets.append((0.5 * (p[0] + q[0]), 0.5 * (p[1] + q[1])))
            if isinstance(before, Arc) and hypot(p[0] - q[0], p[1] - q[1]) > SAME_POINT:
                moved[i - 1] = moved[i] = True
    healed = Loop([], [])
    for i, segment in enumerate(segments):
        start, end = meets[i], meets[(i + 1) % count]
        if isinstance(segment, Line):
            if hypot(start[0] - end[0], start[1] - end[1]) <= EXACT:
                continue
            segment = Line(start, end)  # noqa: PLW2901
        elif moved[i]:
            segment = _refit(segment, start, end)  # noqa: PLW2901
        healed.segments.append(segment)
        healed.free.append(loop.free[i])
    return healed


def _refit(arc: Arc, start: Point, end: Point) -> Arc:
    """Return an arc of the same sweep between new ends."""
    ox, oy = arc.end[0] - arc.start[0], arc.end[1] - arc.start[1]
    nx, ny = end[0] - start[0], end[1] - start[1]
    old = hypot(ox, oy)
    if old < SAME_POINT:
        return arc
    radius = arc.radius * hypot(nx, ny) / old
    angle = arc.start_angle + atan2(ny, nx) - atan2(oy, ox)
    return Arc((start[0] - radius * cos(angle), start[1] - radius * sin(angle)), radius, angle, arc.sweep)


# -- vertices that are not needed --------------------------------------------------------------------


def _redundant(table: SegmentTable, free: Flags) -> Flags:
    """Rows that carry on into the following one: along one line, or round one centre."""
    rows, after = np.arange(len(table)), table.following
    a, b, c = table.start, table.start[after], table.end[after]
    chord = np.hypot(*(c - a).T)
    length = table.length
    off = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    straight = ~table.is_arc & ~table.is_arc[after]
    straight &= (chord > np.maximum(length, length[after])) & (off <= SAME_POINT * chord)
    round_ = table.is_arc & table.is_arc[after] & ((table.sweep > 0.0) == (table.sweep[after] > 0.0))
    round_ &= np.abs(table.radius - table.radius[after]) <= SAME_POINT
    round_ &= np.hypot(*(table.centre - table.centre[after]).T) <= SAME_POINT
    return np.asarray((straight | round_) & (free == free[after]) & (rows != after))


def _thin(loop: Loop, redundant: Flags) -> Loop:
    """Return the loop with each run that one line or arc carries in one piece."""
    count = len(loop.segments)
    breaks = ((np.flatnonzero(~redundant) + 1) % count).tolist()
    if not breaks:
        breaks = [min(range(count), key=lambda i: (sum(loop.segments[i].start), loop.segments[i].start))]
    breaks.sort()
    thin = Loop([], [])
    for a, b in zip(breaks, [*breaks[1:], breaks[0] + count], strict=True):
        run = [loop.segments[i % count] for i in range(a, b)]
        one = _one_arc(run) if isinstance(run[0], Arc) else _few_lines(run)
        thin.segments.extend(one)
        thin.free.extend([loop.free[a]] * len(one))
    return thin


def _one_arc(run: Sequence[Segment]) -> Sequence[Segment]:
    arcs = [segment for segment in run if isinstance(segment, Arc)]
    widest = max(arcs, key=lambda arc: abs(arc.sweep))
    sweep = sum(arc.sweep for arc in arcs)
    drift = max(hypot(a.centre[0] - widest.centre[0], a.centre[1] - widest.centre[1]) for a in arcs)
    if len(arcs) == 1 or drift > 2.0 * SAME_POINT or abs(sweep) > tau + 1.0e-6:
        return run
    if abs(sweep) > tau - 1.0e-6:
        return [Arc(widest.centre, widest.radius, 0.0, tau if sweep > 0.0 else -tau)]
    return [Arc(widest.centre, widest.radius, arcs[0].start_angle, sweep)]


def _few_lines(run: Sequence[Segment]) -> Sequence[Segment]:
    """Keep the vertices without which a run of lines would move by more than `SAME_POINT`."""
    if len(run) == 1:
        return run
    points = np.array([*(segment.start for segment in run), run[-1].end])
    keep = np.zeros(len(points), dtype=bool)
    keep[[0, -1]] = True
    stack = [(0, len(points) - 1)]
    while stack:
        a, b = stack.pop()
        if b - a < 2:
            continue
        chord = points[b] - points[a]
        norm = hypot(chord[0], chord[1])
        inner = points[a + 1 : b] - points[a]
        if norm <= SAME_POINT:
            away = np.hypot(inner[:, 0], inner[:, 1])
        else:
            away = np.abs(inner[:, 0] * chord[1] - inner[:, 1] * chord[0]) / norm
        worst = int(np.argmax(away))
        if away[worst] > SAME_POINT:
            middle = a + 1 + worst
            keep[middle] = True
            stack += [(a, middle), (middle, b)]
    kept = list(map(tuple, points[keep].tolist()))
    return [Line(p, q) for p, q in pairwise(kept)]
