"""How large scatter and discrepancy are, as far as readings tell."""

from __future__ import annotations

import numpy as np

from trialcut.trials.effects import Block
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.posterior.fit import settled_mode
from trialcut.trials.posterior.hyper import scale_product, scales_at

SCATTER = (0.5, 0.7, 0.85, 1.0, 1.2, 1.5, 2.0, 2.8)
DISCREPANCY = (0.5, 0.7, 1.0, 1.4, 2.0, 2.8)
"""Scales that are tried. [-]"""
GENEROUS = Scales(scatter=1.5, discrepancy=1.5)
"""Where the search starts: with scatter too small, good readings would pass for slips."""
LOG_SD = 0.4
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
    problem = model.problem(GENEROUS)
    mode, scatter, _ = settled_mode(problem)
    grid = scale_product((1.0,), SCATTER, DISCREPANCY)
    found = scales_at(
        problem,
        mode,
        scatter,
        blocks=[model.effects.block(block) for block in (Block.KNOWN, Block.SCATTER, Block.DISCREPANCY)],
        grid=grid,
        log_prior=-0.5 * (np.log(grid) ** 2).sum(axis=1) / LOG_SD**2,
    )
    _, of_scatter, of_discrepancy = np.sqrt(found.mean_square).tolist()
    return Scales(scatter=of_scatter, discrepancy=of_discrepancy)
