"""A cut path laid out along its own length, free of speeds.

The pieces of the path in the order of travel, where each corner lies, and what the machine's lateral
acceleration allows on arcs and at corners.

At a real corner the axes change direction within a tolerance: the machine is taken to round it with the
largest arc that stays within `CORNER_TOLERANCE` of the corner, at the speed at which that arc needs the full
lateral acceleration. This is our own rule; controllers differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import atan2, cos, inf, pi, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Contour, Edge, Part
from trialcut.geometry.crossings import first_of
from trialcut.geometry.crossings import piece as span_of
from trialcut.geometry.curves import Arc, Segment
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.starts import CornerKey

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]

CORNER_TOLERANCE = 1.0e-5
"""How far the machine may round a corner off. [m]"""

SMOOTH_TURN = pi / 180
"""A turn below this is no corner for the machine or the jet. [rad]"""

LEAST_STRETCH = 0.05
"""Shortest path beside a hollow edge as a fraction of the edge, where the kerf fills it. [-]"""

SAME_STATION = 1.0e-9
"""Stations closer than this are one. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedPath:
    """A path laid out along its own length, P pieces and K corners, free of speeds.

    Parameters
    ----------
    path : CutPath
        What was prepared.
    machine : Machine
        Whose limits are in the caps.
    edge_ids : tuple of str
        In the order of the part.
    stations : array, shape (P + 1,)
        Ends of the pieces along the path, runs joined end to end. [m]
    piece_edge, piece_run : array, shape (P,)
        Edge (-1 on a lead) and run of each piece.
    piece_radius : array, shape (P,)
        ``inf`` on a line. [m]
    piece_rolls : array of bool, shape (P,)
        Where the path goes round an outside corner in the scrap, so that a leaned head is swinging.
    piece_caps : array, shape (P,)
        From the lateral acceleration, and the machine's largest cutting speed. [m/s]
    station_caps : array, shape (P + 1,)
        At the ends of the pieces: corners as the machine rounds them, zero at the ends of runs. [m/s]
    corners : dict
        Place of each corner in the following rows.
    corner_station : array, shape (K,)
        [m]
    corner_room : array, shape (K, 2)
        Lengths of the edges before and after it. [m]
    corner_contour : array, shape (K, 2)
        Stations where its contour's cut starts and ends. [m]
    corner_headings : array, shape (K, 2)
        Direction of travel before and after it. [rad]
    """

    path: CutPath
    machine: Machine
    edge_ids: tuple[str, ...]
    stations: Floats
    piece_edge: Integers
    piece_run: Integers
    piece_radius: Floats
    piece_rolls: Booleans
    piece_caps: Floats
    station_caps: Floats
    corners: dict[CornerKey, int]
    corner_station: Floats
    corner_room: Floats
    corner_contour: Floats
    corner_headings: Floats


