"""All cuts of a study with how wide each tolerance must be for them: one look, any tolerances afterwards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.decision.fails import FailFinder, on_walls
from trialcut.planning.decision.groups import EdgeGroup
from trialcut.planning.decision.problem import Choice, Decisions, Ground
from trialcut.planning.levels import SURE_THROUGH
from trialcut.planning.preview import Preview

Needs = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True)
class EasedChoices:
    """Every cut that is thinkable, on one basis, with the tolerances that it needs.

    Parameters
    ----------
    laid_out : Decisions
        All choices, under the tolerances asked.
    needs : tuple of ndarray, shape (K, M + 1, D)
        Of each group: how many times as wide each of its tolerances would have to be, in the order of its
        demands that walls decide; the last row is infinite where the jet does not cut through. [-]
    """

    laid_out: Decisions
    needs: tuple[Needs, ...]

    def scaled(self, widths: Mapping[str, float]) -> Decisions:
        """Return the choices under other tolerances.

        Parameters
        ----------
        widths : mapping
            Demand id to how many times as wide its tolerance is taken; 1 for those left out, infinite to
            drop one. [-]
        """
        return replace(
            self.laid_out,
            fails=tuple(
                _fails(needs, group, widths)
                for needs, group in zip(self.needs, self.laid_out.groups, strict=True)
            ),
            widths=widths,
        )


def eased_choices(ground: Ground, *, corrected: bool) -> EasedChoices:
    """
    Look at every cut that is thinkable.

    Parameters
    ----------
    ground : Ground
        Of the study.
    corrected : bool
        Whether a first piece is measured and corrected.

    Returns
    -------
    EasedChoices
        All speeds of the grid in all stances that surely cut through and that the lag on arcs lets pass; the
        slowest of a group where none does.
    """
    preview = ground.preview
    choices = tuple(_thinkable(preview, group) for group in ground.groups)
    needs = tuple(
        _needs(preview, ground.finder, group, own, corrected=corrected)
        for group, own in zip(ground.groups, choices, strict=True)
    )
    costs = tuple(
        np.array([spent[each.stance][each.row] for each in own])
        for spent, own in zip(ground.spent, choices, strict=True)
    )
    laid_out = Decisions(
        preview=preview,
        groups=ground.groups,
        choices=choices,
        costs=costs,
        fails=tuple(_fails(each, group, {}) for each, group in zip(needs, ground.groups, strict=True)),
        corrected=corrected,
        finder=ground.finder,
        piece=ground.piece,
    )
    return EasedChoices(laid_out=laid_out, needs=needs)


def _thinkable(preview: Preview, group: EdgeGroup) -> tuple[Choice, ...]:
    positions = [preview.prepared.index[edge] for edge in group.edges]
    choices = []
    for stance, table in preview.tables.items():
        allowed = np.logical_and.reduce([preview.allowed(stance, position) for position in positions])
        through = table.through.mean(axis=1) >= SURE_THROUGH
        rows = np.flatnonzero(allowed & through)
        if not rows.size:
            rows = np.flatnonzero(allowed)[:1]
        choices += [Choice(stance=stance, row=row) for row in rows.tolist()]
    return tuple(choices)


def _needs(
    preview: Preview, finder: FailFinder, group: EdgeGroup, choices: tuple[Choice, ...], *, corrected: bool
) -> Needs:
    """Return what each choice of a group needs; a last row is infinite where it does not cut through."""
    demands, draws = on_walls(group), preview.prepared.study.draws
    needs = np.zeros((len(choices), len(demands) + 1, draws), dtype=np.float32)
    for own, choice in zip(needs, choices, strict=True):
        table = preview.tables[choice.stance]
        own[:-1] = finder.needs(group, table=table, row=choice.row, stance=choice.stance, corrected=corrected)
        own[-1, ~table.through[choice.row]] = np.inf
    return needs


def _fails(needs: Needs, group: EdgeGroup, widths: Mapping[str, float]) -> NDArray[np.bool_]:
    width = [widths.get(demand.id, 1.0) for demand in on_walls(group)]
    failing: NDArray[np.bool_] = needs[:, -1] > 1.0
    for place, each in enumerate(width):
        failing = failing | (needs[:, place] > np.float32(each))
    return failing
