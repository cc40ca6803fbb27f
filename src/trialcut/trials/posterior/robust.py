"""How much each reading counts, when one of them may be a slip."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from trialcut.trials.posterior.effects import Scatter, scatter_of
from trialcut.trials.posterior.mode import Mode
from trialcut.trials.posterior.pareto import log_sum_exp
from trialcut.trials.posterior.problem import FloatArray, Problem

SLIP = 0.3
"""Weight below which a reading is reported as a slip."""
SUSPECT = 0.4
"""Weight below which a reading is let go of on its own, before all weights settle together."""
ROUNDS = 20
LOG_PRECISIONS = np.linspace(math.log(1e-12), math.log(30.0), 240)


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """Each reading against what all the others predict, in the linearised model.

    Parameters
    ----------
    difference : array, shape (N,)
        Reading minus its prediction by the others.
    variance : array, shape (N,)
        Of that difference, the reading's own noise included; infinite where nothing else predicts it.
    """

    difference: FloatArray
    variance: FloatArray

    @property
    def standardised(self) -> FloatArray:
        """Difference over its standard deviation, shape (N,)."""
        return np.asarray(self.difference / np.sqrt(self.variance))


def leave_one_out(problem: Problem, scatter: Scatter, mode: Mode) -> LeftOut:
    """Predict each reading from all the others.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    mode : Mode
        About which the model is linearised.

    Returns
    -------
    LeftOut
        Parameters, effects and noise of the others all uncertain.

    Notes
    -----
    With T the inverse of J P0^-1 J' + S and r the readings less their prior prediction, reading i differs
    from the prediction of the others by (T r)_i / T_ii, with variance 1 / T_ii. T comes from S^-1 and the
    posterior precision, so that flat priors need no special case; the censored term counts as part of the
    prior, by its slope and curvature.

    References
    ----------
    Sundararajan, S. & Keerthi, S. S. 2001, Neural Comput. 13:1103 (from memory)
    """
    slopes, precision = mode.jacobian, scatter.precision
    data = np.concatenate(
        [scatter.whitener @ slopes, np.diag(np.sqrt(problem.prior_precision)), mode.censored_root]
    )
    norms = np.linalg.norm(data, axis=0)
    norms = np.where(norms > 0.0, norms, 1.0)
    _, singular, right = np.linalg.svd(data / norms, full_matrices=False)
    inverse = np.where(singular > 1e-13 * singular[0], 1.0 / np.maximum(singular, 1e-300), 0.0)
    seen = precision @ (slopes / norms) @ (right.T * inverse)
    total = precision - seen @ seen.T
    moved = inverse * (right @ (mode.pull / norms))
    projected = precision @ mode.residuals - seen @ (seen.T @ mode.residuals) - seen @ moved
    diagonal = np.diag(total)
    known = diagonal > 1e-10 * np.diag(precision)
    safe = np.where(known, diagonal, 1.0)
    return LeftOut(
        difference=np.where(known, projected / safe, 0.0), variance=np.where(known, 1.0 / safe, np.inf)
    )


def robust_weights(
    problem: Problem, mode: Mode, scatter: Scatter, *, weights: FloatArray | None = None
) -> tuple[FloatArray, Scatter]:
    """How much each reading counts under Student noise, and the scatter that goes with it.

    Parameters
    ----------
    problem : Problem
        The readings; its `robust_dof` must not be None.
    mode : Mode
        About which the model is linearised.
    scatter : Scatter
        Whose loadings are used.
    weights : array or None, shape (N,)
        From a mode nearby, with `scatter` their noise; then all settle together at once.

    Returns
    -------
    tuple
        Weights, shape (N,), between 0 and 1, and the scatter with the noise of each reading widened.

    Notes
    -----
    Student noise is Gaussian noise whose precision is multiplied by an unknown factor. The factor of each
    reading is judged against what all the *others* predict, so that a slip cannot excuse itself by moving
    the fit. Its noise is widened so that the reading pulls as hard as it should and tells, on average, no
    more than Student noise lets it. Slips are let go of one at a time, the worst first, for a slip makes its
    neighbours look bad; then all weights settle together.

    References
    ----------
    Lange, K. L., Little, R. J. A. & Taylor, J. M. G. 1989, J. Am. Stat. Assoc. 84:881 (from memory)
    """
    base = problem.noise_sd**2
    settling = weights is not None
    current, suspects = scatter, np.full(len(base), settling)
    if weights is None:
        weights, current = np.ones(len(base)), _with_noise(scatter, base)
    noise = current.noise_variance
    left = ROUNDS
    while left:
        wanted, wanted_noise = _judged(problem, leave_one_out(problem, current, mode), noise)
        if not settling:
            fresh = np.where(suspects, 1.0, wanted)
            worst = int(np.argmin(fresh))
            settling = bool(fresh[worst] >= SUSPECT)
            suspects[worst] = True
        if settling:
            left -= 1
            suspects[:] = True
        change = float(np.max(np.abs(np.where(suspects, wanted - weights, 0.0))))
        weights = np.where(suspects, wanted, 1.0)
        noise = np.where(suspects, wanted_noise, base)
        current = _with_noise(scatter, noise)
        if settling and change < 3e-3:
            break
    return weights, current


def student_correction(problem: Problem, scatter: Scatter, mode: Mode) -> FloatArray:
    """What the log predictive density of each reading gains by Student noise over its widened Gaussian.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        With robust noise.
    mode : Mode
        About which the model is linearised.

    Returns
    -------
    array, shape (N,)
        Zero under Gaussian noise. A widened Gaussian was widened to fit the reading; adding this takes
        that advantage away.
    """
    if problem.robust_dof is None:
        return np.zeros(len(problem.values))
    left_out = leave_one_out(problem, scatter, mode)
    known = np.isfinite(left_out.variance)
    variance = np.where(known, left_out.variance, 1.0)
    rest = np.maximum(variance - scatter.noise_variance, 0.0)
    log_joint, _ = _over_precisions(problem, left_out.difference, rest)
    plug_in = -0.5 * (left_out.difference**2 / variance + np.log(2.0 * np.pi * variance))
    return np.where(known, log_sum_exp(log_joint, axis=1) - plug_in, 0.0)


def _with_noise(scatter: Scatter, noise: FloatArray) -> Scatter:
    return scatter_of(
        loadings=scatter.loadings, effect_covariance=scatter.effect_covariance, noise_variance=noise
    )


def _judged(problem: Problem, left_out: LeftOut, noise: FloatArray) -> tuple[FloatArray, FloatArray]:
    base = problem.noise_sd**2
    known = np.isfinite(left_out.variance)
    rest = np.where(known, np.maximum(left_out.variance - noise, 0.0), 1.0)
    log_joint, total = _over_precisions(problem, left_out.difference, rest)
    shares = np.exp(log_joint - log_sum_exp(log_joint, axis=1)[:, None])
    # the precision of the whole difference, expected over the factor
    precision = np.sum(shares / total, axis=1)
    weights = np.where(known, np.minimum(precision * (rest + base), 1.0), 1.0)
    told = precision * _information_share(rest, base, dof=float(problem.robust_dof or 0.0))
    return weights, np.where(known, np.maximum(1.0 / told - rest, base), base)


def _information_share(rest: FloatArray, base: FloatArray, *, dof: float) -> FloatArray:
    """What readings tell with their factor unknown, over what they would tell with it held, shape (N,).

    Five sevenths about a known value and four degrees of freedom; one where the noise is a small part of what
    is not known.
    """
    log_ratio, share = _information_table(dof)
    with np.errstate(divide="ignore"):
        return np.asarray(np.interp(np.log(rest) - np.log(np.maximum(base, 1e-300)), log_ratio, share))


@cache
def _information_table(dof: float) -> tuple[FloatArray, FloatArray]:
    """Logarithm of the rest's variance over the noise's, and Fisher information over expected precision."""
    log_ratio = np.linspace(-8.0, 14.0, 34)
    share = np.empty(len(log_ratio))
    reach = np.linspace(0.0, 7.0, 141)
    for number, ratio in enumerate(np.exp(log_ratio)):
        total = ratio + np.exp(-LOG_PRECISIONS)
        difference = np.sqrt(1.0 + ratio) * np.sinh(reach)
        log_prior = _log_prior(dof)
        joint = np.exp(log_prior - 0.5 * (difference[:, None] ** 2 / total + np.log(2.0 * np.pi * total)))
        density = np.sum(joint, axis=1)
        slope = difference * np.sum(joint / total, axis=1)
        squares = np.divide(slope**2, density, out=np.zeros(len(density)), where=density > 0.0)
        # both signs of the difference
        information = 2.0 * float(np.trapezoid(squares, difference))
        share[number] = information / float(np.sum(np.exp(log_prior) / total))
    return log_ratio, np.minimum(share, 1.0)


def _log_prior(dof: float) -> FloatArray:
    """Logarithm of the probability of each precision factor of the grid."""
    half = 0.5 * dof
    spacing = LOG_PRECISIONS[1] - LOG_PRECISIONS[0]
    density = (
        half * math.log(half) - math.lgamma(half) + half * LOG_PRECISIONS - half * np.exp(LOG_PRECISIONS)
    )
    return np.asarray(density + math.log(spacing))


def _over_precisions(
    problem: Problem, difference: FloatArray, rest: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Log joint density of difference and precision factor on a grid (N, M), and total variance there."""
    total = rest[:, None] + problem.noise_sd[:, None] ** 2 * np.exp(-LOG_PRECISIONS)
    density = -0.5 * (difference[:, None] ** 2 / total + np.log(2.0 * np.pi * total))
    return _log_prior(float(problem.robust_dof or 0.0)) + density, total
