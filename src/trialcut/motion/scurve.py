"""Jerk-limited moves from one speed to another, each speed held with zero acceleration.

A change of speed is S-shaped: jerk ``j`` up to the acceleration ``a`` or as far as it is needed, and back.
Over a change ``dv`` it takes

    T = dv/a + a/j     where dv >= a^2/j
    T = 2 sqrt(dv/j)   where it is smaller

and, being symmetric about its middle, the distance (v0 + v1)/2 T. With ``j = inf`` it is the constant
acceleration of a trapezoidal move.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from trialcut.motion._limits import positive, require_limits, within


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A move over a distance: speeds at its ends [m/s], highest speed on the way [m/s], and time [s]."""

    start_speed: float
    peak_speed: float
    end_speed: float
    time: float


def move(
    *,
    distance: float,
    speed_cap: float,
    acceleration: float,
    jerk: float,
    start_speed: float = 0.0,
    end_speed: float = 0.0,
) -> Move:
    """
    Fastest single move over a distance, from one speed over a peak to another.

    Parameters
    ----------
    distance : float
        Along the path. [m]
    speed_cap : float
        Highest speed allowed. [m/s]
    acceleration : float
        Largest, of either sign. [m/s^2]
    jerk : float
        Largest, of either sign; ``inf`` for none. [m/s^3]
    start_speed, end_speed : float
        At the ends, where the acceleration is zero. [m/s]

    Returns
    -------
    Move
        Its peak speed and time.

    Raises
    ------
    RangeError
        If a limit is not positive, or the distance is too short to get from one speed to the other.

    Notes
    -----
    The peak is the root of ramp distances up and down against the distance, closed where the ends have one
    speed or both ramps reach full acceleration. Moves in which the acceleration at an end is not zero are
    outside this class.

    Examples
    --------
    >>> round(move(distance=0.1, speed_cap=0.05, acceleration=0.5, jerk=2.0).time, 9)
    2.316227766
    """
    from trialcut.motion import _kernels as k  # noqa: PLC0415  numba is slow to import

    require_limits(acceleration=acceleration, jerk=jerk)
    d, cap = positive("distance", distance, "m"), positive("speed cap", speed_cap, "m/s")
    v0 = within("start speed", start_speed, "m/s", low=0.0, high=cap)
    v1 = within("end speed", end_speed, "m/s", low=0.0, high=cap)
    least = k.ramp_distance(v0, v1, acceleration, jerk)
    within("distance", d, "m", low=least * (1.0 - 1e-12), high=inf)
    vp = k.peak_speed(v0, v1, cap, d, acceleration, jerk)
    return Move(
        start_speed=v0,
        peak_speed=vp,
        end_speed=v1,
        time=k.move_time(v0, vp, v1, d, acceleration, jerk),
    )


def rest_to_rest_time(*, distance: float, speed_cap: float, acceleration: float, jerk: float) -> float:
    """
    Time of a move from rest to rest.

    Parameters
    ----------
    distance : float
        Zero takes no time. [m]
    speed_cap, acceleration, jerk : float
        As for `move`. [m/s], [m/s^2], [m/s^3]

    Returns
    -------
    float
        [s]

    Raises
    ------
    RangeError
        If a limit is not positive, or the distance is negative.

    Examples
    --------
    >>> round(rest_to_rest_time(distance=0.006, speed_cap=0.05, acceleration=0.5, jerk=10.0), 9)
    0.274722051
    """
    if distance == 0.0:
        return 0.0
    return move(distance=distance, speed_cap=speed_cap, acceleration=acceleration, jerk=jerk).time


def ramp_distance(*, start_speed: float, end_speed: float, acceleration: float, jerk: float) -> float:
    """
    Distance that a change of speed takes.

    Parameters
    ----------
    start_speed, end_speed : float
        In either order, acceleration zero at both. [m/s]
    acceleration, jerk : float
        Limits. [m/s^2], [m/s^3]

    Returns
    -------
    float
        [m]

    Raises
    ------
    RangeError
        If a limit is not positive, or a speed is negative.
    """
    from trialcut.motion import _kernels as k  # noqa: PLC0415  numba is slow to import

    require_limits(acceleration=acceleration, jerk=jerk)
    v0 = within("start speed", start_speed, "m/s", low=0.0, high=inf)
    v1 = within("end speed", end_speed, "m/s", low=0.0, high=inf)
    return k.ramp_distance(v0, v1, acceleration, jerk)
