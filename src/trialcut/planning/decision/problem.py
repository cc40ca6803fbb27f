"""A study's groups with what each choice costs and fails."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.cut_part import Cut
from trialcut.planning.decision.choices import ChoiceProblem, Group
from trialcut.planning.decision.fails import FailFinder
from trialcut.planning.decision.groups import EdgeGroup, edge_groups
from trialcut.planning.demands import DemandKind
from trialcut.planning.edge_times import edge_times
from trialcut.planning.levels import SURE_THROUGH
from trialcut.planning.money import recut_cost, running_cost
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance

FloatArray = NDArray[np.float64]

STAND_IN_ERROR = 0.04
"""By how much the odds of a preview may be too low for a choice to be looked at exactly. [-]"""
SURE = 0.9995
"""Odds of a preview above which slower cuts of the same stance are not looked at. [-]"""
TILT_SAVES = 1e-6
"""Share by which a tilted cut counts as cheaper: at equal speed it leaves a square wall at no cost. [-]"""

ON_WALL = frozenset({DemandKind.SIZE, DemandKind.SQUARENESS})
"""Demands that say how square a wall must be; without one it is cut as square as it can be."""


class Objective(StrEnum):
    """What is made small."""

    COST = "cost"
    TIME = "time"
    ERROR = "error"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One way to cut a group.

    Parameters
    ----------
    stance : Stance
        Of all its edges.
    row : int
        Speed of the preview's grid.
    """

    stance: Stance
    row: int


@dataclass(frozen=True, kw_only=True)
class Decisions:
    """All choices of a study on one basis.

    Parameters
    ----------
    preview : Preview
        Of the study.
    groups : tuple of EdgeGroup
        Cut alike.
    choices : tuple of tuple of Choice
        Of each group.
    costs : tuple of ndarray
        Of each choice: seconds, money, or the sum of its walls' errors. [s, currency or m]
    fails : tuple of ndarray of bool
        Of each choice, shape (K, D).
    corrected : bool
        Whether a first piece is measured and corrected.
    finder : FailFinder
        For ways of cutting between the choices.
    piece : float
        What it costs to cut one more piece, but for the choices' own cost.
    widths : mapping
        Demand id to how many times as wide its tolerance is taken; 1 for those left out. [-]
    """

    preview: Preview
    groups: tuple[EdgeGroup, ...]
    choices: tuple[tuple[Choice, ...], ...]
    costs: tuple[FloatArray, ...]
    fails: tuple[NDArray[np.bool_], ...]
    corrected: bool
    finder: FailFinder
    piece: float = 0.0
    widths: Mapping[str, float] = field(default_factory=dict)

    def problem(self, *, asked: float, keep: tuple[NDArray[np.bool_], ...] | None = None) -> ChoiceProblem:
        """Pose the choice so that all demands hold with the asked odds.

        Parameters
        ----------
        asked : float
            Joint odds. [-]
        keep : tuple of ndarray of bool, optional
            For each group the choices that are allowed.
        """
        draws = self.preview.prepared.study.draws
        groups = []
        for place, (cost, fails) in enumerate(zip(self.costs, self.fails, strict=True)):
            allowed = np.ones(cost.size, dtype=bool) if keep is None else keep[place]
            groups.append(Group(cost=cost, fails=np.where(allowed[:, None], fails, True)))
        return ChoiceProblem(
            groups=tuple(groups),
            budget=int(np.floor((1.0 - asked) * draws + 1e-9)),
            always=np.zeros(draws, dtype=bool),
            fixed=np.zeros(0),
            draw_cost=self._recut() / (asked * draws) if self.piece and asked > 0.0 else 0.0,
        )

    def _recut(self) -> float:
        """Return about what a piece costs that is cut again: with the cheapest choice that may hold."""
        return self.piece + sum(float(cost.min()) for cost in self.costs)

    def cuts(self, picks: NDArray[np.int64]) -> dict[str, Cut]:
        """Return the cut of every edge under some choices."""
        cuts = {}
        for group, choices, pick in zip(self.groups, self.choices, picks, strict=True):
            choice = choices[int(pick)]
            speed = float(self.preview.speeds[choice.row])
            cuts.update(dict.fromkeys(group.edges, Cut(speed, choice.stance)))
        return {edge: cuts[edge] for edge in self.preview.prepared.index}


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What both bases of a decision share.

    Parameters
    ----------
    preview : Preview
        Grid of speeds and stances.
    groups : tuple of EdgeGroup
        Cut alike.
    spent : tuple of mapping
        What each group costs in each stance at each speed of the grid, shape (S,). [s, currency or m]
    finder : FailFinder
        Remembers what it has found.
    objective : Objective
        What `spent` is.
    piece : float
        What one more piece costs but for its edges, where money is counted.
    """

    preview: Preview
    groups: tuple[EdgeGroup, ...]
    spent: tuple[Mapping[Stance, FloatArray], ...]
    finder: FailFinder
    objective: Objective = Objective.COST
    piece: float = 0.0


def ground_of(
    preview: Preview, *, objective: Objective = Objective.COST, groups: tuple[EdgeGroup, ...] | None = None
) -> Ground:
    """
    Gather what both bases of a decision share.

    Parameters
    ----------
    preview : Preview
        Grid of speeds and stances.
    objective : Objective
        What choices cost.
    groups : tuple of EdgeGroup, optional
        Edges cut alike; those that demands and looks join without it.
    """
    if groups is None:
        groups = edge_groups(preview)
    finder = FailFinder(prepared=preview.prepared)
    if objective is Objective.ERROR:
        spent, piece = tuple(_errors(preview, group) for group in groups), 0.0
    else:
        spent, piece = _running(preview, groups, objective)
    return Ground(
        preview=preview, groups=groups, spent=spent, finder=finder, objective=objective, piece=piece
    )


def _running(
    preview: Preview, groups: tuple[EdgeGroup, ...], objective: Objective
) -> tuple[tuple[Mapping[Stance, FloatArray], ...], float]:
    """Return time or money on the edges, and what the rest of one more piece costs."""
    prepared = preview.prepared
    times, whole = edge_times(preview)
    price = 1.0 if objective is Objective.TIME else running_cost(prepared.study)
    spent = []
    for group in groups:
        upright = price * times[[prepared.index[edge] for edge in group.edges]].sum(axis=0)
        spent.append(
            {stance: upright * (1.0 - TILT_SAVES * (stance is Stance.TILTED)) for stance in preview.tables}
        )
    if objective is Objective.TIME:
        return tuple(spent), 0.0
    return tuple(spent), recut_cost(prepared.study, whole) - price * float(whole.cutting.mean())


def _errors(preview: Preview, group: EdgeGroup) -> Mapping[Stance, FloatArray]:
    """Return the errors of a group's walls once corrected, added up."""
    positions = [preview.prepared.index[edge] for edge in group.edges]
    return {
        stance: np.sum([preview.worst_error(position, stance) for position in positions], axis=0)
        for stance in preview.tables
    }