def prepare_path(
    part: Part,
    path: CutPath,
    *,
    machine: Machine,
    half_kerf: float = 0.0,
    corner_tolerance: float = CORNER_TOLERANCE,
    loops: Mapping[CornerKey, Sequence[Segment]] | None = None,
) -> PreparedPath:
    """
    Lay a path out along its own length.

    Parameters
    ----------
    part : Part
        That the path cuts.
    path : CutPath
        Its runs.
    machine : Machine
        Limits of the motion.
    half_kerf : float
        From the drawn edge to the path of the jet, in the scrap: an outside arc is longer on the path, an
        inside one shorter, and straights by what they gain or lose at corners. [m]
    corner_tolerance : float
        How far the machine may round a corner off; zero makes it stop at each. [m]
    loops : mapping of (before, after) to sequence of Segment, optional
        Corners that are passed by a loop in the scrap, from the crossing of the tangents round to it again;
        such a corner lies in the middle of its loop, which goes at the speed of the edge before.

    Returns
    -------
    PreparedPath
        For any number of calls of `intervals.path_intervals`.
    """
    edge_ids = tuple(edge.id for edge in part.edges)
    place = {edge_id: i for i, edge_id in enumerate(edge_ids)}
    segments: list[Segment] = []
    piece_edge: list[int] = []
    piece_run: list[int] = []
    run_ends: list[int] = []
    corners: dict[CornerKey, int] = {}
    at: list[float] = []
    room: list[tuple[float, float]] = []
    around: list[tuple[float, float]] = []
    headings: list[tuple[float, float]] = []
    lengths: list[float] = []
    radii: list[float] = []
    rolls: list[bool] = []
    here = 0.0
    for number, run in enumerate(path.runs):
        pieces = list(_travel(part.contour(run.contour), run))
        on_path = _path_lengths(pieces, half_kerf)
        of_edge: dict[str, float] = {}
        for piece, length in zip(pieces, on_path, strict=True):
            of_edge[piece.edge] = of_edge.get(piece.edge, 0.0) + length
        detours = [_detour(pieces, k, loops) for k in range(len(pieces))]
        begin = here + sum(segment.length for segment in run.lead_in)
        end = begin + sum(on_path) + sum(segment.length for detour in detours for segment in detour)
        station = begin
        for k, (piece, length) in enumerate(zip(pieces, on_path, strict=True)):
            station += length
            if piece.turn is not None:
                before, after = piece.edge, pieces[k + 1].edge
                corners[before, after] = len(at)
                reach = 0.5 * sum(segment.length for segment in detours[k])
                at.append(station + reach)
                station += 2.0 * reach
                room.append((of_edge[before] + reach, of_edge[after] + reach))
                around.append((begin, end))
                headings.append((piece.segment.heading(1.0), pieces[k + 1].segment.heading(0.0)))
        laid = [(-1, segment, segment.length, 0.0, False) for segment in run.lead_in]
        for p, length, detour in zip(pieces, on_path, detours, strict=True):
            laid.append((place[p.edge], p.segment, length, half_kerf, False))
            laid += [(place[p.edge], segment, segment.length, 0.0, True) for segment in detour]
        laid += [(-1, segment, segment.length, 0.0, False) for segment in run.lead_out]
        for edge, segment, length, offset, rolling in laid:
            segments.append(segment)
            lengths.append(length)
            radii.append(segment.radius * _stretch(segment, offset) if isinstance(segment, Arc) else inf)
            rolls.append(rolling)
            piece_edge.append(edge)
            piece_run.append(number)
            here += length
        run_ends.append(len(segments))
    stations = np.concatenate(([0.0], np.cumsum(lengths)))
    radius = np.array(radii)
    station_caps = np.full(len(segments) + 1, inf)
    for k in range(1, len(segments)):
        turn = _turn(segments[k - 1].heading(1.0), segments[k].heading(0.0))
        station_caps[k] = corner_speed(
            turn=turn, acceleration=machine.acceleration, tolerance=corner_tolerance
        )
    station_caps[[0, *run_ends]] = 0.0
    return PreparedPath(
        path=path,
        machine=machine,
        edge_ids=edge_ids,
        stations=stations,
        piece_edge=np.array(piece_edge, dtype=np.int64),
        piece_run=np.array(piece_run, dtype=np.int64),
        piece_radius=radius,
        piece_rolls=np.array(rolls, dtype=bool),
        piece_caps=np.minimum(np.sqrt(machine.acceleration * radius), machine.cut_speed_max),
        station_caps=station_caps,
        corners=corners,
        corner_station=np.array(at),
        corner_room=np.array(room).reshape(-1, 2),
        corner_contour=np.array(around).reshape(-1, 2),
        corner_headings=np.array(headings).reshape(-1, 2),
    )


