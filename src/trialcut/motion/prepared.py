"""A cut path laid out along its own length, free of speeds.

The pieces of the path in the order of travel, where each corner lies, and what the machine's lateral
acceleration allows on arcs and at corners.

At a real corner the axes change direction within a tolerance: the machine is taken to round it with the
largest arc that stays within `CORNER_TOLERANCE` of the corner, at the speed at which that arc needs the full
lateral acceleration. This is our own rule; controllers differ.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, cos, inf, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Contour, Edge, Part
from trialcut.geometry.curves import Arc, Line, Segment
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.starts import CornerKey

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

CORNER_TOLERANCE = 1.0e-5
"""How far the machine may round a corner off. [m]"""

SMOOTH_TURN = pi / 180
"""A turn below this is no corner for the machine or the jet. [rad]"""

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
    edge_lengths : array, shape (E,)
        [m]
    stations : array, shape (P + 1,)
        Ends of the pieces along the path, runs joined end to end. [m]
    piece_edge, piece_run : array, shape (P,)
        Edge (-1 on a lead) and run of each piece.
    piece_radius : array, shape (P,)
        ``inf`` on a line. [m]
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
    edge_lengths: Floats
    stations: Floats
    piece_edge: Integers
    piece_run: Integers
    piece_radius: Floats
    piece_caps: Floats
    station_caps: Floats
    corners: dict[CornerKey, int]
    corner_station: Floats
    corner_room: Floats
    corner_contour: Floats
    corner_headings: Floats


def prepare_path(
    part: Part, path: CutPath, *, machine: Machine, corner_tolerance: float = CORNER_TOLERANCE
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
    corner_tolerance : float
        How far the machine may round a corner off; zero makes it stop at each. [m]

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
    here = 0.0
    for number, run in enumerate(path.runs):
        contour = part.contour(run.contour)
        pieces = [
            *((-1, segment) for segment in run.lead_in),
            *((place[edge_id], segment) for edge_id, segment in _travel(contour, run)),
            *((-1, segment) for segment in run.lead_out),
        ]
        begin = here + sum(segment.length for segment in run.lead_in)
        for key, distance, before, after in _corners_ahead(contour, run):
            corners[key] = len(at)
            at.append(begin + distance)
            room.append((before.length, after.length))
            around.append((begin, begin + contour.length))
            headings.append((before.segments[-1].heading(1.0), after.segments[0].heading(0.0)))
        for edge, segment in pieces:
            segments.append(segment)
            piece_edge.append(edge)
            piece_run.append(number)
            here += segment.length
        run_ends.append(len(segments))
    stations = np.concatenate(([0.0], np.cumsum([segment.length for segment in segments])))
    radius = np.array([segment.radius if isinstance(segment, Arc) else inf for segment in segments])
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
        edge_lengths=np.array([edge.length for edge in part.edges]),
        stations=stations,
        piece_edge=np.array(piece_edge, dtype=np.int64),
        piece_run=np.array(piece_run, dtype=np.int64),
        piece_radius=radius,
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


def _travel(contour: Contour, run: PathRun) -> Iterator[tuple[str, Segment]]:
    """Edge ids and segments from the start point round to it again."""
    first = next(i for i, edge in enumerate(contour.edges) if edge.id == run.start_edge)
    edge = contour.edges[first]
    head, tail = _split(edge, run.start_fraction)
    for segment in tail:
        yield edge.id, segment
    for other in (*contour.edges[first + 1 :], *contour.edges[:first]):
        for segment in other.segments:
            yield other.id, segment
    for segment in head:
        yield edge.id, segment


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
            head.append(_piece(segment, 0.0, part))
            tail.append(_piece(segment, part, 1.0))
        here += length
    return head, tail


def _piece(segment: Segment, begin: float, end: float) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.point(begin), segment.point(end))
    return Arc(
        segment.centre,
        segment.radius,
        segment.start_angle + begin * segment.sweep,
        (end - begin) * segment.sweep,
    )


def _corners_ahead(contour: Contour, run: PathRun) -> Iterator[tuple[CornerKey, float, Edge, Edge]]:
    """Real corners but the start: key, distance from the start along the cut, edges before and after."""
    ends = np.cumsum([edge.length for edge in contour.edges])
    place = {edge.id: i for i, edge in enumerate(contour.edges)}
    at_start = place[run.start_edge]
    edge = contour.edges[at_start]
    start = float(ends[at_start]) - (1.0 - run.start_fraction) * edge.length
    total = contour.length
    for corner in contour.corners:
        distance = (float(ends[place[corner.before]]) - start) % total
        if abs(corner.turn) < SMOOTH_TURN or min(distance, total - distance) <= SAME_STATION:
            continue
        yield (
            (corner.before, corner.after),
            distance,
            contour.edges[place[corner.before]],
            contour.edges[place[corner.after]],
        )


def _turn(before: float, after: float) -> float:
    """Change of direction, from -pi to pi. [rad]"""
    return atan2(sin(after - before), cos(after - before))
