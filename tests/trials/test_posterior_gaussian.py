"""In a linear model with Gaussian noise everything about a fit has a closed form, taken here from scipy."""

import numpy as np
from numpy.testing import assert_allclose, assert_array_equal
from scipy.stats import multivariate_normal

from posterior_problems import linear_problem, simple_problem
from trialcut.trials.posterior import fit_posterior

PROBLEM, SLOPES, LOADINGS, ABOUT = linear_problem()
FIT = fit_posterior(PROBLEM, draws=4000, seed=1)
WHOLE = ABOUT + SLOPES @ SLOPES.T
EXACT_COVARIANCE = np.eye(5) - SLOPES.T @ np.linalg.solve(WHOLE, SLOPES)
EXACT_MEAN = SLOPES.T @ np.linalg.solve(WHOLE, PROBLEM.values)


def test_mode_and_covariance_are_exact():
    assert_allclose(FIT.mode, EXACT_MEAN, atol=1e-9)
    assert_allclose(FIT.covariance, EXACT_COVARIANCE, atol=1e-9)


def test_evidence_is_the_density_of_the_readings_under_the_prior():
    assert_allclose(FIT.evidence, multivariate_normal(cov=WHOLE).logpdf(PROBLEM.values), atol=1e-8)


def test_draws_have_the_exact_mean_and_covariance():
    sd = np.sqrt(np.diag(EXACT_COVARIANCE))
    # standard error of a mean of 3,000 effective draws is 0.018 sd, of a variance 0.026: four of each
    assert_allclose(np.mean(FIT.draws, axis=1) / sd, EXACT_MEAN / sd, atol=0.073)
    scaled = np.cov(FIT.draws) / np.outer(sd, sd)
    assert_allclose(scaled, EXACT_COVARIANCE / np.outer(sd, sd), atol=0.11)


def test_draws_of_the_effects_have_the_exact_mean_and_covariance():
    gain = 0.3**2 * LOADINGS.T
    mean = gain @ np.linalg.solve(WHOLE, PROBLEM.values)
    covariance = 0.3**2 * np.eye(6) - gain @ np.linalg.solve(WHOLE, gain.T)
    sd = np.sqrt(np.diag(covariance))
    assert_allclose(np.mean(FIT.effect_draws, axis=1) / sd, mean / sd, atol=0.073)
    assert_allclose(np.cov(FIT.effect_draws) / np.outer(sd, sd), covariance / np.outer(sd, sd), atol=0.11)


def test_effects_go_with_the_parameters_of_their_draw():
    together = np.cov(np.concatenate([FIT.draws, FIT.effect_draws]))[:5, 5:]
    exact = -SLOPES.T @ np.linalg.solve(WHOLE, 0.3**2 * LOADINGS)
    assert_allclose(together, exact, atol=4 * 0.026 * 0.3 * 0.3)


def test_standardised_residuals_compare_with_a_prediction_by_all_the_others():
    for number in range(24):
        others = np.arange(24) != number
        gain = np.linalg.solve(WHOLE[np.ix_(others, others)], WHOLE[others, number])
        difference = PROBLEM.values[number] - gain @ PROBLEM.values[others]
        variance = WHOLE[number, number] - gain @ WHOLE[others, number]
        assert_allclose(FIT.standardised[number], difference / np.sqrt(variance), atol=1e-8)


def test_group_scores_are_conditional_densities():
    density = multivariate_normal(cov=WHOLE)
    groups = np.array(PROBLEM.groups)
    for name, score in zip(FIT.loo.names, FIT.loo.elpd, strict=True):
        rest = groups != name
        alone = multivariate_normal(cov=WHOLE[np.ix_(rest, rest)])
        exact = density.logpdf(PROBLEM.values) - alone.logpdf(PROBLEM.values[rest])
        # Monte Carlo error of an importance sample of some thousand draws
        assert_allclose(score, exact, atol=0.12)


def test_residuals_are_less_the_means_of_the_effects():
    shifts = 0.3**2 * LOADINGS.T @ np.linalg.solve(WHOLE, PROBLEM.values)
    assert_allclose(FIT.residuals, PROBLEM.values - SLOPES @ EXACT_MEAN - LOADINGS @ shifts, atol=1e-9)


def test_the_same_seed_gives_the_same_fit_and_another_another():
    again = fit_posterior(PROBLEM, draws=4000, seed=1)
    other = fit_posterior(PROBLEM, draws=4000, seed=2)
    assert_array_equal(again.draws, FIT.draws)
    assert_array_equal(again.effect_draws, FIT.effect_draws)
    assert_array_equal(again.loo.elpd, FIT.loo.elpd)
    assert np.max(np.abs(other.draws - FIT.draws)) > 0.0


def test_a_good_sample_is_worth_most_of_its_draws():
    assert FIT.effective_sample_size > 3000.0
    assert FIT.pareto_k < 0.5
    assert FIT.good


def test_a_parameter_without_a_prior_is_fitted_like_least_squares():
    x = np.linspace(0.0, 1.0, 9)
    y = np.array([1.1, 1.3, 1.2, 1.6, 1.9, 1.8, 2.2, 2.3, 2.2])
    problem = simple_problem(
        values=y,
        noise_sd=0.1,
        predict=lambda z: z[0] + z[1] * x[:, None],
        count=2,
        prior_precision=np.zeros(2),
    )
    fit = fit_posterior(problem, draws=2000, seed=1)
    slope, intercept = np.polyfit(x, y, 1)
    assert_allclose(fit.mode, [intercept, slope], atol=1e-8)
    assert_allclose(
        fit.covariance, np.polyfit(x, y, 1, w=np.full(9, 10.0), cov="unscaled")[1][::-1, ::-1], rtol=1e-7
    )
    assert np.isnan(fit.evidence)
    assert fit.good
