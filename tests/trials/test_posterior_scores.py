"""Scores of groups left out, weights of rival models, and the size of effects."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import multivariate_normal

from posterior_problems import linear_problem, simple_problem
from trialcut.errors import UsageError
from trialcut.trials.posterior import (
    GroupScores,
    choose_scales,
    fit_posterior,
    form_weights,
    loo,
    scale_product,
    score_difference,
    stacking_weights,
    with_learnt_scales,
)


def _scores(elpd, names=None):
    elpd = np.asarray(elpd, dtype=float)
    return GroupScores(
        names=names or tuple(f"C{number}" for number in range(len(elpd))),
        elpd=elpd,
        pareto_k=np.zeros(len(elpd)),
        exact=np.zeros(len(elpd), dtype=bool),
        shift=np.zeros((len(elpd), 1)),
    )


def _curve(*, power, seed=0):
    x = np.repeat(np.linspace(0.2, 1.0, 8), 2)
    values = x**2 + 0.05 * np.random.default_rng(seed).standard_normal(16)
    return simple_problem(
        values=values,
        noise_sd=0.05,
        predict=lambda z: np.exp(0.3 * z[0]) * x[:, None] ** power + 0.1 * z[1],
        count=2,
        groups=tuple(f"C{number // 2}" for number in range(16)),
    )


def test_scores_by_importance_sampling_agree_with_fits_without_the_group(monkeypatch):
    problem = _curve(power=2.0)
    quick = fit_posterior(problem, draws=2000, seed=1).loo
    monkeypatch.setattr(loo, "LARGEST_K", -np.inf)
    exact = fit_posterior(problem, draws=2000, seed=1).loo
    assert not np.any(quick.exact)
    assert np.all(exact.exact)
    # Monte Carlo error of samples of some thousand draws
    assert_allclose(quick.elpd, exact.elpd, atol=0.1)
    assert_allclose(quick.shift, exact.shift, atol=0.15)


def test_a_group_that_alone_sees_a_parameter_is_fitted_without():
    slopes = np.array([[1.0, 0.0]] * 6 + [[1.0, 3.0]] * 2)
    values = np.array([0.1, -0.1, 0.0, 0.1, 0.05, -0.02, 6.0, 6.1])
    problem = simple_problem(
        values=values,
        noise_sd=0.1,
        predict=lambda z: slopes @ z,
        count=2,
        groups=("A", "A", "B", "B", "C", "C", "D", "D"),
    )
    fit = fit_posterior(problem, draws=2000, seed=1)
    assert bool(fit.loo.exact[3])
    covariance = slopes @ slopes.T + 0.01 * np.eye(8)
    exact = multivariate_normal(cov=covariance).logpdf(values)
    exact -= multivariate_normal(cov=covariance[:6, :6]).logpdf(values[:6])
    assert_allclose(fit.loo.elpd[3], exact, atol=0.12)
    assert ("D", "b") in [flag.cause for flag in fit.flagged("one-group-decides")]


def test_a_group_without_which_nothing_is_determined_has_no_score():
    x = np.array([0.0, 0.0, 1.0])
    problem = simple_problem(
        values=[0.0, 0.1, 1.0],
        noise_sd=0.1,
        predict=lambda z: z[0] + z[1] * x[:, None],
        count=2,
        prior_precision=np.zeros(2),
        groups=("A", "A", "B"),
    )
    fit = fit_posterior(problem, draws=500, seed=1)
    assert np.all(np.isnan(fit.loo.elpd))


def test_model_weights_add_up_to_one_and_prefer_the_truth():
    scores = [fit_posterior(_curve(power=power), draws=500, seed=1).loo for power in (1.0, 2.0, 3.0)]
    weights = form_weights(scores, seed=1)
    assert_allclose(np.sum(weights), 1.0, atol=1e-12)
    assert weights[1] > 0.9
    assert stacking_weights(scores)[1] > 0.6
    difference, error = score_difference(scores[1], scores[0])
    assert difference > error > 0.0


def test_models_that_predict_alike_share_alike():
    scores = [_scores([-1.0, -2.0, -3.0])] * 2
    assert_allclose(form_weights(scores, seed=1), [0.5, 0.5], atol=1e-12)


def test_few_groups_leave_doubt_where_plain_scores_would_not():
    first, second = _scores([0.0, 0.0, -6.0, 0.0]), _scores([-3.0, -3.0, 0.0, -3.0])
    plain = 1.0 / (1.0 + np.exp(np.sum(second.elpd) - np.sum(first.elpd)))
    weight = form_weights([first, second], seed=1)[0]
    assert 0.5 < weight < plain


def test_weights_of_two_groups_agree_with_integration():
    # with two groups the bootstrap share is uniform on [0, 1]: the mean of a logistic of 2 (a u + b (1 - u))
    first, second = _scores([1.0, -0.5]), _scores([0.0, 0.0])
    u = (np.arange(200000) + 0.5) / 200000
    exact = np.mean(1.0 / (1.0 + np.exp(-2.0 * (1.0 * u - 0.5 * (1.0 - u)))))
    # four standard errors of 4,000 bootstrap samples
    assert_allclose(form_weights([first, second], seed=1)[0], exact, atol=4 * 0.25 / np.sqrt(4000))


def test_stacking_finds_the_best_mixture():
    first, second = _scores(np.log([0.8, 0.8, 0.1])), _scores(np.log([0.2, 0.2, 0.9]))
    w = np.linspace(0.0, 1.0, 100001)
    total = 2.0 * np.log(0.8 * w + 0.2 * (1 - w)) + np.log(0.1 * w + 0.9 * (1 - w))
    assert_allclose(stacking_weights([first, second])[0], w[np.argmax(total)], atol=1e-4)


def test_groups_without_a_score_are_left_out_of_weights():
    first, second = _scores([-1.0, np.nan]), _scores([-1.0, -5.0])
    assert_allclose(form_weights([first, second], seed=1), [0.5, 0.5], atol=1e-12)


def test_scores_of_other_groups_are_refused():
    with pytest.raises(UsageError, match="same groups"):
        form_weights([_scores([0.0], names=("A",)), _scores([0.0], names=("B",))], seed=1)


def test_evidence_of_scales_is_the_density_of_the_readings():
    problem, slopes, loadings, _ = linear_problem()
    blocks = [np.diag([1.0, 1.0, 1.0, 0.0, 0.0, 0.0]), np.diag([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])]
    grid = scale_product([0.1, 0.3], [0.2, 0.5, 1.0])
    result = choose_scales(
        values=problem.values,
        linear_mean=np.full(24, 0.2),
        slopes=slopes,
        loadings=loadings,
        blocks=blocks,
        noise_variance=problem.noise_sd**2,
        grid=grid,
        log_prior=np.arange(6.0),
    )
    for scales, evidence in zip(grid, result.log_evidence, strict=True):
        effects = sum(scale**2 * block for scale, block in zip(scales, blocks, strict=True))
        covariance = slopes @ slopes.T + loadings @ effects @ loadings.T + np.diag(problem.noise_sd**2)
        density = multivariate_normal(mean=np.full(24, 0.2), cov=covariance)
        assert_allclose(evidence, density.logpdf(problem.values), atol=1e-8)
    weights = np.exp(result.log_evidence + np.arange(6.0))
    assert_allclose(result.weights, weights / np.sum(weights), rtol=1e-9)
    assert_allclose(result.mean_square, result.weights @ grid**2)


def test_under_a_flat_prior_scales_are_those_of_restricted_likelihood():
    # a mean and a variance: the restricted likelihood of s is that of n - 1 degrees of freedom
    values = np.array([1.0, 2.0, 4.0, 4.5, 7.0])
    grid = np.linspace(0.2, 12.0, 4000)[:, None]
    result = choose_scales(
        values=values,
        linear_mean=np.zeros(5),
        slopes=np.ones((5, 1)),
        loadings=np.eye(5),
        blocks=[np.eye(5)],
        noise_variance=np.full(5, 1e-9),
        grid=grid,
        prior_precision=np.zeros(1),
    )
    assert_allclose(result.best[0], np.std(values, ddof=1), atol=0.003)


def test_the_size_of_a_shift_between_groups_is_learnt():
    rng = np.random.default_rng(4)
    shifts = 0.4 * rng.standard_normal(30)
    loadings = np.kron(np.eye(30), np.ones((4, 1)))
    values = 1.0 + loadings @ shifts + 0.1 * rng.standard_normal(120)
    problem = simple_problem(
        values=values,
        noise_sd=0.1,
        predict=lambda z: np.repeat(z[:1], 120, axis=0),
        count=1,
        effects=lambda _: loadings,
        effect_covariance=np.eye(30),
        groups=tuple(f"C{number // 4}" for number in range(120)),
        robust_dof=4.0,
    )
    learnt, weights = with_learnt_scales(
        problem, blocks=[np.eye(30)], grid=scale_product(np.geomspace(0.02, 2.0, 25))
    )
    sample = np.std(shifts - np.mean(shifts), ddof=1)
    # the standard error of a deviation from 30 is 13 %
    assert_allclose(np.sqrt(weights.mean_square[0]), sample, rtol=0.15)
    assert_allclose(learnt.effect_covariance, weights.mean_square[0] * np.eye(30))


def test_a_grid_without_a_column_for_each_block_is_refused():
    with pytest.raises(UsageError, match="one column for each block"):
        choose_scales(
            values=np.zeros(2),
            linear_mean=np.zeros(2),
            slopes=np.ones((2, 1)),
            loadings=np.eye(2),
            blocks=[np.eye(2)],
            noise_variance=np.ones(2),
            grid=np.ones((3, 2)),
        )
