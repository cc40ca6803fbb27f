"""Smoothing of importance weights by a generalised Pareto tail."""

from __future__ import annotations

import numpy as np

from trialcut.trials.posterior.problem import FloatArray

LARGEST_K = 0.7
"""Tail index above which averages over the weights cannot be trusted."""


def log_sum_exp(values: FloatArray, axis: int = 0) -> FloatArray:
    """Logarithm of the sum of exponentials, without overflow.

    Parameters
    ----------
    values : array
        Logarithms; minus infinity allowed.
    axis : int
        Over which to sum.

    Returns
    -------
    array
        Without that axis.
    """
    top = np.max(values, axis=axis, keepdims=True)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        total = np.log(np.sum(np.exp(values - top), axis=axis, keepdims=True)) + top
    return np.asarray(np.squeeze(total, axis=axis))


def generalised_pareto_fit(excess: FloatArray) -> tuple[float, float]:
    """Shape and scale of a generalised Pareto sample.

    Parameters
    ----------
    excess : array, shape (M,)
        Values above the threshold, ascending, positive.

    Returns
    -------
    tuple of float
        Tail index k (positive for a heavy tail), drawn towards 0.5 with the weight of ten observations,
        and scale.

    Notes
    -----
    Posterior mean under a weak prior, by quadrature over b = -k / scale. The pull towards 0.5 is that of
    smoothed importance sampling.

    References
    ----------
    Zhang, J. & Stephens, M. A. 2009, Technometrics 51:316; Vehtari, A. et al. 2024, J. Mach. Learn. Res.
    25(72), appendix C (from memory)
    """
    count = len(excess)
    points = 30 + int(np.sqrt(count))
    quarter = excess[max(int(count / 4 + 0.5) - 1, 0)]
    nodes = 1.0 / excess[-1] + (1.0 - np.sqrt(points / (np.arange(1, points + 1) - 0.5))) / (3.0 * quarter)
    shapes = np.mean(np.log1p(-nodes[:, None] * excess), axis=1)
    likelihood = count * (np.log(-nodes / shapes) - shapes - 1.0)
    weights = np.exp(likelihood - log_sum_exp(likelihood))
    node = float(weights @ nodes)
    shape = float(np.mean(np.log1p(-node * excess)))
    return (count * shape + 5.0) / (count + 10.0), -shape / node


@np.errstate(all="ignore")
def smoothed(log_weights: FloatArray) -> tuple[FloatArray, float]:
    """Importance weights with their largest ones replaced by the quantiles of a fitted tail.

    Parameters
    ----------
    log_weights : array, shape (S,)
        Unnormalised logarithms.

    Returns
    -------
    tuple
        Normalised log-weights, shape (S,), none above the largest raw one, and the tail index k:
        infinite where there are too few weights for a tail, zero where all are equal.

    References
    ----------
    Vehtari, A., Simpson, D., Gelman, A., Yao, Y. & Gabry, J. 2024, J. Mach. Learn. Res. 25(72)
    (arXiv:1507.02646) (from memory)
    """
    result = np.where(np.isnan(log_weights), -np.inf, log_weights)
    top = np.max(result) if len(result) else -np.inf
    if not np.isfinite(top):
        return np.full(len(result), -np.log(max(len(result), 1))), float("inf")
    result = result - top
    tail = int(np.ceil(min(0.2 * len(result), 3.0 * np.sqrt(len(result)))))
    k = float("inf")
    if tail >= 5:
        order = np.argpartition(result, len(result) - tail - 1)
        members = order[-tail:]
        members = members[np.argsort(result[members], kind="stable")]
        cutoff = np.exp(result[order[-tail - 1]])
        excess = np.exp(result[members]) - cutoff
        if excess[-1] <= 1e-12:
            k = 0.0
        elif np.count_nonzero(excess > 0.0) >= 5:
            k = _replace_tail(result, members, excess, cutoff=cutoff)
    return result - log_sum_exp(result), k


def _replace_tail(
    result: FloatArray,
    members: np.ndarray[tuple[int], np.dtype[np.intp]],
    excess: FloatArray,
    *,
    cutoff: float,
) -> float:
    positive = excess > 0.0
    k, scale = generalised_pareto_fit(excess[positive])
    if not np.isfinite(k):
        return float("inf")
    ranks = (np.arange(np.count_nonzero(positive)) + 0.5) / np.count_nonzero(positive)
    quantiles = scale * np.expm1(-k * np.log1p(-ranks)) / k if k else -scale * np.log1p(-ranks)
    result[members[positive]] = np.minimum(np.log(cutoff + quantiles), 0.0)
    return k


def effective_sample_size(log_weights: FloatArray) -> float:
    """How many equally weighted draws the weights are worth.

    Parameters
    ----------
    log_weights : array, shape (S,)
        Normalised.

    Returns
    -------
    float
        Between 1 and S.
    """
    return float(np.exp(-log_sum_exp(2.0 * log_weights)))
