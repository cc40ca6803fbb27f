"""Narrow places of parts: webs, where the material is thin, and passages, where the scrap is.

::

        +---------------------+
        |        .--.         |       A place is narrow where the distance between two stretches of contour
        |       (    )        |       is least: moving on along either makes it longer. The shortest
        |        `--'         |       connection then stands square on both, or ends in a corner.
        +----------|----------+
                  web
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import EdgeKind, Part
from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.pairs import crossings, distances, near_pairs
from trialcut.geometry.table import Flags, Floats, Ints, SegmentTable
from trialcut.geometry.tolerances import CURVE, SAME_POINT

_MOST_IN_CHUNK = 64
_MOST_TURN = pi / 3
_LEVEL = 1.0e-3
"""Cosine within which a connection counts as square. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrow:
    """A narrow place: the edges on its two sides, its width, and its middle. [m]"""

    edges: tuple[str, str]
    width: float
    where: Point


@dataclass(slots=True)
class _Chunks:
    """Stretches of contour, each one segment or a run of small ones that hardly turns.

    Parameters
    ----------
    table : SegmentTable
        All segments, one loop per contour.
    first, last : array, shape (k,)
        Rows of the table that each chunk runs from and to.
    part : array, shape (k,)
        Index of its part.
    edge : list of str, length k
        Its edge.
    before, after : array, shape (k,)
        Its neighbours round the contour.
    """

    table: SegmentTable
    first: Ints
    last: Ints
    part: Ints
    edge: list[str]
    before: Ints
    after: Ints

    def boxes(self) -> Floats:
        """Left, bottom, right, top of each chunk, shape (k, 4). [m]"""
        rows = self.table.boxes()
        low = np.minimum.reduceat(rows[:, :2], self.first, axis=0)
        high = np.maximum.reduceat(rows[:, 2:], self.first, axis=0)
        return np.hstack((low, high))


def _chunks(parts: Sequence[Part]) -> _Chunks:
    loops: list[list[Segment]] = []
    first: list[int] = []
    last: list[int] = []
    owner: list[int] = []
    names: list[str] = []
    before: list[int] = []
    after: list[int] = []
    row = 0
    for p, part in enumerate(parts):
        for contour in part.contours:
            start = len(first)
            loop: list[Segment] = []
            for edge in contour.edges:
                for length in (
                    _lengths(edge.segments) if edge.kind is EdgeKind.FREE else (len(edge.segments),)
                ):
                    first.append(row)
                    row += length
                    last.append(row - 1)
                    owner.append(p)
                    names.append(edge.id)
                loop.extend(edge.segments)
            loops.append(loop)
            around = range(start, len(first))
            before += [len(first) - 1, *around[:-1]]
            after += [*around[1:], start]
    return _Chunks(
        SegmentTable.of(loops),
        np.array(first),
        np.array(last),
        np.array(owner),
        names,
        np.array(before),
        np.array(after),
    )


def _lengths(segments: Sequence[Segment]) -> list[int]:
    """Numbers of segments in chunks that are short and hardly turn."""
    if len(segments) == 1:
        return [1]
    table = SegmentTable.of([segments])
    bend = np.abs(table.sweep) + np.abs(table.turns())
    lengths: list[int] = []
    turned, count = 0.0, 0
    for angle in bend.tolist():
        if count and (count >= _MOST_IN_CHUNK or turned + angle > _MOST_TURN):
            lengths.append(count)
            turned, count = 0.0, 0
        turned += angle
        count += 1
    return [*lengths, count]


_MOST_PAIRS = 400_000


@dataclass(frozen=True, slots=True)
class NarrowPlaces:
    """Narrow places part by part, and up to which width they were looked for. [m]"""

    of_part: list[list[Narrow]]
    limit: float


def narrow_places(parts: Sequence[Part], *, limit: float, through_material: bool) -> NarrowPlaces:
    """Find the narrow places of parts.

    Parameters
    ----------
    parts : sequence of Part
        Looked at one by one, but all at once.
    limit : float
        Widest place to look for. [m]
    through_material : bool
        Webs, as against passages through the scrap.

    Returns
    -------
    NarrowPlaces
        For each part, narrowest first, equal ones in the order of their edges; one for a pair of edges.
        Where edges are very many and close, the limit is halved until they can be looked through.
    """
    found: list[list[Narrow]] = [[] for _ in parts]
    if not parts:
        return NarrowPlaces(found, limit)
    chunks = _chunks(parts)
    boxes = chunks.boxes()
    i, j, complete = near_pairs(boxes, reach=limit, most=_MOST_PAIRS)
    while not complete and limit > SAME_POINT:
        limit *= 0.5
        i, j, complete = near_pairs(boxes, reach=limit, most=_MOST_PAIRS)
    keep = (chunks.part[i] == chunks.part[j]) & (chunks.after[i] != j) & (chunks.after[j] != i)
    i, j = i[keep], j[keep]
    width, on_i, on_j = _least(chunks, i, j)
    keep = (width <= limit) & (width > SAME_POINT)
    i, j, width, on_i, on_j = i[keep], j[keep], width[keep], on_i[keep], on_j[keep]
    keep = _faces(chunks, i, on_i, on_j, through_material=through_material)
    keep &= _faces(chunks, j, on_j, on_i, through_material=through_material)
    i, j, width, on_i, on_j = i[keep], j[keep], width[keep], on_i[keep], on_j[keep]
    keep = ~_blocked(chunks.table, on_i, on_j)
    best: dict[tuple[int, str, str], Narrow] = {}
    middle = 0.5 * (on_i + on_j)
    order = np.lexsort((j, i, np.round(width / SAME_POINT)))
    for k in order[keep[order]].tolist():
        a, b = chunks.edge[i[k]], chunks.edge[j[k]]
        p = int(chunks.part[i[k]])
        where = (float(middle[k, 0]), float(middle[k, 1]))
        best.setdefault((p, a, b), Narrow(edges=(a, b), width=float(width[k]), where=where))
    for (p, _, _), narrow in best.items():
        found[p].append(narrow)
    return NarrowPlaces(found, limit)