def corner_speed(*, turn: float, acceleration: float, tolerance: float) -> float:
    """
    Speed at which the machine passes a corner.

    Parameters
    ----------
    turn : float
        Change of direction, of either sign. [rad]
    acceleration : float
        Largest lateral. [m/s^2]
    tolerance : float
        How far the path may be rounded off. [m]

    Returns
    -------
    float
        ``inf`` where the turn is smooth, zero on a full reversal. [m/s]

    Notes
    -----
    The arc that touches both legs and passes the corner at a distance delta has the radius
    R = delta cos(turn/2) / (1 - cos(turn/2)); the speed is sqrt(a R). Our own rule.

    Examples
    --------
    >>> round(corner_speed(turn=1.5707963267948966, acceleration=0.5, tolerance=1e-5), 9)
    0.003474344
    """
    half = 0.5 * abs(turn)
    if 2.0 * half < SMOOTH_TURN:
        return inf
    return sqrt(acceleration * tolerance * max(0.0, cos(half)) / (1.0 - cos(half)))


@dataclass(frozen=True, slots=True)
class _Piece:
    """A segment on an edge; `turn` is that of the corner at its end, None if there is no real corner."""

    edge: str
    segment: Segment
    turn: float | None


def _travel(contour: Contour, run: PathRun) -> Iterator[_Piece]:
    """Pieces from the start point round to it again and on by the overlap; the start itself is no corner."""
    turns = {corner.before: corner.turn for corner in contour.corners if abs(corner.turn) >= SMOOTH_TURN}
    first = next(i for i, edge in enumerate(contour.edges) if edge.id == run.start_edge)
    edge = contour.edges[first]
    head, tail = _split(edge, run.start_fraction)
    stretches = [(edge.id, tail, True)]
    stretches += [
        (other.id, list(other.segments), True)
        for other in (*contour.edges[first + 1 :], *contour.edges[:first])
    ]
    stretches.append((edge.id, head, False))
    if not head:
        stretches.pop()
        stretches[-1] = (*stretches[-1][:2], False)
    stretches.append((edge.id, list(first_of(tail or list(edge.segments), run.overlap)), False))
    for name, segments, whole in stretches:
        for segment in segments[:-1]:
            yield _Piece(name, segment, None)
        for segment in segments[-1:]:
            yield _Piece(name, segment, turns.get(name) if whole else None)


def _detour(
    pieces: Sequence[_Piece], place: int, loops: Mapping[CornerKey, Sequence[Segment]] | None
) -> tuple[Segment, ...]:
    """Loop at the end of a piece, of segments that have a length."""
    if not loops or pieces[place].turn is None:
        return ()
    way = loops.get((pieces[place].edge, pieces[place + 1].edge), ())
    return tuple(segment for segment in way if segment.length > SAME_STATION)


def _stretch(segment: Segment, half_kerf: float) -> float:
    """Length of the path beside a segment over the segment's own; at least `LEAST_STRETCH`."""
    return max(1.0 + segment.curvature * half_kerf, LEAST_STRETCH)


def _path_lengths(pieces: Sequence[_Piece], half_kerf: float) -> list[float]:
    """Lengths on the path, half a kerf off the pieces, mitred at corners up to a right angle. [m]"""
    lengths = [piece.segment.length * _stretch(piece.segment, half_kerf) for piece in pieces]
    for k, piece in enumerate(pieces):
        if piece.turn is not None:
            gain = half_kerf * tan(0.5 * min(max(piece.turn, -0.5 * pi), 0.5 * pi))
            lengths[k] += gain
            lengths[k + 1] += gain
    return [max(on, LEAST_STRETCH * p.segment.length) for on, p in zip(lengths, pieces, strict=True)]


def _split(edge: Edge, fraction: float) -> tuple[list[Segment], list[Segment]]:
    """Segments of an edge before and after a fraction of its length."""
    cut = fraction * edge.length
    head: list[Segment] = []
    tail: list[Segment] = []
    here = 0.0
    for segment in edge.segments:
        length = segment.length
        part = (cut - here) / length
        if part * length <= SAME_STATION:
            tail.append(segment)
        elif (1.0 - part) * length <= SAME_STATION:
            head.append(segment)
        else:
            head.append(span_of(segment, 0.0, part))
            tail.append(span_of(segment, part, 1.0))
        here += length
    return head, tail


def _turn(before: float, after: float) -> float:
    """Change of direction, from -pi to pi. [rad]"""
    return atan2(sin(after - before), cos(after - before))
