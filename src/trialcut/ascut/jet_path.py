"""Samples of the jet along its way, with speed and time from the time law and lean from whoever leans it.

Samples lie close where the way bends or the speed changes and far apart on straights at constant speed, where
the sweep between two samples is exact however far apart they are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.idle_samples import SAME_DIRECTION, without_idle_samples
from trialcut.ascut.laid_path import LaidPath, lay_path
from trialcut.ascut.types import FloatArray, IntArray, JetPath
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Segment
from trialcut.geometry.table import SegmentTable
from trialcut.motion.cycle import law_of_intervals
from trialcut.motion.intervals import CornerZone, Intervals, path_intervals
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath
from trialcut.motion.scurve import ramp_distance
from trialcut.motion.starts import CornerKey
from trialcut.motion.time_law import TimeLaw, speed_at
from trialcut.motion.traverse import traverse_time

if TYPE_CHECKING:
    from trialcut.ascut.stance_types import Stance

SPACING = 1.5e-4
"""Usual largest distance between samples where the way bends or the speed changes. [m]"""

CHORD = 1.0e-7
"""Largest distance between a bent way and its chords between samples. [m]"""

RAMP_STEPS = 4
"""Least number of steps in which a change of speed is sampled."""


ALMOST_SMOOTH = 0.35
"""A turn of less is passed evenly even where two offsets differ. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PathSamples:
    """What a lean may depend on, at N samples in order of travel.

    Parameters
    ----------
    station : ndarray, shape (N,)
        Distance along the way, runs joined end to end. Two samples of one station stand on both sides of a
        corner, or of the joint of two edges. [m]
    position, direction : ndarray, shape (N, 2)
        Of the jet at the top face [m], and the unit vector of travel [-].
    edge : ndarray of int, shape (N,)
        Place of the edge in the part's order; -1 on a lead and on the way across a corner.
    run : ndarray of int, shape (N,)
        Place of the run in the cut path.
    speed, time : ndarray, shape (N,)
        By the time law. [m/s], [s]
    held, following : ndarray of int, shape (N,)
        Edge whose constants hold, on leads too; and the edge they pass on to on the way across a corner.
    share : ndarray, shape (N,)
        How far across; zero elsewhere. [-]
    """

    station: FloatArray
    position: FloatArray
    direction: FloatArray
    edge: IntArray
    run: IntArray
    speed: FloatArray
    time: FloatArray
    held: IntArray
    following: IntArray
    share: FloatArray


LeanOf = Callable[[PathSamples], FloatArray]
"""Gives the lean at every sample, shape (N, 2): sideways and forward shift of the jet per depth. [-]"""


def edge_lean(*, tilt: Sequence[float] | FloatArray, lead: Sequence[float] | FloatArray) -> LeanOf:
    """
    Lean that is constant on each edge.

    Parameters
    ----------
    tilt : array, shape (E,)
        Of each edge in the part's order: the jet moves towards the part with depth. [rad]
    lead : array, shape (E,)
        The jet moves forward with depth. [rad]

    Returns
    -------
    callable
        Passes evenly from one edge's angles to the next one's on the way across a corner, and holds the
        edge's on its leads. At a corner that is not crossed it jumps.
    """
    angles = np.column_stack((np.asarray(tilt, dtype=float), np.asarray(lead, dtype=float)))

    def law(samples: PathSamples) -> FloatArray:
        share = samples.share[:, None]
        slopes = np.tan(angles[samples.held] * (1.0 - share) + angles[samples.following] * share)
        left = np.column_stack((-samples.direction[:, 1], samples.direction[:, 0]))
        return np.asarray(slopes[:, :1] * left + slopes[:, 1:] * samples.direction)

    return law


def stance_lean(stance: Stance) -> LeanOf:
    """Lean that was solved along the path; see `lean_path.lean_along`."""
    from trialcut.ascut.lean_path import lean_along  # noqa: PLC0415

    def law(samples: PathSamples) -> FloatArray:
        return lean_along(
            stance,
            direction=samples.direction,
            speed=samples.speed,
            time=samples.time,
            station=samples.station,
            edge=samples.edge,
            run=samples.run,
        )

    return law


