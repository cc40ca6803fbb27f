"""Damped Gauss-Newton steps of a linearised least-squares problem."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.trials.posterior.problem import FloatArray

DAMPINGS = np.concatenate([[0.0], 10.0 ** np.arange(-9.0, 15.0)])
"""Tried together, in units of the largest squared singular value."""


@dataclass(frozen=True, kw_only=True)
class Linear:
    """Singular values of the column-scaled derivatives M of whitened residuals.

    Parameters
    ----------
    scale : array, shape (P,)
        Of the columns.
    left : array, shape (R, P)
        Left singular vectors.
    singular : array, shape (P,)
        Singular values, held away from zero.
    right : array, shape (P, P)
        Right singular vectors, one a row.
    """

    scale: FloatArray
    left: FloatArray
    singular: FloatArray
    right: FloatArray

    def force(self, *, wanted: FloatArray, pull: FloatArray) -> FloatArray:
        """Gradient of the gain along the singular directions, over the singular values, shape (P,).

        Half its square is the gain that the full step promises.
        """
        return np.asarray(self.left.T @ wanted + (self.right @ (pull / self.scale)) / self.singular)

    def steps(self, force: FloatArray) -> FloatArray:
        """Steps that minimise the linearised cost at each damping, shape (P, dampings).

        The force is one for all dampings (P,), or one each (P, dampings).
        """
        damping = DAMPINGS * self.singular[0] ** 2
        share = self.singular[:, None] / (self.singular[:, None] ** 2 + damping)
        column = force if force.ndim == 2 else force[:, None]
        return np.asarray((self.right.T @ (share * column)) / self.scale[:, None])

    def lengths(self, steps: FloatArray) -> FloatArray:
        """Length of steps (P, K) in scaled parameters, shape (K,)."""
        return np.asarray(np.linalg.norm(self.scale[:, None] * steps, axis=0))


def linear_of(stacked: FloatArray, *, least_scale: FloatArray) -> Linear:
    """Factor whitened derivatives.

    Parameters
    ----------
    stacked : array, shape (R, P)
        M, with the rows of the prior.
    least_scale : array, shape (P,)
        Scales of the steps before: scales never shrink.

    Returns
    -------
    Linear
        With columns scaled to their largest norm so far.

    References
    ----------
    More, J. J. 1978, Lect. Notes Math. 630:105 (from memory)
    """
    norms = np.linalg.norm(stacked, axis=0)
    scale = np.maximum(least_scale, norms)
    scale = np.where(scale > 0.0, scale, 1.0)
    left, singular, right = np.linalg.svd(np.nan_to_num(stacked / scale), full_matrices=False)
    held = np.maximum(singular, max(1e-15 * singular[0], 1e-300))
    return Linear(scale=scale, left=left, singular=held, right=right)