def decisions(ground: Ground, *, corrected: bool) -> Decisions:
    """
    Lay out all choices of a study.

    Parameters
    ----------
    ground : Ground
        Of the study.
    corrected : bool
        Whether a first piece is measured and corrected.

    Returns
    -------
    Decisions
        Choices that the preview holds hopeless are left out, unless a group would have none.
    """
    preview, finder = ground.preview, ground.finder
    all_choices, all_costs, all_fails = [], [], []
    for group, spent in zip(ground.groups, ground.spent, strict=True):
        positions = [preview.prepared.index[edge] for edge in group.edges]
        rows = _promising(preview, group, positions, corrected=corrected, objective=ground.objective)
        choices = tuple(Choice(stance=stance, row=row) for stance, row in rows)
        all_choices.append(choices)
        all_costs.append(np.array([spent[each.stance][each.row] for each in choices]))
        all_fails.append(
            np.stack(
                [
                    finder.fails(
                        group, table=preview.tables[each.stance], row=each.row, stance=each.stance
                    ).on(corrected=corrected)
                    for each in choices
                ]
            )
        )
    return Decisions(
        preview=preview,
        groups=ground.groups,
        choices=tuple(all_choices),
        costs=tuple(all_costs),
        fails=tuple(all_fails),
        corrected=corrected,
        finder=finder,
        piece=ground.piece,
    )


def _promising(
    preview: Preview, group: EdgeGroup, positions: list[int], *, corrected: bool, objective: Objective
) -> list[tuple[Stance, int]]:
    """Return stances and rows whose odds on the preview may do, or the likeliest where none may."""
    asked = preview.prepared.study.asked_odds
    rows: list[tuple[float, Stance, int]] = []
    for stance, table in preview.tables.items():
        odds = table.through.mean(axis=1)
        odds = np.where(odds >= SURE_THROUGH, odds, 0.0)
        for demand in group.demands:
            odds = np.minimum(odds, preview.odds(demand, stance, corrected=corrected))
        allowed = np.logical_and.reduce([preview.allowed(stance, position) for position in positions])
        rows += [(float(odds[row]), stance, row) for row in np.flatnonzero(allowed).tolist()]
    slower_is_dearer = objective is not Objective.ERROR
    if slower_is_dearer and not any(demand.kind in ON_WALL for demand in group.demands):
        rows = [each for each in rows if each[1] is Stance.TILTED and each[0] >= asked] or rows
    least = min(asked, max(odds for odds, _, _ in rows)) - STAND_IN_ERROR
    if not slower_is_dearer or preview.prepared.acceptance:
        return [(stance, row) for odds, stance, row in rows if odds >= least]
    sure = {
        stance: max((row for odds, each, row in rows if each is stance and odds >= SURE), default=0)
        for stance in preview.tables
    }
    return [(stance, row) for odds, stance, row in rows if odds >= least and row >= sure[stance]]
