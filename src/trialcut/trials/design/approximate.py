"""Designs as shares of effort: the optimum that whole numbers of experiments are measured against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import ComputationError
from trialcut.trials.design.exact import grown
from trialcut.trials.design.information import score
from trialcut.trials.design.problem import Criterion, DesignProblem, FloatArray

OUTER_ROUNDS = 400
NEWTON_ROUNDS = 50
SMALLEST_SHARE = 1e-9
"""Share below which an experiment is dropped. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ApproximateDesign:
    """Shares of effort.

    Parameters
    ----------
    weights : ndarray, shape (C,)
        Share of each candidate; they sum to one. [-]
    score : float
        By the problem's criterion; more is better.
    sensitivity : ndarray, shape (C,)
        Derivative of the score by each share. For D and one reading an experiment it is the variance of the
        fitted value over the variance of a reading.
    gap : float
        Largest sensitivity less the mean under the weights, over the latter: by the equivalence theorem zero
        at the optimum. [-]
    """

    weights: FloatArray
    score: float
    sensitivity: FloatArray
    gap: float

    @property
    def support(self) -> NDArray[np.intp]:
        """Candidates with a share."""
        return np.flatnonzero(self.weights > 0.0)


def approximate_design(
    problem: DesignProblem, *, size: float = 1.0, tolerance: float = 1e-9
) -> ApproximateDesign:
    """Find the shares of effort that are optimal.

    The candidate with the largest sensitivity enters; the shares of those already in are then set by Newton's
    method; who falls to zero leaves. It stops when no candidate's sensitivity exceeds the mean under the
    weights, which by the equivalence theorem proves the optimum.

    Parameters
    ----------
    problem : DesignProblem
        Candidates and criterion; costs and the opening of blocks are not looked at.
    size : float
        Experiments that the shares stand for; it only matters beside a prior.
    tolerance : float
        Relative gap at which it stops. [-]

    Returns
    -------
    ApproximateDesign
        Shares, sensitivities and the gap reached.

    Raises
    ------
    ComputationError
        If the gap is not reached.

    References
    ----------
    Kiefer and Wolfowitz 1960 for the equivalence theorem, Fedorov 1972 for the vertex direction; from memory.
    """
    weights = _first_weights(problem)
    slope, gap = sensitivity(problem, weights, size), np.inf
    for _ in range(OUTER_ROUNDS):
        mean = float(weights @ slope)
        gap = float(slope.max()) / mean - 1.0 if mean > 0.0 else 0.0
        if gap <= tolerance:
            break
        active = np.unique([*np.flatnonzero(weights > 0.0), int(np.argmax(slope))])
        weights = _best_shares(problem, weights, active, size)
        slope = sensitivity(problem, weights, size)
    else:
        raise ComputationError(
            f"the shares of a design came to a gap of {gap:.2g}, and {tolerance:.2g} was asked for:"
            " give fewer candidates or a larger tolerance",
            gap=gap,
        )
    return ApproximateDesign(
        weights=weights, score=score(problem, _precision(problem, weights, size)), sensitivity=slope, gap=gap
    )


def _precision(problem: DesignProblem, weights: FloatArray, size: float) -> FloatArray:
    active = np.flatnonzero(weights)
    total = np.tensordot(size * weights[active], problem.informations[active], axes=1)
    return np.asarray(problem.start + total)


def sensitivity(problem: DesignProblem, weights: FloatArray, size: float = 1.0) -> FloatArray:
    """Return the derivative of the score by the share of each candidate, shape (C,).

    Parameters
    ----------
    problem : DesignProblem
        Candidates and criterion.
    weights : ndarray, shape (C,)
        Shares. [-]
    size : float
        Experiments that the shares stand for.

    Returns
    -------
    ndarray, shape (C,)
        For D tr(A V A'), for A and I tr(A V W V A'), with V the covariance under the shares.
    """
    precision = _precision(problem, weights, size)
    covariance = np.linalg.inv(precision)
    rows = problem.whitened
    if problem.criterion is Criterion.D:
        slope = np.sum((rows @ covariance) * rows, axis=(1, 2))
        nuisance = problem.nuisance
        if nuisance.size:
            part = rows[:, :, nuisance]
            slope -= np.sum((part @ np.linalg.inv(precision[np.ix_(nuisance, nuisance)])) * part, axis=(1, 2))
    else:
        slope = np.sum((rows @ covariance @ problem.weighting @ covariance) * rows, axis=(1, 2))
    return np.asarray(size * slope, dtype=float)


