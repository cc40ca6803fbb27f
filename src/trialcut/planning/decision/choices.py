"""One choice for each group so that few draws fail and the sum costs least: a chance-constrained choice.

Draws are the shared parameter draws of a forecast. A draw fails where any group fails under its choice, and
only so many may fail. The problem is solved as a mixed-integer programme; a greedy climb gives an answer at
once, and the programme's bound says how far from the best either can be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

SURE = 1e-9
"""Cost over cost below which two are held equal. [-]"""


@dataclass(frozen=True, kw_only=True)
class Group:
    """What one group may choose from.

    Parameters
    ----------
    cost : ndarray, shape (K,)
        Of each choice.
    fails : ndarray of bool, shape (K, D)
        Draws that fail under it.
    charges : tuple of frozenset of int
        For each choice the fixed charges that it needs paid; empty for none at all.
    """

    cost: FloatArray
    fails: BoolArray
    charges: tuple[frozenset[int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class ChoiceProblem:
    """Groups that share draws.

    Parameters
    ----------
    groups : tuple of Group
        At least one.
    budget : int
        Draws that may fail.
    always : ndarray of bool, shape (D,)
        Draws that fail whatever is chosen; they count against the budget.
    fixed : ndarray, shape (F,)
        Charges paid once if any choice needs them.
    draw_cost : float
        What each draw that fails costs: its share of a piece cut again.
    """

    groups: tuple[Group, ...]
    budget: int
    always: BoolArray
    fixed: FloatArray
    draw_cost: float = 0.0


@dataclass(frozen=True, kw_only=True)
class ChoiceSolution:
    """Choices found.

    Parameters
    ----------
    picks : ndarray of int, shape (G,)
        Choice of each group.
    cost : float
        With the fixed charges, and what failing draws cost.
    failing : int
        Draws that fail.
    bound : float
        No choice that keeps the budget costs less.
    """

    picks: IntArray
    cost: float
    failing: int
    bound: float

    @property
    def gap(self) -> float:
        """Cost over bound, less one. [-]"""
        return max(self.cost - self.bound, 0.0) / max(abs(self.bound), SURE)


def failing_draws(problem: ChoiceProblem, picks: Sequence[int] | IntArray) -> BoolArray:
    """Return the draws that fail under some choices, shape (D,)."""
    failing = problem.always.copy()
    for group, pick in zip(problem.groups, picks, strict=True):
        failing |= group.fails[pick]
    return failing


def cost_of(problem: ChoiceProblem, picks: Sequence[int] | IntArray) -> float:
    """Return what some choices cost: with fixed charges, and with the draws that fail."""
    total = _paid(problem, picks)
    if problem.draw_cost:
        total += problem.draw_cost * float(failing_draws(problem, picks).sum())
    return total


def _paid(problem: ChoiceProblem, picks: Sequence[int] | IntArray) -> float:
    paid: set[int] = set()
    total = 0.0
    for group, pick in zip(problem.groups, picks, strict=True):
        total += float(group.cost[pick])
        if group.charges:
            paid |= group.charges[pick]
    return total + float(problem.fixed[sorted(paid)].sum())


def pruned(problem: ChoiceProblem) -> tuple[ChoiceProblem, list[IntArray]]:
    """Leave out choices that no best answer needs.

    A choice goes if it alone breaks the budget, or if another of its group costs no more, needs no other
    charge, and fails on no other draw.

    Parameters
    ----------
    problem : ChoiceProblem
        Any.

    Returns
    -------
    tuple
        The smaller problem, and for each group the places of its choices in the larger one; a group without
        any choice left has an empty array.
    """
    kept_groups, places = [], []
    for group in problem.groups:
        alone = (group.fails | problem.always).sum(axis=1) <= problem.budget
        order = np.argsort(group.cost, kind="stable")
        rows = np.sort(_undominated(group, order[alone[order]]))
        places.append(rows)
        kept_groups.append(
            Group(
                cost=group.cost[rows],
                fails=group.fails[rows],
                charges=tuple(group.charges[k] for k in rows) if group.charges else (),
            )
        )
    return replace(problem, groups=tuple(kept_groups)), places


def _undominated(group: Group, order: IntArray) -> IntArray:
    """Return the choices, cheapest first, that no cheaper one of their group makes needless."""
    words = packed(group.fails)
    better: list[int] = []
    for k in order.tolist():
        worse = (words[better] & ~words[k]).any(axis=1)
        if group.charges:
            worse |= np.array([not group.charges[other] <= group.charges[k] for other in better], dtype=bool)
        if worse.all():
            better.append(k)
    return np.array(better, dtype=np.int64)


def packed(rows: BoolArray) -> NDArray[np.uint64]:
    """Return rows of yes and no with 64 of them in a word, shape (..., D / 64 rounded up)."""
    spare = -rows.shape[-1] % 64
    wide = np.concatenate([rows, np.zeros((*rows.shape[:-1], spare), dtype=bool)], axis=-1)
    return np.packbits(wide, axis=-1).view(np.uint64)


def climb(problem: ChoiceProblem) -> ChoiceSolution | None:
    """Answer at once: from the surest choices, take what saves most for each draw that it costs.

    Parameters
    ----------
    problem : ChoiceProblem
        Pruned, so that every choice keeps the budget by itself.

    Returns
    -------
    ChoiceSolution or None
        None where not even the surest choices of all groups keep the budget together; its bound is the sum
        of each group's cheapest choice.
    """
    if any(group.cost.size == 0 for group in problem.groups):
        return None
    state = _State(problem)
    if not state.make_sure():
        return None
    while state.take_best_saving():
        pass
    cheapest = sum(float(group.cost.min()) for group in problem.groups)
    return ChoiceSolution(
        picks=state.picks,
        cost=cost_of(problem, state.picks),
        failing=int(failing_draws(problem, state.picks).sum()),
        bound=cheapest,
    )


class _State:
    """Choices under way, with the number of groups that fail each draw."""

    def __init__(self, problem: ChoiceProblem) -> None:
        self.problem = problem
        self.words = [packed(group.fails) for group in problem.groups]
        self.picks: IntArray = np.array(
            [int(group.fails.sum(axis=1).argmin()) for group in problem.groups], dtype=np.int64
        )
        self.failed: IntArray = problem.always.astype(np.int64)
        for group, pick in zip(problem.groups, self.picks, strict=True):
            self.failed += group.fails[pick]

    def make_sure(self) -> bool:
        """Change one group at a time while fewer draws fail; say whether the budget is kept."""
        failing, improved = int((self.failed > 0).sum()), True
        while failing > self.problem.budget and improved:
            improved = False
            for g in range(len(self.picks)):
                counts = self._failing_with(g)
                if int(counts.min()) < failing:
                    self._pick(g, int(counts.argmin()))
                    failing, improved = int(counts.min()), True
        return failing <= self.problem.budget

    def take_best_saving(self) -> bool:
        """Take the change that saves most for each draw more that fails; say whether there was one."""
        best: tuple[float, int, int] | None = None
        now = int((self.failed > 0).sum())
        total = _paid(self.problem, self.picks)
        for g in range(len(self.picks)):
            saving = self._savings(g, total)
            if not (saving > SURE * abs(total)).any():
                continue
            failing = self._failing_with(g)
            saving = saving - self.problem.draw_cost * (failing - now)
            rate = np.where(
                (failing <= self.problem.budget) & (saving > SURE * abs(total)),
                saving / np.maximum(failing - now, 0.5),
                -np.inf,
            )
            k = int(rate.argmax())
            if np.isfinite(rate[k]) and (best is None or rate[k] > best[0]):
                best = (float(rate[k]), g, k)
        if best is None:
            return False
        self._pick(best[1], best[2])
        return True

    def _savings(self, g: int, total: float) -> FloatArray:
        group = self.problem.groups[g]
        if not group.charges:
            return np.asarray(group.cost[self.picks[g]] - group.cost)
        trial = self.picks.copy()
        savings = np.empty(group.cost.size)
        for k in range(group.cost.size):
            trial[g] = k
            savings[k] = total - _paid(self.problem, trial)
        return savings

    def _failing_with(self, g: int) -> IntArray:
        """Return how many draws fail under each choice of one group, the others as they are."""
        others = (self.failed - self.problem.groups[g].fails[self.picks[g]]) > 0
        more = np.bitwise_count(self.words[g] & ~packed(others)).sum(axis=1, dtype=np.int64)
        return np.asarray(int(others.sum()) + more)

    def _pick(self, g: int, k: int) -> None:
        fails = self.problem.groups[g].fails
        self.failed += fails[k].astype(np.int64) - fails[self.picks[g]].astype(np.int64)
        self.picks[g] = k
