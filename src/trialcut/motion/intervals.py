"""From a prepared path and speeds to the intervals that a time law is computed on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import UnknownNameError
from trialcut.motion._limits import positive
from trialcut.motion.prepared import SAME_STATION, PreparedPath
from trialcut.motion.starts import CornerKey

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

CornerZone = Mapping[CornerKey, Sequence[tuple[float, float]]]
"""Stairs of distance from a corner and speed cap, for some corners. [m], [m/s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Intervals:
    """Stretches of a path, N of them, each with one speed cap.

    Parameters
    ----------
    lengths, caps : array, shape (N,)
        [m], [m/s]
    knot_caps : array, shape (N + 1,)
        Highest speed at the knots between them; zero where a run starts or ends. [m/s]
    edge_index : array, shape (N,)
        Place of the edge in `PreparedPath.edge_ids`; -1 on a lead.
    run_index : array, shape (N,)
        Run of the path.
    unhindered_time : float
        Length over commanded speed, without corners, arcs, further caps and acceleration. [s]
    """

    lengths: Floats
    caps: Floats
    knot_caps: Floats
    edge_index: Integers
    run_index: Integers
    unhindered_time: float


def path_intervals(
    prepared: PreparedPath,
    *,
    speed: Mapping[str, float],
    lead_speed: float | Mapping[str, float],
    edge_cap: Mapping[str, float] | None = None,
    corner_zone: CornerZone | None = None,
    swing_zone: CornerZone | None = None,
    lean: Mapping[str, float] | None = None,
) -> Intervals:
    """
    Intervals and speed caps of a path under one assignment of speeds.

    Parameters
    ----------
    prepared : PreparedPath
        From `prepared.prepare_path`.
    speed : mapping of edge id to float
        Of every edge. [m/s]
    lead_speed : float or mapping of contour id to float
        On the leads. [m/s]
    edge_cap : mapping of edge id to float, optional
        Further caps, from the lag on an arc for instance; edges may be missing. [m/s]
    corner_zone : mapping of (before, after) to sequence of (distance, cap), optional
        Stairs of caps on both sides of a corner: each holds out to its distance, from that of the stair
        before. A zone ends with its edge; a corner at which the cut starts has none, since the jet runs
        straight on there. [m], [m/s]
    swing_zone : mapping of (before, after) to sequence of (distance, cap), optional
        Further stairs, where the head swings from the lean of one edge to that of the next. [m], [m/s]
    lean : mapping of edge id to float, optional
        Slope of a leaned head; edges may be missing. Its turning with the path on arcs is held to the
        machine's tilt rate. [-]

    Returns
    -------
    Intervals
        In the order of travel.

    Raises
    ------
    UnknownNameError
        If an edge or a contour has no speed.
    RangeError
        If a speed is not above zero.
    """
    by_edge = _values(speed, prepared.edge_ids, "edge")
    contours = tuple(run.contour for run in prepared.path.runs)
    by_run = (
        _values(lead_speed, contours, "contour")
        if isinstance(lead_speed, Mapping)
        else np.full(len(contours), positive("lead speed", lead_speed, "m/s"))
    )
    on_edge = prepared.piece_edge >= 0
    commanded = np.where(on_edge, by_edge[prepared.piece_edge], by_run[prepared.piece_run])
    caps = np.minimum(prepared.piece_caps, commanded)
    if edge_cap is not None:
        further = np.array([*(edge_cap.get(edge_id, inf) for edge_id in prepared.edge_ids), inf])
        caps = np.minimum(caps, further[prepared.piece_edge])  # a lead's -1 finds the last, none
    if lean is not None and any(lean.values()):
        leaning = np.array([*(lean.get(edge_id, 0.0) for edge_id in prepared.edge_ids), 0.0])
        # A lead's -1 finds the last, zero; a roll round a corner has its swing zone.
        slope = np.where(prepared.piece_rolls, 0.0, np.abs(leaning[prepared.piece_edge]))
        with np.errstate(divide="ignore", invalid="ignore"):
            turning = prepared.machine.tilt_rate * prepared.piece_radius / slope
        caps = np.where(slope > 0.0, np.minimum(caps, turning), caps)
    zones = [
        stair for each in (corner_zone, swing_zone) if each is not None for stair in _stairs(prepared, each)
    ]
    low, high, limit = _spans(prepared, zones)
    knots = np.sort(np.concatenate((prepared.stations, low, high)))
    knots = knots[np.concatenate(([True], np.diff(knots) > SAME_STATION))]
    lengths = np.diff(knots)
    piece = np.searchsorted(prepared.stations, knots[:-1] + 0.5 * lengths, side="right") - 1
    interval_caps = caps[piece]
    first = np.searchsorted(knots, low - SAME_STATION)
    count = np.maximum(np.searchsorted(knots, high - SAME_STATION) - first, 0)
    inside = np.repeat(first - np.concatenate(([0], np.cumsum(count)[:-1])), count) + np.arange(count.sum())
    np.minimum.at(interval_caps, inside, np.repeat(limit, count))
    knot_caps = np.full(knots.size, inf)
    knot_caps[np.searchsorted(knots, prepared.stations + 0.5 * SAME_STATION) - 1] = prepared.station_caps
    return Intervals(
        lengths=lengths,
        caps=interval_caps,
        knot_caps=knot_caps,
        edge_index=prepared.piece_edge[piece],
        run_index=prepared.piece_run[piece],
        unhindered_time=float((np.diff(prepared.stations) / commanded).sum()),
    )


def _values(given: Mapping[str, float], names: Sequence[str], what: str) -> Floats:
    try:
        values = np.array([given[name] for name in names], dtype=float)
    except KeyError as missing:
        raise UnknownNameError(
            f"{what} {missing.args[0]} has no speed; give one for every {what}", name=missing.args[0]
        ) from None
    for i in np.flatnonzero(~((values > 0.0) & np.isfinite(values))).tolist():
        positive(f"speed of {what} {names[i]}", float(values[i]), "m/s")
    return values


Stair = tuple[int, float, float, float]
"""Place of a corner, distances from it between which the cap holds, and the cap."""


def _stairs(prepared: PreparedPath, corner_zone: CornerZone) -> Iterator[Stair]:
    for key, stairs in corner_zone.items():
        corner = prepared.corners.get(key)
        if corner is None:
            continue
        near = 0.0
        for far, cap in stairs:
            yield corner, near, far, cap
            near = far


def _spans(prepared: PreparedPath, zones: Sequence[Stair]) -> tuple[Floats, Floats, Floats]:
    """Stairs as spans of stations on both sides of their corner, those across the start cut in two."""
    if not zones:
        empty = np.empty(0)
        return empty, empty, empty
    table = np.array(zones)
    corner = table[:, 0].astype(np.int64)
    near, far, cap = table[:, 1], table[:, 2], table[:, 3]
    at, room = prepared.corner_station[corner], prepared.corner_room[corner]
    around = prepared.corner_contour[corner]
    before_near, before_far = np.minimum(near, room[:, 0]), np.minimum(far, room[:, 0])
    after_near, after_far = np.minimum(near, room[:, 1]), np.minimum(far, room[:, 1])
    low = np.concatenate((at - before_far, at + after_near))
    high = np.concatenate((at - before_near, at + after_far))
    begin, end = np.tile(around[:, 0], 2), np.tile(around[:, 1], 2)
    turn = end - begin
    parts = [
        (np.maximum(low + shift, begin), np.minimum(high + shift, end)) for shift in (0.0 * turn, turn, -turn)
    ]
    low, high = np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])
    cap = np.tile(cap, 6)
    real = high - low > SAME_STATION
    return low[real], high[real], cap[real]
