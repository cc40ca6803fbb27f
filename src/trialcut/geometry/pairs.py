"""Pairs of segments: which come near each other, where they cross, how far they are apart.

All functions work on rows of a `SegmentTable`, many pairs at once.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from trialcut.geometry.table import Flags, Floats, Ints, SegmentTable, arc_covers
from trialcut.geometry.tolerances import EXACT

PAIR_LIMIT = 4_000_000
"""No more pairs than this are looked at, so that an absurd drawing cannot fill the memory."""

_BLOCK = 1024


def near_pairs(boxes: Floats, *, reach: float, most: int = PAIR_LIMIT) -> tuple[Ints, Ints, bool]:
    """Find boxes that come near each other.

    Parameters
    ----------
    boxes : array, shape (n, 4)
        Left, bottom, right, top. [m]
    reach : float
        How near. [m]
    most : int
        Stop soon after so many pairs.

    Returns
    -------
    array, shape (k,)
        First box of each pair.
    array, shape (k,)
        Second box, a later one.
    bool
        Whether these are all.
    """
    import shapely  # noqa: PLC0415

    half = 0.5 * reach
    grown = shapely.box(boxes[:, 0] - half, boxes[:, 1] - half, boxes[:, 2] + half, boxes[:, 3] + half)
    tree = shapely.STRtree(grown)
    firsts: list[Ints] = []
    seconds: list[Ints] = []
    total = 0
    for block in range(0, len(grown), _BLOCK):
        i, j = tree.query(grown[block : block + _BLOCK])
        keep = i + block < j
        firsts.append(i[keep] + block)
        seconds.append(j[keep])
        total += int(keep.sum())
        if total > most:
            return np.concatenate(firsts), np.concatenate(seconds), False
    return np.concatenate(firsts), np.concatenate(seconds), True


def _on_segment(table: SegmentTable, rows: Ints, points: Floats) -> tuple[Floats, Floats]:
    """Nearest point on each row to its point: the point and the distance, shapes (k, 2), (k,)."""
    start, end = table.start[rows], table.end[rows]
    along = end - start
    squared = np.einsum("ij,ij->i", along, along)
    fraction = np.einsum("ij,ij->i", points - start, along) / np.where(squared > 0.0, squared, 1.0)
    nearest = start + np.clip(fraction, 0.0, 1.0)[:, None] * along
    arc = table.is_arc[rows]
    if arc.any():
        r = rows[arc]
        away = points[arc] - table.centre[r]
        polar = np.arctan2(away[:, 1], away[:, 0])
        inside = arc_covers(table.angle[r], table.sweep[r], polar)
        onto = table.centre[r] + table.radius[r][:, None] * np.column_stack((np.cos(polar), np.sin(polar)))
        to_start = np.hypot(*(points[arc] - start[arc]).T)
        to_end = np.hypot(*(points[arc] - end[arc]).T)
        tip = np.where((to_start <= to_end)[:, None], start[arc], end[arc])
        nearest[arc] = np.where(inside[:, None], onto, tip)
    gap = points - nearest
    return nearest, np.hypot(gap[:, 0], gap[:, 1])


class _Take(Protocol):
    """Keeps a pair of points where it is nearer than what was found so far."""

    def __call__(self, p: Floats, q: Floats, d: Floats, where: Ints | None = None) -> None: ...


def distances(table: SegmentTable, i: Ints, j: Ints) -> tuple[Floats, Floats, Floats]:
    """Least distance of rows i from rows j, for segments that do not cross.

    It is taken at an end of either, or between the insides: at the foot of an arc's centre on a line, or on
    the line through two centres.

    Returns
    -------
    array, shape (k,)
        Distances. [m]
    array, shape (k, 2)
        Nearest points on rows i. [m]
    array, shape (k, 2)
        Nearest points on rows j. [m]
    """
    best = np.full(len(i), np.inf)
    on_i, on_j = np.zeros((len(i), 2)), np.zeros((len(i), 2))

    def take(p: Floats, q: Floats, d: Floats, where: Ints | None = None) -> None:
        index = np.arange(len(best)) if where is None else where
        better = d < best[index]
        chosen = index[better]
        best[chosen], on_i[chosen], on_j[chosen] = d[better], p[better], q[better]

    for points in (table.start[i], table.end[i]):
        nearest, d = _on_segment(table, j, points)
        take(points, nearest, d)
    for points in (table.start[j], table.end[j]):
        nearest, d = _on_segment(table, i, points)
        take(nearest, points, d)
    _inner_line_arc(table, i, j, take, swap=False)
    _inner_line_arc(table, j, i, take, swap=True)
    _inner_arc_arc(table, i, j, take)
    return best, on_i, on_j


def _inner_line_arc(table: SegmentTable, lines: Ints, arcs: Ints, take: _Take, *, swap: bool) -> None:
    which = np.flatnonzero(~table.is_arc[lines] & table.is_arc[arcs])
    if not len(which):
        return
    line, arc = lines[which], arcs[which]
    foot, _ = _on_segment(table, line, table.centre[arc])
    onto, d = _on_segment(table, arc, foot)
    if swap:
        take(onto, foot, d, which)
    else:
        take(foot, onto, d, which)


def _inner_arc_arc(table: SegmentTable, i: Ints, j: Ints, take: _Take) -> None:
    which = np.flatnonzero(table.is_arc[i] & table.is_arc[j])
    if not len(which):
        return
    a, b = i[which], j[which]
    axis = table.centre[b] - table.centre[a]
    norm = np.hypot(axis[:, 0], axis[:, 1])
    unit = axis / np.where(norm > 0.0, norm, 1.0)[:, None]
    for side in (1.0, -1.0):
        point = table.centre[a] + side * table.radius[a][:, None] * unit
        on_a, off = _on_segment(table, a, point)
        on_b, d = _on_segment(table, b, on_a)
        good = (off < 1.0e-12) & (norm > 0.0)
        take(on_a[good], on_b[good], d[good], which[good])


def crossings(table: SegmentTable, i: Ints, j: Ints, *, slack: float) -> tuple[Ints, Floats, Flags]:
    """Where rows i meet rows j.

    Parameters
    ----------
    table : SegmentTable
        Of m loops.
    i, j : array, shape (k,)
        Rows.
    slack : float
        Distance from an end within which a meeting is a touch, not a crossing. [m]

    Returns
    -------
    array, shape (p,)
        Which of the k pairs.
    array, shape (p, 2)
        Where. [m]
    array, shape (p,)
        Whether they truly cross there, inside both.
    """
    found = [_line_line(table, i, j), _line_arc(table, i, j), _line_arc(table, j, i), _arc_arc(table, i, j)]
    pair = np.concatenate([f[0] for f in found])
    point = np.concatenate([f[1] for f in found])
    angle = np.concatenate([f[2] for f in found])
    if not len(pair):
        return pair, point, np.zeros(0, dtype=bool)
    a, b = i[pair], j[pair]
    tip = np.min(
        [np.hypot(*(point - end[rows]).T) for rows in (a, b) for end in (table.start, table.end)],
        axis=0,
    )
    full = (np.abs(table.sweep[a]) > 6.283) | (np.abs(table.sweep[b]) > 6.283)
    return pair, point, ((tip > slack) | full) & (angle > 1.0e-6)


Found = tuple[Ints, Floats, Floats]


def _line_line(table: SegmentTable, i: Ints, j: Ints) -> Found:
    which = np.flatnonzero(~table.is_arc[i] & ~table.is_arc[j])
    p, q = table.start[i[which]], table.start[j[which]]
    r, s = table.end[i[which]] - p, table.end[j[which]] - q
    cross = r[:, 0] * s[:, 1] - r[:, 1] * s[:, 0]
    size = np.hypot(*r.T) * np.hypot(*s.T)
    good = np.abs(cross) > 1.0e-12 * size
    safe = np.where(good, cross, 1.0)
    w = q - p
    t = (w[:, 0] * s[:, 1] - w[:, 1] * s[:, 0]) / safe
    u = (w[:, 0] * r[:, 1] - w[:, 1] * r[:, 0]) / safe
    hit = good & (t >= -1e-12) & (t <= 1 + 1e-12) & (u >= -1e-12) & (u <= 1 + 1e-12)
    sine = np.abs(cross[hit]) / np.where(size[hit] > 0.0, size[hit], 1.0)
    return which[hit], p[hit] + t[hit][:, None] * r[hit], sine


def _line_arc(table: SegmentTable, lines: Ints, arcs: Ints) -> Found:
    which = np.flatnonzero(~table.is_arc[lines] & table.is_arc[arcs])
    line, arc = lines[which], arcs[which]
    p = table.start[line]
    along = table.end[line] - p
    length = np.hypot(*along.T)
    unit = along / np.where(length > 0.0, length, 1.0)[:, None]
    w = table.centre[arc] - p
    middle = np.einsum("ij,ij->i", w, unit)
    off = w[:, 0] * unit[:, 1] - w[:, 1] * unit[:, 0]
    under = table.radius[arc] ** 2 - off**2
    half = np.sqrt(np.maximum(under, 0.0))
    parts: list[Found] = []
    for side in (1.0, -1.0):
        t = middle + side * half
        point = p + t[:, None] * unit
        polar = np.arctan2(*(point - table.centre[arc]).T[::-1])
        hit = (under >= 0.0) & (t >= -1e-12) & (t <= length + 1e-12)
        hit &= arc_covers(table.angle[arc], table.sweep[arc], polar)
        parts.append((which[hit], point[hit], half[hit] / table.radius[arc][hit]))
    return _stack(parts)


def _arc_arc(table: SegmentTable, i: Ints, j: Ints) -> Found:
    which = np.flatnonzero(table.is_arc[i] & table.is_arc[j])
    a, b = i[which], j[which]
    axis = table.centre[b] - table.centre[a]
    d = np.hypot(*axis.T)
    apart = d > EXACT
    safe = np.where(apart, d, 1.0)
    unit = axis / safe[:, None]
    ra, rb = table.radius[a], table.radius[b]
    along = (d**2 + ra**2 - rb**2) / (2.0 * safe)
    under = ra**2 - along**2
    half = np.sqrt(np.maximum(under, 0.0))
    parts: list[Found] = []
    for side in (1.0, -1.0):
        point = table.centre[a] + along[:, None] * unit
        point += side * half[:, None] * np.column_stack((-unit[:, 1], unit[:, 0]))
        hit = apart & (under >= 0.0)
        for rows in (a, b):
            polar = np.arctan2(*(point - table.centre[rows]).T[::-1])
            hit &= arc_covers(table.angle[rows], table.sweep[rows], polar)
        parts.append((which[hit], point[hit], (half * d / (ra * rb))[hit]))
    return _stack(parts)


def _stack(parts: list[Found]) -> Found:
    return (
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] for part in parts]),
        np.concatenate([part[2] for part in parts]),
    )
