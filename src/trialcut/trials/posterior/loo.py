"""How well each group of readings is predicted by a fit to all the others."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.laplace import laplace_at
from trialcut.trials.posterior.mode import find_mode
from trialcut.trials.posterior.pareto import LARGEST_K, log_sum_exp, smoothed
from trialcut.trials.posterior.problem import BoolArray, FloatArray, GroupScores, Problem
from trialcut.trials.posterior.sampling import Sample, sample_posterior

REFIT_ROUNDS = (600, 900)


def group_scores(
    problem: Problem,
    scatter: Scatter,
    sample: Sample,
    *,
    centre: FloatArray,
    correction: FloatArray,
    rng: np.random.Generator,
) -> GroupScores:
    """Score each group by the density that the others predict for it.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction, robust weights included.
    sample : Sample
        Of the posterior given all readings.
    centre : array, shape (P,)
        The mode, where a refit starts.
    correction : array, shape (N,)
        Added to the log-density of each reading.
    rng : numpy.random.Generator
        Source of chance for refits.

    Returns
    -------
    GroupScores
        By smoothed importance sampling; where its weights have a tail index above 0.7, by a fit without the
        group, as the ratio of the two evidences.

    References
    ----------
    Vehtari, A., Gelman, A. & Gabry, J. 2017, Stat. Comput. 27:1413; for groups that share effects: Burkner,
    P.-C., Gabry, J. & Vehtari, A. 2021, Comput. Stat. 36:1243 (from memory)
    """
    names = problem.group_names
    groups = np.array(problem.groups)
    mean, sd = _moments(sample.z, sample.log_weights)
    elpd, k = np.empty(len(names)), np.empty(len(names))
    exact, shift = np.zeros(len(names), dtype=np.bool_), np.zeros((len(names), problem.count))
    for number, name in enumerate(names):
        held = groups == name
        density = conditional_log_density(scatter, sample.residuals, held)
        log_weights, k[number] = smoothed(sample.log_ratio - density)
        z = sample.z
        if k[number] > LARGEST_K:
            again = _without_group(problem, scatter, held, centre=centre, rng=rng)
            exact[number] = again is not None
            if again is None:
                elpd[number] = np.nan
                continue
            z, log_weights = again.z, again.log_weights
            elpd[number] = sample.log_integral - again.log_integral
        else:
            elpd[number] = log_sum_exp(log_weights + density)
        elpd[number] += np.sum(correction[held])
        shift[number] = (_moments(z, log_weights)[0] - mean) / np.where(sd > 0.0, sd, 1.0)
    return GroupScores(names=names, elpd=elpd, pareto_k=k, exact=exact, shift=shift)


def conditional_log_density(scatter: Scatter, residuals: FloatArray, held: BoolArray) -> FloatArray:
    """Logarithm of the density of some readings given the others and the parameters.

    Parameters
    ----------
    scatter : Scatter
        Of the readings about their prediction.
    residuals : array, shape (N, D)
        Readings minus predictions, for each set of parameters.
    held : array of bool, shape (N,)
        Which readings.

    Returns
    -------
    array, shape (D,)
        Effects that the readings share with the others are learnt from the others.
    """
    block = scatter.precision[np.ix_(held, held)]
    lower = np.linalg.cholesky(block)
    pulled = scatter.precision[held] @ residuals
    whitened = np.linalg.solve(lower, pulled)
    log_det = 2.0 * float(np.sum(np.log(np.diag(lower))))
    squares = np.einsum("nd,nd->d", whitened, whitened)
    return np.asarray(-0.5 * (squares - log_det + len(block) * np.log(2.0 * np.pi)))


def subset(problem: Problem, keep: BoolArray) -> Problem:
    """The same problem with some of its readings only.

    Parameters
    ----------
    problem : Problem
        The readings.
    keep : array of bool, shape (N,)
        Which readings stay.

    Returns
    -------
    Problem
        Parameters, priors and censored observations unchanged.
    """
    kept = np.flatnonzero(keep)
    effects = problem.effects
    return replace(
        problem,
        values=problem.values[keep],
        noise_sd=problem.noise_sd[keep],
        predict=lambda columns: problem.predict(columns)[keep],
        effects=None if effects is None else lambda z: effects(z)[keep],
        groups=tuple(problem.groups[each] for each in kept),
        ids=tuple(problem.ids[each] for each in kept) if problem.ids else (),
        covariates={name: values[keep] for name, values in problem.covariates.items()},
    )


def _without_group(
    problem: Problem, scatter: Scatter, held: BoolArray, *, centre: FloatArray, rng: np.random.Generator
) -> Sample | None:
    rest = subset(problem, ~held)
    rest_scatter = scatter.without(~held)
    mode = find_mode(rest, rest_scatter, start=centre)
    laplace = laplace_at(rest, rest_scatter, mode)
    if not laplace.identified:
        return None
    return sample_posterior(rest, rest_scatter, laplace, rng=rng, rounds=REFIT_ROUNDS)


def _moments(z: FloatArray, log_weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    weights = np.exp(log_weights)
    mean = z @ weights
    return mean, np.sqrt(np.maximum((z - mean[:, None]) ** 2 @ weights, 0.0))
