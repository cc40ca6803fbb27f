"""The stock that cleans up, against closed forms."""

import numpy as np
from numpy.testing import assert_allclose
from scipy.stats import norm

from trialcut.planning.stock import least_stock

DRAWS = 200_000


def test_a_gaussian_wall_of_known_roughness_needs_the_quantile_of_wall_and_fixture():
    """Tolerance: three standard errors of a sampled quantile, sqrt(p(1-p)/D)/density."""
    chance = np.random.default_rng(4)
    wall, fixture, depth = 40e-6, 80e-6, 25e-6
    lowest = wall * chance.standard_normal(DRAWS) - fixture * chance.standard_normal(DRAWS) - depth
    sd = np.hypot(wall, fixture)
    for odds in (0.9, 0.95, 0.99):
        exact = depth + sd * norm.ppf(odds)
        error = np.sqrt(odds * (1.0 - odds) / DRAWS) * sd / norm.pdf(norm.ppf(odds))
        assert_allclose(least_stock(lowest, odds=odds), exact, atol=3.0 * error)


def test_independent_walls_together_need_the_quantile_of_the_root_of_the_odds():
    chance = np.random.default_rng(5)
    lowest = 50e-6 * chance.standard_normal((4, DRAWS))
    each = 0.95 ** (1.0 / 4.0)
    error = np.sqrt(0.95 * 0.05 / DRAWS) * 50e-6 / (4.0 * each**3 * norm.pdf(norm.ppf(each)))
    assert_allclose(least_stock(lowest, odds=0.95), 50e-6 * norm.ppf(each), atol=3.0 * error)


def test_the_stock_is_enough_and_the_next_smaller_is_not():
    lowest = np.random.default_rng(6).standard_normal((3, 2000)) * 1e-4
    stock = least_stock(lowest, odds=0.95)
    assert ((lowest + stock).min(axis=0) >= 0.0).mean() >= 0.95
    assert ((lowest + stock - 1e-12).min(axis=0) >= 0.0).mean() < 0.95


def test_a_wall_that_stands_proud_needs_no_stock():
    assert least_stock(np.full((2, 50), 1e-4), odds=0.95) == 0.0