def jet_path(
    part: Part,
    path: CutPath,
    *,
    machine: Machine,
    offsets: Mapping[str, float],
    speed: Mapping[str, float],
    lead_speed: float | Mapping[str, float],
    tilt: Mapping[str, float] | None = None,
    lead: Mapping[str, float] | None = None,
    stance: Stance | None = None,
    corner_zone: CornerZone | None = None,
    loops: Mapping[CornerKey, Sequence[Segment]] | None = None,
    pierce_time: float = 0.0,
    spacing: float = SPACING,
) -> JetPath:
    """
    Sample the jet along its whole way.

    Parameters
    ----------
    part : Part
        That is cut.
    path : CutPath
        Order, starts and leads.
    machine : Machine
        Limits of the motion.
    offsets : mapping of edge id to float
        From each drawn edge to the path, into the scrap. [m]
    speed : mapping of edge id to float
        Commanded. [m/s]
    lead_speed : float or mapping of contour id to float
        On the leads. [m/s]
    tilt, lead : mapping of edge id to float, optional
        Constant lean of each edge; edges may be missing. [rad]
    stance : Stance, optional
        Lean solved along the path, with its speed caps, in place of constants.
    corner_zone : mapping of (before, after) to stairs, optional
        Speed caps beside corners, as in `motion.intervals.path_intervals`.
    loops : mapping of (before, after) to sequence of Segment, optional
        Corners passed by a loop in the scrap.
    pierce_time : float
        Of each pierce. [s]
    spacing : float
        Largest distance between samples where the way bends or the speed changes. [m]

    Returns
    -------
    JetPath
        Contours that the jet does not fit into have no samples.
    """
    laid = lay_path(part, path, machine=machine, offsets=offsets, loops=loops)
    ids = laid.prepared.edge_ids
    if stance is None:
        tilts = [(tilt or {}).get(edge, 0.0) for edge in ids]
        leads = [(lead or {}).get(edge, 0.0) for edge in ids]
        lean = edge_lean(tilt=tilts, lead=leads)
        slopes = np.hypot(np.tan(tilts), np.tan(leads))
        caps: dict[str, Any] = {"lean": dict(zip(ids, slopes.tolist(), strict=True))}
    else:
        lean = stance_lean(stance)
        caps = {"lean": stance.lean, "edge_cap": stance.edge_cap, "swing_zone": stance.swing_zone}
    intervals = path_intervals(
        laid.prepared, speed=speed, lead_speed=lead_speed, corner_zone=corner_zone, **caps
    )
    # A solved lean may change on a straight at constant speed: look everywhere, keep where it does.
    samples = sample_path(
        laid,
        intervals,
        pierce_time=pierce_time,
        spacing=spacing,
        straight=np.inf if stance is None else spacing,
    )
    jet = leaned(samples, lean)
    return jet if stance is None else without_idle_samples(jet)


def leaned(samples: PathSamples, lean: LeanOf) -> JetPath:
    """Return the jet path of samples under a lean."""
    return JetPath(
        position=samples.position,
        direction=samples.direction,
        lean=lean(samples),
        speed=samples.speed,
        time=samples.time,
        edge=samples.edge,
        run=samples.run,
    )


def sample_path(
    laid: LaidPath,
    intervals: Intervals,
    *,
    pierce_time: float = 0.0,
    spacing: float = SPACING,
    straight: float = np.inf,
) -> PathSamples:
    """
    Sample a laid path under its time law.

    Parameters
    ----------
    laid : LaidPath
        The jet's way.
    intervals : Intervals
        Of ``laid.prepared``.
    pierce_time : float
        Of each pierce. [s]
    spacing : float
        Largest distance between samples where the way bends or the speed changes. [m]
    straight : float
        Largest distance elsewhere; none unless given. [m]

    Returns
    -------
    PathSamples
        Ends of segments and of all changes of speed among them.

    Raises
    ------
    RangeError
        If the spacing is not above zero, or no contour is cut.
    """
    if not spacing > 0.0:
        raise RangeError(f"spacing {spacing:g} m must be above zero: give the distance between samples")
    if not laid.segments:
        raise RangeError("the jet fits into no contour of this part: use a smaller mixing tube")
    prepared = laid.prepared
    law = law_of_intervals(prepared, intervals)
    table = SegmentTable.of([laid.segments])
    station, row = _stations(law, prepared.stations, table, spacing, straight)
    share = np.clip((station - prepared.stations[row]) / table.length[row], 0.0, 1.0)
    position, direction = _on_segments(table, row, share)
    direction = _straight_over_steps(laid, row, share, direction)
    keep = _needed(station, direction, row, laid)
    station, row, share = station[keep], row[keep], share[keep]
    speed, time = speed_at(law, np.minimum(station, law.positions[-1]))
    run = prepared.piece_run[row]
    return PathSamples(
        station=station,
        position=position[keep],
        direction=direction[keep],
        edge=np.where(laid.off_edge[row], -1, prepared.piece_edge[row]),
        run=run,
        speed=speed,
        time=time + _before_cutting(prepared.path, prepared.machine, pierce_time)[run],
        held=laid.held[row],
        following=laid.following[row],
        share=np.where(laid.held[row] == laid.following[row], 0.0, share),
    )


def _straight_over_steps(
    laid: LaidPath, row: IntArray, share: FloatArray, direction: FloatArray
) -> FloatArray:
    """Direction of travel with the small steps left out where two offsets meet almost smoothly.

    Such a step is far shorter than the trail of the jet, which hangs behind the way as a whole: the heading
    passes evenly from that of the edge before to that of the edge after.
    """
    steady = direction.copy()
    for place in np.flatnonzero(laid.off_edge & (laid.held != laid.following)).tolist():
        if 0 < place < len(laid.segments) - 1:
            before = laid.segments[place - 1].heading(1.0)
            turn = laid.segments[place + 1].heading(0.0) - before
            turn = np.arctan2(np.sin(turn), np.cos(turn))
            if abs(turn) < ALMOST_SMOOTH:
                on = row == place
                heading = before + turn * share[on]
                steady[on] = np.column_stack((np.cos(heading), np.sin(heading)))
    return steady


