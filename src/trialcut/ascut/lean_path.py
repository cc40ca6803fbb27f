"""The lean laid along a timed path.

Beside the path the head follows the lean of the speed that the jet really has there, so that it stands right
in slow stretches too. Where its rate does not allow that, the tilt takes the course of the smallest worst
error, a cut into the wall counting more than material left; the lead takes the largest course that is
nowhere above what the lag asks, since a jet that points forward too much cuts into the wall ahead of an
inside corner. At corners the lean goes through the two values that `stance` found, and straight from one to
the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.corner_lean import GOUGE_WEIGHT, ComplexArray
from trialcut.ascut.stance_types import Stance
from trialcut.ascut.turning import FORWARD_SHARE, SIDEWAYS_SHARE
from trialcut.ascut.types import FloatArray, IntArray
from trialcut.motion.prepared import SMOOTH_TURN

STRAIGHT_ON = 1.0e-9
"""A turn between two samples below this is none. [rad]"""

AT_ONCE = 1.0e-9
"""Samples closer in time than this are at one time. [s]"""

SMALL_JUMP = 1.0e-7
"""A jump of the lean below this is none. [-]"""

LEAD_SHARE = 0.95
"""Of the rate, for turning with a lead. [-]"""

BEYOND = 3.0
"""Beyond any lean of any head. [-]"""

CLOCK_ROUNDS = 5
"""How often the rate that turning takes is found anew for the lean that came out."""


def lean_along(
    stance: Stance,
    *,
    direction: FloatArray,
    speed: FloatArray,
    time: FloatArray,
    station: FloatArray,
    edge: IntArray,
    run: IntArray,
) -> FloatArray:
    """
    Lean at every sample of a timed path.

    Parameters
    ----------
    stance : Stance
        Solved for the part.
    direction : ndarray, shape (N, 2)
        Of travel. [-]
    speed, time, station : ndarray, shape (N,)
        From the time law, and along the path, rising within a run. [m/s], [s], [m]
    edge, run : ndarray of int, shape (N,)
        As in `types.JetPath`: -1 on leads, where the head leans as on the edge that they join, and on ways
        across a corner, where it goes straight from the lean before to the lean after.

    Returns
    -------
    ndarray, shape (N, 2)
        As in `types.JetPath`. Within a run it changes no faster than the head's rate wherever the time law
        keeps the caps of the stance, and is nowhere beyond its travel. [-]
    """
    heading = direction[:, 0] + 1j * direction[:, 1]
    lean = np.zeros(heading.size, dtype=np.complex128)
    if stance.lean:
        for first, last in _spans(run):
            part = slice(first, last)
            lean[part] = _lean_of_run(
                stance,
                heading=heading[part],
                speed=speed[part],
                time=time[part],
                station=station[part],
                edge=edge[part],
            )
    return np.stack((lean.real, lean.imag), axis=1)


def _spans(values: IntArray) -> list[tuple[int, int]]:
    """Ends of the stretches of one value."""
    cuts = np.flatnonzero(np.diff(values)) + 1
    ends = [0, *cuts.tolist(), values.size]
    return list(pairwise(ends)) if values.size else []


def _lean_of_run(
    stance: Stance,
    *,
    heading: ComplexArray,
    speed: FloatArray,
    time: FloatArray,
    station: FloatArray,
    edge: IntArray,
) -> ComplexArray:
    world = np.zeros(heading.size, dtype=np.complex128)
    cut = np.flatnonzero(edge >= 0)
    if not cut.size:
        return world
    first, last = int(cut[0]), int(cut[-1])
    tilted = np.array([each.tilted for each in stance.edges.values()])
    # The head is set before the pierce, so that starting and stopping on the leads ask nothing of it.
    steady = speed.copy()
    steady[:first] = np.maximum.accumulate(speed[:first][::-1])[::-1]
    steady[last + 1 :] = np.maximum.accumulate(speed[last + 1 :])
    tilt, lead = stance.law.at(steady)
    wanted = lead + 1j * tilt
    heading = _without_kinks(heading, time, rate=stance.rate, size=float(np.abs(wanted).max()))
    turnable = _turnable(np.angle(heading[1:] / heading[:-1]), time, stance.rate)
    spare = LEAD_SHARE * turnable - np.abs(wanted).max()
    owner = _with_leads(edge, first, last, heading=heading, spare=spare)
    on = np.flatnonzero(owner >= 0)
    target = np.where(tilted[owner[on]], wanted[on], 0.0)
    turn = np.angle(heading[on][1:] / heading[on][:-1])
    turning = np.concatenate(([0.0], np.cumsum(np.angle(heading[1:] / heading[:-1]))))
    nodes = _nodes(
        stance, target=target, turn=turn, total=np.diff(turning[on]), owner=owner[on], station=station[on]
    )
    course = _course_of_run(
        stance.rate, target=target, turn=turn, time=time[on], starts=nodes.starts, held=nodes.held
    )
    known = np.zeros(heading.size, dtype=bool)
    known[on[~nodes.free]] = True
    world[on] = course * heading[on]
    rest = ~known
    world[rest] = np.interp(time[rest], time[known], world[known].real) + 1j * np.interp(
        time[rest], time[known], world[known].imag
    )
    size = np.abs(world)
    reach = stance.law.reach()
    return np.asarray(world * np.where(size > reach, reach / np.maximum(size, reach), 1.0))


def _without_kinks(heading: ComplexArray, time: FloatArray, *, rate: float, size: float) -> ComplexArray:
    """Heading whose small jumps, too small for corners, are spread over the time that half the rate needs."""
    turn = np.angle(heading[1:] / heading[:-1])
    away = np.zeros(time.size)
    kinks = (np.diff(time) <= AT_ONCE) & (np.abs(turn) < SMOOTH_TURN) & (np.abs(turn) * size > SMALL_JUMP)
    for k in np.flatnonzero(kinks).tolist():
        half = abs(turn[k]) * size / rate
        low, high = np.searchsorted(time, (time[k] - half, time[k] + half))
        share = 0.5 + 0.5 * (time[low:high] - time[k]) / half
        away[low : k + 1] += turn[k] * share[: k + 1 - low]
        away[k + 1 : high] -= turn[k] * (1.0 - share[k + 1 - low :])
    return np.asarray(heading * np.exp(1j * away))


def _with_leads(
    edge: IntArray, first: int, last: int, *, heading: ComplexArray, spare: FloatArray
) -> IntArray:
    """Edge of every sample of a run, on leads too that join it smoothly and that the head can turn with."""
    owner = edge.copy()
    for joint, inner, part in (
        (first - 1, first, slice(0, first)),
        (last + 1, last, slice(last + 1, edge.size)),
    ):
        if not 0 <= joint < edge.size:
            continue
        smooth = abs(np.angle(heading[joint] / heading[inner])) < SMOOTH_TURN
        if smooth and spare[part].min() >= 0.0:
            owner[part] = edge[inner]
    return owner


@dataclass(frozen=True, slots=True)
class _Nodes:
    """Where the path turns sharply, the leans held there, and where the jet is in the gap behind a corner."""

    starts: IntArray
    held: ComplexArray
    free: NDArray[np.bool_]


def _nodes(
    stance: Stance,
    *,
    target: ComplexArray,
    turn: FloatArray,
    total: FloatArray,
    owner: IntArray,
    station: FloatArray,
) -> _Nodes:
    """Leans held at sharp turns, in the frame of the edge there; ``nan`` at all other samples.

    Nothing is held where the path loops in the scrap, so that it turns by a whole turn more in between.
    """
    starts = np.flatnonzero((owner[1:] != owner[:-1]) & (np.abs(turn) >= SMOOTH_TURN)) + 1
    held = np.full(target.size, complex(np.nan, np.nan))
    free = np.zeros(target.size, dtype=bool)
    names = tuple(stance.edges)
    ends = np.append(starts, target.size)[1:]
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        if abs(total[start - 1] - turn[start - 1]) > pi:
            continue
        corner = stance.corners.get((names[owner[start - 1]], names[owner[start]]))
        if corner is None:  # upright edges, or one between that has vanished: the lean midway
            middle = 0.5 * (target[start - 1] + target[start] * np.exp(1j * turn[start - 1]))
            held[start - 1], held[start] = middle, middle * np.exp(-1j * turn[start - 1])
            continue
        met = int(np.searchsorted(station, station[start] + corner.gap * (1.0 - 1e-9)))
        met = min(max(met, start), end - 1)
        free[start:met] = True
        held[start - 1], held[met] = complex(*corner.before), complex(*corner.after)
    return _Nodes(starts, held, free)


def _course_of_run(
    rate: float,
    *,
    target: ComplexArray,
    turn: FloatArray,
    time: FloatArray,
    starts: IntArray,
    held: ComplexArray,
) -> ComplexArray:
    """Lean beside the path, chain by chain: a chain is what lies between two sharp turns."""
    bends = turn.copy()
    bends[starts - 1] = 0.0
    most = _turnable(bends, time, rate)
    # So long a break between chains that none is felt in the next.
    step = np.diff(time)
    step[starts - 1] = BEYOND / (SIDEWAYS_SHARE * rate)
    lean = target
    largest = _largest_near(np.abs(target), np.abs(held), starts)
    for _ in range(CLOCK_ROUNDS):
        # The head's clock: time less what turning with the path takes of its rate.
        largest = np.maximum(largest, np.abs(lean))
        turning = np.maximum(largest[1:], largest[:-1]) * np.abs(bends) / rate
        clock = np.concatenate(([0.0], np.cumsum(np.maximum(step - turning, 0.0))))
        lean = _course(target, most=most, clock=clock, rate=rate, held=held)
        if np.all(np.abs(lean) <= largest * (1.0 + 1e-12)):
            break
    return lean


def _largest_near(target: FloatArray, held: FloatArray, starts: IntArray) -> FloatArray:
    """Target at each sample, but at least what is held at either end of its chain."""
    chain = np.zeros(target.size, dtype=np.int64)
    chain[starts] = 1
    chain = np.cumsum(chain)
    most = np.zeros(int(chain[-1]) + 1)
    np.maximum.at(most, chain, np.nan_to_num(held))
    return np.asarray(np.maximum(target, most[chain]))


def _turnable(turn: FloatArray, time: FloatArray, rate: float) -> FloatArray:
    """Largest lean that can turn with the path at each sample, any on straights. [-]"""
    most = np.full(turn.size, BEYOND)
    bent = np.abs(turn) > STRAIGHT_ON
    most[bent] = rate * np.diff(time)[bent] / np.abs(turn[bent])
    return np.asarray(np.minimum(np.append(most, BEYOND), np.insert(most, 0, BEYOND)))


def _course(
    target: ComplexArray, *, most: FloatArray, clock: FloatArray, rate: float, held: ComplexArray
) -> ComplexArray:
    """Lead and tilt, each within its share of the rate, through what is held."""
    ahead, aside = FORWARD_SHARE * rate, SIDEWAYS_SHARE * rate
    forward = rate_limited_below(target.real, clock=clock, rate=ahead)
    sideways = rate_limited(target.imag, clock=clock, rate=aside, weight_above=GOUGE_WEIGHT)
    spare = np.sqrt(np.maximum(most**2 - target.real**2, 0.0))
    spare = rate_limited_below(spare, clock=clock, rate=aside)
    sideways = np.clip(sideways, -spare, spare)
    return np.asarray(
        _through(forward, held.real, clock=clock, rate=ahead)
        + 1j * _through(sideways, held.imag, clock=clock, rate=aside)
    )


def _through(value: FloatArray, held: FloatArray, *, clock: FloatArray, rate: float) -> FloatArray:
    """Return a course within the rate, bent so that it goes through what is held and stays within it."""
    if np.all(np.isnan(held)):
        return value
    above = rate_limited_below(np.nan_to_num(held, nan=BEYOND), clock=clock, rate=rate)
    below = -rate_limited_below(np.nan_to_num(-held, nan=BEYOND), clock=clock, rate=rate)
    return np.asarray(np.maximum(np.minimum(value, above), below))


def rate_limited_below(target: FloatArray, *, clock: FloatArray, rate: float) -> FloatArray:
    """
    Largest course that changes no faster than a rate and is nowhere above a target.

    Parameters
    ----------
    target, clock : ndarray, shape (N,)
        What is asked, and when, rising. [s]
    rate : float
        [1/s]

    Returns
    -------
    ndarray, shape (N,)
        The infimal convolution of the target with rate times time.

    Notes
    -----
    y(t) = min over s of x(s) + rate |t - s|.
    """
    ahead = rate * clock
    rising = np.minimum.accumulate(target - ahead) + ahead
    falling = np.minimum.accumulate((target + ahead)[::-1])[::-1] - ahead
    return np.asarray(np.minimum(rising, falling))


def rate_limited(
    target: FloatArray, *, clock: FloatArray, rate: float, weight_above: float = 1.0
) -> FloatArray:
    """
    Course that changes no faster than a rate and whose largest weighted distance from a target is the least.

    Parameters
    ----------
    target, clock : ndarray, shape (N,)
        What is asked, and when, rising. [s]
    rate : float
        [1/s]
    weight_above : float
        How much worse it is to be above the target than below. [-]

    Returns
    -------
    ndarray, shape (N,)
        Between the largest such course below the target and the smallest above it, midway for equal weights.

    Notes
    -----
    Any course within the rate, at most e above and d below the target, lies between those two moved by d down
    and e up; so d + e is at least their largest distance, which is shared by the weights [D].
    """
    below = rate_limited_below(target, clock=clock, rate=rate)
    above = -rate_limited_below(-target, clock=clock, rate=rate)
    return np.asarray((weight_above * below + above) / (1.0 + weight_above))
