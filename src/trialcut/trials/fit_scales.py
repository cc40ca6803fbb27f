"""How large scatter and discrepancy are, as far as readings tell."""

from __future__ import annotations

import numpy as np

from trialcut.physics.numeric import Array
from trialcut.trials.effects import Block
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.posterior.fit import settled_mode

SCATTER: Array = np.array([0.5, 0.7, 0.85, 1.0, 1.2, 1.5, 2.0, 2.8])
DISCREPANCY: Array = np.array([0.5, 0.7, 1.0, 1.4, 2.0, 2.8])
"""Scales that are tried. [-]"""
LOG_SD = 0.5
"""Of the logarithm of either scale, before any reading: our own working value. [-]"""


def likeliest_scales(model: FitModel) -> Scales:
    """
    Scatter and discrepancy over what they were held to be before.

    Parameters
    ----------
    model : FitModel
        Readings under one form.

    Returns
    -------
    Scales
        Root mean squares over a grid, weighed by the evidence of the readings on the model made linear at
        its mode, and by a log-normal belief in one.
    """
    mode, scatter, _ = settled_mode(model.problem(Scales()))
    centred = mode.residuals + mode.jacobian @ mode.z
    loadings = scatter.loadings

    def spread(block: Block) -> Array:
        return np.asarray(loadings @ model.effects.block(block) @ loadings.T)

    fixed = mode.jacobian @ mode.jacobian.T + spread(Block.KNOWN) + np.diag(scatter.noise_variance)
    of_scatter, of_discrepancy = spread(Block.SCATTER), spread(Block.DISCREPANCY)
    evidence = np.array(
        [
            [
                _log_density(centred, fixed + a**2 * of_scatter + b**2 * of_discrepancy)
                - 0.5 * (np.log(a) ** 2 + np.log(b) ** 2) / LOG_SD**2
                for b in DISCREPANCY
            ]
            for a in SCATTER
        ]
    )
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    return Scales(
        scatter=float(np.sqrt(weights.sum(axis=1) @ SCATTER**2)),
        discrepancy=float(np.sqrt(weights.sum(axis=0) @ DISCREPANCY**2)),
    )


def _log_density(values: Array, covariance: Array) -> float:
    """Logarithm of a normal density, without the constant."""
    root = np.linalg.cholesky(covariance)
    white = np.linalg.solve(root, values)
    return float(-0.5 * white @ white - np.log(np.diag(root)).sum())
