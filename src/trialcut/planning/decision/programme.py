"""The choice of all groups as a mixed-integer programme, with its bound."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from threading import Lock

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
INFEASIBLE = 2
"""What the solver says where no choice keeps the budget."""
_ONE_AT_A_TIME = Lock()


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
    solved = _programme(smaller, gap=gap, seconds=seconds)
    if solved is None:
        return None
    picks, bound = solved
    bound += smaller.draw_cost * float(smaller.always.sum())
    candidates = [] if picks is None else [picks]
    if picks is None or cost_of(smaller, picks) > bound + gap * abs(bound):
        quick = climb(smaller)
        if quick is not None:
            candidates.append(quick.picks)
            bound = max(bound, quick.bound)
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
    """Return picks, if any were found, and the bound; None where it is proven that there is no answer."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415, slow to import
    from scipy.sparse import coo_array  # noqa: PLC0415

    sizes = [group.cost.size for group in problem.groups]
    starts = np.concatenate([[0], np.cumsum(sizes)])
    x_count = int(starts[-1])
    patterns, weights = _patterns(problem)
    y_count, z_count = patterns.shape[1], problem.fixed.size
    total = x_count + y_count + z_count
    rows = _Rows()
    rows.add(np.repeat(np.arange(len(sizes)), sizes), np.arange(x_count), 1.0, low=1.0, high=1.0)
    for g, size in enumerate(sizes):
        here = patterns[starts[g] : starts[g] + size]
        failed = np.flatnonzero(here.any(axis=0))
        k, place = np.nonzero(here[:, failed])
        rows.add(
            np.concatenate([place, np.arange(failed.size)]),
            np.concatenate([starts[g] + k, x_count + failed]),
            np.concatenate([np.full(k.size, -1.0), np.ones(failed.size)]),
            low=0.0,
            high=np.inf,
        )
    spare = problem.budget - int(problem.always.sum())
    if y_count:
        budget = np.zeros(y_count, dtype=np.int64)
        rows.add(budget, x_count + np.arange(y_count), weights, low=-np.inf, high=float(spare))
    needed = [
        (x_count + y_count + charge, int(starts[g]) + k)
        for g, group in enumerate(problem.groups)
        for k, charges in enumerate(group.charges)
        for charge in charges
    ]
    if needed:
        pairs = np.array(needed, dtype=np.int64)
        numbers = np.repeat(np.arange(len(needed)), 2)
        rows.add(numbers, pairs.ravel(), np.tile([1.0, -1.0], len(needed)), low=0.0, high=np.inf)
    cost = np.concatenate(
        [*(group.cost for group in problem.groups), problem.draw_cost * weights, problem.fixed]
    )
    matrix = coo_array(
        (np.concatenate(rows.values), (np.concatenate(rows.rows), np.concatenate(rows.columns))),
        shape=(rows.count, total),
    ).tocsr()
    whole = np.concatenate([np.ones(x_count), np.zeros(y_count), np.ones(z_count)])
    with _silent_output():
        found = milp(
            cost,
            constraints=LinearConstraint(matrix, np.concatenate(rows.low), np.concatenate(rows.high)),
            integrality=whole,
            bounds=Bounds(np.zeros(total), np.ones(total)),
            options={"mip_rel_gap": gap, "time_limit": seconds},
        )
    if found.x is None:
        if found.status == INFEASIBLE:
            return None
        bound = getattr(found, "mip_dual_bound", None)
        return None, -np.inf if bound is None else float(bound)
    picks = np.array(
        [int(found.x[starts[g] : starts[g + 1]].argmax()) for g in range(len(sizes))], dtype=np.int64
    )
    if int(failing_draws(problem, picks).sum()) > problem.budget:
        return None, float(found.mip_dual_bound)
    return picks, float(found.mip_dual_bound)


class _Rows:
    """Rows of a sparse matrix with their limits, gathered block by block."""

    def __init__(self) -> None:
        self.count = 0
        self.rows: list[NDArray[np.int64]] = []
        self.columns: list[NDArray[np.int64]] = []
        self.values: list[NDArray[np.float64]] = []
        self.low: list[NDArray[np.float64]] = []
        self.high: list[NDArray[np.float64]] = []

    def add(
        self,
        numbers: NDArray[np.int64],
        columns: NDArray[np.int64],
        values: NDArray[np.float64] | float,
        *,
        low: float,
        high: float,
    ) -> None:
        """Add a block: of each entry the number of its row, its column, its value; limits of all rows."""
        more = int(numbers.max()) + 1 if numbers.size else 0
        self.rows.append(self.count + numbers)
        self.columns.append(columns)
        self.values.append(np.broadcast_to(np.asarray(values, dtype=float), numbers.shape))
        self.low.append(np.full(more, low))
        self.high.append(np.full(more, high))
        self.count += more


@contextmanager
def _silent_output() -> Iterator[None]:
    """Keep off standard output what the solver's library writes there past Python."""
    with _ONE_AT_A_TIME:
        try:
            kept = os.dup(1)
        except OSError:  # no standard output at all
            yield
            return
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, 1)
            yield
        finally:
            os.dup2(kept, 1)
            os.close(kept)
            os.close(nowhere)


def _patterns(problem: ChoiceProblem) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Return which choices fail, shape (X, Y), for the draws that any fails, and how many draws are alike."""
    fails = np.concatenate([group.fails for group in problem.groups])[:, ~problem.always]
    fails = fails[:, fails.any(axis=0)]
    if not fails.shape[1]:
        return fails, np.zeros(0)
    packed = np.packbits(fails, axis=0)
    _, first, counts = np.unique(packed, axis=1, return_index=True, return_counts=True)
    return fails[:, first], counts.astype(np.float64)
