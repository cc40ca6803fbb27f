"""How long it takes to find the time along a path, against a library that does nothing else."""

from __future__ import annotations

import logging
from collections.abc import Callable
from math import inf
from statistics import median
from time import perf_counter

import numpy as np
import ruckig
import toppra
from toppra import algorithm, constraint

from trialcut.motion.scurve import move
from trialcut.motion.time_law import TimeLaw, time_law

Row = tuple[str, float, float | None, float | None, str, bool]
SAMPLES = 5000
ACCELERATION = 0.5
TIMES_FASTER = 50.0


def run(repeats: int = 5) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    caps = 0.01 * (1.5 + np.sin(np.arange(SAMPLES) / 50.0))
    lengths = np.full(SAMPLES, 1e-4)

    def ours(jerk: float) -> TimeLaw:
        return time_law(lengths=lengths, caps=caps, acceleration=ACCELERATION, jerk=jerk)

    rival = _toppra(lengths, caps)
    speeds = ours(inf).speeds  # compiles, too
    knots_only = float((2.0 * lengths / (speeds[1:] + speeds[:-1])).sum())
    # toppra holds the acceleration within a step and so has no peaks between its grid points.
    assert abs(knots_only / rival() - 1.0) < 1e-4, "the two must solve one problem"
    free = _median(lambda: ours(inf), 10 * repeats)
    jerk = _median(lambda: ours(10.0), 10 * repeats)
    theirs = _median(rival, repeats)
    ratio = theirs / free
    one = _median(_moves(_our_move), repeats)
    their_one = _median(_moves(_their_move), repeats)
    return [
        (f"time along {SAMPLES} samples", free, theirs, ratio, ">= 50 x", ratio >= TIMES_FASTER),
        (f"time along {SAMPLES} samples, jerk-limited", jerk, None, None, "< 1 ms", jerk < 1e-3),
        ("1000 jerk-limited moves, against ruckig", one, their_one, their_one / one, "no target", True),
    ]


def _toppra(lengths: np.ndarray, caps: np.ndarray) -> Callable[[], float]:
    logging.getLogger("toppra").setLevel(logging.ERROR)
    grid = np.concatenate(([0.0], np.cumsum(lengths)))
    # toppra asks at its grid points only; where two caps meet, the lower one holds.
    at_knots = np.minimum(np.append(caps, caps[-1]), np.insert(caps, 0, caps[0]))
    path = toppra.SplineInterpolator([0.0, grid[-1]], [[0.0], [grid[-1]]])

    def limits(s: float) -> np.ndarray:
        cap = at_knots[round(s / lengths[0])]
        return np.array([[-cap, cap]])

    def solve() -> float:
        speed = constraint.JointVelocityConstraintVarying(limits)
        force = constraint.JointAccelerationConstraint(np.array([[-ACCELERATION, ACCELERATION]]))
        solver = algorithm.TOPPRA([speed, force], path, gridpoints=grid, solver_wrapper="seidel")
        _, speeds, _ = solver.compute_parameterization(0.0, 0.0)
        return float((2.0 * np.diff(grid) / (speeds[1:] + speeds[:-1])).sum())

    return solve


def _our_move(distance: float) -> float:
    return move(distance=distance, speed_cap=0.05, acceleration=0.5, jerk=10.0, end_speed=0.01).time


def _their_move(distance: float) -> float:
    asked = ruckig.InputParameter(1)
    asked.current_position, asked.current_velocity, asked.current_acceleration = [0.0], [0.0], [0.0]
    asked.target_position, asked.target_velocity, asked.target_acceleration = [distance], [0.01], [0.0]
    asked.max_velocity, asked.max_acceleration, asked.max_jerk = [0.05], [0.5], [10.0]
    answer = ruckig.Trajectory(1)
    ruckig.Ruckig(1).calculate(asked, answer)
    return answer.duration


def _moves(solve: Callable[[float], float]) -> Callable[[], float]:
    distances = np.linspace(0.001, 0.1, 1000).tolist()
    return lambda: sum(solve(distance) for distance in distances)


def _median(work: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
