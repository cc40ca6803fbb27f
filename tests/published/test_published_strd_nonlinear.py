"""Regression data sets of NIST with certified parameters and standard deviations, scored in digits.

All 27 nonlinear sets from both published starts, and two linear ones.
"""

from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_array_less

from strd import FOLDER, MODELS, certified_set, digits
from trialcut.trials.posterior.effects import scatter_at
from trialcut.trials.posterior.laplace import laplace_at
from trialcut.trials.posterior.mode import find_mode
from trialcut.trials.posterior.problem import Problem

STARTS = [(name, number) for name in MODELS for number in (0, 1) if (name, number) != ("MGH10", 0)]


def _fit(*, values, predict, start):
    count = len(start)
    problem = Problem(
        values=values,
        noise_sd=np.ones(len(values)),
        predict=predict,
        count=count,
        prior_precision=np.zeros(count),
        groups=("all",) * len(values),
        names=tuple(f"b{number}" for number in range(1, count + 1)),
        start=start,
    )
    scatter = scatter_at(problem, start, noise_variance=problem.noise_sd**2)
    mode = find_mode(problem, scatter, tolerance=0.0, fine=True)
    squares = 2.0 * mode.cost
    covariance = laplace_at(problem, scatter, mode).covariance
    return mode, np.sqrt(np.diag(covariance) * squares / (len(values) - count)), squares


@cache
def _fit_certified(name, number):
    certified = certified_set(name)
    return certified, *_fit(values=certified.y, predict=certified.predict, start=certified.starts[number])


@pytest.mark.parametrize(("name", "number"), STARTS)
def test_parameters_agree_with_the_certified_ones_to_seven_digits(name, number):
    certified, mode, _, _ = _fit_certified(name, number)
    assert mode.converged
    assert_array_less(6.9, digits(mode.z, certified.parameters))


@pytest.mark.parametrize(("name", "number"), [each for each in STARTS if each[0] != "Lanczos1"])
def test_standard_deviations_and_squares_agree_to_six_digits(name, number):
    # not Lanczos1, whose readings are exact to rounding: its sum of squares, 1.4e-25, is below what
    # parameters in double precision can reproduce
    certified, _, sd, squares = _fit_certified(name, number)
    assert_array_less(6.5, digits(sd, certified.sd))
    assert_array_less(9.0, digits(squares, certified.squares))


def test_the_one_start_from_which_the_search_does_not_arrive_is_owned_up_to():
    _, mode, _, _ = _fit_certified("MGH10", 0)
    assert not mode.converged


def test_the_ozone_monitor_line_has_the_certified_values():
    table = np.loadtxt(FOLDER / "Norris.dat", skiprows=60)
    x = table[:, 1]
    mode, sd, _ = _fit(values=table[:, 0], predict=lambda b: b[0] + b[1] * x[:, None], start=np.zeros(2))
    assert_array_less(9.0, digits(mode.z, [-0.262323073774029, 1.00211681802045]))
    assert_array_less(9.0, digits(sd, [0.232818234301152, 0.429796848199937e-03]))


def test_the_load_cell_parabola_has_the_certified_values():
    x, y = np.loadtxt(FOLDER / "Pontius.csv", delimiter=",", skiprows=2).T
    mode, sd, _ = _fit(
        values=y,
        predict=lambda b: b[0] + b[1] * x[:, None] + b[2] * x[:, None] ** 2,
        start=np.array([1e-3, 1e-6, -1e-14]),
    )
    assert_array_less(
        8.0, digits(mode.z, [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14])
    )
    assert_array_less(8.0, digits(sd, [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16]))
