"""Joining of drawn pieces into closed loops.

All ends of all pieces are points in one array. Ends that lie on one point are linked; then the ends that
are left are linked across gaps, nearest first, up to the stated gap. What cannot be closed is reported
with its place and the size of its gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from trialcut.geometry.curves import Point
from trialcut.geometry.junctions import pair_ends
from trialcut.geometry.mend import Loop
from trialcut.geometry.nearest import close_pairs, neighbours
from trialcut.geometry.pieces import Piece
from trialcut.geometry.table import Flags, Floats, Ints
from trialcut.geometry.tolerances import GAP, GAP_TRIES, SAME_POINT

_DECIDED = 0.9 * SAME_POINT
"""Ends that lie on one point have been linked, or left apart, at their junction. [m]"""


@dataclass(slots=True, frozen=True)
class OpenRun:
    """A run that does not close.

    Parameters
    ----------
    end : Point
        The end that is nearest to another loose end, or to the run's own other end. [m]
    length : float
        Of the run. [m]
    gap : float
        From there. [m]
    stray : bool
        It hangs on a contour, or on another such run, and bounds nothing.
    """

    end: Point
    length: float
    gap: float
    stray: bool


@dataclass(slots=True)
class Chained:
    """What chaining gives.

    Parameters
    ----------
    loops : list of Loop
        Closed; neighbours meet within the gap they were joined over, which is not healed yet.
    open_runs : list of OpenRun
        What did not close.
    gaps : list of tuple
        Place and size of every gap that was joined, as a point and a length. [m]
    widened : list of tuple
        Those among them that are wider than the default gap. [m]
    junctions : list of Point
        Points where more than two runs meet that do not come back, so that the way on was a guess. [m]
    """

    loops: list[Loop] = field(default_factory=list)
    open_runs: list[OpenRun] = field(default_factory=list)
    gaps: list[tuple[Point, float]] = field(default_factory=list)
    widened: list[tuple[Point, float]] = field(default_factory=list)
    junctions: list[Point] = field(default_factory=list)


class _Ends:
    """Ends of all open pieces: end ``2 i`` is the start of piece ``i``, end ``2 i + 1`` its end."""

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self.pieces = pieces
        self.points: Floats = np.array(
            [point for piece in pieces for point in (piece.segments[0].start, piece.segments[-1].end)],
            dtype=float,
        ).reshape(-1, 2)
        self.link: Ints = np.full(len(self.points), -1, dtype=np.int64)

    def loose(self) -> Ints:
        """Ends that are not linked yet."""
        return np.flatnonzero(self.link < 0)

    def join(self, a: int, b: int) -> None:
        """Link two ends."""
        self.link[a], self.link[b] = b, a

    def heading(self, end: int) -> float:
        """Direction of the piece as it leaves this end. [rad]"""
        piece = self.pieces[end // 2]
        return piece.segments[-1].reversed().heading() if end % 2 else piece.segments[0].heading()


def _clusters(points: Floats, reach: float) -> Ints:
    """Label points; points within reach of one another, directly or in steps, share a label."""
    from scipy.sparse import coo_matrix  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    cells, inverse = np.unique(np.round(points / (reach * 1.0e-2)), axis=0, return_inverse=True)
    pairs = close_pairs(cells * (reach * 1.0e-2), reach=reach)
    graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(cells), len(cells)))
    _, labels = connected_components(graph, directed=False)
    return np.asarray(labels[inverse.ravel()], dtype=np.int64)


def _strand_end(ends: _Ends, end: int) -> int:
    """Follow links from a loose end to the loose end at the other side of its strand."""
    here = end ^ 1
    while ends.link[here] >= 0:
        here = int(ends.link[here]) ^ 1
    return here


def _link_coincident(ends: _Ends, result: Chained, reach: float) -> None:
    """Link ends that lie on one point: first where two do, then where more do.

    A strand whose other end is nowhere near another loose end leads nowhere, and has no say at a junction.
    """
    loose = ends.loose()
    labels = _clusters(ends.points[loose], SAME_POINT)
    order = np.argsort(labels, kind="stable")
    labels, members = labels[order], loose[order]
    starts = np.flatnonzero(np.r_[True, labels[1:] != labels[:-1]])
    sizes = np.diff(np.r_[starts, len(labels)])
    two = starts[sizes == 2]
    ends.link[members[two]] = members[two + 1]
    ends.link[members[two + 1]] = members[two]
    groups = [
        members[start : start + size].tolist()
        for start, size in zip(starts[sizes > 2].tolist(), sizes[sizes > 2].tolist(), strict=True)
    ]
    if groups:
        _link_junctions(ends, groups, _alone(ends, reach), result)


def _alone(ends: _Ends, reach: float) -> set[int]:
    """Loose ends without another loose end within reach."""
    loose = ends.loose()
    points = ends.points[loose]
    distances, _ = neighbours(points, to=points, count=2)
    return set(loose[distances[:, 1] > reach].tolist())


def _link_junctions(ends: _Ends, groups: list[list[int]], dead: set[int], result: Chained) -> None:
    """Link the ends of each group, having set dead strands aside, again while that makes more dead."""
    waiting = groups
    while True:
        before = len(dead)
        still: list[list[int]] = []
        for group in waiting:
            alive = [end for end in group if _strand_end(ends, end) not in dead]
            dead.update(end for end in group if end not in alive)
            if len(alive) == 1:
                dead.update(alive)
            elif len(alive) == 2:
                ends.join(*alive)
            elif alive:
                still.append(alive)
        waiting = still
        if len(dead) == before:
            break
    for group in waiting:
        rest = list(group)
        for end in group:
            if end in rest:
                other = _strand_end(ends, end)
                if other != end and other in rest:
                    ends.join(end, other)
                    rest.remove(end)
                    rest.remove(other)
        if len(rest) > 2:
            x, y = ends.points[group[0]]
            result.junctions.append((float(x), float(y)))
        for a, b in pair_ends([ends.heading(end) for end in rest]):
            ends.join(rest[a], rest[b])


def _link_gaps(ends: _Ends, reach: float) -> list[tuple[Point, float]]:
    """Link loose ends across gaps up to `reach`, nearest first; return places and sizes."""
    loose = ends.loose()
    if len(loose) < 2:
        return []
    points = ends.points[loose]
    distances, indices = neighbours(points, to=points, count=8, reach=reach * (1.0 + 1.0e-9))
    rows, columns = np.nonzero(np.isfinite(distances))
    found = [
        (float(distances[r, c]), int(loose[r]), int(loose[indices[r, c]]))
        for r, c in zip(rows.tolist(), columns.tolist(), strict=True)
        if indices[r, c] > r
    ]
    joined: list[tuple[Point, float]] = []
    for distance, a, b in sorted(found):
        if ends.link[a] >= 0 or ends.link[b] >= 0 or distance <= _DECIDED:
            continue
        if a ^ 1 == b and sum(s.length for s in ends.pieces[a // 2].segments) < 4.0 * reach:
            continue
        ends.join(a, b)
        middle = 0.5 * (ends.points[a] + ends.points[b])
        joined.append(((float(middle[0]), float(middle[1])), distance))
    return joined


def _run_from(ends: _Ends, first: int, used: Flags) -> tuple[Loop, int]:
    """Follow links from the start end `first`; return the segments and the last end reached."""
    loop = Loop([], [])
    enter = first
    while True:
        index = enter // 2
        used[index] = True
        piece = ends.pieces[index]
        if enter % 2:
            loop.segments.extend(segment.reversed() for segment in reversed(piece.segments))
        else:
            loop.segments.extend(piece.segments)
        loop.free.extend([piece.free] * len(piece.segments))
        leave = enter ^ 1
        following = int(ends.link[leave])
        if following < 0 or following == first:
            return loop, leave
        enter = following


def chain(pieces: Sequence[Piece], *, gap: float | None = None) -> Chained:
    """Join pieces into closed loops.

    Parameters
    ----------
    pieces : sequence of Piece
        As drawn, without duplicates. [m]
    gap : float, optional
        Widest gap to join. Unless given, `GAP`, and then the wider `GAP_TRIES` for what is still open. [m]

    Returns
    -------
    Chained
        Loops, what stays open, and what was bridged.
    """
    result = Chained()
    closed = [piece for piece in pieces if piece.closed]
    result.loops.extend(Loop(list(piece.segments), [piece.free] * len(piece.segments)) for piece in closed)
    rest = [piece for piece in pieces if not piece.closed]
    if not rest:
        return result
    ends = _Ends(rest)
    reach = gap if gap is not None else max(GAP, *GAP_TRIES)
    _link_coincident(ends, result, reach)
    result.gaps.extend(_link_gaps(ends, GAP if gap is None else gap))
    if gap is None:
        for wider in GAP_TRIES:
            result.widened.extend(_link_gaps(ends, wider))
    used = np.zeros(len(rest), dtype=bool)
    loose = ends.loose()
    lonely: list[tuple[int, int, float]] = []
    for first in loose.tolist():
        if not used[first // 2]:
            run, last = _run_from(ends, first, used)
            lonely.append((first, last, sum(segment.length for segment in run.segments)))
    for index in range(len(rest)):
        if not used[index]:
            run, _ = _run_from(ends, 2 * index, used)
            result.loops.append(run)
    result.open_runs.extend(_open_runs(ends, lonely))
    return result


def _open_runs(ends: _Ends, lonely: list[tuple[int, int, float]]) -> list[OpenRun]:
    """Describe runs that did not close."""
    if not lonely:
        return []
    loose = ends.loose()
    linked = np.flatnonzero(ends.link >= 0)
    on_contour = np.zeros(len(ends.points), dtype=bool)
    if len(linked):
        near, _ = neighbours(ends.points[loose], to=ends.points[linked], count=1)
        on_contour[loose] = near[:, 0] <= SAME_POINT
    distances, _ = neighbours(ends.points[loose], to=ends.points[loose], count=2)
    nearest = dict(zip(loose.tolist(), distances[:, 1].tolist(), strict=True))
    runs = []
    for first, last, length in lonely:
        end = first if nearest[first] < nearest[last] else last
        x, y = ends.points[end].tolist()
        stray = any(on_contour[k] or nearest[k] <= _DECIDED for k in (first, last))
        runs.append(OpenRun((x, y), length, float(nearest[end]), stray))
    return runs
