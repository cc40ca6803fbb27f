"""Draws from the posterior by adaptive importance sampling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.laplace import Laplace
from trialcut.trials.posterior.mode import cost_of
from trialcut.trials.posterior.pareto import effective_sample_size, log_sum_exp, smoothed
from trialcut.trials.posterior.problem import FloatArray, Problem
from trialcut.trials.posterior.student import Student, adapted, mixture_draws, mixture_log_density

ROUNDS = (1024, 1024, 1536, 1536)
MORE_ROUNDS = (2048, 2048, 3072, 3072)
"""Run on while the tail index says that the proposals still miss something."""
EVEN_ENOUGH = 0.5
"""Tail index below which the weights have a finite variance. [-]"""
FIRST = (
    # share, widening of the standard deviation, degrees of freedom
    (0.5, 1.05, 30.0),
    (0.3, 1.3, 10.0),
    (0.2, 2.0, 5.0),
)


@dataclass(frozen=True, kw_only=True)
class Sample:
    """A weighted sample of the posterior.

    Parameters
    ----------
    z : array, shape (P, S)
        Parameters.
    residuals : array, shape (N, S)
        Readings minus predictions.
    log_ratio : array, shape (S,)
        Posterior over proposal density, unnormalised.
    log_weights : array, shape (S,)
        The same, smoothed and normalised.
    pareto_k : float
        Tail index of the ratios.
    log_integral : float
        Logarithm of the integral over the parameters of likelihood times the prior's exponential.
    """

    z: FloatArray
    residuals: FloatArray
    log_ratio: FloatArray
    log_weights: FloatArray
    pareto_k: float
    log_integral: float

    @property
    def effective_sample_size(self) -> float:
        """How many equally weighted draws it is worth."""
        return effective_sample_size(self.log_weights)


def sample_posterior(
    problem: Problem,
    scatter: Scatter,
    laplace: Laplace,
    *,
    rng: np.random.Generator,
    rounds: tuple[int, ...] = ROUNDS,
) -> Sample:
    """Draw from the posterior.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    laplace : Laplace
        Where to look first.
    rng : numpy.random.Generator
        Source of chance.
    rounds : tuple of int
        Draws in each round.

    Returns
    -------
    Sample
        Of all rounds.

    Notes
    -----
    Proposals are mixtures of Student densities along the directions that the readings see, and the prior
    itself along the others. After each round every draw so far is weighted by the posterior over the mixture
    of all proposals so far, and the next proposal is adapted to that weighted sample.

    References
    ----------
    Cornuet, J.-M., Marin, J.-M., Mira, A. & Robert, C. P. 2012, Scand. J. Stat. 39:798; Cappe, O., Douc, R.,
    Guillin, A., Marin, J.-M. & Robert, C. P. 2008, Stat. Comput. 18:447 (from memory)
    """
    seen = laplace.is_seen
    dimension = int(np.count_nonzero(seen))
    # along unseen directions, in units of the axes, the prior is centred and as wide as this
    share = laplace.prior_share[~seen]
    unseen_sd = 1.0 / np.sqrt(share)
    unseen_centre = -_along_prior(problem, laplace)[~seen]
    parts = tuple(
        Student(
            log_share=float(np.log(part)),
            dof=dof,
            mean=np.zeros(dimension),
            root=widening * np.eye(dimension),
        )
        for part, widening, dof in FIRST
    )
    proposals: list[tuple[float, tuple[Student, ...]]] = []
    u, z = np.zeros((len(seen), 0)), np.zeros((len(seen), 0))
    residuals, log_target = np.zeros((len(problem.values), 0)), np.zeros(0)
    log_unseen = np.zeros(0)
    # density along unseen directions, and from directions to parameters
    constant = -float(np.sum(np.log(unseen_sd))) - 0.5 * len(unseen_sd) * float(np.log(2.0 * np.pi))
    constant -= float(np.linalg.slogdet(laplace.axes)[1])
    planned = (*rounds, *MORE_ROUNDS)
    k = np.inf
    for number, size in enumerate(planned):
        if number >= len(rounds) and k <= EVEN_ENOUGH:
            break
        fresh = np.empty((len(seen), size))
        fresh[seen] = mixture_draws(parts, size, rng=rng)
        chance = rng.standard_normal((len(seen) - dimension, size))
        fresh[~seen] = unseen_centre[:, None] + unseen_sd[:, None] * chance
        proposals.append((float(np.log(size)), parts))
        fresh_z = laplace.centre[:, None] + laplace.axes @ fresh
        fresh_target, fresh_residuals = log_posterior(problem, scatter, fresh_z)
        u, z = np.concatenate([u, fresh], axis=1), np.concatenate([z, fresh_z], axis=1)
        residuals = np.concatenate([residuals, fresh_residuals], axis=1)
        log_target = np.concatenate([log_target, fresh_target])
        log_unseen = np.concatenate([log_unseen, -0.5 * np.sum(chance**2, axis=0)])
        seen_u = u[seen]
        densities = [log_size + mixture_log_density(each, seen_u) for log_size, each in proposals]
        log_proposal = log_sum_exp(np.stack(densities)) + log_unseen + constant
        log_ratio = log_target - log_proposal
        log_weights, k = smoothed(log_ratio)
        if number + 1 < len(planned) and dimension:
            parts = adapted(parts, seen_u, log_weights)
    return Sample(
        z=z,
        residuals=residuals,
        log_ratio=log_ratio,
        log_weights=log_weights,
        pareto_k=k,
        log_integral=float(log_sum_exp(log_ratio)) + scatter.log_constant,
    )


def log_posterior(problem: Problem, scatter: Scatter, columns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Logarithm of the posterior density, up to a constant, and residuals.

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
        Shapes (D,) and (N, D); minus infinity where it cannot be computed.
    """
    cost, residuals = cost_of(problem, scatter, columns)
    return -cost, np.where(np.isfinite(residuals), residuals, 0.0)


def resampled(
    log_weights: FloatArray, draws: int, *, rng: np.random.Generator
) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Choose equally weighted members of a weighted sample.

    Parameters
    ----------
    log_weights : array, shape (S,)
        Normalised.
    draws : int
        How many.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    array of int, shape (draws,)
        Members, in random order, each as often as its weight says to within one (systematic resampling).

    References
    ----------
    Kitagawa, G. 1996, J. Comput. Graph. Stat. 5:1 (from memory)
    """
    ladder = (np.arange(draws) + rng.random()) / draws
    chosen = np.searchsorted(np.cumsum(np.exp(log_weights)), ladder)
    return rng.permutation(np.minimum(chosen, len(log_weights) - 1))


def _along_prior(problem: Problem, laplace: Laplace) -> FloatArray:
    """Offset of the centre from the prior mean along each axis, in units of the axis."""
    lengths = np.einsum("pk,p,pk->k", laplace.axes, problem.prior_precision, laplace.axes)
    along = laplace.axes.T @ (problem.prior_precision * laplace.centre)
    return np.asarray(along / np.where(lengths > 0.0, lengths, 1.0))
