"""The most probable parameters, by damped Gauss-Newton steps."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.differences import curvature, gradient, jacobian
from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.problem import FloatArray, Problem
from trialcut.trials.posterior.steps import Linear, linear_of

STEPS = 300
CAUTIOUS_STEPS = 60
CLOSE = 1e-3
"""Gain in log-density that no longer matters where no step gains anything, as at a kink of the model."""
STARTS = 7
SLOW = 12
"""Steps after which the search follows the bend of the valley."""
BEND = 0.1
FIRST_RADIUS = 0.3
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
    them, so that one call of the model serves the step control. After a dozen steps the search also follows
    the bend of the valley. Where it does not settle, it begins again with steps held short, first from the
    same start, then from some draws of the prior.

    References
    ----------
    Levenberg, K. 1944, Q. Appl. Math. 2:164; Marquardt, D. W. 1963, J. SIAM 11:431; the bend: Transtrum, M.
    K. & Sethna, J. P. 2012, arXiv:1201.5885 (from memory)
    """
    own = np.zeros(problem.count) if problem.start is None else problem.start
    first = own if start is None else start
    starts = [first]
    if not np.any(problem.is_flat):
        rng = np.random.default_rng(0)
        sd = 1.0 / np.sqrt(problem.prior_precision)
        starts += [own, *(0.7 * sd * rng.standard_normal(problem.count) for _ in range(STARTS))]
    best = None
    for each, cautious in itertools.chain([(first, False)], ((each, True) for each in starts)):
        found = _search(problem, scatter, each, tolerance=tolerance, fine=fine, cautious=cautious)
        if best is None or found.cost < best.cost + CLOSE * (found.converged and not best.converged):
            best = found
        if best.converged:
            break
    assert best is not None
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
        if fine and np.any(problem.is_flat):
            # no further than moves the readings by their own size
            reach = np.linalg.norm(problem.values) / np.linalg.norm(slopes, axis=0)
            scale = np.where(problem.is_flat, np.fmin(scale, reach), scale)
            slopes = jacobian(problem.predict, z, scale=scale, fine=True)
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


@np.errstate(all="ignore")
def _search(
    problem: Problem,
    scatter: Scatter,
    start: FloatArray,
    *,
    tolerance: float,
    fine: bool,
    cautious: bool,
) -> Mode:
    z = np.asarray(start, dtype=np.float64)
    costs, residual_columns = cost_of(problem, scatter, z[:, None])
    cost, residuals = float(costs[0]), residual_columns[:, 0]
    root = np.zeros((problem.count, problem.count))
    scale = np.zeros(problem.count)
    prior_root = np.sqrt(problem.prior_precision)
    pull = np.zeros(problem.count)
    radius, converged = np.inf, False
    most = CAUTIOUS_STEPS if cautious else STEPS
    for step_number in range(most if np.isfinite(cost) else 0):
        slopes = jacobian(problem.predict, z, scale=scale_of(problem, z), fine=fine)
        if problem.censored is not None:
            if step_number % CURVATURE_EVERY == 0:
                root = _root_of_curvature(problem, z)
            pull = gradient(problem.censored, z, scale=scale_of(problem, z))
        whitened = scatter.whitener @ slopes
        linear = linear_of(np.concatenate([whitened, np.diag(prior_root), root]), least_scale=scale)
        scale = linear.scale
        # minus the gradient of the cost is stacked' @ wanted + pull
        wanted = np.concatenate([scatter.whitener @ residuals, -prior_root * z, np.zeros(problem.count)])
        force = linear.force(wanted=wanted, pull=pull)
        promised = 0.5 * float(force @ force)
        steps = linear.steps(force)
        if cautious or step_number >= SLOW:
            bent = _bend(problem, scatter, linear, z=z, residuals=residuals, slopes=slopes, steps=steps)
            steps = np.concatenate([steps, steps + bent], axis=1)
        if cautious and step_number == 0:
            size = float(np.linalg.norm(scale * z))
            radius = FIRST_RADIUS * (size if size > 0.0 else 1.0)
        lengths = linear.lengths(steps)
        costs, residual_columns = cost_of(problem, scatter, z[:, None] + steps)
        chosen = int(np.argmin(np.where(lengths <= radius, costs, np.inf)))
        small = promised <= tolerance
        if not costs[chosen] < cost or lengths[chosen] > radius:
            if cautious and radius > 1e-9 * float(np.min(lengths)) and not small and radius > 1e-12:
                radius *= 0.25
                continue
            converged = small or promised <= (1e-6 * cost if np.any(problem.is_flat) else CLOSE)
            break
        radius = max(radius, 2.0 * lengths[chosen]) if cautious else radius
        z, cost, residuals = z + steps[:, chosen], float(costs[chosen]), residual_columns[:, chosen]
        if small:
            converged = True
            break
    return linearised(problem, scatter, z, fine=fine, converged=converged)


def _bend(
    problem: Problem,
    scatter: Scatter,
    linear: Linear,
    *,
    z: FloatArray,
    residuals: FloatArray,
    slopes: FloatArray,
    steps: FloatArray,
) -> FloatArray:
    """Second-order correction of each step, shape (P, K); zero where it is not small beside the step."""
    _, ahead = cost_of(problem, scatter, z[:, None] + BEND * steps)
    # readings less predictions: minus the second derivative of the predictions along the step
    second = (2.0 / BEND) * ((ahead - residuals[:, None]) / BEND + slopes @ steps)
    second = np.where(np.isfinite(second), second, 0.0)
    rows = linear.left[: len(residuals)]
    bent = 0.5 * linear.steps(rows.T @ (scatter.whitener @ second))
    return np.where(linear.lengths(bent) <= linear.lengths(steps), bent, 0.0)


def _root_of_curvature(problem: Problem, z: FloatArray) -> FloatArray:
    if problem.censored is None:
        return np.zeros((problem.count, problem.count))
    values, vectors = np.linalg.eigh(-curvature(problem.censored, z, scale=scale_of(problem, z)))
    return np.asarray((vectors * np.sqrt(np.maximum(values, 0.0))).T)
