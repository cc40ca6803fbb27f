"""Weights of rival models by how well they predict groups that they have not seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trialcut.errors import UsageError
from trialcut.trials.posterior.pareto import log_sum_exp
from trialcut.trials.posterior.problem import FloatArray, GroupScores

BOOTSTRAPS = 4000


def form_weights(scores: Sequence[GroupScores], *, seed: int) -> FloatArray:
    """Weights of rival models by pseudo-Bayesian model averaging with a Bayesian bootstrap.

    Parameters
    ----------
    scores : sequence of GroupScores
        Of each model, the same groups in the same order.
    seed : int
        Of the bootstrap.

    Returns
    -------
    array, shape (M,)
        Adding up to one. Groups that any model could not be scored on are left out.

    References
    ----------
    Yao, Y., Vehtari, A., Simpson, D. & Gelman, A. 2018, Bayesian Anal. 13:917, section 3.4 (from memory)
    """
    elpd = _matrix(scores)
    groups = elpd.shape[0]
    rng = np.random.default_rng(seed)
    shares = rng.dirichlet(np.ones(groups), size=BOOTSTRAPS) if groups else np.zeros((BOOTSTRAPS, 0))
    sums = groups * shares @ elpd
    weights = np.exp(sums - log_sum_exp(sums, axis=1)[:, None])
    return np.asarray(np.mean(weights, axis=0))


def stacking_weights(scores: Sequence[GroupScores]) -> FloatArray:
    """Weights with which the mixture of the models predicts best.

    Parameters
    ----------
    scores : sequence of GroupScores
        Of each model, the same groups in the same order.

    Returns
    -------
    array, shape (M,)
        Adding up to one; the largest mean log-score, by expectation and maximisation (the problem is convex).

    References
    ----------
    Yao, Y., Vehtari, A., Simpson, D. & Gelman, A. 2018, Bayesian Anal. 13:917, section 3.1 (from memory)
    """
    elpd = _matrix(scores)
    densities = np.exp(elpd - np.max(elpd, axis=1, keepdims=True))
    weights = np.full(elpd.shape[1], 1.0 / elpd.shape[1])
    for _ in range(5000):
        shares = densities * weights
        shares /= np.sum(shares, axis=1, keepdims=True)
        update = np.mean(shares, axis=0)
        if np.max(np.abs(update - weights)) < 1e-10:
            break
        weights = update
    return np.asarray(weights)


def score_difference(first: GroupScores, second: GroupScores) -> tuple[float, float]:
    """By how much one model predicts better than another.

    Parameters
    ----------
    first, second : GroupScores
        Of the same groups in the same order.

    Returns
    -------
    tuple of float
        Sum over groups of the difference of their log-scores, and its standard error; the latter is not a
        number for fewer than two groups.

    References
    ----------
    Vehtari, A., Gelman, A. & Gabry, J. 2017, Stat. Comput. 27:1413, eq. 24 (from memory)
    """
    elpd = _matrix((first, second))
    difference = elpd[:, 0] - elpd[:, 1]
    count = len(difference)
    error = float(np.sqrt(count) * np.std(difference, ddof=1)) if count > 1 else float("nan")
    return float(np.sum(difference)), error


def _matrix(scores: Sequence[GroupScores]) -> FloatArray:
    names = {each.names for each in scores}
    if len(names) != 1:
        raise UsageError("Models can only be weighed on the same groups; score them on the same readings.")
    elpd = np.stack([each.elpd for each in scores], axis=1)
    return np.asarray(elpd[np.all(np.isfinite(elpd), axis=1)])
