"""The tail of importance weights, against samples of known tail from scipy."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.special import logsumexp
from scipy.stats import genpareto, norm

from trialcut.trials.posterior.pareto import (
    effective_sample_size,
    generalised_pareto_fit,
    log_sum_exp,
    smoothed,
)


@pytest.mark.parametrize("k", [-0.3, 0.1, 0.4, 0.7, 1.2])
def test_the_tail_index_of_a_known_sample_is_found(k):
    sample = np.sort(genpareto(c=k, scale=2.5).rvs(4000, random_state=7))
    found, scale = generalised_pareto_fit(sample)
    # asymptotic deviation of the maximum likelihood estimate is (1 + k) / sqrt(4000): four of them
    assert_allclose(found, k, atol=4 * (1 + k) / np.sqrt(4000))
    assert_allclose(scale, 2.5, rtol=0.1)


def test_few_values_are_drawn_towards_one_half():
    sample = np.sort(genpareto(c=-0.2).rvs(10, random_state=1))
    many = np.sort(genpareto(c=-0.2).rvs(4000, random_state=1))
    assert generalised_pareto_fit(sample)[0] > generalised_pareto_fit(many)[0]


@pytest.mark.parametrize("k", [0.2, 0.5, 0.9])
def test_weights_with_a_pareto_tail_show_their_index(k):
    weights = 1.0 + genpareto(c=k).rvs(40000, random_state=3)
    _, found = smoothed(np.log(weights))
    # the tail holds 600 of them
    assert_allclose(found, k, atol=4 * (1 + k) / np.sqrt(600))


def test_smoothing_keeps_the_order_and_adds_up_to_one():
    raw = 2.0 * np.random.default_rng(0).standard_normal(2000)
    log_weights, _ = smoothed(raw)
    assert_allclose(np.sum(np.exp(log_weights)), 1.0, atol=1e-12)
    assert np.all(np.diff(log_weights[np.argsort(raw)]) >= -1e-12)


def test_smoothing_brings_a_rough_mean_nearer_to_the_truth():
    # a narrow proposal for a standard normal: tail index of the weights 1 - 0.6**2 = 0.64
    errors = []
    for seed in range(200):
        x = 0.6 * np.random.default_rng(seed).standard_normal(500)
        raw = norm.logpdf(x) - norm(scale=0.6).logpdf(x)
        plain, smooth = np.exp(raw - logsumexp(raw)), np.exp(smoothed(raw)[0])
        errors.append([plain @ x**2 - 1.0, smooth @ x**2 - 1.0])
    rough, mended = np.sqrt(np.mean(np.square(errors), axis=0))
    assert mended < rough


def test_equal_weights_are_worth_all_their_draws():
    log_weights, k = smoothed(np.full(1000, -700.0))
    assert k == 0.0
    assert_allclose(effective_sample_size(log_weights), 1000.0)


def test_one_weight_that_holds_everything_has_an_infinite_or_large_index():
    raw = np.full(1000, -np.inf)
    raw[3] = 0.0
    log_weights, k = smoothed(raw)
    assert k == np.inf
    assert_allclose(effective_sample_size(log_weights), 1.0)


def test_sums_of_exponentials_neither_overflow_nor_vanish():
    values = np.array([[1000.0, -1000.0, -np.inf], [1001.0, -1001.0, -np.inf]])
    assert_allclose(log_sum_exp(values)[:2], logsumexp(values, axis=0)[:2])
    assert log_sum_exp(values)[2] == -np.inf
