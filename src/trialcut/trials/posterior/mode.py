"""The most probable parameters, by damped Gauss-Newton steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.differences import curvature, gradient, jacobian
from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.problem import FloatArray, Problem

STEPS = 200
DAMPINGS = np.concatenate([[0.0], 10.0 ** np.arange(-9.0, 5.0)])
"""Tried together at every step, in units of the largest squared singular value."""
STARTS = 7
CURVATURE_EVERY = 4


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Where the posterior density is largest.

    Parameters
    ----------
    z : array, shape (P,)
        Parameters.
    cost : float
        Half the squared whitened residuals and the squared distance from the prior mean, less the
        censored log-likelihood.
    residuals : array, shape (N,)
        Readings minus predictions.
    jacobian : array, shape (N, P)
        Of the predictions.
    censored_root : array, shape (P, P)
        Square root of minus the curvature of the censored log-likelihood, where that is positive.
    pull : array, shape (P,)
        Gradient of prior and censored log-density.
    converged : bool
        Whether the last step promised less than the tolerance.
    """

    z: FloatArray
    cost: float
    residuals: FloatArray
    jacobian: FloatArray
    censored_root: FloatArray
    pull: FloatArray
    converged: bool


def cost_of(problem: Problem, scatter: Scatter, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """What the search makes small.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    columns : array, shape (P, D)
        Parameters.

    Returns
    -------
    tuple of array
        Cost, shape (D,), infinite where it cannot be computed, and residuals, shape (N, D).
    """
    with np.errstate(all="ignore"):
        residuals = problem.values[:, None] - problem.predict(columns)
        whitened = scatter.whitener @ residuals
        cost = 0.5 * np.einsum("nd,nd->d", whitened, whitened)
        cost += 0.5 * problem.prior_precision @ columns**2
        if problem.censored is not None:
            cost -= problem.censored(columns)
    return np.where(np.isfinite(cost), cost, np.inf), residuals


def scale_of(problem: Problem, z: FloatArray) -> FloatArray:
    """Size of each parameter for differences: one prior deviation, or its own size where it has no prior.

    Parameters
    ----------
    problem : Problem
        The readings.
    z : array, shape (P,)
        Parameters.

    Returns
    -------
    array, shape (P,)
        Positive.
    """
    flat = problem.is_flat
    prior = 1.0 / np.sqrt(np.where(flat, 1.0, problem.prior_precision))
    start = np.zeros(problem.count) if problem.start is None else np.abs(problem.start)
    own = np.maximum(np.abs(z), 1e-3 * start)
    return np.where(flat, np.where(own > 0.0, own, 1.0), prior)


def find_mode(
    problem: Problem,
    scatter: Scatter,
    *,
    start: FloatArray | None = None,
    tolerance: float = 1e-7,
    fine: bool = False,
) -> Mode:
    """Search for the most probable parameters, from more than one start if need be.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    start : array or None, shape (P,)
        Where to start; the problem's own start unless given.
    tolerance : float
        Promised gain in log-density at which the search ends.
    fine : bool
        Take fourth-order differences.

    Returns
    -------
    Mode
        Never worse than the start.

    Notes
    -----
    Each step solves the linearised problem for a whole ladder of damping factors and takes the best of
    them, so that one call of the model serves the step control. Columns are scaled to their largest norm
    so far.

    References
    ----------
    Levenberg, K. 1944, Q. Appl. Math. 2:164; Marquardt, D. W. 1963, J. SIAM 11:431; scaling: More, J. J.
    1978, Lect. Notes Math. 630:105 (from memory)
    """
    own = np.zeros(problem.count) if problem.start is None else problem.start
    best = _search(problem, scatter, own if start is None else start, tolerance=tolerance, fine=fine)
    if best.converged or np.any(problem.is_flat):
        return best
    rng = np.random.default_rng(0)
    sd = 1.0 / np.sqrt(problem.prior_precision)
    starts = [own, *(0.7 * sd * rng.standard_normal(problem.count) for _ in range(STARTS))]
    for each in starts:
        found = _search(problem, scatter, each, tolerance=tolerance, fine=fine)
        if (found.converged, -found.cost) > (best.converged, -best.cost):
            best = found
    return best


def linearised(
    problem: Problem, scatter: Scatter, z: FloatArray, *, fine: bool = False, converged: bool = False
) -> Mode:
    """Linearise the model anywhere.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    z : array, shape (P,)
        Where.
    fine : bool
        Take fourth-order differences.
    converged : bool
        Whether that is the mode.

    Returns
    -------
    Mode
        At `z`.
    """
    scale = scale_of(problem, z)
    costs, residuals = cost_of(problem, scatter, z[:, None])
    with np.errstate(all="ignore"):
        slopes = jacobian(problem.predict, z, scale=scale, fine=fine)
    pull = -problem.prior_precision * z
    if problem.censored is not None:
        pull = pull + gradient(problem.censored, z, scale=scale)
    return Mode(
        z=z,
        cost=float(costs[0]),
        residuals=residuals[:, 0],
        jacobian=slopes,
        censored_root=_root_of_curvature(problem, z),
        pull=pull,
        converged=converged,
    )


def _search(problem: Problem, scatter: Scatter, start: FloatArray, *, tolerance: float, fine: bool) -> Mode:
    z = np.asarray(start, dtype=np.float64)
    costs, residual_columns = cost_of(problem, scatter, z[:, None])
    cost, residuals = float(costs[0]), residual_columns[:, 0]
    root = np.zeros((problem.count, problem.count))
    if not np.isfinite(cost):
        return linearised(problem, scatter, z, fine=fine)
    prior_root = np.sqrt(problem.prior_precision)
    largest = np.zeros(problem.count)
    converged = False
    for step_number in range(STEPS):
        scale = scale_of(problem, z)
        with np.errstate(all="ignore"):
            slopes = jacobian(problem.predict, z, scale=scale, fine=fine)
        pull = np.zeros(problem.count)
        if problem.censored is not None:
            if step_number % CURVATURE_EVERY == 0:
                root = _root_of_curvature(problem, z)
            pull = gradient(problem.censored, z, scale=scale)
        stacked = np.concatenate([scatter.whitener @ slopes, np.diag(prior_root), root])
        # minus the gradient is stacked' @ wanted + pull
        wanted = np.concatenate([scatter.whitener @ residuals, -prior_root * z, np.zeros(problem.count)])
        norms = np.linalg.norm(stacked, axis=0)
        largest = np.maximum(largest, np.where(norms > 0.0, norms, 1.0))
        left, singular, right = np.linalg.svd(stacked / largest, full_matrices=False)
        safe = np.maximum(singular, 1e-15 * singular[0])
        force = left.T @ wanted + (right @ (pull / largest)) / safe
        promised = 0.5 * float(force @ force)
        damping = DAMPINGS * singular[0] ** 2
        steps = (right.T @ ((safe / (safe**2 + damping[:, None])) * force).T) / largest[:, None]
        costs, residual_columns = cost_of(problem, scatter, z[:, None] + steps)
        chosen = int(np.argmin(costs))
        small = promised <= tolerance or promised <= 1e-30 * cost
        if not costs[chosen] < cost:
            converged = small or promised <= 1e-6 * max(cost, 1e-6)
            break
        z, cost, residuals = z + steps[:, chosen], float(costs[chosen]), residual_columns[:, chosen]
        if small:
            converged = True
            break
    return linearised(problem, scatter, z, fine=fine, converged=converged)


def _root_of_curvature(problem: Problem, z: FloatArray) -> FloatArray:
    if problem.censored is None:
        return np.zeros((problem.count, problem.count))
    values, vectors = np.linalg.eigh(-curvature(problem.censored, z, scale=scale_of(problem, z)))
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T)
