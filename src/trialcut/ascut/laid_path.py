"""The cut path as the jet runs it: beside the drawn edges by each one's offset, leads joined to it.

A prepared path of `trialcut.motion` follows the drawn edges; here is one that follows the jet, so that speeds
and times are those of the machine's real way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, inf, pi, sin

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.loops import with_loops
from trialcut.ascut.types import FloatArray, IntArray
from trialcut.geometry.contours import Contour, Part
from trialcut.geometry.crossings import piece
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.offsets import Item, offset_contour
from trialcut.geometry.tolerances import SAME_POINT
from trialcut.motion._limits import require_limits
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.prepared import (
    CORNER_TOLERANCE,
    SAME_STATION,
    SMOOTH_TURN,
    PreparedPath,
    corner_speed,
)
from trialcut.motion.starts import CornerKey, place_on_edge

QUARTER = 0.75 * pi
"""An arc that sweeps more than this is a half circle, not a quarter. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPath:
    """The way of the jet at the top face: P segments in order of travel.

    Parameters
    ----------
    segments : tuple of Segment
        Run after run. [m]
    prepared : PreparedPath
        The same for `motion.intervals.path_intervals`; a roll round a corner counts to the edge before it.
    held, following : ndarray of int, shape (P,)
        Edge whose lean holds on each segment, and the next one's on the way across a corner: else the same.
    off_edge : ndarray of bool, shape (P,)
        Leads, and ways across a corner.
    not_cut : tuple of str
        Contours that the jet does not fit into; their runs are left out.
    vanished : tuple of str
        Edges of the other contours beside which there is no path.
    left_out : dict of contour id to int
        Further loops that the jet cannot pass on to.
    """

    segments: tuple[Segment, ...]
    prepared: PreparedPath
    held: IntArray
    following: IntArray
    off_edge: NDArray[np.bool_]
    not_cut: tuple[str, ...]
    vanished: tuple[str, ...]
    left_out: dict[str, int]


@dataclass(slots=True)
class _Laying:
    """What is gathered, segment by segment."""

    segments: list[Segment]
    edge: list[int]
    run: list[int]
    held: list[int]
    following: list[int]
    off_edge: list[bool]
    here: float = 0.0

    def add(self, segment: Segment, *, edge: int, run: int, held: int, following: int, off: bool) -> None:
        if segment.length <= SAME_STATION:
            return
        self.segments.append(segment)
        self.edge.append(edge)
        self.run.append(run)
        self.held.append(held)
        self.following.append(following)
        self.off_edge.append(off)
        self.here += segment.length


def lay_path(
    part: Part,
    path: CutPath,
    *,
    machine: Machine,
    offsets: Mapping[str, float],
    corner_tolerance: float = CORNER_TOLERANCE,
    loops: Mapping[CornerKey, Sequence[Segment]] | None = None,
) -> LaidPath:
    """
    Lay the jet's way beside the drawn edges.

    Parameters
    ----------
    part : Part
        That the path cuts.
    path : CutPath
        Its runs.
    machine : Machine
        Limits of the motion.
    offsets : mapping of edge id to float
        From each drawn edge to the path, into the scrap. [m]
    corner_tolerance : float
        How far the machine may round a corner off. [m]
    loops : mapping of (before, after) to sequence of Segment, optional
        As in `motion.prepared.prepare_path`; each is moved to where the path really turns.

    Returns
    -------
    LaidPath
        Ready for speeds and leans.

    Raises
    ------
    RangeError
        If the machine's acceleration or jerk is not above zero.
    """
    require_limits(acceleration=machine.acceleration, jerk=machine.jerk)
    ids = tuple(edge.id for edge in part.edges)
    place = {edge_id: i for i, edge_id in enumerate(ids)}
    laying = _Laying([], [], [], [], [], [])
    run_ends: list[int] = []
    corners: dict[CornerKey, int] = {}
    rows: list[tuple[float, tuple[float, float], tuple[float, float]]] = []
    around: list[tuple[float, float]] = []
    not_cut: list[str] = []
    vanished: list[str] = []
    left_out: dict[str, int] = {}
    for number, run in enumerate(path.runs):
        contour = part.contour(run.contour)
        beside = offset_contour(contour, offsets)
        if not beside.pieces:
            not_cut.append(contour.id)
            continue
        vanished += beside.vanished
        if beside.left_out:
            left_out[contour.id] = beside.left_out
        items, drawn_start, at_corner = _from_start(contour, run, beside.pieces)
        items = with_loops(items, loops or {})
        edges = [place[name] if name is not None else -1 for name, _ in items]
        first = next(e for e in edges if e >= 0)
        last = next(e for e in reversed(edges) if e >= 0)
        for segment in _lead_in(run, drawn_start, items[0][1]):
            laying.add(segment, edge=-1, run=number, held=first, following=first, off=True)
        begin = laying.here
        stations = []
        held = last
        for k, (_, segment) in enumerate(items):
            stations.append((laying.here, laying.here + segment.length))
            across = edges[k] < 0
            held = held if across else edges[k]
            following = next((e for e in edges[k:] if e >= 0), first) if across else held
            laying.add(segment, edge=held, run=number, held=held, following=following, off=across)
        for key, row in _corners(contour, items, stations):
            corners[key] = len(rows)
            rows.append(row)
            around.append((begin, laying.here))
        for segment in _lead_out(run, items[-1][1], at_corner=at_corner):
            laying.add(segment, edge=-1, run=number, held=last, following=last, off=True)
        run_ends.append(len(laying.segments))
    segments = laying.segments
    radius = np.array([s.radius if isinstance(s, Arc) else inf for s in segments])
    station_caps = _station_caps(segments, machine, corner_tolerance)
    station_caps[[0, *run_ends]] = 0.0
    prepared = PreparedPath(
        path=path,
        machine=machine,
        edge_ids=ids,
        stations=np.concatenate(([0.0], np.cumsum([s.length for s in segments]))),
        piece_edge=np.array(laying.edge, dtype=np.int64),
        piece_run=np.array(laying.run, dtype=np.int64),
        piece_radius=radius,
        piece_rolls=np.array(laying.off_edge, dtype=bool) & (np.array(laying.edge) >= 0),
        piece_caps=np.minimum(np.sqrt(machine.acceleration * radius), machine.cut_speed_max),
        station_caps=station_caps,
        corners=corners,
        corner_station=np.array([row[0] for row in rows]),
        corner_room=np.array([row[1] for row in rows]).reshape(-1, 2),
        corner_contour=np.array(around).reshape(-1, 2),
        corner_headings=np.array([row[2] for row in rows]).reshape(-1, 2),
    )
    return LaidPath(
        segments=tuple(segments),
        prepared=prepared,
        held=np.array(laying.held, dtype=np.int64),
        following=np.array(laying.following, dtype=np.int64),
        off_edge=np.array(laying.off_edge, dtype=bool),
        not_cut=tuple(not_cut),
        vanished=tuple(vanished),
        left_out=left_out,
    )


