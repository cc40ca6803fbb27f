"""Where the as-cut wall is looked at: samples of the drawn wall, and the rays along which it deviates.

Rays point into the scrap, square to the drawn wall. Towards a corner they fan out or in until both edges
share one ray, the bisector, at the corner itself; so the rays of neighbours never cross near the wall, the
wall has one point at the corner, and rays meet the round that the jet leaves there squarely.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.types import FloatArray, IntArray
from trialcut.errors import RangeError
from trialcut.geometry.contours import Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Segment
from trialcut.geometry.table import SegmentTable

CORNER_STEPS = 8
"""Samples within the fan beside a corner."""

CHORD = 1.0e-6
"""Largest distance between an arc of the drawn wall and its chords between samples. [m]"""

SHARP_TURN = pi / 36
"""Turn from which a corner gets closer samples. [rad]"""

LARGEST_FAN_TURN = 0.9 * pi
"""Turn beyond which the fan of a corner grows no longer. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallSamples:
    """M samples of the drawn wall, edge by edge.

    Parameters
    ----------
    edges : tuple of str
        Ids in the part's order.
    edge : ndarray of int, shape (M,)
        Place in `edges`.
    fraction : ndarray, shape (M,)
        Of the edge's length; zero and one are there. [-]
    point, normal : ndarray, shape (M, 2)
        On the drawn wall [m], and the unit vector of the ray into the scrap [-].
    room : ndarray, shape (M,)
        Half the drawn material behind the wall, along the ray, or as much as is looked at. [m]
    """

    edges: tuple[str, ...]
    edge: IntArray
    fraction: FloatArray
    point: FloatArray
    normal: FloatArray
    room: FloatArray


def wall_samples(part: Part, *, spacing: float, fan: float, deepest: float) -> WallSamples:
    """
    Sample the drawn wall of a part.

    Parameters
    ----------
    part : Part
        Any.
    spacing : float
        Largest distance along an edge between samples; closer on tight arcs and at corners. [m]
    fan : float
        Radius of the fan of rays at a corner: about the half-width of the jet. [m]
    deepest : float
        How far behind the wall material is looked for. [m]

    Returns
    -------
    WallSamples
        Contour by contour and edge by edge, ends of edges included.

    Raises
    ------
    RangeError
        If the spacing is not above zero.
    """
    if not spacing > 0.0:
        raise RangeError(f"spacing {spacing:g} m must be above zero: give the distance between samples")
    edges = tuple(part.edges)
    turns = _turns(part, edges)
    stations = [
        _stations(edge, spacing=spacing, fan=fan, before=before, after=after)
        for edge, (before, after) in zip(edges, turns, strict=True)
    ]
    counts = np.array([s.size for s in stations])
    owner = np.repeat(np.arange(len(edges)), counts)
    station = np.concatenate(stations)
    lengths = np.array([edge.length for edge in edges])
    point, heading = _on_edges(edges, owner, station)
    ahead = np.concatenate(
        [
            _fan_turn(s, edge.length, fan=fan, before=before, after=after)
            for s, edge, (before, after) in zip(stations, edges, turns, strict=True)
        ]
    )
    angle = heading + ahead - pi / 2
    normal = np.column_stack((np.cos(angle), np.sin(angle)))
    return WallSamples(
        edges=tuple(edge.id for edge in edges),
        edge=owner,
        fraction=station / lengths[owner],
        point=point,
        normal=normal,
        room=_room(edges, owner, station, point=point, normal=normal, deepest=deepest),
    )


def _room(
    edges: tuple[Edge, ...],
    owner: IntArray,
    station: FloatArray,
    *,
    point: FloatArray,
    normal: FloatArray,
    deepest: float,
) -> FloatArray:
    """Half the material behind each sample, taking the wall as straight between samples. [m]"""
    from trialcut.ascut._nearness import free_behind, near_blocks  # noqa: PLC0415  numba is slow to import

    # On a straight edge a few of the samples will do.
    straight = np.array([edge.kind is EdgeKind.STRAIGHT for edge in edges])[owner]
    stretch = np.where(straight, np.floor(station / deepest), np.arange(station.size))
    changes = (owner[1:] != owner[:-1]) | (stretch[1:] != stretch[:-1])
    ends = np.concatenate(([True], changes)) | np.concatenate((owner[1:] != owner[:-1], [True]))
    chosen = np.flatnonzero(ends)
    same = owner[chosen[1:]] == owner[chosen[:-1]]
    first, second = point[chosen[:-1][same]], point[chosen[1:][same]]
    centre, extent = 0.5 * (first + second), 0.5 * np.hypot(*(second - first).T)
    behind = point - deepest * normal
    starts, near = near_blocks(behind, centre, extent, float(extent.max()) + deepest, deepest)
    return 0.5 * free_behind(point, normal, first, second, starts, near, 2.0 * deepest)


