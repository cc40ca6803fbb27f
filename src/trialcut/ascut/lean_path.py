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

from trialcut.ascut.corner_lean import GOUGE_WEIGHT, ComplexArray
from trialcut.ascut.stance_types import CornerStance, Stance
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
    # A chain is what lies between two real corners; where one edge meets itself again the path is smooth.
    changes = owner[on][1:] != owner[on][:-1]
    sharp = np.flatnonzero(changes & (np.abs(turn) >= SMOOTH_TURN)) + 1
    names = tuple(stance.edges)
    joints: list[_Joint | None] = [None]
    for k in sharp.tolist():
        between = heading[on[k - 1] : on[k] + 1]
        corner = stance.corners.get((names[owner[on[k - 1]]], names[owner[on[k]]]))
        joints.append(_joint(corner, between, float(turn[k - 1]), target[k - 1], target[k]))
    joints.append(None)
    known = np.zeros(heading.size, dtype=bool)
    for (low, high), begin, end in zip(
        pairwise([0, *sharp.tolist(), on.size]), joints[:-1], joints[1:], strict=True
    ):
        part = slice(low, high)
        lean, met = _lean_of_chain(
            stance.rate,
            target=target[part],
            turn=turn[low : high - 1],
            time=time[on[part]],
            station=station[on[part]],
            begin=begin,
            end=end,
        )
        world[on[part]] = lean * heading[on[part]]
        known[on[low + met : high]] = True
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
class _Joint:
    """Leans that the head goes through at a corner, in the frames of its edges, and how far behind it."""

    before: complex
    after: complex
    gap: float


def _joint(
    corner: CornerStance | None, between: ComplexArray, turn: float, before: complex, after: complex
) -> _Joint | None:
    """What is held at a sharp turn of the path; nothing where it loops in the scrap meanwhile."""
    total = float(np.angle(between[1:] / between[:-1]).sum())
    if abs(total - turn) > pi:
        return None
    if corner is None:  # an edge between has vanished: the lean midway
        middle = 0.5 * (before + after * np.exp(1j * turn))
        return _Joint(middle, middle * np.exp(-1j * turn), 0.0)
    return _Joint(complex(*corner.before), complex(*corner.after), corner.gap)


def _lean_of_chain(
    rate: float,
    *,
    target: ComplexArray,
    turn: FloatArray,
    time: FloatArray,
    station: FloatArray,
    begin: _Joint | None,
    end: _Joint | None,
) -> tuple[ComplexArray, int]:
    """Lean beside the path between two real corners, and the first sample at which the jet meets the wall."""
    low, high = 0, target.size - 1
    nodes: list[tuple[int, complex]] = []
    if begin is not None:
        low = min(int(np.searchsorted(station, station[0] + begin.gap * (1.0 - 1e-9))), high)
        nodes.append((low, begin.after))
    if end is not None:
        nodes.append((high, end.before))
    lean = target
    largest = np.maximum.reduce([np.abs(target), *(np.full(target.size, abs(node)) for _, node in nodes)])
    for _ in range(CLOCK_ROUNDS):
        # The head's clock: time less what turning with the path takes of its rate.
        largest = np.maximum(largest, np.abs(lean))
        turning = np.maximum(largest[1:], largest[:-1]) * np.abs(turn) / rate
        clock = np.concatenate(([0.0], np.cumsum(np.maximum(np.diff(time) - turning, 0.0))))
        lean = _course(target, most=_turnable(turn, time, rate), clock=clock, rate=rate, nodes=nodes)
    return lean, low


def _turnable(turn: FloatArray, time: FloatArray, rate: float) -> FloatArray:
    """Largest lean that can turn with the path at each sample, without end on straights. [-]"""
    most = np.full(turn.size, np.inf)
    bent = np.abs(turn) > STRAIGHT_ON
    most[bent] = rate * np.diff(time)[bent] / np.abs(turn[bent])
    return np.asarray(np.minimum(np.append(most, np.inf), np.insert(most, 0, np.inf)))


def _course(
    target: ComplexArray,
    *,
    most: FloatArray,
    clock: FloatArray,
    rate: float,
    nodes: list[tuple[int, complex]],
) -> ComplexArray:
    """Lead and tilt, each within its share of the rate, through the nodes."""
    forward = rate_limited_below(target.real, clock=clock, rate=FORWARD_SHARE * rate)
    sideways = rate_limited(target.imag, clock=clock, rate=SIDEWAYS_SHARE * rate, weight_above=GOUGE_WEIGHT)
    spare = np.sqrt(np.maximum(most**2 - target.real**2, 0.0))
    spare = rate_limited_below(spare, clock=clock, rate=SIDEWAYS_SHARE * rate)
    sideways = np.clip(sideways, -spare, spare)
    for at, node in nodes:
        away = rate * np.abs(clock - clock[at])
        lead, tilt = FORWARD_SHARE * away, SIDEWAYS_SHARE * away
        forward = np.clip(forward, node.real - lead, node.real + lead)
        sideways = np.clip(sideways, node.imag - tilt, node.imag + tilt)
    return np.asarray(forward + 1j * sideways)


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