def _curvature(
    problem: DesignProblem, weights: FloatArray, active: NDArray[np.intp], size: float
) -> FloatArray:
    """Second derivative of the score by the active shares, shape (k, k)."""
    precision = _precision(problem, weights, size)
    covariance = np.linalg.inv(precision)
    informations = problem.informations[active]
    turned = informations @ covariance
    if problem.criterion is Criterion.D:
        curved = -_pairs(turned, turned)
        nuisance = problem.nuisance
        if nuisance.size:
            part = informations[:, nuisance[:, None], nuisance]
            between = part @ np.linalg.inv(precision[np.ix_(nuisance, nuisance)])
            curved += _pairs(between, between)
    else:
        curved = -2.0 * _pairs(turned, turned @ (problem.weighting @ covariance))
        curved = 0.5 * (curved + curved.T)
    return size**2 * curved


def _pairs(left: FloatArray, right: FloatArray) -> FloatArray:
    """Trace of each product of one of `left` and one of `right`, shape (k, k)."""
    count = len(left)
    return np.asarray(left.reshape(count, -1) @ np.swapaxes(right, 1, 2).reshape(count, -1).T)


def _best_shares(
    problem: DesignProblem, weights: FloatArray, active: NDArray[np.intp], size: float
) -> FloatArray:
    """Set the shares of the active candidates by Newton's method, dropping those that fall to zero."""
    shares = weights.copy()
    newcomers = active[shares[active] <= 0.0]
    shares *= 1.0 - 1e-3 * len(newcomers)
    shares[newcomers] = 1e-3
    for _ in range(NEWTON_ROUNDS):
        active = np.flatnonzero(shares > 0.0)
        slope = sensitivity(problem, shares, size)[active]
        mean = float(shares[active] @ slope)
        if active.size == 1 or np.abs(slope - mean).max() <= 1e-12 * abs(mean):
            break
        curved = _curvature(problem, shares, active, size)
        ridge = 1e-12 * np.abs(np.diag(curved)).max()
        system = np.zeros((active.size + 1, active.size + 1))
        system[:-1, :-1] = curved - ridge * np.eye(active.size)
        system[:-1, -1] = system[-1, :-1] = 1.0
        step = np.linalg.lstsq(system, np.append(-slope, 0.0), rcond=None)[0][:-1]
        falling = step < 0.0
        limit = float(np.min(-shares[active][falling] / step[falling])) if falling.any() else np.inf
        whole = np.zeros_like(shares)
        whole[active] = step
        length = _climb(problem, shares, whole, longest=min(1.0, limit), size=size)
        if length == 0.0:
            break
        shares += length * whole
        shares[shares < SMALLEST_SHARE] = 0.0
        shares /= shares.sum()
    return shares


def _climb(
    problem: DesignProblem, shares: FloatArray, step: FloatArray, *, longest: float, size: float
) -> float:
    """Return how much of a step to take so that the score does not fall."""
    before = score(problem, _precision(problem, shares, size))
    length = longest
    for _ in range(30):
        trial = np.maximum(shares + length * step, 0.0)
        if score(problem, _precision(problem, trial, size)) >= before - 1e-14 * abs(before):
            return length
        length *= 0.5
    return 0.0


def _first_weights(problem: DesignProblem) -> FloatArray:
    """Give equal shares to the experiments that a greedy design would make first."""
    count = min(len(problem.experiments), problem.full_count + 1)
    picks = sorted(set(grown(problem, (), count)))
    weights = np.zeros(len(problem.experiments))
    weights[picks] = 1.0 / len(picks)
    return weights
