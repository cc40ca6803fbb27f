"""How a part that is cut in thought is run: overlaps, leads, the head's stance, and the time it all takes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.stance import swing_time
from trialcut.geometry.curves import Arc
from trialcut.motion.cycle import cycle_time
from trialcut.motion.intervals import path_intervals
from trialcut.motion.overlap import with_overlaps
from trialcut.motion.path import CutPath
from trialcut.motion.prepared import prepare_path
from trialcut.physics.piercing import piercing_time
from trialcut.planning.cut_part import CutPart
from trialcut.planning.lag_limits import speed_at_lag_with_odds
from trialcut.planning.money import PieceTime
from trialcut.planning.results import Note
from trialcut.units import Kind, format_value

FloatArray = NDArray[np.float64]

LEAD_SPEED_RATIO = 0.5
"""Speed of straight leads, over the median separation speed: our own working value. [-]"""
LEAD_TRAIL = 0.5
"""Lag on a curved lead, over its radius: our own working value. [-]"""
TELL_TIME = 0.5
"""Time lost to the head's rate that is told of. [s]"""
FREED_ODDS = 0.95
"""Odds with which the overlap of a cut is longer than its lag: our own working value. [-]"""


def piece_time(part: CutPart) -> PieceTime:
    """Return the time of one piece: the path under all its speed limits, piercing, traverses."""
    prepared = part.prepared
    setup, draws = prepared.study.setup, prepared.parameters
    stance = part.head
    path = prepare_path(
        prepared.study.part,
        path_of(part),
        machine=prepared.study.machine,
        half_kerf=prepared.half_kerf,
        loops=part.loops,
    )
    intervals = path_intervals(
        path,
        speed=part.speeds,
        corner_zone=part.zones,
        lean=stance.lean,
        edge_cap=stance.edge_cap,
        swing_zone=stance.swing_zone,
        lead_speed=lead_speeds(part),
    )
    draws_count = prepared.study.draws
    moves = cycle_time(path, intervals, pierce_time=0.0)
    each = piercing_time(
        thickness=setup.thickness,
        machinability=setup.material.machinability,
        pierce_time=draws.pierce_time,
        pierce_exponent=draws.pierce_exponent,
    )
    return PieceTime(
        cutting=_over_draws(
            moves.cutting + (np.asarray(draws.slow_factor) - 1.0) * moves.slow_time, draws_count
        ),
        traverse=_over_draws(np.asarray(draws.fixed_factor) * moves.traverse, draws_count),
        piercing=_over_draws(np.asarray(each), draws_count) * len(prepared.path.runs),
        slow=moves.slow_time,
        edges=moves.edge_times,
    )


def _over_draws(time: FloatArray, draws: int) -> FloatArray:
    return np.broadcast_to(time, (draws,))


def path_of(part: CutPart) -> CutPath:
    """Return the path on which every cut runs on past its start until the trail has freed the piece."""
    prepared = part.prepared
    overlap = {}
    for run in prepared.path.runs:
        table, row = part.row(run.start_edge)
        trail = np.abs(table.residual_lag[row]).max(axis=0)
        overlap[run.contour] = float(np.quantile(trail, FREED_ODDS))
    return with_overlaps(prepared.study.part, prepared.path, overlap)


def lead_speeds(part: CutPart) -> dict[str, float]:
    """Return the speed on the leads of every contour. [m/s]

    They lie in scrap and only have to cut through; but on a curved lead the trail must stay short against
    its radius, or it would sweep into the part.
    """
    prepared = part.prepared
    through = LEAD_SPEED_RATIO * float(np.median(prepared.separation_speed))
    speeds = {}
    for run in prepared.path.runs:
        speed = min(through, prepared.study.machine.cut_speed_max)
        curved = [segment.radius for segment in (*run.lead_in, *run.lead_out) if isinstance(segment, Arc)]
        if curved:
            trail = LEAD_TRAIL * min(curved)
            speed = min(speed, speed_at_lag_with_odds(prepared, trail, FREED_ODDS))
        speeds[run.contour] = speed
    return speeds


def stance_notes(part: CutPart) -> tuple[Note, ...]:
    """Return where the head does not reach what it should, and what keeping to its rate costs a piece."""
    prepared = part.prepared
    stance = part.head
    notes = tuple(dict.fromkeys((*part.head_notes, *stance.notes)))
    if not stance.lean:
        return notes
    lost = swing_time(prepared.prepared_path, stance, lead_speed=lead_speeds(part), corner_zone=part.zones)
    if lost < TELL_TIME:
        return notes
    rate = format_value(stance.rate, Kind.ANGLE_RATE, prepared.study.system)
    cost = (
        f"keeping to the head's {rate} costs {format_value(lost, Kind.TIME, prepared.study.system)} a piece"
    )
    return (*notes, Note("tilt-rate-time", cost))
