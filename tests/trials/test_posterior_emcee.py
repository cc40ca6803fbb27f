"""Draws against those of an ensemble sampler, an independent program, on the same posterior."""

from functools import cache

import emcee
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_less
from scipy.special import log_ndtr
from scipy.stats import multivariate_normal

from posterior_problems import linear_problem, simple_problem
from trialcut.trials.posterior import fit_posterior

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)


def _linear():
    return linear_problem(effects=False)[0]


def _shared():
    return linear_problem()[0]


def _bent():
    x = np.linspace(0.1, 1.0, 10)
    values = 0.9 * x**1.4 + 0.02 * np.sin(37.0 * x)
    return simple_problem(
        values=values,
        noise_sd=0.1,
        predict=lambda z: np.exp(0.5 * z[0]) * x[:, None] ** np.exp(0.8 * z[1]) + 0.3 * z[0] * z[2],
        count=3,
    )


def _censored():
    x = np.array([0.3, 0.8, 1.3])
    tried = np.array([0.5, 1.0, 1.5, 2.0, 2.5])
    sign = np.array([1.0, 1.0, 1.0, -1.0, -1.0])

    def passed(z):
        limit = np.exp(0.6 + 0.4 * z[0] - 0.3 * z[1])
        return np.sum(log_ndtr(sign[:, None] * (limit - tried[:, None]) / 0.3), axis=0)

    return simple_problem(
        values=[0.5, 0.7, 1.3],
        noise_sd=0.3,
        predict=lambda z: z[1] * x[:, None] + 0.4 * z[0] ** 2,
        count=2,
        censored=passed,
    )


PROBLEMS = {"linear": _linear, "shared effects": _shared, "bent": _bent, "censored": _censored}


def _log_probability(problem):
    covariance = np.diag(problem.noise_sd**2)
    if problem.effects is not None:
        loadings = problem.effects(np.zeros(problem.count))
        covariance = covariance + loadings @ problem.effect_covariance @ loadings.T
    density = multivariate_normal(cov=covariance)

    def log_probability(rows):
        z = rows.T
        result = density.logpdf((problem.values[:, None] - problem.predict(z)).T)
        if problem.censored is not None:
            result = result + problem.censored(z)
        return result - 0.5 * np.sum(z**2, axis=0)

    return log_probability


@cache
def _both(name):
    problem = PROBLEMS[name]()
    fit = fit_posterior(problem, draws=8000, seed=1)
    walkers = 120
    rng = np.random.default_rng(5)
    sampler = emcee.EnsembleSampler(walkers, problem.count, _log_probability(problem), vectorize=True)
    sampler.random_state = np.random.RandomState(5).get_state()
    sampler.run_mcmc(rng.standard_normal((walkers, problem.count)), 1300)
    chain = sampler.get_chain(discard=300)
    time = emcee.autocorr.integrated_time(chain, quiet=True)
    return fit, chain.reshape(-1, problem.count).T, chain.shape[0] * walkers / time


@pytest.mark.parametrize("name", PROBLEMS)
def test_means_and_spreads_agree(name):
    fit, chain, worth = _both(name)
    sd = np.std(chain, axis=1)
    error = 4.0 * np.sqrt(1.0 / worth + 1.0 / fit.effective_sample_size)
    assert_array_less(np.abs(np.mean(fit.draws, axis=1) - np.mean(chain, axis=1)) / sd, error)
    # the error of a deviation is 0.7 of that of a mean for Gaussian draws: room for heavier tails
    assert_array_less(np.abs(np.std(fit.draws, axis=1) / sd - 1.0), error)


@pytest.mark.parametrize("name", PROBLEMS)
def test_quantiles_agree(name):
    fit, chain, worth = _both(name)
    for level in LEVELS:
        quantiles = np.quantile(chain, level, axis=1)
        below = np.mean(fit.draws <= quantiles[:, None], axis=1)
        variance = level * (1.0 - level)
        error = 4.0 * np.sqrt(variance * (1.0 / worth + 1.0 / fit.effective_sample_size))
        assert_array_less(np.abs(below - level), error)


def test_the_bent_posterior_is_not_gaussian_and_the_gaussian_approximation_misses_it():
    fit, chain, _ = _both("bent")
    assert np.max(np.abs(np.mean(chain, axis=1) - fit.mode) / np.std(chain, axis=1)) > 0.15
    assert fit.good


def test_effects_have_their_exact_conditional_means_on_average():
    fit, chain, _ = _both("shared effects")
    problem = PROBLEMS["shared effects"]()
    loadings = problem.effects(np.zeros(problem.count))
    covariance = loadings @ problem.effect_covariance @ loadings.T + np.diag(problem.noise_sd**2)
    residuals = problem.values[:, None] - problem.predict(chain[:, ::50])
    means = problem.effect_covariance @ loadings.T @ np.linalg.solve(covariance, residuals)
    # four standard errors of some 4,000 draws of a deviation below 0.3
    assert_allclose(np.mean(fit.effect_draws, axis=1), np.mean(means, axis=1), atol=4 * 0.3 / np.sqrt(3000))
