"""Fits of any model to readings: mode, posterior draws, robust weights, predictive scores, flags."""

from trialcut.trials.posterior.fit import fit_posterior
from trialcut.trials.posterior.hyper import ScaleWeights, choose_scales, scale_product, with_learnt_scales
from trialcut.trials.posterior.problem import BAD_FLAGS, Flag, GroupScores, Posterior, Problem
from trialcut.trials.posterior.weights import form_weights, score_difference, stacking_weights

__all__ = [
    "BAD_FLAGS",
    "Flag",
    "GroupScores",
    "Posterior",
    "Problem",
    "ScaleWeights",
    "choose_scales",
    "fit_posterior",
    "form_weights",
    "scale_product",
    "score_difference",
    "stacking_weights",
    "with_learnt_scales",
]