def _least(chunks: _Chunks, i: Ints, j: Ints) -> tuple[Floats, Floats, Floats]:
    """Least distance between chunks i and j, and the nearest points on either; exact for single segments."""
    import shapely  # noqa: PLC0415

    width = np.full(len(i), np.inf)
    on_i, on_j = np.zeros((len(i), 2)), np.zeros((len(i), 2))
    single = (chunks.first[i] == chunks.last[i]) & (chunks.first[j] == chunks.last[j])
    rows = np.flatnonzero(single)
    width[rows], on_i[rows], on_j[rows] = distances(
        chunks.table, chunks.first[i[rows]], chunks.first[j[rows]]
    )
    rows = np.flatnonzero(~single)
    if len(rows):
        strings = _strings(chunks)
        ends = shapely.get_coordinates(shapely.shortest_line(strings[i[rows]], strings[j[rows]])).reshape(
            -1, 2, 2
        )
        on_i[rows], on_j[rows] = ends[:, 0], ends[:, 1]
        width[rows] = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    return width, on_i, on_j


def _strings(chunks: _Chunks) -> NDArray[np.object_]:
    """Chunks as line strings, shape (k,)."""
    import shapely  # noqa: PLC0415

    points, counts = chunks.table.flattened(tolerance=CURVE)
    first = np.cumsum(counts) - counts
    begin, size = first[chunks.first], first[chunks.last] + counts[chunks.last] - first[chunks.first]
    chunk = np.repeat(np.arange(len(size)), size + 1)
    place = np.arange(len(chunk)) - np.repeat(np.cumsum(size + 1) - size - 1, size + 1)
    inner = place < size[chunk]
    along = np.where(inner[:, None], points[begin[chunk] + np.where(inner, place, 0)], 0.0)
    along[~inner] = chunks.table.end[chunks.last]
    return np.asarray(shapely.linestrings(along, indices=chunk))


def _faces(chunks: _Chunks, k: Ints, here: Floats, there: Floats, *, through_material: bool) -> Flags:
    """Whether the way from `here` on chunks k to `there` is shortest on both sides, and on the asked side."""
    table = chunks.table
    way = there - here
    way = way / np.hypot(*way.T)[:, None]
    leaving, arriving = table.heading(at_end=False), table.heading(at_end=True)
    at_start = np.hypot(*(here - table.start[chunks.first[k]]).T) <= SAME_POINT
    at_end = np.hypot(*(here - table.end[chunks.last[k]]).T) <= SAME_POINT
    square = np.arctan2(way[:, 1], way[:, 0]) - (pi / 2 if through_material else -pi / 2)
    before = np.where(at_start, arriving[chunks.last[chunks.before[k]]], square)
    before = np.where(at_end, arriving[chunks.last[k]], before)
    after = np.where(at_end, leaving[chunks.first[chunks.after[k]]], square)
    after = np.where(at_start, leaving[chunks.first[k]], after)
    inner = ~(at_start | at_end)
    side = _side(table, chunks, k, here, way)
    along_before = np.cos(before) * way[:, 0] + np.sin(before) * way[:, 1]
    along_after = np.cos(after) * way[:, 0] + np.sin(after) * way[:, 1]
    least = (along_after <= _LEVEL) & (along_before >= -_LEVEL)
    left_before = np.cos(before) * way[:, 1] - np.sin(before) * way[:, 0]
    left_after = np.cos(after) * way[:, 1] - np.sin(after) * way[:, 0]
    sign = 1.0 if through_material else -1.0
    tip = (sign * left_before > _LEVEL) | (sign * left_after > _LEVEL)
    return np.asarray(np.where(inner, sign * side > 0.0, least & tip))


def _side(table: SegmentTable, chunks: _Chunks, k: Ints, here: Floats, way: Floats) -> Floats:
    """Positive where a way that starts inside a chunk leaves to its left.

    The chunk's chord decides, but for an arc its centre does: towards it is left if the arc turns left.
    """
    first, last = chunks.first[k], chunks.last[k]
    chord = table.end[last] - table.start[first]
    left = chord[:, 0] * way[:, 1] - chord[:, 1] * way[:, 0]
    inward = np.einsum("ij,ij->i", table.centre[first] - here, way)
    arc = (first == last) & table.is_arc[first]
    return np.where(arc, inward * np.sign(table.sweep[first]), left)


def _blocked(table: SegmentTable, here: Floats, there: Floats) -> Flags:
    """Whether a straight way from `here` to `there` meets a contour between."""
    import shapely  # noqa: PLC0415

    count = len(here)
    blocked = np.zeros(count, dtype=bool)
    if not count:
        return blocked
    ways = SegmentTable(
        np.arange(count + 1),
        np.zeros(count, dtype=bool),
        here,
        there,
        here,
        *(np.zeros(count) for _ in range(3)),
    )
    both = table.joined(ways)
    walls = shapely.STRtree(shapely.box(*table.boxes().T))
    way, wall = walls.query(shapely.box(*ways.boxes().T))
    pair, point, _ = crossings(both, way + len(table), wall, slack=SAME_POINT)
    row = way[pair]
    free = np.minimum(np.hypot(*(point - here[row]).T), np.hypot(*(point - there[row]).T)) > 4.0 * CURVE
    blocked[row[free]] = True
    return blocked
