"""What a design teaches, and what one experiment more would add: rank updates over all candidates."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trialcut.trials.design.problem import Criterion, DesignProblem, FloatArray


def precision_of(problem: DesignProblem, design: Sequence[int]) -> FloatArray:
    """Return the precision of parameters and effects after a design, shape (F, F)."""
    picks = list(design)
    total = problem.start.copy()
    if picks:
        total += problem.informations[picks].sum(axis=0)
    return total


def score(problem: DesignProblem, precision: FloatArray) -> float:
    """Return what the criterion makes of a precision; more is better.

    Parameters
    ----------
    problem : DesignProblem
        Its criterion.
    precision : ndarray, shape (F, F)
        Of parameters and effects.

    Returns
    -------
    float
        Log determinant of the information about the wanted parameters for D, minus the weighted sum of
        variances for A and I.
    """
    if problem.criterion is Criterion.D:
        nuisance = problem.nuisance
        value = np.linalg.slogdet(precision)[1]
        if nuisance.size:
            value -= np.linalg.slogdet(precision[np.ix_(nuisance, nuisance)])[1]
        return float(value)
    return -float(np.sum(problem.weighting * np.linalg.inv(precision)))


def gains(problem: DesignProblem, precision: FloatArray) -> FloatArray:
    """Return by how much each candidate would raise the score, were it made as well, shape (C,).

    Parameters
    ----------
    problem : DesignProblem
        Candidates with whitened rows A, shape (C, N, F).
    precision : ndarray, shape (F, F)
        M, before.

    Returns
    -------
    ndarray, shape (C,)
        Never negative but for rounding.

    Notes
    -----
    With V = M^-1: log det(M + A'A) - log det M = log det(I + A V A'), and by Sherman, Morrison and Woodbury
    the trace of W V falls by tr[(I + A V A')^-1 A V W V A'].
    """
    rows = problem.whitened
    covariance = np.linalg.inv(precision)
    across = rows @ covariance
    inner = np.eye(rows.shape[1]) + across @ np.swapaxes(rows, 1, 2)
    if problem.criterion is Criterion.D:
        gained = np.linalg.slogdet(inner)[1]
        nuisance = problem.nuisance
        if nuisance.size:
            part = rows[:, :, nuisance]
            between = np.linalg.inv(precision[np.ix_(nuisance, nuisance)])
            gained = (
                gained
                - np.linalg.slogdet(
                    np.eye(rows.shape[1]) + part @ between @ np.swapaxes(part, 1, 2),
                )[1]
            )
        return np.asarray(gained, dtype=float)
    sought = across @ problem.weighting @ np.swapaxes(across, 1, 2)
    return np.asarray(np.trace(np.linalg.solve(inner, sought), axis1=1, axis2=2), dtype=float)
