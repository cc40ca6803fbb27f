"""The simple machine: a model that is wrong must not be confidently wrong.

The truth is 0.65 x / (1 + x / 20), the model theta x, the noise 0.01. Fitted as if the model were true, theta
comes out far from 0.65 with a tiny deviation (Brynjarsdottir and O'Hagan 2014, Inverse Problems 30:114007,
from memory; the values for evenly spaced x on [0.2, 4] are computed by least squares).
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from posterior_problems import simple_problem
from trialcut.trials.posterior import fit_posterior, with_learnt_scales

WRONG = {11: (0.56260, 0.00125), 31: (0.56475, 0.00075), 61: (0.56530, 0.00054)}
RANGES = (1.0, 2.0, 4.0, 8.0)


def _machine(count, **effects):
    x = np.linspace(0.2, 4.0, count)
    return x, simple_problem(
        values=0.65 * x / (1.0 + x / 20.0),
        noise_sd=0.01,
        predict=lambda z: z[:1] * x[:, None],
        count=1,
        prior_precision=np.zeros(1),
        start=np.array([0.5]),
        groups=tuple(f"C{number % 5}" for number in range(count)),
        covariates={"the load": x},
        **effects,
    )


@pytest.mark.parametrize("count", WRONG)
def test_without_a_discrepancy_the_fit_is_confidently_wrong_and_says_that_it_is_bad(count):
    fit = fit_posterior(_machine(count)[1], draws=2000, seed=1)
    theta, sd = WRONG[count]
    assert_allclose(fit.mode[0], theta, atol=5e-6)
    assert_allclose(np.sqrt(fit.covariance[0, 0]), sd, atol=5e-6)
    assert not fit.good
    assert fit.flagged("prior-data-conflict")


@pytest.mark.parametrize("count", [31, 61])
def test_what_the_wrong_model_leaves_over_follows_the_load(count):
    fit = fit_posterior(_machine(count)[1], draws=500, seed=1)
    assert ("the load",) in [flag.cause for flag in fit.flagged("residual-pattern")]


@pytest.mark.parametrize("count", WRONG)
def test_with_a_discrepancy_the_interval_covers_the_truth(count):
    x = np.linspace(0.2, 4.0, count)
    blocks = [np.exp(-0.5 * ((x[:, None] - x) / reach) ** 2) for reach in RANGES]
    _, problem = _machine(count, effects=lambda _: np.eye(count), effect_covariance=0.01 * blocks[1])
    sizes = np.concatenate([[0.0], np.geomspace(0.01, 1.5, 9)])
    one_at_a_time = np.concatenate([np.eye(4)[number] * sizes[:, None] for number in range(4)])
    learnt, weights = with_learnt_scales(problem, blocks=blocks, grid=one_at_a_time)
    fit = fit_posterior(learnt, draws=4000, seed=1)
    low, high = np.quantile(fit.draws[0], [0.05, 0.95])
    assert low < 0.65 < high
    assert np.std(fit.draws) > 25.0 * WRONG[count][1]
    assert fit.good
    # no discrepancy at all is out of the question
    assert np.max(weights.weights[np.sum(one_at_a_time, axis=1) == 0.0]) < 1e-6
