"""Time of a whole path: cutting, piercing, traverses, and what slowing down costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from trialcut.motion.intervals import Intervals
from trialcut.motion.prepared import PreparedPath
from trialcut.motion.time_law import TimeLaw, time_law
from trialcut.motion.traverse import traverses_of_path


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionTime:
    """Time of one piece by its causes.

    Parameters
    ----------
    cutting : float
        Along edges and leads, jet on. [s]
    leads : float
        Share of `cutting` on the leads. [s]
    piercing : float
        [s]
    traverse : float
        Between contours, with lifts and switching. [s]
    edge_times : dict of edge id to float
        [s]
    slow_time : float
        What `cutting` takes above length over commanded speed: corners, arcs, acceleration. [s]
    cutting_without_jerk_limit : float
        Least time that `cutting` could take with a controller that carries acceleration through changes of
        speed: the gap to `cutting` bounds what our law gives away. [s]
    """

    cutting: float
    leads: float
    piercing: float
    traverse: float
    edge_times: dict[str, float]
    slow_time: float
    cutting_without_jerk_limit: float

    @property
    def total(self) -> float:
        """Cutting, piercing and traverses. [s]"""
        return self.cutting + self.piercing + self.traverse


def law_of_intervals(prepared: PreparedPath, intervals: Intervals, *, jerk: float | None = None) -> TimeLaw:
    """Speed and time along the whole path, at rest at both ends of every run."""
    machine = prepared.machine
    return time_law(
        lengths=intervals.lengths,
        caps=intervals.caps,
        knot_caps=intervals.knot_caps,
        acceleration=machine.acceleration,
        jerk=machine.jerk if jerk is None else jerk,
    )


def cycle_time(
    prepared: PreparedPath, intervals: Intervals, *, pierce_time: float | Mapping[str, float]
) -> MotionTime:
    """
    Time of one piece.

    Parameters
    ----------
    prepared : PreparedPath
        The path.
    intervals : Intervals
        Its speeds.
    pierce_time : float or mapping of contour id to float
        Of each pierce. [s]

    Returns
    -------
    MotionTime
        By causes.

    Raises
    ------
    RangeError
        If a speed or a limit of the machine is not positive.
    """
    law = law_of_intervals(prepared, intervals)
    times = np.bincount(
        intervals.edge_index + 1, weights=law.interval_times, minlength=len(prepared.edge_ids) + 1
    )
    runs = prepared.path.runs
    piercing = (
        sum(pierce_time[run.contour] for run in runs)
        if isinstance(pierce_time, Mapping)
        else pierce_time * len(runs)
    )
    return MotionTime(
        cutting=law.total,
        leads=float(times[0]),
        piercing=float(piercing),
        traverse=traverses_of_path(prepared.path, prepared.machine),
        edge_times=dict(zip(prepared.edge_ids, times[1:].tolist(), strict=True)),
        slow_time=law.total - intervals.unhindered_time,
        cutting_without_jerk_limit=law_of_intervals(prepared, intervals, jerk=inf).total,
    )
