"""Compiled arithmetic of jerk-limited motion along a line.

This module imports numba, so it is itself imported on first use and never at start-up. Each formula
stands here once; `scurve` and `time_law` check their arguments and call it.

Throughout, ``v0``, ``v1`` are speeds at which the acceleration is zero [m/s], ``vp`` a peak speed [m/s],
``d`` a distance [m], ``a`` the largest acceleration [m/s^2], ``j`` the largest jerk [m/s^3], which may be
``inf``.
"""

# ruff: noqa: PLR0917  compiled functions take no keyword-only arguments

from __future__ import annotations

from collections.abc import Callable
from math import asin, asinh, inf, isinf, sin, sinh, sqrt
from typing import Any, ParamSpec, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

P = ParamSpec("P")
R = TypeVar("R")
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile to machine code, kept on disk; without a writable place, compile afresh in each process."""
    try:
        wrapped: Any = numba.njit(cache=True)(function)
    except RuntimeError:  # numba found no folder that it may write to
        wrapped = numba.njit(function)
    return cast(Callable[P, R], wrapped)


@compiled
def ramp_time(v0: float, v1: float, a: float, j: float) -> float:
    """Time of an S-shaped change of speed, in either direction. [s]"""
    dv = abs(v1 - v0)
    if dv * j >= a * a or isinf(j):
        return dv / a + a / j
    return 2.0 * sqrt(dv / j)


@compiled
def ramp_distance(v0: float, v1: float, a: float, j: float) -> float:
    """Distance of an S-shaped change of speed: it is symmetric about its middle. [m]"""
    return 0.5 * (v0 + v1) * ramp_time(v0, v1, a, j)


@compiled
def rising_cubic_root(p: float, q: float) -> float:
    """The one real root t of t^3 + p t = q, for p >= 0 and q >= 0."""
    if p <= 1e-16 * np.cbrt(q) ** 2:
        return float(np.cbrt(q))
    unit = sqrt(p / 3.0)
    return 2.0 * unit * sinh(asinh(0.5 * q / unit**3) / 3.0)


@compiled
def falling_cubic_root(p: float, q: float) -> float:
    """The smallest positive root t of p t - t^3 = q, for p > 0 and 0 <= q <= 2 (p/3)^1.5."""
    unit = sqrt(p / 3.0)
    return 2.0 * unit * sin(asin(min(1.0, 0.5 * q / unit**3)) / 3.0)


@compiled
def reachable_speed(v0: float, d: float, a: float, j: float) -> float:
    """Highest speed that a ramp from `v0` gets to within `d`. [m/s]"""
    c = a * a / j
    if d >= (2.0 * v0 + c) * a / j:  # the ramp has room for full acceleration
        return max(v0, sqrt((0.5 * c - v0) ** 2 + 2.0 * a * d) - 0.5 * c)
    return v0 + rising_cubic_root(2.0 * v0, d * sqrt(j)) ** 2


@compiled
def peak_speed(v0: float, v1: float, cap: float, d: float, a: float, j: float) -> float:
    """Highest speed on the way from `v0` to `v1` over `d`, not above `cap`. [m/s]"""
    low = max(v0, v1)
    if low >= cap or ramp_distance(v0, v1, a, j) >= d * (1.0 - 1e-13):
        return low
    if ramp_distance(v0, cap, a, j) + ramp_distance(v1, cap, a, j) <= d:
        return cap
    if v0 == v1:
        return reachable_speed(v0, 0.5 * d, a, j)
    c = a * a / j
    both_full = 0.5 * (sqrt(c * c - 2.0 * (c * (v0 + v1) - v0 * v0 - v1 * v1 - 2.0 * a * d)) - c)
    if both_full >= low + c:  # both ramps have room for full acceleration
        return both_full
    high = cap
    vp = 0.5 * (low + high)
    for _ in range(200):  # Newton, kept inside the bracket by bisection
        t0, t1 = ramp_time(v0, vp, a, j), ramp_time(v1, vp, a, j)
        excess = 0.5 * (v0 + vp) * t0 + 0.5 * (v1 + vp) * t1 - d
        if excess > 0.0:
            high = vp
        else:
            low = vp
        slope = 0.5 * (t0 + t1)
        for v in (v0, v1):
            dv = vp - v
            slope += 0.5 * (v + vp) * (1.0 / a if dv * j >= a * a else 1.0 / sqrt(max(dv, 1e-300) * j))
        step = vp - excess / slope
        if not low < step < high:
            step = 0.5 * (low + high)
        if abs(step - vp) <= 4e-16 * vp:
            break
        vp = step
    return vp


@compiled
def move_time(v0: float, vp: float, v1: float, d: float, a: float, j: float) -> float:
    """Time from `v0` over the peak `vp` to `v1` in a distance `d`. [s]"""
    cruise = d - ramp_distance(v0, vp, a, j) - ramp_distance(v1, vp, a, j)
    return ramp_time(v0, vp, a, j) + ramp_time(v1, vp, a, j) + max(0.0, cruise) / vp


@compiled
def ramp_state(s: float, v0: float, v1: float, a: float, j: float) -> tuple[float, float]:
    """Speed and time at distance `s` into a rising ramp from `v0` to `v1`. [m/s], [s]"""
    total = ramp_time(v0, v1, a, j)
    if isinf(j):
        t_j, a_p = 0.0, a
        s_1 = 0.0
    else:
        t_j = min(a / j, 0.5 * total)
        a_p = j * t_j
        s_1 = v0 * t_j + j * t_j**3 / 6.0
    if s < s_1:
        t = rising_cubic_root(6.0 * v0 / j, 6.0 * s / j)
        return v0 + 0.5 * j * t * t, t
    v_1, v_2 = v0 + 0.5 * a_p * t_j, v1 - 0.5 * a_p * t_j
    s_2 = s_1 + 0.5 * (v_1 + v_2) * (total - 2.0 * t_j)
    if s <= s_2:
        v = min(v1, sqrt(v_1 * v_1 + 2.0 * a_p * (s - s_1)))
        return v, t_j + 2.0 * (s - s_1) / (v_1 + v) if s > s_1 else t_j
    rest = max(0.0, 0.5 * (v0 + v1) * total - s)
    if isinf(j) or rest == 0.0:
        return v1, total
    t = min(t_j, falling_cubic_root(6.0 * v1 / j, 6.0 * rest / j))
    return v1 - 0.5 * j * t * t, total - t


@compiled
def move_state(
    s: float, v0: float, vp: float, v1: float, d: float, a: float, j: float
) -> tuple[float, float]:
    """Speed and time at distance `s` into a move from `v0` over `vp` to `v1`. [m/s], [s]"""
    up = ramp_distance(v0, vp, a, j)
    down = ramp_distance(v1, vp, a, j)
    if s <= 0.0:
        return v0, 0.0
    if s >= d:
        return v1, move_time(v0, vp, v1, d, a, j)
    if s < up:
        return ramp_state(s, v0, vp, a, j)
    if s <= d - down:
        return vp, ramp_time(v0, vp, a, j) + (s - up) / vp
    v, t = ramp_state(d - s, v1, vp, a, j)
    return v, move_time(v0, vp, v1, d, a, j) - t


@compiled
def merge_runs(caps: Floats, knot_caps: Floats) -> Integers:
    """First knot of each stretch of one cap, and the last knot of all, shape (M + 1,)."""
    n = caps.size
    firsts = np.empty(n + 1, np.int64)
    m = 0
    for i in range(n):
        if i == 0 or caps[i] != caps[i - 1] or knot_caps[i] < inf:
            firsts[m] = i
            m += 1
    firsts[m] = n
    return firsts[: m + 1]


@compiled
def time_law_passes(
    lengths: Floats, caps: Floats, knot_caps: Floats, firsts: Integers, a: float, j: float
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats, Floats]:
    """Speeds and times along stretches of constant cap by one backward and one forward pass.

    Returns speeds (N + 1,), times (N + 1,), interval times (N,), peaks (N,), and of the M stretches the
    lengths (M,), speeds at their ends (M + 1,), peaks (M,) and start times (M + 1,).
    """
    n, m = lengths.size, firsts.size - 1
    run_lengths, run_peaks = np.empty(m), np.empty(m)
    run_speeds, run_times = np.empty(m + 1), np.empty(m + 1)
    for k in range(m):
        total = 0.0
        for i in range(firsts[k], firsts[k + 1]):
            total += lengths[i]
        run_lengths[k] = total
        here = min(caps[firsts[k]], knot_caps[firsts[k]])
        run_speeds[k] = here if k == 0 else min(here, caps[firsts[k] - 1])
    run_speeds[m] = min(caps[n - 1], knot_caps[n])
    for k in range(m - 1, -1, -1):
        v0, v1 = run_speeds[k], run_speeds[k + 1]
        if v0 > v1 and ramp_distance(v0, v1, a, j) > run_lengths[k]:
            run_speeds[k] = reachable_speed(v1, run_lengths[k], a, j)
    run_times[0] = 0.0
    speeds, times = np.empty(n + 1), np.empty(n + 1)
    interval_times, peaks = np.empty(n), np.empty(n)
    for k in range(m):
        d, v0 = run_lengths[k], run_speeds[k]
        v1 = run_speeds[k + 1]
        if v1 > v0 and ramp_distance(v0, v1, a, j) > d:
            v1 = reachable_speed(v0, d, a, j)
            run_speeds[k + 1] = v1
        vp = peak_speed(v0, v1, caps[firsts[k]], d, a, j)
        run_peaks[k] = vp
        run_time = move_time(v0, vp, v1, d, a, j)
        run_times[k + 1] = run_times[k] + run_time
        i0, i1 = firsts[k], firsts[k + 1]
        if i1 == i0 + 1:
            speeds[i0], times[i0] = v0, run_times[k]
            interval_times[i0], peaks[i0] = run_time, vp
            continue
        up, down = ramp_distance(v0, vp, a, j), ramp_distance(v1, vp, a, j)
        s, v, t = 0.0, v0, 0.0
        for i in range(i0, i1):
            speeds[i], times[i] = v, run_times[k] + t
            s_next = s + lengths[i]
            if i == i1 - 1:
                v_next, t_next = v1, run_time
            else:
                v_next, t_next = move_state(s_next, v0, vp, v1, d, a, j)
            interval_times[i] = t_next - t
            peaks[i] = vp if s <= d - down and s_next >= up else max(v, v_next)
            s, v, t = s_next, v_next, t_next
    speeds[n], times[n] = run_speeds[m], run_times[m]
    return speeds, times, interval_times, peaks, run_lengths, run_speeds, run_peaks, run_times


@compiled
def sample_law(
    stations: Floats,
    run_positions: Floats,
    run_speeds: Floats,
    run_peaks: Floats,
    run_times: Floats,
    a: float,
    j: float,
) -> tuple[Floats, Floats]:
    """Speeds and times at arc-length stations, each shape (K,)."""
    speeds, times = np.empty(stations.size), np.empty(stations.size)
    m = run_peaks.size
    for i in range(stations.size):
        k = min(m - 1, max(0, np.searchsorted(run_positions, stations[i], side="right") - 1))
        d = run_positions[k + 1] - run_positions[k]
        v, t = move_state(
            stations[i] - run_positions[k], run_speeds[k], run_peaks[k], run_speeds[k + 1], d, a, j
        )
        speeds[i], times[i] = v, run_times[k] + t
    return speeds, times
