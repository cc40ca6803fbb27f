"""Slips among the readings: found, let go of, and without blame to their neighbours."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.stats import t as student

from posterior_problems import linear_problem, simple_problem
from trialcut.trials.posterior import fit_posterior
from trialcut.trials.posterior.fit import settled_mode
from trialcut.trials.posterior.robust import _information_share

# what a slip adds to some readings of a trial whose noise is 0.1 to 0.3 and whose groups shift by 0.3
SLIPS = {
    "one": {5: 3.0},
    "one of five deviations": {5: 1.5},
    "two that agree in one group": {5: 3.0, 6: 3.0},
    "two that differ in one group": {5: 3.0, 6: -3.0},
    "two in two groups": {5: 3.0, 17: 3.0},
    "three of the four of one group": {4: 3.0, 5: 3.0, 6: 3.0},
}


def _slipped(slips):
    def change(values):
        changed = values.copy()
        for number, shift in slips.items():
            changed[number] += shift
        return changed

    return change


def _weights(slips):
    problem = linear_problem(robust_dof=4.0, change=_slipped(slips))[0]
    mode, _, weights = settled_mode(problem)
    return mode.z, weights


CLEAN_MODE, CLEAN_WEIGHTS = _weights({})


@pytest.mark.parametrize("slips", SLIPS.values(), ids=SLIPS)
def test_slips_hardly_count_and_the_others_count_as_before(slips):
    mode, weights = _weights(slips)
    slipped = np.isin(np.arange(24), list(slips))
    assert np.all(weights[slipped] < 0.3)
    # the neighbours of a slip lose a reading to compare with
    assert_allclose(weights[~slipped], CLEAN_WEIGHTS[~slipped], atol=0.13)
    assert_allclose(mode, CLEAN_MODE, atol=0.06)


def test_a_reading_in_the_wrong_unit_is_named_and_moves_nothing():
    def inch_as_millimetre(values):
        changed = values.copy()
        changed[5] *= 25.4
        return changed

    clean = fit_posterior(linear_problem(robust_dof=4.0)[0], draws=1000, seed=1)
    fit = fit_posterior(linear_problem(robust_dof=4.0, change=inch_as_millimetre)[0], draws=1000, seed=1)
    assert [flag.cause for flag in fit.flagged("outlier-reading")] == [("6",)]
    assert_allclose(fit.mode, clean.mode, atol=0.06)
    assert fit.good


def test_a_trial_without_slips_has_no_outliers():
    fit = fit_posterior(linear_problem(robust_dof=4.0)[0], draws=1000, seed=1)
    assert fit.flagged("outlier-reading") == ()


def test_gaussian_noise_lets_go_of_nothing():
    fit = fit_posterior(linear_problem(change=_slipped({5: 3.0}))[0], draws=1000, seed=1)
    assert_array_equal(fit.weights, np.ones(24))


def test_about_a_known_value_the_weight_is_the_published_one():
    # (dof + 1) / (dof + r^2), capped at one: Lange, Little and Taylor 1989, from memory
    r = np.array([0.5, 1.5, 2.5, 4.0, 8.0])
    problem = simple_problem(
        values=r, noise_sd=1.0, predict=lambda z: 1e-9 * np.repeat(z[:1], 5, axis=0), count=1, robust_dof=4.0
    )
    _, _, weights = settled_mode(problem)
    assert_allclose(weights, np.minimum(5.0 / (4.0 + r**2), 1.0), atol=1e-3)


@pytest.mark.parametrize("slip", [0.0, 0.5, 1.0, 3.0, 10.0])
def test_a_mean_under_student_noise_agrees_with_integration(slip):
    values = 0.5 + 0.1 * student(4).rvs(12, random_state=11)
    values[0] += slip
    problem = simple_problem(
        values=values,
        noise_sd=0.1,
        predict=lambda z: np.repeat(z[:1], 12, axis=0),
        count=1,
        robust_dof=4.0,
    )
    fit = fit_posterior(problem, draws=4000, seed=1)
    grid = np.linspace(-1.0, 2.0, 30001)
    log_density = np.sum(student(4, scale=0.1).logpdf(values[:, None] - grid), axis=0) - 0.5 * grid**2
    density = np.exp(log_density - np.max(log_density))
    density /= np.sum(density)
    mean = density @ grid
    sd = np.sqrt(density @ (grid - mean) ** 2)
    # the noise of each reading is held at one value: an approximation
    assert_allclose(np.mean(fit.draws), mean, atol=0.15 * sd)
    assert_allclose(np.std(fit.draws), sd, rtol=0.13)


def test_a_reading_tells_as_much_as_student_noise_lets_it():
    # Fisher information about a location is (dof + 1) / (dof + 3) over the squared scale: Lange, Little and
    # Taylor 1989, from memory; and all of a Gaussian's where the noise is next to nothing
    for dof in (4.0, 10.0):
        share = _information_share(np.array([1e-6, 1e8]), np.ones(2), dof=dof)
        assert_allclose(share, [(dof + 1.0) / (dof + 3.0), 1.0], atol=2e-3)
