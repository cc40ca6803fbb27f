"""What a fit says about itself."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import chi2

from posterior_problems import linear_problem, simple_problem
from trialcut.errors import UsageError
from trialcut.trials.posterior import BAD_FLAGS, fit_posterior
from trialcut.trials.posterior.effects import scatter_at
from trialcut.trials.posterior.flags import misfit_probability
from trialcut.trials.posterior.mode import find_mode
from trialcut.trials.posterior.patterns import neighbours_probability, runs_probability, trend_probability


def _codes(fit):
    return {flag.code for flag in fit.flags}


def test_a_parameter_that_no_reading_sees_is_named_and_is_no_fault():
    fit = fit_posterior(linear_problem()[0], draws=500, seed=1)
    assert [flag.cause for flag in fit.flagged("unseen-parameter")] == [("e",)]
    assert "e" in fit.flagged("unseen-parameter")[0].message
    assert fit.good


def test_a_parameter_far_from_what_was_believed_is_named():
    problem = simple_problem(
        values=[5.0, 5.1, 4.9], noise_sd=0.1, predict=lambda z: np.repeat(z[:1], 3, axis=0), count=1
    )
    fit = fit_posterior(problem, draws=500, seed=1)
    named = [flag for flag in fit.flagged("prior-data-conflict") if flag.cause == ("a",)]
    assert len(named) == 1
    assert "5.0 standard deviations above" in named[0].message
    assert not fit.good


def test_the_misfit_of_a_linear_model_is_the_tail_of_chi_squared():
    problem, slopes, _, about = linear_problem()
    scatter = scatter_at(problem, np.zeros(5), noise_variance=problem.noise_sd**2)
    mode = find_mode(problem, scatter)
    squares = problem.values @ np.linalg.solve(about + slopes @ slopes.T, problem.values)
    assert_allclose(misfit_probability(problem, mode), chi2(24).sf(squares), rtol=1e-6)


def test_readings_that_no_parameters_explain_are_a_conflict():
    problem = linear_problem()[0]
    rough = replace(problem, values=problem.values + 2.0 * (-1.0) ** np.arange(24))
    assert "prior-data-conflict" in _codes(fit_posterior(rough, draws=500, seed=1))


def _drifting(drift):
    rng = np.random.default_rng(2)
    order = np.arange(30.0)
    values = 0.3 + drift * np.sin(order / 5.0) + 0.1 * rng.standard_normal(30)
    return simple_problem(
        values=values,
        noise_sd=0.1,
        predict=lambda z: np.repeat(z[:1], 30, axis=0),
        count=1,
        groups=tuple(f"C{number // 3}" for number in range(30)),
        covariates={"the order of cutting": order},
    )


def test_a_drift_along_a_quantity_is_found_and_the_quantity_named():
    fit = fit_posterior(_drifting(0.15), draws=500, seed=1)
    assert [flag.cause for flag in fit.flagged("residual-pattern")] == [("the order of cutting",)]
    assert not fit.good


def test_chance_shows_no_pattern():
    assert "residual-pattern" not in _codes(fit_posterior(_drifting(0.0), draws=500, seed=1))


def test_a_sample_that_cannot_be_trusted_is_said_to_be_so():
    # a ridge that bends sharply, in seven dimensions
    def ridge(z):
        return np.concatenate([z[1:] - 2.0 * z[:1] ** 2, z[:1] * 0.0])

    problem = simple_problem(values=np.zeros(7), noise_sd=0.003, predict=ridge, count=7)
    fit = fit_posterior(problem, draws=500, seed=1)
    assert _codes(fit) & {"low-ess", "pareto-k"}
    assert not fit.good


def test_flat_priors_that_the_readings_do_not_make_up_for_are_a_fault():
    problem = simple_problem(
        values=[1.0, 1.1], noise_sd=0.1, predict=lambda z: z[:1] + z[1:2] + np.zeros((2, 1)), count=2,
        prior_precision=np.zeros(2),
    )  # fmt: skip
    fit = fit_posterior(problem, draws=500, seed=1)
    assert "not-identified" in _codes(fit)
    assert not fit.good


def test_a_model_that_cannot_be_computed_at_the_start_does_not_pass_for_a_fit():
    problem = simple_problem(
        values=[1.0, 1.1], noise_sd=0.1, predict=lambda z: np.full((2, z.shape[1]), np.nan), count=1
    )
    fit = fit_posterior(problem, draws=100, seed=1)
    assert "no-convergence" in _codes(fit)
    assert not fit.good


def test_a_model_that_fails_in_places_is_fitted_where_it_does_not():
    def predict(z):
        with np.errstate(invalid="ignore"):
            return np.sqrt(z[:1] + 1.0) + np.zeros((4, 1))

    problem = simple_problem(values=[0.9, 1.0, 1.1, 1.0], noise_sd=0.3, predict=predict, count=1)
    fit = fit_posterior(problem, draws=2000, seed=1)
    assert np.all(fit.draws > -1.0)
    assert fit.good


def test_bad_flags_come_first_and_are_those_of_the_named_set():
    fit = fit_posterior(_drifting(0.15), draws=500, seed=1)
    bad = [flag.is_bad for flag in fit.flags]
    assert bad == sorted(bad, reverse=True)
    assert {flag.code for flag in fit.flags if flag.is_bad} <= BAD_FLAGS
    assert "outlier-reading" not in BAD_FLAGS
    assert "unseen-parameter" not in BAD_FLAGS


def test_runs_have_their_exact_probabilities():
    # Wald and Wolfowitz, by counting: of the 6 orders of two plus and two minus, 2 have two runs, 2 three
    assert_allclose(runs_probability(np.array([1.0, 1.0, -1.0, -1.0])), 2 / 6)
    assert_allclose(runs_probability(np.array([1.0, -1.0, -1.0, 1.0])), 4 / 6)
    assert_allclose(runs_probability(np.array([1.0, -1.0, 1.0, -1.0])), 1.0)
    assert runs_probability(np.ones(5)) == 1.0


@pytest.mark.parametrize("test", [neighbours_probability, lambda e: trend_probability(e, np.arange(20.0))])
def test_tests_of_chance_reject_chance_at_no_more_than_their_rate(test):
    rng = np.random.default_rng(8)
    found = np.array([test(rng.standard_normal(20)) for _ in range(4000)])
    for level in (0.01, 0.05, 0.2):
        assert np.mean(found < level) < level + 4.0 * np.sqrt(level / 4000)


def test_shapes_that_do_not_belong_together_are_refused():
    problem = linear_problem()[0]
    with pytest.raises(UsageError, match="names has 1 entries where 5 are needed"):
        replace(problem, names=("a",))
    with pytest.raises(UsageError, match="go together"):
        replace(problem, effect_covariance=None)
