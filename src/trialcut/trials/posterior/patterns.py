"""Order in what should be chance."""

from __future__ import annotations

from dataclasses import dataclass
from math import comb

import numpy as np

from trialcut.trials.posterior.effects import Scatter, scatter_of
from trialcut.trials.posterior.problem import FloatArray

FEWEST = 8
QUIET = 0.5
"""Mean square of innovations below which runs of one sign mean nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """The most telling of the tests along one quantity.

    Parameters
    ----------
    what : str
        What the residuals do, with a preposition.
    p : float
        Its probability under chance, times the number of tests made; at most 1.
    """

    what: str
    p: float


def residual_pattern(scatter: Scatter, residuals: FloatArray, *, along: FloatArray) -> Pattern:
    """Look for order in residuals along some quantity.

    Parameters
    ----------
    scatter : Scatter
        Of the readings about their prediction.
    residuals : array, shape (N,)
        Readings minus predictions.
    along : array, shape (N,)
        The quantity.

    Returns
    -------
    Pattern
        Of runs of one sign, correlation of neighbours, and trend, all of the innovations: each residual less
        what those before it predict, over the standard deviation of that, in the order of the quantity.
        Fewer than eight readings, or a quantity with one value, show no pattern.

    Notes
    -----
    Innovations are independent and standard normal if the model is true, whatever effects the readings share;
    fitted parameters make them slightly less than that, on the safe side. Order in innovations well below
    their expected size is no fault: the intervals already allow for more. Readings at the same value of the
    quantity keep their order.

    References
    ----------
    Wald, A. & Wolfowitz, J. 1940, Ann. Math. Stat. 11:147; Anderson, R. L. 1942, Ann. Math. Stat. 13:1 (from
    memory)
    """
    count = len(residuals)
    if count < FEWEST or np.ptp(along) == 0.0:
        return Pattern(what="follows", p=1.0)
    order = np.argsort(along, kind="stable")
    ordered = scatter_of(
        loadings=scatter.loadings[order],
        effect_covariance=scatter.effect_covariance,
        noise_variance=scatter.noise_variance[order],
    )
    innovations = ordered.whitener @ residuals[order]
    found = {
        "follows its neighbours along": neighbours_probability(innovations),
        "rises or falls with": trend_probability(innovations, along[order]),
    }
    if float(np.mean(innovations**2)) > QUIET:
        found["keeps its sign in long runs along"] = runs_probability(innovations)
    what = min(found, key=lambda name: found[name])
    return Pattern(what=what, p=min(1.0, len(found) * found[what]))


def runs_probability(values: FloatArray) -> float:
    """Probability of no more runs of one sign than these, given how many are positive and negative.

    Parameters
    ----------
    values : array, shape (N,)
        In order.

    Returns
    -------
    float
        Exact; 1 where all have one sign.

    References
    ----------
    Wald, A. & Wolfowitz, J. 1940, Ann. Math. Stat. 11:147 (from memory)
    """
    positive = values > 0.0
    above, below = int(np.count_nonzero(positive)), int(np.count_nonzero(~positive))
    if not above or not below:
        return 1.0
    runs = 1 + int(np.count_nonzero(positive[1:] != positive[:-1]))
    ways = 0
    for number in range(2, runs + 1):
        half = number // 2
        if number % 2 == 0:
            ways += 2 * comb(above - 1, half - 1) * comb(below - 1, half - 1)
        else:
            ways += comb(above - 1, half) * comb(below - 1, half - 1)
            ways += comb(above - 1, half - 1) * comb(below - 1, half)
    return ways / comb(above + below, above)


def neighbours_probability(values: FloatArray) -> float:
    """Probability of a correlation of neighbours at least as positive as this.

    Parameters
    ----------
    values : array, shape (N,)
        Independent and standard normal under chance.

    Returns
    -------
    float
        Of the sum of products of neighbours over the sum of squares (or N, if that is more), by the normal
        approximation with the exact variance (N - 1) / (N (N + 2)) of Gaussian values.
    """
    from scipy.special import ndtr  # noqa: PLC0415 - heavy

    count = len(values)
    correlation = float(values[1:] @ values[:-1]) / max(float(values @ values), float(count))
    return float(ndtr(-correlation / np.sqrt((count - 1) / (count * (count + 2.0)))))


def trend_probability(values: FloatArray, along: FloatArray) -> float:
    """Probability of a correlation at least as strong, of either sign.

    Parameters
    ----------
    values : array, shape (N,)
        Independent and standard normal under chance.
    along : array, shape (N,)
        What they may rise or fall with.

    Returns
    -------
    float
        By Student's t with N - 2 degrees of freedom; with a mean square of one where theirs is less.
    """
    from scipy.special import stdtr  # noqa: PLC0415 - heavy

    a, b = values - np.mean(values), along - np.mean(along)
    size = float(np.sqrt(max(float(a @ a), len(a) - 1.0) * (b @ b)))
    r = min(max(float(a @ b) / size, -1.0 + 1e-15), 1.0 - 1e-15)
    freedom = len(values) - 2
    return 2.0 * float(stdtr(freedom, -abs(r) * np.sqrt(freedom / (1.0 - r * r))))
