"""How readings scatter about their prediction: noise of their own and effects that they share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.errors import ComputationError
from trialcut.trials.posterior.problem import BoolArray, FloatArray, Problem

JITTERS = (0.0, 1e-14, 1e-12, 1e-10, 1e-8)


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Covariance S = B K B' + R of the readings about their prediction, with what follows from it.

    Parameters
    ----------
    loadings : array, shape (N, Q)
        Change of the readings per unit of each effect, B.
    effect_covariance : array, shape (Q, Q)
        K.
    noise_variance : array, shape (N,)
        Diagonal of R.
    whitener : array, shape (N, N)
        W, lower triangular, with W S W' = I.
    precision : array, shape (N, N)
        Inverse of S.
    log_det : float
        Logarithm of the determinant of S.
    jitter : float
        By which share the diagonal of S had to grow to factor it.
    """

    loadings: FloatArray
    effect_covariance: FloatArray
    noise_variance: FloatArray
    whitener: FloatArray
    precision: FloatArray
    log_det: float
    jitter: float

    @property
    def log_constant(self) -> float:
        """Logarithm of the Gaussian density of residuals that are all zero."""
        return -0.5 * (self.log_det + len(self.noise_variance) * float(np.log(2.0 * np.pi)))

    def effect_means(self, residuals: FloatArray) -> FloatArray:
        """Mean of the effects given residuals (N,) or (N, D), shape (Q,) or (Q, D)."""
        gain = self.effect_covariance @ self.loadings.T
        return np.asarray(gain @ (self.precision @ residuals))

    def effect_draws(self, residuals: FloatArray, *, rng: np.random.Generator) -> FloatArray:
        """One draw of the effects for each column of residuals.

        Parameters
        ----------
        residuals : array, shape (N, D)
            Readings minus prediction.
        rng : numpy.random.Generator
            Source of chance.

        Returns
        -------
        array, shape (Q, D)
            From e | residuals ~ N(K B' S^-1 r, K - K B' S^-1 B K).

        Notes
        -----
        A draw from the prior is corrected by the gain times what it fails to explain, which needs no
        factor of the conditional covariance (Matheron's rule).

        References
        ----------
        Hoffman, Y. & Ribak, E. 1991, Astrophys. J. 380:L5 (from memory)
        """
        draws = residuals.shape[1]
        values, vectors = np.linalg.eigh(self.effect_covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        prior = root @ rng.standard_normal((root.shape[1], draws))
        noise = np.sqrt(self.noise_variance)[:, None] * rng.standard_normal(residuals.shape)
        return np.asarray(prior + self.effect_means(residuals - self.loadings @ prior - noise))

    def without(self, keep: BoolArray) -> Scatter:
        """The same for some of the readings only.

        Parameters
        ----------
        keep : array of bool, shape (N,)
            Which readings stay.

        Returns
        -------
        Scatter
            Of the readings that stay.
        """
        return scatter_of(
            loadings=self.loadings[keep],
            effect_covariance=self.effect_covariance,
            noise_variance=self.noise_variance[keep],
        )


def scatter_of(*, loadings: FloatArray, effect_covariance: FloatArray, noise_variance: FloatArray) -> Scatter:
    """Factor the covariance of the readings about their prediction.

    Parameters
    ----------
    loadings : array, shape (N, Q)
        B.
    effect_covariance : array, shape (Q, Q)
        K.
    noise_variance : array, shape (N,)
        Diagonal of R.

    Returns
    -------
    Scatter
        With the jitter that was needed.

    Raises
    ------
    ComputationError
        If the covariance is not positive definite even with the largest jitter.
    """
    from scipy.linalg.lapack import dtrtri  # noqa: PLC0415 - heavy

    count = len(noise_variance)
    covariance = loadings @ effect_covariance @ loadings.T + np.diag(noise_variance)
    covariance = 0.5 * (covariance + covariance.T)
    scale = np.diag(np.diag(covariance))
    for jitter in JITTERS:
        try:
            lower = np.linalg.cholesky(covariance + jitter * scale)
        except np.linalg.LinAlgError:
            continue
        whitener = np.asarray(np.tril(dtrtri(lower, lower=1)[0]) if count else lower, dtype=np.float64)
        return Scatter(
            loadings=loadings,
            effect_covariance=effect_covariance,
            noise_variance=noise_variance,
            whitener=whitener,
            precision=whitener.T @ whitener,
            log_det=2.0 * float(np.sum(np.log(np.diag(lower)))),
            jitter=jitter,
        )
    raise ComputationError(
        "The covariance of the readings is not positive definite; give every reading a noise above zero."
    )


def scatter_at(problem: Problem, z: FloatArray, *, noise_variance: FloatArray) -> Scatter:
    """Scatter of a problem's readings with the effects' loadings taken at one set of parameters.

    Parameters
    ----------
    problem : Problem
        The readings.
    z : array, shape (P,)
        Parameters.
    noise_variance : array, shape (N,)
        Of each reading, robust weights included.

    Returns
    -------
    Scatter
        At `z`.
    """
    if problem.effects is None or problem.effect_covariance is None:
        loadings, covariance = np.zeros((len(problem.values), 0)), np.zeros((0, 0))
    else:
        loadings, covariance = problem.effects(z), problem.effect_covariance
    return scatter_of(loadings=loadings, effect_covariance=covariance, noise_variance=noise_variance)
