"""How large effects are, learnt from the readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from trialcut.errors import ComputationError, UsageError
from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.fit import settled_mode
from trialcut.trials.posterior.mode import Mode
from trialcut.trials.posterior.pareto import log_sum_exp
from trialcut.trials.posterior.problem import FloatArray, Problem

JITTER = 1e-12


@dataclass(frozen=True, kw_only=True)
class ScaleWeights:
    """How probable each combination of scales is, given the readings.

    Parameters
    ----------
    grid : array, shape (G, H)
        Scale of each of H blocks of effects, as a factor of its standard deviations.
    weights : array, shape (G,)
        Adding up to one.
    log_evidence : array, shape (G,)
        Logarithm of the marginal likelihood of the readings.
    """

    grid: FloatArray
    weights: FloatArray
    log_evidence: FloatArray

    @property
    def best(self) -> FloatArray:
        """The most probable combination, shape (H,)."""
        return np.asarray(self.grid[int(np.argmax(self.weights))])

    @property
    def mean_square(self) -> FloatArray:
        """Expected square of each scale, shape (H,): what a covariance averaged over the grid is made of."""
        return np.asarray(self.weights @ self.grid**2)

    def covariance(self, blocks: Sequence[FloatArray]) -> FloatArray:
        """Covariance of the effects averaged over the grid.

        Parameters
        ----------
        blocks : sequence of array, shape (Q, Q)
            Covariance of each block at scale one.

        Returns
        -------
        array, shape (Q, Q)
            Sum of the blocks, each times its expected squared scale.
        """
        return np.asarray(np.einsum("h,hqr->qr", self.mean_square, np.stack(list(blocks))))


def scale_product(*scales: Sequence[float]) -> FloatArray:
    """All combinations of scales.

    Parameters
    ----------
    *scales : sequence of float
        What to try for each block.

    Returns
    -------
    array, shape (G, H)
        One combination a row.
    """
    mesh = np.meshgrid(*[np.asarray(each, dtype=np.float64) for each in scales], indexing="ij")
    return np.stack([each.ravel() for each in mesh], axis=1)


def choose_scales(
    *,
    values: FloatArray,
    linear_mean: FloatArray,
    slopes: FloatArray,
    loadings: FloatArray,
    blocks: Sequence[FloatArray],
    noise_variance: FloatArray,
    grid: FloatArray,
    log_prior: FloatArray | None = None,
    prior_precision: FloatArray | None = None,
) -> ScaleWeights:
    """Weigh combinations of scales of the effects by the evidence of the linearised model.

    Parameters
    ----------
    values : array, shape (N,)
        Readings.
    linear_mean : array, shape (N,)
        Their prediction at the prior mean (all parameters zero) in the linearised model.
    slopes : array, shape (N, P)
        Derivatives of the predictions by the parameters.
    loadings : array, shape (N, Q)
        Change of the readings per unit of each effect.
    blocks : sequence of array, shape (Q, Q)
        Covariance K_h of each block of effects at scale one; K is the sum of s_h^2 K_h.
    noise_variance : array, shape (N,)
        Of each reading, robust weights included.
    grid : array, shape (G, H)
        Combinations of scales s_h to weigh.
    log_prior : array or None, shape (G,)
        Logarithm of the prior weight of each; all alike unless given.
    prior_precision : array or None, shape (P,)
        Of the parameters; ones unless given. Zero is a flat prior, and the evidence is then that of what the
        readings say beyond it (restricted likelihood).

    Returns
    -------
    ScaleWeights
        With parameters and effects integrated out in closed form.

    Raises
    ------
    UsageError
        If the grid does not have one column for each block.

    References
    ----------
    Patterson, H. D. & Thompson, R. 1971, Biometrika 58:545; Harville, D. A. 1977, J. Am. Stat. Assoc. 72:320
    (from memory)
    """
    if grid.ndim != 2 or grid.shape[1] != len(blocks):
        raise UsageError(
            f"grid of shape {grid.shape} for {len(blocks)} blocks of effects; give one column for each block."
        )
    count, size = slopes.shape
    precision = np.ones(size) if prior_precision is None else prior_precision
    shares = np.stack([loadings @ block @ loadings.T for block in blocks])
    covariance = np.einsum("gh,hnm->gnm", grid**2, shares)
    diagonal = np.arange(count)
    covariance[:, diagonal, diagonal] += noise_variance
    covariance[:, diagonal, diagonal] *= 1.0 + JITTER
    try:
        lower = np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError as failure:
        raise ComputationError(
            "The covariance of the readings is not positive definite; give every reading a noise above zero."
        ) from failure
    whitened = np.linalg.solve(lower, np.column_stack([values - linear_mean, slopes]))
    ahead, data = whitened[:, :, 0], whitened[:, :, 1:]
    posterior = np.einsum("gnp,gnq->gpq", data, data) + np.diag(precision)
    pull = np.einsum("gnp,gn->gp", data, ahead)
    moved = np.linalg.solve(posterior, pull[:, :, None])[:, :, 0]
    squares = np.einsum("gn,gn->g", ahead, ahead) - np.einsum("gp,gp->g", pull, moved)
    log_det = 2.0 * np.sum(np.log(np.einsum("gnn->gn", lower)), axis=1) + np.linalg.slogdet(posterior)[1]
    flat = precision <= 0.0
    log_det -= float(np.sum(np.log(np.where(flat, 1.0, precision))))
    freedom = count - int(np.count_nonzero(flat))
    evidence = -0.5 * (squares + log_det + freedom * np.log(2.0 * np.pi))
    total = evidence if log_prior is None else evidence + log_prior
    return ScaleWeights(grid=grid, weights=np.exp(total - log_sum_exp(total)), log_evidence=evidence)


def with_learnt_scales(
    problem: Problem,
    *,
    blocks: Sequence[FloatArray],
    grid: FloatArray,
    log_prior: FloatArray | None = None,
    rounds: int = 2,
) -> tuple[Problem, ScaleWeights]:
    """Give a problem effects as large as its readings say.

    Parameters
    ----------
    problem : Problem
        With effects; its own covariance of them is where the search for the mode starts.
    blocks : sequence of array, shape (Q, Q)
        Covariance of each block of effects at scale one.
    grid : array, shape (G, H)
        Combinations of scales to weigh.
    log_prior : array or None, shape (G,)
        Logarithm of the prior weight of each; all alike unless given.
    rounds : int
        How often the model is linearised again at the mode that the new scales lead to.

    Returns
    -------
    tuple
        The problem with the covariance averaged over the scales, and the weights of the scales.

    Notes
    -----
    Start from generous effects: where they are too small, good readings pass for slips, and slips say nothing
    about scatter.
    """
    result = problem
    for _ in range(max(rounds, 1)):
        mode, scatter, _ = settled_mode(result)
        weights = scales_at(problem, mode, scatter, blocks=blocks, grid=grid, log_prior=log_prior)
        result = replace(problem, effect_covariance=weights.covariance(blocks), start=mode.z)
    return result, weights


def scales_at(
    problem: Problem,
    mode: Mode,
    scatter: Scatter,
    *,
    blocks: Sequence[FloatArray],
    grid: FloatArray,
    log_prior: FloatArray | None = None,
) -> ScaleWeights:
    """Weigh combinations of scales in the model linearised at a mode.

    Parameters
    ----------
    problem : Problem
        The readings.
    mode : Mode
        Where.
    scatter : Scatter
        Whose loadings and noise are used.
    blocks : sequence of array, shape (Q, Q)
        Covariance of each block of effects at scale one.
    grid : array, shape (G, H)
        Combinations of scales to weigh.
    log_prior : array or None, shape (G,)
        Logarithm of the prior weight of each; all alike unless given.

    Returns
    -------
    ScaleWeights
        From `choose_scales`.
    """
    return choose_scales(
        values=problem.values,
        linear_mean=problem.values - mode.residuals - mode.jacobian @ mode.z,
        slopes=mode.jacobian,
        loadings=scatter.loadings,
        blocks=blocks,
        noise_variance=scatter.noise_variance,
        grid=grid,
        log_prior=log_prior,
        prior_precision=problem.prior_precision,
    )