def _station_caps(segments: Sequence[Segment], machine: Machine, corner_tolerance: float) -> FloatArray:
    """Speed at each joint of the segments as the machine rounds it; ``inf`` at both ends."""
    caps = np.full(len(segments) + 1, inf)
    for k, (before, after) in enumerate(pairwise(segments), start=1):
        difference = after.heading(0.0) - before.heading(1.0)
        caps[k] = corner_speed(
            turn=atan2(sin(difference), cos(difference)),
            acceleration=machine.acceleration,
            tolerance=corner_tolerance,
        )
    return caps


def _from_start(contour: Contour, run: PathRun, pieces: Sequence[Item]) -> tuple[list[Item], Point, bool]:
    """Pieces from the start round and on by the overlap, the drawn start, and whether it is a corner.

    At a corner the jet comes in along the edge after it and leaves along the edge before it, so the way past
    the corner is left out.
    """
    edge = next(edge for edge in contour.edges if edge.id == run.start_edge)
    drawn, _ = place_on_edge(edge, run.start_fraction)
    corner = next((c for c in contour.corners if c.after == edge.id and c.turn > SMOOTH_TURN), None)
    at_corner = corner is not None and run.start_fraction * edge.length <= SAME_STATION
    begin, share = _place(pieces, edge.id, drawn)
    name, segment = pieces[begin]
    after, before = _cut(segment, share, begin=True), _cut(segment, share, begin=False)
    if at_corner and corner is not None and corner.before != edge.id:
        end, share = _place(pieces, corner.before, drawn)
        count = (end - begin) % len(pieces)
        items = [pieces[(begin + k) % len(pieces)] for k in range(1, count)]
        name_before, last = pieces[end]
        before = _cut(last, share, begin=False)
    else:
        items = [*pieces[begin + 1 :], *pieces[:begin]]
        name_before = name
    around = [(n, s) for n, s in [(name, after), *items, (name_before, before)] if s is not None]
    if run.overlap > 0.0:
        point, _ = place_on_edge(edge, (run.start_fraction + run.overlap / edge.length) % 1.0 or 1.0)
        around += [(edge.id, again) for again in _again(around, edge.id, point)]
    return around, drawn, at_corner


def _again(around: Sequence[Item], edge: str, end: Point) -> Iterator[Segment]:
    """Pieces from the start that are run once more, as far as beside a point of the drawn edge."""
    last = len(around) if around[-1][0] != edge or len(around) == 1 else len(around) - 1
    ahead = []
    for name, segment in around[:last]:
        if name != edge:
            break
        ahead.append(segment)
    reach = min(range(len(ahead)), key=lambda i: _nearest(ahead[i], end)[1], default=-1)
    for k, segment in enumerate(ahead[: reach + 1]):
        again = segment if k < reach else _cut(segment, _nearest(segment, end)[0], begin=False)
        if again is not None:
            yield again


