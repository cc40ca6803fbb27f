"""Moves and time laws against two independent libraries.

``ruckig`` solves single state-to-state moves exactly, jerk included. ``toppra`` solves a path under speed
caps and acceleration on a grid of its own, without jerk; its answer lies above the optimum by an error that
falls with its grid at first order or better, which is asserted here, so that it is an oracle in the limit.
"""

from __future__ import annotations

import logging
from math import inf

import numpy as np
import pytest
import ruckig
import toppra
from numpy.testing import assert_allclose
from toppra import algorithm, constraint

from trialcut.motion.scurve import move, ramp_distance
from trialcut.motion.time_law import speed_at, time_law

logging.getLogger("toppra").setLevel(logging.ERROR)


def ruckig_time(*, distance, speed_cap, acceleration, jerk, start_speed=0.0, end_speed=0.0):
    asked = ruckig.InputParameter(1)
    asked.current_position, asked.current_velocity, asked.current_acceleration = [0.0], [start_speed], [0.0]
    asked.target_position, asked.target_velocity, asked.target_acceleration = [distance], [end_speed], [0.0]
    asked.max_velocity, asked.max_acceleration, asked.max_jerk = [speed_cap], [acceleration], [jerk]
    asked.min_velocity = [-1e-12]
    answer = ruckig.Trajectory(1)
    assert ruckig.Ruckig(1).calculate(asked, answer) == ruckig.Result.Working
    return answer.duration


MOVES = [
    {"distance": d, "speed_cap": v, "acceleration": a, "jerk": j, "start_speed": v0, "end_speed": v1}
    for d, v, a, j in [(0.1, 0.05, 0.5, 10.0), (0.02, 0.05, 0.5, 2.0), (0.003, 0.25, 1.0, 40.0)]
    for v0, v1 in [(0.0, 0.0), (0.0, 0.01), (0.01, 0.0), (0.02, 0.02), (0.004, 0.012), (0.013, 0.002)]
]


@pytest.mark.parametrize("asked", MOVES, ids=lambda m: "-".join(f"{value:g}" for value in m.values()))
def test_a_move_takes_the_time_that_ruckig_finds(asked):
    # ruckig is told that running backwards is not allowed; both are exact, so only rounding differs.
    assert_allclose(move(**asked).time, ruckig_time(**asked), rtol=1e-9)


def test_random_moves_take_the_time_that_ruckig_finds():
    rng = np.random.default_rng(5)
    for _ in range(300):
        cap, a, j = 10.0 ** rng.uniform([-3, -1.5, -0.5], [-0.5, 1, 2.5])
        v0, v1 = rng.uniform(0, cap, 2)
        least = ramp_distance(start_speed=v0, end_speed=v1, acceleration=a, jerk=j)
        asked = {
            "distance": least * (1.0 + 10.0 ** rng.uniform(-3, 3)),
            "speed_cap": cap,
            "acceleration": a,
            "jerk": j,
            "start_speed": v0,
            "end_speed": v1,
        }
        assert_allclose(move(**asked).time, ruckig_time(**asked), rtol=1e-9)


def a_hill_of_caps(n):
    """Caps that vary smoothly along one metre, as their values at the middles of n intervals."""
    s = (np.arange(n) + 0.5) / n
    return 0.3 + 0.2 * np.sin(2.0 * np.pi * s) + 0.08 * np.cos(10.0 * np.pi * s)


def toppra_time(caps, acceleration, grid):
    """Time along one metre under caps that are constant in each interval of a grid."""
    path = toppra.SplineInterpolator([0.0, 1.0], [[0.0], [1.0]])

    def limits(s):
        # toppra asks at its grid points only; where two caps meet, the lower one holds.
        left, right = int(s * len(caps) - 1e-9), int(s * len(caps) + 1e-9)
        cap = min(caps[left], caps[min(right, len(caps) - 1)])
        return np.array([[-1.0, cap]])

    speed = constraint.JointVelocityConstraintVarying(limits)
    force = constraint.JointAccelerationConstraint(np.array([[-acceleration, acceleration]]))
    solver = algorithm.TOPPRA([speed, force], path, gridpoints=grid, solver_wrapper="seidel")
    _, speeds, _ = solver.compute_parameterization(0.0, 0.0)
    return float((2.0 * np.diff(grid) / (speeds[1:] + speeds[:-1])).sum())


def test_a_line_under_one_cap_takes_the_time_that_toppra_finds():
    # The trapezoid of the published check, in metres: 100 mm at 50 mm/s and 500 mm/s^2 takes 2.1 s.
    ours = time_law(lengths=[1.0], caps=[0.5], acceleration=5.0, jerk=inf).total
    grid = np.linspace(0.0, 1.0, 20001)
    theirs = toppra_time(np.array([0.5]), 5.0, grid)
    # Rest to 0.5 m/s falls on knots of that grid, so that toppra is exact up to its solver's tolerance.
    assert_allclose(theirs, ours, rtol=1e-5)
    assert_allclose(ours, 2.1, rtol=1e-12)


def test_toppra_converges_to_the_time_of_a_path_with_many_caps_at_least_at_first_order():
    n = 50
    caps = a_hill_of_caps(n)
    ours = time_law(lengths=np.full(n, 1.0 / n), caps=caps, acceleration=0.5, jerk=inf).total
    grids = [np.linspace(0.0, 1.0, n * refine + 1) for refine in (4, 16, 64)]
    errors = np.array([toppra_time(caps, 0.5, grid) / ours - 1.0 for grid in grids])
    assert np.all(errors > 0.0)
    assert np.all(errors[:-1] >= 4.0 * errors[1:])
    # The errors are 5.8e-3, 5.3e-4 and 3.0e-5.
    assert errors[2] < 5e-5


def test_stairs_of_caps_converge_to_smooth_caps_at_first_order():
    # A stair holds at its knots the lower of two caps, so that it errs to the slow side by its step.
    def total(n):
        return time_law(lengths=np.full(n, 1.0 / n), caps=a_hill_of_caps(n), acceleration=5.0, jerk=inf).total

    errors = np.array([total(n) for n in (80, 160, 320, 640)]) - total(81920)
    assert np.all(errors > 0.0)
    assert_allclose(np.log2(errors[:-1] / errors[1:]), 1.0, atol=0.1)


def test_sampled_speeds_integrate_to_the_time():
    n = 200
    law = time_law(lengths=np.full(n, 1.0 / n), caps=a_hill_of_caps(n), acceleration=0.5, jerk=5.0)
    stations = np.linspace(0.05, 0.95, 200001)
    speeds, times = speed_at(law, stations)
    inverse = 1.0 / speeds
    integral = float((0.5 * (inverse[1:] + inverse[:-1]) * np.diff(stations)).sum())
    assert_allclose(integral, times[-1] - times[0], rtol=1e-7)
