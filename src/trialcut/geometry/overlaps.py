"""Lines and arcs that are drawn twice, wholly or in part, before anything is joined.

Only loose pieces are looked at; a closed polyline is a contour in its own right, and two parts may well
share a side. For the same reason a double is kept where taking it away would leave a contour open.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, tau

import numpy as np

from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.nearest import close_pairs, neighbours
from trialcut.geometry.pairs import near_pairs
from trialcut.geometry.pieces import Piece
from trialcut.geometry.table import Flags, Floats, Ints, SegmentTable
from trialcut.geometry.tolerances import FULL_TURN, SAME_POINT


@dataclass(slots=True)
class Cleaned:
    """Pieces without doubles, and where doubles and overlaps were. [m]"""

    pieces: list[Piece]
    duplicates: list[Point] = field(default_factory=list)
    overlaps: list[Point] = field(default_factory=list)


def remove_doubles(pieces: Sequence[Piece]) -> Cleaned:
    """Take away lines and arcs that lie on others, among the pieces that are not closed."""
    loose = [piece for piece in pieces if not piece.closed and not piece.free]
    if len(loose) < 2:
        return Cleaned(list(pieces))
    table = SegmentTable.of([piece.segments for piece in loose])
    i, j = _on_one_carrier(table)
    if not len(i):
        return Cleaned(list(pieces))
    concerned = set(table.loop[np.concatenate((i, j))].tolist())
    rest = [piece for piece in pieces if piece.closed or piece.free]
    rest += [piece for k, piece in enumerate(loose) if k not in concerned]
    single = [segment for k in sorted(concerned) for segment in loose[k].segments]
    work = _Work(single, rest)
    duplicates = work.drop_duplicates()
    overlaps = work.join_overlaps()
    made = [Piece((segment,), closed=segment.length >= _round_trip(segment)) for segment in work.segments]
    return Cleaned(rest + made, duplicates, overlaps)


def _on_one_carrier(table: SegmentTable) -> tuple[Ints, Ints]:
    """Pairs of rows that share a stretch of one line or one circle, longer than a point."""
    i, j, _ = near_pairs(table.boxes(), reach=SAME_POINT)
    i, j = _same_carrier(table, i, j)
    shared = _shared_length(table, i, j)
    keep = shared > 2.0 * SAME_POINT
    return i[keep], j[keep]


def _same_carrier(table: SegmentTable, i: Ints, j: Ints) -> tuple[Ints, Ints]:
    arcs = table.is_arc[i] & table.is_arc[j]
    round_ = arcs & (np.abs(table.radius[i] - table.radius[j]) <= SAME_POINT)
    round_ &= np.hypot(*(table.centre[i] - table.centre[j]).T) <= SAME_POINT
    straight = ~table.is_arc[i] & ~table.is_arc[j]
    long = np.where((table.length[i] >= table.length[j])[:, None], i[:, None], j[:, None]).ravel()
    short = i + j - long
    along = table.end[long] - table.start[long]
    norm = np.hypot(*along.T)
    for tip in (table.start[short], table.end[short]):
        away = tip - table.start[long]
        off = np.abs(away[:, 0] * along[:, 1] - away[:, 1] * along[:, 0])
        straight &= off <= SAME_POINT * np.where(norm > 0.0, norm, 1.0)
    keep = round_ | straight
    return i[keep], j[keep]


def _shared_length(table: SegmentTable, i: Ints, j: Ints) -> Floats:
    """Length that rows i share with rows j of the same carrier. [m]"""
    along = table.end[i] - table.start[i]
    norm = np.hypot(*along.T)
    unit = along / np.where(norm > 0.0, norm, 1.0)[:, None]
    p = np.einsum("ij,ij->i", table.start[j] - table.start[i], unit)
    q = np.einsum("ij,ij->i", table.end[j] - table.start[i], unit)
    straight = np.minimum(norm, np.maximum(p, q)) - np.maximum(0.0, np.minimum(p, q))
    low_i = np.minimum(table.angle[i], table.angle[i] + table.sweep[i])
    low_j = np.minimum(table.angle[j], table.angle[j] + table.sweep[j])
    width_i, width_j = np.abs(table.sweep[i]), np.abs(table.sweep[j])
    lag = (low_j - low_i) % tau
    first = np.minimum(width_i, lag + width_j) - lag
    second = np.minimum(width_i, lag - tau + width_j)
    arc = table.radius[i] * np.maximum(first, second)
    return np.where(table.is_arc[i], arc, straight)


def _key(point: Point) -> tuple[int, int]:
    """Cell of a point, coarse enough that the rounding in a file seldom splits one point."""
    return (round(point[0] / (10.0 * SAME_POINT)), round(point[1] / (10.0 * SAME_POINT)))


def _shape(segment: Segment) -> tuple[tuple[int, int], ...]:
    """What two segments that are drawn on top of each other have in common."""
    return (*sorted((_key(segment.start), _key(segment.end))), _key(segment.point(0.5)))


class _Work:
    """Single lines and arcs of which some lie on others."""

    def __init__(self, segments: Sequence[Segment], others: Sequence[Piece]) -> None:
        self.segments = list(segments)
        self.others: Counter[tuple[int, int]] = Counter(
            _key(point)
            for piece in others
            if not piece.closed
            for point in (piece.segments[0].start, piece.segments[-1].end)
        )

    def _degrees(self, segments: Sequence[Segment]) -> Counter[tuple[int, int]]:
        degrees = self.others.copy()
        for segment in segments:
            degrees[_key(segment.start)] += 1
            degrees[_key(segment.end)] += 1
        return degrees

    def drop_duplicates(self) -> list[Point]:
        """Keep one of equal segments, or two where one alone would leave an odd number at both its ends."""
        groups: dict[tuple[tuple[int, int], ...], list[Segment]] = {}
        for segment in self.segments:
            groups.setdefault(_shape(segment), []).append(segment)
        singles = [group[0] for group in groups.values()]
        degrees = self._degrees(singles)
        dropped: list[Point] = []
        kept: list[Segment] = []
        for group in groups.values():
            first = group[0]
            odd = all(degrees[_key(p)] % 2 and degrees[_key(p)] > 1 for p in (first.start, first.end))
            copies = min(len(group), 2 if odd else 1)
            kept.extend(group[:copies])
            dropped.extend([first.point(0.5)] * (len(group) - copies))
        self.segments = kept
        return dropped

    def join_overlaps(self) -> list[Point]:
        """Join segments that overlap in part, where the ends that lie within the other lead nowhere."""
        places: list[Point] = []
        while True:
            table = SegmentTable.of([[segment] for segment in self.segments])
            degrees = self._degrees(self.segments)
            taken: set[int] = set()
            joined: list[Segment] = []
            for i, j in zip(*(rows.tolist() for rows in _on_one_carrier(table)), strict=True):
                if i in taken or j in taken or _shape(self.segments[i]) == _shape(self.segments[j]):
                    continue
                whole = _union(self.segments[i], self.segments[j])
                outer = set() if whole.length >= _round_trip(whole) else {_key(whole.start), _key(whole.end)}
                ends = [p for k in (i, j) for p in (self.segments[k].start, self.segments[k].end)]
                if any(degrees[_key(p)] > 1 for p in ends if _key(p) not in outer):
                    continue
                taken |= {i, j}
                joined.append(whole)
                places.append(whole.point(0.5))
            if not taken:
                return places
            self.segments = [s for k, s in enumerate(self.segments) if k not in taken] + joined


def _round_trip(segment: Segment) -> float:
    """Length that makes a segment a circle. [m]"""
    return FULL_TURN * segment.radius if isinstance(segment, Arc) else inf


def _union(a: Segment, b: Segment) -> Segment:
    """Return one segment for two of one carrier that share a stretch."""
    if isinstance(a, Arc) and isinstance(b, Arc):
        a, b = (_ccw(a), _ccw(b)) if abs(a.sweep) >= abs(b.sweep) else (_ccw(b), _ccw(a))
        lag = (b.start_angle - a.start_angle) % tau
        if lag > a.sweep + 1.0e-9:
            lag -= tau
        first, last = min(0.0, lag), max(a.sweep, lag + b.sweep)
        return Arc(a.centre, a.radius, a.start_angle + first, min(last - first, tau))
    longer = a if a.length >= b.length else b
    ux, uy = (longer.end[0] - longer.start[0]), (longer.end[1] - longer.start[1])
    ends = sorted((a.start, a.end, b.start, b.end), key=lambda p: p[0] * ux + p[1] * uy)
    return Line(ends[0], ends[-1])


def _ccw(arc: Arc) -> Arc:
    return arc if arc.sweep > 0.0 else arc.reversed()


def same_loops(
    centroids: Floats, areas: Floats, perimeters: Floats, boxes: Floats, table: SegmentTable
) -> Flags:
    """Say which closed loops repeat an earlier one.

    Parameters
    ----------
    centroids : array, shape (m, 2)
        [m]
    areas : array, shape (m,)
        Positive. [m^2]
    perimeters : array, shape (m,)
        [m]
    boxes : array, shape (m, 4)
        [m]
    table : SegmentTable
        Of the m loops.

    Returns
    -------
    array, shape (m,)
        True for a loop that lies on one before it.
    """
    repeat = np.zeros(len(areas), dtype=bool)
    marks = np.column_stack((centroids, np.sqrt(areas), perimeters / 4.0, boxes))
    reach = 20.0 * SAME_POINT
    _, representative = np.unique(np.round(marks / (0.1 * SAME_POINT)), axis=0, return_inverse=True)
    # Many copies of one loop would make a pair of every two; they are thinned to one cell first.
    order = np.argsort(representative.ravel(), kind="stable")
    cells = representative.ravel()[order]
    again = np.r_[False, cells[1:] == cells[:-1]]
    leaders = np.sort(order[~again])
    leader_of = {int(cells[k]): int(order[k]) for k in np.flatnonzero(~again)}
    for k in np.flatnonzero(again).tolist():
        repeat[order[k]] = _lies_on(table, int(order[k]), leader_of[int(cells[k])])
    pairs = close_pairs(marks[leaders], reach=reach)
    for a, b in leaders[np.sort(pairs, axis=1)].tolist():
        if not repeat[a] and not repeat[b]:
            repeat[b] = _lies_on(table, b, a)
    return repeat


def _lies_on(table: SegmentTable, a: int, b: int) -> bool:
    """Whether every vertex of loop a lies on loop b."""
    rows_a = np.arange(table.offsets[a], table.offsets[a + 1])
    rows_b = np.arange(table.offsets[b], table.offsets[b + 1])
    if len(rows_a) == 1 and len(rows_b) == 1:
        return True
    far, _ = neighbours(table.start[rows_a], to=table.start[rows_b], count=1)
    return float(np.max(far)) <= 20.0 * SAME_POINT
