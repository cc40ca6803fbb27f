"""From readings to a posterior."""

from __future__ import annotations

import numpy as np

from trialcut.trials.posterior.effects import Scatter, scatter_at
from trialcut.trials.posterior.flags import flags_of
from trialcut.trials.posterior.laplace import laplace_at, log_evidence
from trialcut.trials.posterior.loo import group_scores
from trialcut.trials.posterior.mode import Mode, find_mode, linearised
from trialcut.trials.posterior.problem import FloatArray, Posterior, Problem
from trialcut.trials.posterior.robust import leave_one_out, robust_weights, student_correction
from trialcut.trials.posterior.sampling import resampled, sample_posterior

OUTER_ROUNDS = 6
SETTLED = 0.02


def fit_posterior(problem: Problem, *, draws: int, seed: int) -> Posterior:
    """Fit parameters and effects to readings.

    Parameters
    ----------
    problem : Problem
        Readings, model and priors.
    draws : int
        Equally likely draws wanted.
    seed : int
        Of chance: the same seed gives the same fit.

    Returns
    -------
    Posterior
        With scores and flags.

    Notes
    -----
    Mode, loadings of the effects and robust weights are found in turn until they settle; the posterior of
    the parameters is then sampled with the effects integrated out, and effects are drawn given parameters.
    """
    mode, scatter, weights = settled_mode(problem)
    laplace = laplace_at(problem, scatter, mode)
    rng = np.random.default_rng(seed)
    sample = sample_posterior(problem, scatter, laplace, rng=rng)
    chosen = resampled(sample.log_weights, draws, rng=rng)
    correction = student_correction(problem, scatter, mode)
    scores = group_scores(
        problem,
        scatter,
        sample,
        centre=mode.z,
        correction=correction,
        rng=rng,
    )
    effects = scatter.effect_draws(sample.residuals[:, chosen], rng=rng)
    left_out = leave_one_out(problem, scatter, mode)
    return Posterior(
        mode=mode.z,
        covariance=laplace.covariance,
        draws=sample.z[:, chosen],
        effect_draws=effects,
        weights=weights,
        residuals=mode.residuals - scatter.loadings @ scatter.effect_means(mode.residuals),
        standardised=left_out.standardised,
        effective_sample_size=sample.effective_sample_size,
        pareto_k=sample.pareto_k,
        evidence=log_evidence(problem, scatter, mode, laplace) + float(np.sum(correction)),
        loo=scores,
        flags=flags_of(
            problem,
            scatter=scatter,
            mode=mode,
            laplace=laplace,
            sample=sample,
            scores=scores,
            weights=weights,
        ),
    )


def settled_mode(problem: Problem) -> tuple[Mode, Scatter, FloatArray]:
    """Mode, scatter and robust weights that belong together.

    Parameters
    ----------
    problem : Problem
        Readings, model and priors.

    Returns
    -------
    tuple
        Mode, scatter with the loadings taken there, and weights, shape (N,).

    Notes
    -----
    Slips are looked for before the first search, about its start, lest a gross one lead it away.
    """
    start = np.zeros(problem.count) if problem.start is None else problem.start
    weights = np.ones(len(problem.values))
    scatter = scatter_at(problem, start, noise_variance=problem.noise_sd**2)
    if problem.robust_dof is not None:
        weights, scatter = robust_weights(problem, linearised(problem, scatter, start), scatter)
    mode = find_mode(problem, scatter, start=start)
    for _ in range(OUTER_ROUNDS):
        if problem.effects is None and problem.robust_dof is None:
            break
        scatter = scatter_at(problem, mode.z, noise_variance=scatter.noise_variance)
        before_weights, before = weights, mode
        if problem.robust_dof is not None:
            weights, scatter = robust_weights(problem, mode, scatter, weights=weights)
        mode = find_mode(problem, scatter, start=mode.z)
        laplace = laplace_at(problem, scatter, mode)
        sd = np.sqrt(np.diag(laplace.covariance))
        moved = float(np.max(np.abs(mode.z - before.z) / sd, initial=0.0))
        if moved < SETTLED and float(np.max(np.abs(weights - before_weights), initial=0.0)) < SETTLED:
            break
    return mode, scatter, weights
