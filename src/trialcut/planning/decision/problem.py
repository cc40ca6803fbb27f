"""A study's groups with what each choice costs and fails."""

from __future__ import annotations

from dataclasses import dataclass
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
from trialcut.planning.money import running_cost
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
        Of each choice: seconds, or money. [s or currency]
    fails : tuple of ndarray of bool
        Of each choice, shape (K, D).
    corrected : bool
        Whether a first piece is measured and corrected.
    finder : FailFinder
        For ways of cutting between the choices.
    """

    preview: Preview
    groups: tuple[EdgeGroup, ...]
    choices: tuple[tuple[Choice, ...], ...]
    costs: tuple[FloatArray, ...]
    fails: tuple[NDArray[np.bool_], ...]
    corrected: bool
    finder: FailFinder

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
        )

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
    spent : tuple of ndarray
        What each group costs at each speed of the grid, shape (S,). [s or currency]
    finder : FailFinder
        Remembers what it has found.
    """

    preview: Preview
    groups: tuple[EdgeGroup, ...]
    spent: tuple[FloatArray, ...]
    finder: FailFinder


def ground_of(preview: Preview, *, objective: Objective = Objective.COST) -> Ground:
    """
    Gather what both bases of a decision share.

    Parameters
    ----------
    preview : Preview
        Grid of speeds and stances.
    objective : Objective
        What choices cost.
    """
    prepared = preview.prepared
    groups = edge_groups(preview)
    times, _ = edge_times(preview)
    price = 1.0 if objective is Objective.TIME else running_cost(prepared.study)
    return Ground(
        preview=preview,
        groups=groups,
        spent=tuple(
            price * times[[prepared.index[edge] for edge in group.edges]].sum(axis=0) for group in groups
        ),
        finder=FailFinder(prepared=prepared),
    )


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
        rows = _promising(preview, group, positions, corrected=corrected)
        choices = tuple(Choice(stance=stance, row=row) for stance, row in rows)
        all_choices.append(choices)
        all_costs.append(
            np.array(
                [spent[each.row] * (1.0 - TILT_SAVES * (each.stance is Stance.TILTED)) for each in choices]
            )
        )
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
    )


def _promising(
    preview: Preview, group: EdgeGroup, positions: list[int], *, corrected: bool
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
    if not any(demand.kind in ON_WALL for demand in group.demands):
        rows = [each for each in rows if each[1] is Stance.TILTED and each[0] >= asked] or rows
    least = min(asked, max(odds for odds, _, _ in rows)) - STAND_IN_ERROR
    sure = {
        stance: max((row for odds, each, row in rows if each is stance and odds >= SURE), default=0)
        for stance in preview.tables
    }
    return [(stance, row) for odds, stance, row in rows if odds >= least and row >= sure[stance]]
