"""What is noticed about a fit, in plain words."""

from __future__ import annotations

import numpy as np

from trialcut.trials.posterior.effects import Scatter
from trialcut.trials.posterior.laplace import Laplace
from trialcut.trials.posterior.mode import Mode
from trialcut.trials.posterior.pareto import LARGEST_K
from trialcut.trials.posterior.patterns import residual_pattern
from trialcut.trials.posterior.problem import Flag, FloatArray, GroupScores, Problem
from trialcut.trials.posterior.robust import SLIP
from trialcut.trials.posterior.sampling import Sample

LEAST_SAMPLE = 200.0
FAR_FROM_PRIOR = 3.0
UNSEEN = 0.95
FITTED = "the fitted value"
IMPROBABLE = 1e-3


def flags_of(
    problem: Problem,
    *,
    scatter: Scatter,
    mode: Mode,
    laplace: Laplace,
    sample: Sample,
    scores: GroupScores,
    weights: FloatArray,
) -> tuple[Flag, ...]:
    """Look a fit over.

    Parameters
    ----------
    problem : Problem
        The readings.
    scatter : Scatter
        Of the readings about their prediction.
    mode : Mode
        The mode.
    laplace : Laplace
        The Gaussian approximation there.
    sample : Sample
        Of the posterior.
    scores : GroupScores
        Of the groups.
    weights : array, shape (N,)
        Robust weights.

    Returns
    -------
    tuple of Flag
        Bad ones first.
    """
    found = [
        *_of_the_search(mode, laplace),
        *_of_the_sample(sample),
        *_against_the_prior(problem, mode),
        *_patterns(problem, scatter, mode),
        *_outliers(problem, weights),
        *_unseen(problem, laplace),
        *_deciding_groups(problem, scores),
    ]
    return tuple(sorted(found, key=lambda flag: not flag.is_bad))


def _of_the_search(mode: Mode, laplace: Laplace) -> list[Flag]:
    flags = []
    if not mode.converged:
        flags.append(
            Flag(code="no-convergence", message="The search for the best parameters did not settle.")
        )
    if not laplace.identified:
        flags.append(
            Flag(
                code="not-identified", message="The readings do not determine all parameters, nor do priors."
            )
        )
    return flags


def _of_the_sample(sample: Sample) -> list[Flag]:
    flags = []
    size = sample.effective_sample_size
    if not size >= LEAST_SAMPLE:
        flags.append(
            Flag(
                code="low-ess",
                message=f"The sample is worth only {size:.0f} draws; {LEAST_SAMPLE:.0f} are needed.",
            )
        )
    if not sample.pareto_k <= LARGEST_K:
        flags.append(
            Flag(
                code="pareto-k",
                message=f"Few draws dominate the sample: tail index {sample.pareto_k:.2f} above {LARGEST_K}.",
            )
        )
    return flags


def _against_the_prior(problem: Problem, mode: Mode) -> list[Flag]:
    flags = []
    deviations = mode.z * np.sqrt(problem.prior_precision)
    for name, deviation in zip(problem.names, deviations, strict=True):
        if abs(deviation) > FAR_FROM_PRIOR:
            flags.append(
                Flag(
                    code="prior-data-conflict",
                    message=(
                        f"The readings put {name} {abs(deviation):.1f} standard deviations "
                        f"{'above' if deviation > 0 else 'below'} what was believed before."
                    ),
                    cause=(name,),
                )
            )
    p = misfit_probability(problem, mode)
    if p < IMPROBABLE:
        flags.append(
            Flag(
                code="prior-data-conflict",
                message=f"Readings as far from what was believed before have a probability of {p:.1g}.",
            )
        )
    return flags


def misfit_probability(problem: Problem, mode: Mode) -> float:
    """Probability of readings at least as far from the prior prediction as these.

    Parameters
    ----------
    problem : Problem
        The readings.
    mode : Mode
        The mode.

    Returns
    -------
    float
        From the squared Mahalanobis distance, chi-squared with one degree of freedom for each reading less
        one for each flat prior. In the linearised model that distance is twice the least cost.

    References
    ----------
    Box, G. E. P. 1980, J. R. Stat. Soc. A 143:383 (from memory)
    """
    from scipy.special import gammaincc  # noqa: PLC0415 - heavy

    squares = 2.0 * mode.cost
    if problem.censored is not None:
        squares += 2.0 * float(problem.censored(mode.z[:, None])[0])
    freedom = len(problem.values) - int(np.count_nonzero(problem.is_flat))
    return float(gammaincc(0.5 * freedom, 0.5 * max(squares, 0.0))) if freedom > 0 else 1.0


def _patterns(problem: Problem, scatter: Scatter, mode: Mode) -> list[Flag]:
    fitted = problem.values - mode.residuals
    return [
        Flag(
            code="residual-pattern",
            message=f"What is left over is not chance: it {pattern.what} {name} (p = {pattern.p:.1g}).",
            cause=(name,),
        )
        for name, values in {**problem.covariates, FITTED: fitted}.items()
        if (pattern := residual_pattern(scatter, mode.residuals, along=values)).p < IMPROBABLE
    ]


def _outliers(problem: Problem, weights: FloatArray) -> list[Flag]:
    return [
        Flag(
            code="outlier-reading",
            message=f"Reading {name} disagrees with all the others and counts {100.0 * weight:.0f} %.",
            cause=(name,),
        )
        for name, weight in zip(problem.reading_ids, weights, strict=True)
        if weight < SLIP
    ]


def _unseen(problem: Problem, laplace: Laplace) -> list[Flag]:
    ratio = np.sqrt(np.diag(laplace.covariance) * problem.prior_precision)
    unseen = tuple(name for name, each in zip(problem.names, ratio, strict=True) if each > UNSEEN)
    if not unseen:
        return []
    message = f"The readings say next to nothing about {', '.join(unseen)}."
    return [Flag(code="unseen-parameter", message=message, cause=unseen)]


def _deciding_groups(problem: Problem, scores: GroupScores) -> list[Flag]:
    flags = []
    for name, shift in zip(scores.names, scores.shift, strict=True):
        moved = tuple(problem.names[each] for each in np.flatnonzero(np.abs(shift) > 1.0))
        if moved:
            message = f"Without {name} the fit of {', '.join(moved)} would move by more than its spread."
            flags.append(Flag(code="one-group-decides", message=message, cause=(name, *moved)))
    return flags