def _turns(part: Part, edges: tuple[Edge, ...]) -> list[tuple[float, float]]:
    """Turn of the drawn wall at the start and at the end of each edge."""
    at_start = {c.after: c.turn for contour in part.contours for c in contour.corners}
    at_end = {c.before: c.turn for contour in part.contours for c in contour.corners}
    return [(at_start.get(edge.id, 0.0), at_end.get(edge.id, 0.0)) for edge in edges]


def _fan_length(turn: float, length: float, fan: float) -> float:
    """Distance from a corner over which the rays turn to its bisector."""
    return min(fan * tan(0.5 * min(abs(turn), LARGEST_FAN_TURN)), 0.45 * length)


def _fan_turn(station: FloatArray, length: float, *, fan: float, before: float, after: float) -> FloatArray:
    """Angle from the normal to the ray: half the corner's turn at the corner, nothing past the fan."""
    turn = np.zeros(station.size)
    for size, away, sign in ((before, station, -1.0), (after, length - station, 1.0)):
        reach = _fan_length(size, length, fan)
        if reach > 0.0:
            share = np.clip(1.0 - away / reach, 0.0, 1.0)
            half = 0.5 * size
            focal = abs(size) <= LARGEST_FAN_TURN
            turn += sign * (np.arctan2(share * sin(half), cos(half)) if focal else share * half)
    return turn


def _stations(edge: Edge, *, spacing: float, fan: float, before: float, after: float) -> FloatArray:
    length = edge.length
    parts = []
    here = 0.0
    for segment in edge.segments:
        own = segment.length
        step = min(spacing, _arc_step(segment))
        parts.append(here + own * np.linspace(0.0, 1.0, max(int(np.ceil(own / step - 1e-9)), 1) + 1))
        here += own
    for turn, from_end in ((before, False), (after, True)):
        if abs(turn) >= SHARP_TURN:
            steps = _fan_length(turn, length, fan) * np.linspace(
                0.0, 1.5, CORNER_STEPS + CORNER_STEPS // 2 + 1
            )
            steps = steps[steps <= 0.5 * length]
            parts.append(length - steps if from_end else steps)
    every = np.unique(np.clip(np.concatenate(parts), 0.0, length))
    keep = np.concatenate(([True], np.diff(every) > 1e-6 * length + 1e-9))
    stations = every[keep]
    stations[0] = 0.0
    if stations.size > 1:
        stations[-1] = length
        return stations
    return np.array([0.0, length])


def _arc_step(segment: Segment) -> float:
    return sqrt(8.0 * segment.radius * CHORD) if isinstance(segment, Arc) else np.inf


def _segments(edges: tuple[Edge, ...]) -> Iterator[Segment]:
    return (segment for edge in edges for segment in edge.segments)


def _on_edges(
    edges: tuple[Edge, ...], owner: NDArray[np.intp], station: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Points [m] and headings [rad] at stations of edges."""
    table = SegmentTable.of([list(_segments(edges))])
    per_edge = np.array([len(edge.segments) for edge in edges])
    first = np.cumsum(per_edge) - per_edge
    lengths = table.length
    begin = np.cumsum(lengths) - lengths
    along = begin[first][owner] + station
    row = np.searchsorted(begin, along, side="right") - 1
    row = np.clip(row, first[owner], first[owner] + per_edge[owner] - 1)
    share = np.clip((along - begin[row]) / lengths[row], 0.0, 1.0)
    angle = table.angle[row] + share * table.sweep[row]
    round_ = table.centre[row] + table.radius[row][:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
    straight = table.start[row] + share[:, None] * (table.end[row] - table.start[row])
    arc = table.is_arc[row]
    step = table.end[row] - table.start[row]
    heading = np.where(
        arc, angle + np.where(table.sweep[row] > 0.0, pi / 2, -pi / 2), np.arctan2(step[:, 1], step[:, 0])
    )
    return np.where(arc[:, None], round_, straight), heading
