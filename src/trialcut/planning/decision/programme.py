"""The choice of all groups as a mixed-integer programme, with its bound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.decision.choices import (
    ChoiceProblem,
    ChoiceSolution,
    climb,
    cost_of,
    failing_draws,
    pruned,
)

GAP = 0.01
"""Proven nearness to the best at which the search may stop. [-]"""
SECONDS = 3.0
"""Longest search."""


def best_choices(
    problem: ChoiceProblem, *, gap: float = GAP, seconds: float = SECONDS
) -> ChoiceSolution | None:
    """
    Choose for every group so that the sum costs least and the budget of failing draws is kept.

    Parameters
    ----------
    problem : ChoiceProblem
        Groups that share draws.
    gap : float
        Proven nearness to the best at which the search may stop. [-]
    seconds : float
        Longest search; the best found so far is then returned with its bound.

    Returns
    -------
    ChoiceSolution or None
        None where no choices keep the budget.

    Notes
    -----
    min sum c_gk x_gk + sum f_c z_c + w sum y_d, one x a group, y_d >= sum of x_gk over the choices k of
    group g under which draw d fails, sum of y over the draws within the budget, z_c >= x_gk where choice k
    needs charge c; w is what a failing draw costs.
    Draws that the same choices fail are one row with their number as weight. Luedtke & Ahmed 2008,
    SIAM J. Optim. 19:674 (from memory) for chance constraints by sampled scenarios.
    """
    smaller, places = pruned(problem)
    if any(rows.size == 0 for rows in places):
        return None
    quick = climb(smaller)
    solved = _programme(smaller, gap=gap, seconds=seconds)
    bound = quick.bound if quick else -np.inf
    candidates = [] if quick is None else [quick.picks]
    if solved is not None:
        picks, bound = solved
        bound += smaller.draw_cost * float(smaller.always.sum())
        if picks is not None:
            candidates.append(picks)
    if not candidates:
        return None
    best = min(candidates, key=lambda each: cost_of(smaller, each))
    own = np.array([int(rows[pick]) for rows, pick in zip(places, best, strict=True)], dtype=np.int64)
    cost = cost_of(smaller, best)
    return ChoiceSolution(
        picks=own,
        cost=cost,
        failing=int(failing_draws(problem, own).sum()),
        bound=min(bound, cost),
    )


def quick_choices(problem: ChoiceProblem) -> ChoiceSolution | None:
    """
    Choose at once, without a proof.

    Parameters
    ----------
    problem : ChoiceProblem
        Groups that share draws.

    Returns
    -------
    ChoiceSolution or None
        From a climb; None where it finds no choices that keep the budget.
    """
    smaller, places = pruned(problem)
    quick = climb(smaller)
    if quick is None:
        return None
    own = np.array([int(rows[pick]) for rows, pick in zip(places, quick.picks, strict=True)], dtype=np.int64)
    return replace(quick, picks=own)


def _programme(
    problem: ChoiceProblem, *, gap: float, seconds: float
) -> tuple[NDArray[np.int64] | None, float] | None:
    """Return picks, if any were found, and the bound; None where there is no answer."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415, slow to import
    from scipy.sparse import coo_array  # noqa: PLC0415

    sizes = [group.cost.size for group in problem.groups]
    starts = np.concatenate([[0], np.cumsum(sizes)])
    x_count = int(starts[-1])
    patterns, weights = _patterns(problem)
    y_count, z_count = patterns.shape[1], problem.fixed.size
    total = x_count + y_count + z_count
    rows: list[NDArray[np.int64]] = []
    columns: list[NDArray[np.int64]] = []
    values: list[NDArray[np.float64]] = []
    low: list[float] = []
    high: list[float] = []

    def add(column: NDArray[np.int64], value: NDArray[np.float64], lower: float, upper: float) -> None:
        rows.append(np.full(column.size, len(low), dtype=np.int64))
        columns.append(column)
        values.append(value)
        low.append(lower)
        high.append(upper)

    for g, size in enumerate(sizes):
        add(starts[g] + np.arange(size), np.ones(size), 1.0, 1.0)
    for g, size in enumerate(sizes):
        here = patterns[starts[g] : starts[g] + size]
        for p in np.flatnonzero(here.any(axis=0)).tolist():
            failing = starts[g] + np.flatnonzero(here[:, p])
            add(
                np.append(failing, x_count + p).astype(np.int64),
                np.append(-np.ones(failing.size), 1.0),
                0.0,
                np.inf,
            )
    spare = problem.budget - int(problem.always.sum())
    if y_count:
        add(x_count + np.arange(y_count), weights, -np.inf, float(spare))
    for g, group in enumerate(problem.groups):
        for k, needed in enumerate(group.charges):
            for charge in needed:
                add(
                    np.array([x_count + y_count + charge, int(starts[g]) + k], dtype=np.int64),
                    np.array([1.0, -1.0]),
                    0.0,
                    np.inf,
                )
    cost = np.concatenate(
        [*(group.cost for group in problem.groups), problem.draw_cost * weights, problem.fixed]
    )
    matrix = coo_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(len(low), total)
    ).tocsr()
    whole = np.concatenate([np.ones(x_count), np.zeros(y_count), np.ones(z_count)])
    found = milp(
        cost,
        constraints=LinearConstraint(matrix, np.array(low), np.array(high)),
        integrality=whole,
        bounds=Bounds(np.zeros(total), np.ones(total)),
        options={"mip_rel_gap": gap, "time_limit": seconds},
    )
    if found.x is None:
        bound = getattr(found, "mip_dual_bound", None)
        return None if bound is None or not np.isfinite(bound) else (None, float(bound))
    picks = np.array(
        [int(found.x[starts[g] : starts[g + 1]].argmax()) for g in range(len(sizes))], dtype=np.int64
    )
    if int(failing_draws(problem, picks).sum()) > problem.budget:
        return None, float(found.mip_dual_bound)
    return picks, float(found.mip_dual_bound)


def _patterns(problem: ChoiceProblem) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Return which choices fail, shape (X, Y), for the draws that any fails, and how many draws are alike."""
    fails = np.concatenate([group.fails for group in problem.groups])[:, ~problem.always]
    fails = fails[:, fails.any(axis=0)]
    if not fails.shape[1]:
        return fails, np.zeros(0)
    packed = np.packbits(fails, axis=0)
    _, first, counts = np.unique(packed, axis=1, return_index=True, return_counts=True)
    return fails[:, first], counts.astype(np.float64)
