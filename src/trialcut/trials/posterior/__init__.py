"""Fits of any model to readings: mode, posterior draws, robust weights, predictive scores, flags."""

from trialcut.trials.posterior.fit import fit_posterior
from trialcut.trials.posterior.problem import BAD_FLAGS, Flag, GroupScores, Posterior, Problem
from trialcut.trials.posterior.weights import form_weights, score_difference, stacking_weights

__all__ = [
    "BAD_FLAGS",
    "Flag",
    "GroupScores",
    "Posterior",
    "Problem",
    "fit_posterior",
    "form_weights",
    "score_difference",
    "stacking_weights",
]
