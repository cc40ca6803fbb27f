"""Speed and time along a path whose stretches each have a speed cap.

The path is a row of intervals. Neighbours with one cap make one stretch, which is an exact S-curve move; the
acceleration is zero where the cap changes. That is on the safe side: the machine can always follow the law,
and a controller that carries acceleration through a change of cap is a little faster. With ``jerk=inf`` the
condition is empty and the law is the classical acceleration-limited optimum, which bounds the gap.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.errors import RangeError
from trialcut.motion._limits import positive_array, require_limits, within

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeLaw:
    """Speed and time along a path of N intervals that make M stretches of one cap.

    Parameters
    ----------
    positions, speeds, times : array, shape (N + 1,)
        At the knots between intervals. [m], [m/s], [s]
    interval_times : array, shape (N,)
        [s]
    peaks : array, shape (N,)
        Highest speed within each interval. [m/s]
    stretch_positions, stretch_speeds, stretch_times : array, shape (M + 1,)
        At the ends of the stretches. [m], [m/s], [s]
    stretch_peaks : array, shape (M,)
        [m/s]
    acceleration, jerk : float
        The limits. [m/s^2], [m/s^3]
    """

    positions: Floats
    speeds: Floats
    times: Floats
    interval_times: Floats
    peaks: Floats
    stretch_positions: Floats
    stretch_speeds: Floats
    stretch_peaks: Floats
    stretch_times: Floats
    acceleration: float
    jerk: float

    @property
    def total(self) -> float:
        """Time of the whole path. [s]"""
        return float(self.times[-1])


def time_law(
    *,
    lengths: ArrayLike,
    caps: ArrayLike,
    acceleration: float,
    jerk: float,
    start_speed: float = 0.0,
    end_speed: float = 0.0,
    knot_caps: ArrayLike | None = None,
) -> TimeLaw:
    """
    Speed and time along intervals that each have a speed cap.

    Parameters
    ----------
    lengths : array, shape (N,)
        Of the intervals, in order of travel. [m]
    caps : array, shape (N,)
        Highest speed in each. [m/s]
    acceleration : float
        Largest along the path, of either sign. [m/s^2]
    jerk : float
        Largest along the path; ``inf`` for none. [m/s^3]
    start_speed, end_speed : float
        At the ends of the path. [m/s]
    knot_caps : array, shape (N + 1,), optional
        Highest speed at each knot, zero to stop there, ``inf`` where there is none; the ends are
        `start_speed` and `end_speed` whatever is given for them. [m/s]

    Returns
    -------
    TimeLaw
        Speeds, times and peaks.

    Raises
    ------
    RangeError
        If a length, cap or limit is not positive, or the path is too short for the speeds at its ends.

    Notes
    -----
    Backward pass: the highest speed at each change of cap from which the rest can still be slowed down to;
    forward pass: what can be reached. With ``jerk=inf`` this is the minimum-time law. With finite jerk it is
    feasible, never below that bound, and exact where stretches are long enough to reach their caps with the
    acceleration at rest between them; it is not the minimum over all laws, and where a stretch is too short
    to reach its cap, raising that cap can cost a little time because the acceleration must come to zero at
    its ends.

    Examples
    --------
    >>> law = time_law(lengths=[0.05, 0.05], caps=[0.05, 0.05], acceleration=0.5, jerk=10.0)
    >>> round(law.total, 12)
    2.15
    """
    from trialcut.motion import _kernels as k  # noqa: PLC0415  numba is slow to import

    require_limits(acceleration=acceleration, jerk=jerk)
    d = positive_array("lengths", lengths, "m")
    v = positive_array("caps", caps, "m/s")
    if d.size != v.size:
        raise RangeError(f"{d.size} lengths and {v.size} caps were given; give one cap for each length")
    at_knots = _knot_caps(knot_caps, d.size)
    at_knots[0] = within("start speed", start_speed, "m/s", low=0.0, high=float(v[0]))
    at_knots[-1] = within("end speed", end_speed, "m/s", low=0.0, high=float(v[-1]))
    firsts = k.merge_runs(v, at_knots)
    speeds, times, interval_times, peaks, stretches, run_speeds, run_peaks, run_times = k.time_law_passes(
        d, v, at_knots, firsts, float(acceleration), float(jerk)
    )
    for name, wanted, got in (
        ("start", start_speed, float(speeds[0])),
        ("end", end_speed, float(speeds[-1])),
    ):
        if got < wanted:
            raise RangeError(
                f"{name} speed is {wanted:g} m/s but the path allows {got:g} m/s there: "
                f"lower it or raise the acceleration from {acceleration:g} m/s^2",
                name=f"{name}_speed",
                value=wanted,
                allowed=got,
            )
    return TimeLaw(
        positions=_positions(d),
        speeds=speeds,
        times=times,
        interval_times=interval_times,
        peaks=peaks,
        stretch_positions=_positions(stretches),
        stretch_speeds=run_speeds,
        stretch_peaks=run_peaks,
        stretch_times=run_times,
        acceleration=float(acceleration),
        jerk=float(jerk),
    )


def speed_at(law: TimeLaw, stations: ArrayLike) -> tuple[Floats, Floats]:
    """
    Speed and time at distances along the path.

    Parameters
    ----------
    law : TimeLaw
        Of the path.
    stations : array, shape (K,)
        Distances from its start, in any order. [m]

    Returns
    -------
    speeds : array, shape (K,)
        [m/s]
    times : array, shape (K,)
        [s]

    Raises
    ------
    RangeError
        If a station is before the start or past the end.
    """
    from trialcut.motion import _kernels as k  # noqa: PLC0415  numba is slow to import

    s = np.ascontiguousarray(stations, dtype=float).ravel()
    end = float(law.positions[-1])
    inside = (s >= 0.0) & (s <= end * (1.0 + 1e-12))
    if not inside.all():
        within("station", float(s[np.argmin(inside)]), "m", low=0.0, high=end)
    return k.sample_law(
        s,
        law.stretch_positions,
        law.stretch_speeds,
        law.stretch_peaks,
        law.stretch_times,
        law.acceleration,
        law.jerk,
    )


def _positions(lengths: Floats) -> Floats:
    positions = np.zeros(lengths.size + 1)
    np.cumsum(lengths, out=positions[1:])
    return positions


def _knot_caps(knot_caps: ArrayLike | None, intervals: int) -> Floats:
    if knot_caps is None:
        return np.full(intervals + 1, inf)
    array = np.array(knot_caps, dtype=float)
    if array.shape != (intervals + 1,):
        raise RangeError(
            f"{array.size} knot caps were given for {intervals} intervals; give one more than intervals"
        )
    good = array >= 0.0
    if not good.all():
        index = int(np.argmin(good))
        raise RangeError(f"knot_caps[{index}] is {array[index]:g} m/s; each must be zero or more, or inf")
    return array
