"""The Gaussian approximation at the mode."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.mode import Mode
from trialcut.trials.posterior.problem import BoolArray, FloatArray, Problem

SEEN = 0.05
"""Information of the readings on a direction, over the prior's, below which it is left to the prior."""


@dataclass(frozen=True, kw_only=True)
class Laplace:
    """Gaussian approximation in independent directions: z = centre + axes u with u ~ N(0, I).

    Parameters
    ----------
    centre : array, shape (P,)
        The mode.
    axes : array, shape (P, P)
        One direction a column, one standard deviation long.
    prior_share : array, shape (P,)
        Of each direction: prior precision over posterior precision, 1 where the readings see nothing.
    covariance : array, shape (P, P)
        Of the parameters.
    identified : bool
        Whether readings and priors determine every direction.
    """

    centre: FloatArray
    axes: FloatArray
    prior_share: FloatArray
    covariance: FloatArray
    identified: bool

    @property
    def is_seen(self) -> BoolArray:
        """Which directions the readings say something about, shape (P,)."""
        return np.asarray(self.prior_share < 1.0 / (1.0 + SEEN))


def laplace_at(problem: Problem, scatter: Scatter, mode: Mode) -> Laplace:
    """Gaussian approximation of the posterior.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    mode : Mode
        Where.

    Returns
    -------
    Laplace
        From the singular values of the scaled, whitened derivatives; their cross product is never formed,
        which would lose half the digits.
    """
    data = np.concatenate([scatter.whitener @ mode.jacobian, mode.censored_root])
    flat = problem.is_flat
    if np.any(flat):
        stacked = np.concatenate([data, np.diag(np.sqrt(problem.prior_precision))])
        norms = np.linalg.norm(stacked, axis=0)
        scale = 1.0 / np.where(norms > 0.0, norms, 1.0)
        _, singular, right = np.linalg.svd(stacked * scale, full_matrices=False)
        identified = bool(singular[-1] > 1e-13 * singular[0])
        lengths = 1.0 / np.maximum(singular, 1e-13 * singular[0])
        share = np.zeros(problem.count)
    else:
        scale = 1.0 / np.sqrt(problem.prior_precision)
        _, singular, right = np.linalg.svd(data * scale, full_matrices=True)
        information = np.zeros(problem.count)
        information[: len(singular)] = singular**2
        identified = True
        share = 1.0 / (1.0 + information)
        lengths = np.sqrt(share)
    axes = scale[:, None] * right.T * lengths
    return Laplace(
        centre=mode.z, axes=axes, prior_share=share, covariance=axes @ axes.T, identified=identified
    )


def log_evidence(problem: Problem, scatter: Scatter, mode: Mode, laplace: Laplace) -> float:
    """Logarithm of the marginal likelihood in the Gaussian approximation.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    mode : Mode
        The mode.
    laplace : Laplace
        The approximation there.

    Returns
    -------
    float
        Not a number where any prior is flat.

    References
    ----------
    Tierney, L. & Kadane, J. B. 1986, J. Am. Stat. Assoc. 81:82 (from memory)
    """
    if np.any(problem.is_flat):
        return float("nan")
    # prior and posterior volumes: the factors of 2 pi cancel
    return float(scatter.log_constant - mode.cost + 0.5 * np.sum(np.log(laplace.prior_share)))
