"""Published calibration lines, with errors in one variable or both, and the thermometer of the GUM.

Where both variables have errors, the true abscissae are parameters of the fit.
Values with their origin in raw/errors_in_variables.json; those of ISO/TS 28037:2010 and of the thermometers
as quoted in the tests of GTC (https://github.com/MSLNZ/GTC).
"""

import json
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.trials.posterior import Problem
from trialcut.trials.posterior.effects import scatter_at
from trialcut.trials.posterior.laplace import laplace_at
from trialcut.trials.posterior.mode import find_mode

CASES = json.loads((Path(__file__).parent / "raw" / "errors_in_variables.json").read_text(encoding="utf-8"))


def _fit(problem):
    scatter = scatter_at(problem, problem.start, noise_variance=problem.noise_sd**2)
    mode = find_mode(problem, scatter, tolerance=0.0, fine=True)
    assert mode.converged
    return mode.z, laplace_at(problem, scatter, mode).covariance, 2.0 * mode.cost


def _problem(*, values, noise_sd, predict, start):
    return Problem(
        values=np.array(values),
        noise_sd=np.array(noise_sd),
        predict=predict,
        count=len(start),
        prior_precision=np.zeros(len(start)),
        groups=("all",) * len(values),
        names=tuple(str(number) for number in range(len(start))),
        start=np.array(start),
    )


def _line(*, x, y, u_y):
    x = np.array(x, dtype=float)
    noise = np.broadcast_to(np.array(u_y, dtype=float), x.shape)
    problem = _problem(
        values=np.array(y, dtype=float),
        noise_sd=noise,
        predict=lambda z: z[0] + z[1] * x[:, None],
        start=[0.0, 1.0],
    )
    return _fit(problem)


def _line_in_both(*, x, y, u_x, u_y):
    x, y = np.array(x, dtype=float), np.array(y, dtype=float)
    slope, intercept = np.polyfit(x, y, 1)
    problem = _problem(
        values=np.concatenate([x, y]),
        noise_sd=np.concatenate([np.broadcast_to(u_x, x.shape), np.broadcast_to(u_y, y.shape)]),
        predict=lambda z: np.concatenate([z[2:], z[0] + z[1] * z[2:]]),
        start=[intercept, slope, *x],
    )
    return _fit(problem)


def test_the_line_of_pearson_with_the_weights_of_york():
    case = CASES["pearson_york"]
    z, covariance, squares = _line_in_both(
        x=case["x"], y=case["y"], u_x=np.array(case["wx"]) ** -0.5, u_y=np.array(case["wy"]) ** -0.5
    )
    assert_allclose(z[0], case["published"]["intercept"], atol=5e-9)
    assert_allclose(z[1], case["published"]["slope"], atol=5e-10)
    assert_allclose(squares, case["published"]["S"], atol=5e-7)
    # at the adjusted points, as York and others 2004 evaluate them: values from memory
    assert_allclose(np.sqrt(np.diag(covariance))[:2], [0.29497, 0.057985], atol=5e-6)


@pytest.mark.parametrize("name", ["iso28037_wls_equal", "iso28037_wls_unequal"])
def test_a_line_with_known_errors_of_the_ordinate(name):
    case = CASES[name]
    z, covariance, squares = _line(x=case["x"], y=case["y"], u_y=case["u_y"])
    published = case["published"]
    assert_allclose(z, [published["a"], published["b"]], atol=5.01e-4)
    assert_allclose(np.sqrt(np.diag(covariance)), [published["u_a"], published["u_b"]], atol=5.01e-4)
    assert_allclose(covariance[0, 1], published["cov"], atol=5.01e-4)
    assert_allclose(squares, published["chi2"], atol=5.01e-4)


def test_a_line_with_known_errors_of_both():
    case = CASES["iso28037_gdr"]
    z, covariance, squares = _line_in_both(
        x=case["x"], y=case["y"], u_x=case["u_x"], u_y=np.array(case["u_y"])
    )
    published = case["published"]
    assert_allclose(z[:2], [published["a"], published["b"]], atol=5e-5)
    assert_allclose(np.sqrt(np.diag(covariance))[:2], [published["u_a"], published["u_b"]], atol=5e-5)
    assert_allclose(covariance[0, 1], published["cov"], atol=5e-5)
    assert_allclose(squares, published["chi2"], atol=5e-4)


def test_the_thermometers_of_mathioulakis():
    case = CASES["mathioulakis"]
    z, covariance, _ = _line_in_both(
        x=case["x"], y=case["y"], u_x=np.array(case["u_x"]), u_y=np.array(case["u_y"])
    )
    published = case["published"]
    # the readings are printed to 1e-4; rounding them moves intercept and slope with deviations of 2.3e-5 and
    # 4.5e-7 (300 random roundings): half the last digit and four of those
    assert_allclose(z[0], published["a"], atol=5e-5 + 4 * 2.3e-5)
    assert_allclose(z[1], published["b"], atol=5e-6 + 4 * 4.5e-7)
    u_a, u_b = np.sqrt(np.diag(covariance))[:2]
    assert_allclose(u_a, published["u_a"], atol=5e-5)
    assert_allclose(u_b, published["u_b"], atol=5e-6)
    # -2.415e-6 lies between two last digits
    assert_allclose(covariance[0, 1], published["cov"], atol=6e-9)


def test_the_thermometer_of_the_gum():
    # JCGM 100:2008 example H.3, about 20 C; its numbers as quoted in the documentation of GTC
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    z, covariance, squares = _line(x=np.array(t) - 20.0, y=b, u_y=1.0)
    covariance = covariance * squares / (len(t) - 2)
    u = np.sqrt(np.diag(covariance))
    assert_allclose(z[0], -0.1712, atol=5e-5)
    assert_allclose(z[1], 0.00218, atol=5e-6)
    assert_allclose(u[0], 0.0029, atol=5e-5)
    assert_allclose(u[1], 0.00067, atol=5e-6)
    assert_allclose(covariance[0, 1] / (u[0] * u[1]), -0.930, atol=5e-4)
    assert_allclose(squares, 1.10097e-4, atol=5e-10)
    at_thirty = np.array([1.0, 10.0])
    assert_allclose(z @ at_thirty, -0.1494, atol=5e-5)
    assert_allclose(np.sqrt(at_thirty @ covariance @ at_thirty), 0.0041, atol=5e-5)
