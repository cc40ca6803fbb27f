"""Speeds at which the head gets from one lean to the next in time: on short edges, and in loops."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import inf

import numpy as np

from trialcut.ascut.stance_types import CornerStance, EdgeStance
from trialcut.ascut.turning import FORWARD_SHARE, SIDEWAYS_SHARE
from trialcut.geometry.curves import Segment
from trialcut.motion.prepared import LEAST_STRETCH, SAME_STATION, PreparedPath
from trialcut.motion.starts import CornerKey


def loop_caps(
    loops: Mapping[CornerKey, Sequence[Segment]], *, lean: Mapping[str, float], rate: float
) -> dict[CornerKey, tuple[tuple[float, float]]]:
    """Caps under which the head gets from any lean of one edge to any of the next within a loop."""
    caps = {}
    for key, way in loops.items():
        swing = lean.get(key[0], 0.0) + lean.get(key[1], 0.0)
        if swing > 0.0:
            length = sum(segment.length for segment in way)
            caps[key] = ((0.5 * length, rate * length / swing),)
    return caps


def short_edge_caps(
    prepared: PreparedPath,
    *,
    edges: Mapping[str, EdgeStance],
    corners: Mapping[CornerKey, CornerStance],
    lean: Mapping[str, float],
) -> dict[str, float]:
    """Speeds at which the head gets from the lean of one corner to that of the next in time."""
    caps: dict[str, float] = {}
    real = sorted((float(prepared.corner_station[k]), key) for key, k in prepared.corners.items())
    for (begin, first), (end, second) in pairwise(real):
        if first not in corners or second not in corners:
            continue
        low, high = np.searchsorted(
            prepared.stations, (begin + SAME_STATION, end - SAME_STATION), side="right"
        ) - (1, 0)
        on = prepared.piece_edge[low:high]
        if (on < 0).any():
            continue  # the cut ends or starts between them
        leave, meet = corners[first], corners[second]
        largest = max(
            np.hypot(*leave.after),
            np.hypot(*meet.before),
            *(lean.get(prepared.edge_ids[k], 0.0) for k in on.tolist()),
        )
        lengths = np.diff(prepared.stations[low : high + 1])
        turning = largest * float((lengths / prepared.piece_radius[low:high]).sum())
        moving = max(
            abs(meet.before[0] - leave.after[0]) / FORWARD_SHARE,
            abs(meet.before[1] - leave.after[1]) / SIDEWAYS_SHARE,
        )
        if moving + turning <= 0.0:
            continue
        length = end - begin
        room = max(length - leave.gap - meet.gap, LEAST_STRETCH * length)
        cap = room * prepared.machine.tilt_rate / (moving + turning)
        for k in set(on.tolist()):
            edge = prepared.edge_ids[k]
            if cap < edges[edge].speed:
                caps[edge] = min(cap, caps.get(edge, inf))
    return caps