def _place(pieces: Sequence[Item], edge: str, drawn: Point) -> tuple[int, float]:
    """Piece beside an edge that is nearest to a point, and the fraction of it; any, if the edge has none."""
    mine = [i for i, (name, _) in enumerate(pieces) if name == edge] or list(range(len(pieces)))
    best = min(mine, key=lambda i: _nearest(pieces[i][1], drawn)[1])
    return best, _nearest(pieces[best][1], drawn)[0]


def _cut(segment: Segment, share: float, *, begin: bool) -> Segment | None:
    """Segment from a fraction on, or up to it; None if nothing is left."""
    low, high = (share, 1.0) if begin else (0.0, share)
    return piece(segment, low, high) if (high - low) * segment.length > SAME_POINT else None


def _nearest(segment: Segment, point: Point) -> tuple[float, float]:
    """Fraction of a segment nearest to a point, and the distance. [m]"""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        square = (x1 - x0) ** 2 + (y1 - y0) ** 2
        share = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / square
    else:
        angle = atan2(point[1] - segment.centre[1], point[0] - segment.centre[0])
        middle = segment.start_angle + 0.5 * segment.sweep
        away = atan2(sin(angle - middle), cos(angle - middle))
        share = 0.5 + away / segment.sweep
    share = min(max(share, 0.0), 1.0)
    x, y = segment.point(share)
    return share, hypot(x - point[0], y - point[1])


def _corners(
    contour: Contour, items: Sequence[Item], stations: Sequence[tuple[float, float]]
) -> list[tuple[CornerKey, tuple[float, tuple[float, float], tuple[float, float]]]]:
    """Real corners that the jet passes: where, the room on both sides, the headings."""
    turning = {(c.before, c.after) for c in contour.corners if abs(c.turn) >= SMOOTH_TURN}
    length: dict[str, float] = {}
    for name, segment in items:
        if name is not None:
            length[name] = length.get(name, 0.0) + segment.length
    found: list[tuple[CornerKey, tuple[float, tuple[float, float], tuple[float, float]]]] = []
    before: int | None = None
    for k, (name, segment) in enumerate(items):
        if name is None:
            continue
        previous = items[before][0] if before is not None else None
        if before is not None and previous is not None and (previous, name) in turning:
            middle = 0.5 * (stations[before][1] + stations[k][0])
            headings = (items[before][1].heading(1.0), segment.heading(0.0))
            reach = middle - stations[before][1]
            found.append(
                ((previous, name), (middle, (length[previous] + reach, length[name] + reach), headings))
            )
        before = k
    return found


def _lead_in(run: PathRun, drawn: Point, first: Segment) -> tuple[Segment, ...]:
    """Lead-in that ends where the jet's way starts, in the shape of the drawn one."""
    start, heading = first.start, first.heading(0.0)
    offset = hypot(start[0] - drawn[0], start[1] - drawn[1])
    if len(run.lead_in) == 1:
        (lead,) = run.lead_in
        if isinstance(lead, Line):
            turn = heading - lead.heading()
            if abs(atan2(sin(turn), cos(turn))) < SMOOTH_TURN and lead.length > offset:
                size = lead.length - offset
                return (Line((start[0] - size * cos(heading), start[1] - size * sin(heading)), start),)
        elif abs(lead.sweep) < QUARTER:
            if lead.radius > offset:
                arc = Arc(lead.centre, lead.radius - offset, lead.start_angle, lead.sweep)
                if _meet(arc.end, start):
                    return (arc,)
        else:
            (x0, y0), (x1, y1) = lead.start, start
            centre = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
            radius = 0.5 * hypot(x1 - x0, y1 - y0)
            if radius > SAME_POINT:
                return (Arc(centre, radius, atan2(y0 - centre[1], x0 - centre[0]), lead.sweep),)
    pierce = run.lead_in[0].start if run.lead_in else run.pierce
    return () if _meet(pierce, start) else (Line(pierce, start),)


def _lead_out(run: PathRun, last: Segment, *, at_corner: bool) -> tuple[Segment, ...]:
    """Lead-out from where the jet's way ends."""
    end, heading = last.end, last.heading(1.0)
    if not run.lead_out:
        return ()
    length = sum(segment.length for segment in run.lead_out)
    lead = run.lead_out[0]
    if len(run.lead_out) == 1 and isinstance(lead, Arc) and not at_corner:
        radius = hypot(end[0] - lead.centre[0], end[1] - lead.centre[1])
        arc = Arc(lead.centre, radius, lead.start_angle, lead.sweep)
        if radius > SAME_POINT and _meet(arc.start, end):
            return (arc,)
    return (Line(end, (end[0] + length * cos(heading), end[1] + length * sin(heading))),)


def _meet(first: Point, second: Point) -> bool:
    return hypot(first[0] - second[0], first[1] - second[1]) <= SAME_POINT