def _before_cutting(path: CutPath, machine: Machine, pierce_time: float) -> FloatArray:
    """Time up to each run that is not cutting. [s]"""
    each = [
        traverse_time(distance=run.approach, machine=machine) + machine.switch_time + pierce_time
        for run in path.runs
    ]
    return np.cumsum(each)


def _stations(
    law: TimeLaw, ends: FloatArray, table: SegmentTable, spacing: float, straight: float
) -> tuple[FloatArray, IntArray]:
    """Stations of samples and the segment of each; both ends of every segment are there."""
    changes, ramps = _speed_changes(law)
    knots = np.unique(np.concatenate((ends, changes)))
    knots = knots[(knots >= 0.0) & (knots <= ends[-1])]
    lengths = np.diff(knots)
    middle = knots[:-1] + 0.5 * lengths
    # Between the end and a knot just before it there is no number left for the middle but the end itself.
    row = np.minimum(np.searchsorted(ends, middle, side="right") - 1, ends.size - 2)
    with np.errstate(divide="ignore"):
        bend = np.where(table.is_arc, np.sqrt(8.0 * np.maximum(table.radius, 0.0) * CHORD), np.inf)
    step = np.minimum(bend[row], np.where(table.is_arc[row], spacing, straight))
    ramp = np.searchsorted(ramps[:, 0], middle, side="right") - 1
    changing = (ramp >= 0) & (middle < ramps[np.maximum(ramp, 0), 1])
    size = ramps[np.maximum(ramp, 0), 1] - ramps[np.maximum(ramp, 0), 0]
    step = np.minimum(step, np.where(changing, np.minimum(spacing, size / RAMP_STEPS), np.inf))
    pieces = np.maximum(np.ceil(lengths / step - 1e-9), 1.0).astype(np.int64)
    which = np.repeat(np.arange(pieces.size), pieces)
    place = np.arange(which.size) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    inner = knots[which] + lengths[which] * place / pieces[which]
    # The end of each segment, beside the start of the next one.
    station = np.concatenate((inner, ends[1:]))
    owner = np.concatenate((row[which], np.arange(ends.size - 1)))
    order = np.lexsort((station, owner))
    return station[order], owner[order]


def _speed_changes(law: TimeLaw) -> tuple[FloatArray, FloatArray]:
    """Stations at which the speed starts or stops to change, and the stretches on which it does."""
    start, end = law.stretch_positions[:-1], law.stretch_positions[1:]

    def ramps_to_peak(speeds: FloatArray) -> FloatArray:
        return np.array(
            [
                ramp_distance(start_speed=speed, end_speed=peak, acceleration=law.acceleration, jerk=law.jerk)
                for speed, peak in zip(speeds.tolist(), law.stretch_peaks.tolist(), strict=True)
            ]
        )

    rising, falling = ramps_to_peak(law.stretch_speeds[:-1]), ramps_to_peak(law.stretch_speeds[1:])
    up, down = np.minimum(start + rising, end), np.maximum(end - falling, start)
    ramps = np.concatenate((np.column_stack((start, up)), np.column_stack((down, end))))
    ramps = ramps[ramps[:, 1] > ramps[:, 0]]
    ramps = ramps[np.argsort(ramps[:, 0])]
    if ramps.size == 0:
        ramps = np.zeros((1, 2))
    return np.concatenate((start, up, down, end)), ramps


def _on_segments(table: SegmentTable, row: IntArray, share: FloatArray) -> tuple[FloatArray, FloatArray]:
    angle = table.angle[row] + share * table.sweep[row]
    radial = np.column_stack((np.cos(angle), np.sin(angle)))
    step = table.end[row] - table.start[row]
    arc = table.is_arc[row][:, None]
    position = np.where(
        arc, table.centre[row] + table.radius[row][:, None] * radial, table.start[row] + share[:, None] * step
    )
    side = np.where(table.sweep[row] > 0.0, 1.0, -1.0)[:, None]
    tangent = side * np.column_stack((-radial[:, 1], radial[:, 0]))
    length = np.hypot(step[:, 0], step[:, 1])[:, None]
    return position, np.where(arc, tangent, step / np.where(length > 0.0, length, 1.0))


def _needed(station: FloatArray, direction: FloatArray, row: IntArray, laid: LaidPath) -> NDArray[np.bool_]:
    """Leave out the end of a segment where the next one starts in the same way."""
    prepared = laid.prepared
    keep = np.ones(station.size, dtype=bool)
    joint = np.flatnonzero(row[1:] != row[:-1])
    before, after = row[joint], row[joint + 1]
    alike = np.abs(direction[joint] - direction[joint + 1]).max(axis=1, initial=0.0) < SAME_DIRECTION
    for labels in (prepared.piece_edge, prepared.piece_run, laid.held, laid.following, laid.off_edge):
        alike &= labels[before] == labels[after]
    keep[joint[alike]] = False
    same = (row[1:] == row[:-1]) & (np.diff(station) <= 1e-12)
    keep[:-1] &= ~same
    return keep
