"""The lean laid along a timed path.

Beside the path the head follows the lean of the speed that the jet really has there, so that it stands right
in slow stretches too. Where its rate does not allow that, the tilt takes the course of the smallest worst
error; the lead takes the largest course that is nowhere above what the lag asks, since a jet that points
forward too much cuts into the wall ahead of an inside corner. At corners the lean goes through the two values
that `stance` found, and straight from one to the other between them.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.corner_lean import ComplexArray
from trialcut.ascut.stance import CornerStance, Stance
from trialcut.ascut.turning import FORWARD_SHARE, SIDEWAYS_SHARE
from trialcut.ascut.types import FloatArray, IntArray
from trialcut.motion.prepared import SMOOTH_TURN

FloatPair = tuple[float, float]

CLOCK_ROUNDS = 3
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
        As in `types.JetPath`: -1 on leads and loops, where the head goes straight from the lean before to the
        lean after.

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
    on = np.flatnonzero(edge >= 0)
    if not on.size:
        return np.zeros(heading.size, dtype=np.complex128)
    names = tuple(stance.edges)
    tilted = np.array([each.tilted for each in stance.edges.values()])[edge[on]]
    tilt, lead = stance.law.at(speed[on])
    target = np.where(tilted, lead + 1j * tilt, 0.0)
    turn = np.angle(heading[on][1:] / heading[on][:-1])
    # A chain is what lies between two real corners; where one edge meets itself again the path is smooth.
    changes = edge[on][1:] != edge[on][:-1]
    sharp = np.flatnonzero(changes & (np.abs(turn) >= SMOOTH_TURN)) + 1
    ends = [0, *sharp.tolist(), on.size]
    corners = [stance.corners.get((names[edge[on[k - 1]]], names[edge[on[k]]])) for k in sharp.tolist()]
    free = np.zeros(on.size, dtype=bool)
    lean = np.empty(on.size, dtype=np.complex128)
    for first, last, begin, end in zip(ends[:-1], ends[1:], [None, *corners], [*corners, None], strict=True):
        part = slice(first, last)
        lean[part], free[part] = _lean_of_chain(
            stance.rate,
            target=target[part],
            turn=turn[first : last - 1],
            time=time[on[part]],
            station=station[on[part]],
            begin=begin,
            end=end,
        )
    world = lean * heading[on]
    known = on[~free]
    if not known.size:
        return np.zeros(heading.size, dtype=np.complex128)
    across = world[~free]
    whole = np.interp(time, time[known], across.real) + 1j * np.interp(time, time[known], across.imag)
    size = np.abs(whole)
    reach = stance.law.reach()
    return np.asarray(whole * np.where(size > reach, reach / np.maximum(size, reach), 1.0))


def _lean_of_chain(
    rate: float,
    *,
    target: ComplexArray,
    turn: FloatArray,
    time: FloatArray,
    station: FloatArray,
    begin: CornerStance | None,
    end: CornerStance | None,
) -> tuple[ComplexArray, NDArray[np.bool_]]:
    """Lean beside the path between two real corners, and where the jet is in the gap of one of them."""
    along = station - station[0]
    free = np.zeros(target.size, dtype=bool)
    nodes: list[tuple[int, FloatPair]] = []
    if begin is not None:
        at = min(int(np.searchsorted(along, begin.gap * (1.0 - 1e-9))), target.size - 1)
        free[:at] = True
        nodes.append((at, begin.after))
    if end is not None:
        at = max(int(np.searchsorted(along[-1] - along[::-1], end.gap * (1.0 - 1e-9))), 0)
        at = max(target.size - 1 - at, nodes[0][0] if nodes else 0)
        free[at + 1 :] = True
        nodes.append((at, end.before))
    lean = target
    largest = np.maximum.reduce([np.abs(target), *(np.full(target.size, np.hypot(*q)) for _, q in nodes)])
    for _ in range(CLOCK_ROUNDS):
        # The head's clock: time less what turning with the path takes of its rate.
        largest = np.maximum(largest, np.abs(lean))
        turning = np.maximum(largest[1:], largest[:-1]) * np.abs(turn) / rate
        clock = np.concatenate(([0.0], np.cumsum(np.maximum(np.diff(time) - turning, 0.0))))
        lean = _course(target, clock=clock, rate=rate, nodes=nodes)
    return lean, free


def _course(
    target: ComplexArray, *, clock: FloatArray, rate: float, nodes: list[tuple[int, FloatPair]]
) -> ComplexArray:
    """Lead and tilt, each within its share of the rate, through the nodes."""
    forward = rate_limited_below(target.real, clock=clock, rate=FORWARD_SHARE * rate)
    sideways = rate_limited(target.imag, clock=clock, rate=SIDEWAYS_SHARE * rate)
    for at, (lead, tilt) in nodes:
        away = rate * np.abs(clock - clock[at])
        forward = np.clip(forward, lead - FORWARD_SHARE * away, lead + FORWARD_SHARE * away)
        sideways = np.clip(sideways, tilt - SIDEWAYS_SHARE * away, tilt + SIDEWAYS_SHARE * away)
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


def rate_limited(target: FloatArray, *, clock: FloatArray, rate: float) -> FloatArray:
    """
    Course that changes no faster than a rate and whose largest distance from a target is the least.

    Parameters
    ----------
    target, clock : ndarray, shape (N,)
        What is asked, and when, rising. [s]
    rate : float
        [1/s]

    Returns
    -------
    ndarray, shape (N,)
        Midway between the largest such course below the target and the smallest above it.

    Notes
    -----
    Any course within the rate and within e of the target lies between the two moved by e, so e is at least
    half their largest distance, which midway attains [D].
    """
    below = rate_limited_below(target, clock=clock, rate=rate)
    above = -rate_limited_below(-target, clock=clock, rate=rate)
    return np.asarray(0.5 * (below + above))
