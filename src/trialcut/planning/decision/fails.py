"""Under which draws a group of edges fails its demands, for any way of cutting it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.cut import CutTable
from trialcut.planning.cut_part import Cut
from trialcut.planning.decision.groups import EdgeGroup
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.evaluate import DemandOutcome, EdgeState, outcome
from trialcut.planning.prepared import BOTTOM, PreparedStudy
from trialcut.planning.results import Stance
from trialcut.planning.stock import clean_up_stock
from trialcut.planning.walls import PlacedWall, bare_walls, placed_wall, with_chance

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fails:
    """Draws that fail, shape (D,): as known now, and once a first piece has been measured and corrected."""

    now: BoolArray
    corrected: BoolArray

    def on(self, *, corrected: bool) -> BoolArray:
        """Return those of one basis."""
        return self.corrected if corrected else self.now


def on_walls(group: EdgeGroup) -> tuple[Demand, ...]:
    """Return the demands of a group that its walls decide: all but corners, which have speed limits."""
    return tuple(demand for demand in group.demands if demand.kind is not DemandKind.CORNER)


@dataclass(kw_only=True)
class FailFinder:
    """Finds the draws that fail.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    """

    prepared: PreparedStudy
    _known: dict[tuple[tuple[str, ...], Stance, float, float], Fails] = field(default_factory=dict)
    _bare: dict[tuple[int, float], FloatArray] = field(default_factory=dict)
    _rough: dict[tuple[Stance, float], FloatArray] = field(default_factory=dict)
    _placed: dict[tuple[object, ...], PlacedWall] = field(default_factory=dict)

    def fails(
        self, group: EdgeGroup, *, table: CutTable, row: int, stance: Stance, shift: float = 0.0
    ) -> Fails:
        """Return the draws under which any demand of a group fails, or the jet does not cut through.

        Parameters
        ----------
        group : EdgeGroup
            Cut alike.
        table : CutTable
            In the stance.
        row : int
            Speed of the table.
        stance : Stance
            Of all its edges.
        shift : float
            Added to where the walls are aimed, into the scrap. [m]

        Returns
        -------
        Fails
            Corners are left out: their speed limits see to them.
        """
        key = (group.edges, stance, float(table.speeds[row]), shift)
        if key not in self._known:
            self._known[key] = self._found(group, table, row, stance, shift)
        return self._known[key]

    def needs(
        self, group: EdgeGroup, *, table: CutTable, row: int, stance: Stance, corrected: bool
    ) -> FloatArray:
        """Return how wide each tolerance of a group must be for each draw to be accepted.

        Parameters
        ----------
        group, table, row, stance
            As for `fails`.
        corrected : bool
            Once a first piece has been measured and corrected.

        Returns
        -------
        ndarray, shape (M, D)
            Over the tolerance asked; a row for each demand of the group that a wall decides, in their order.
            Infinite where no width helps, and where the jet does not cut through.
        """
        found = self._outcomes(group, table, row, stance, 0.0)
        needs = [each.need_corrected if corrected else each.need for each in found]
        return np.array(needs).reshape(len(needs), self.prepared.study.draws)

    def _found(self, group: EdgeGroup, table: CutTable, row: int, stance: Stance, shift: float) -> Fails:
        now: BoolArray = ~table.through[row]
        corrected = now
        for found in self._outcomes(group, table, row, stance, shift):
            now, corrected = now | ~found.holds, corrected | ~found.holds_corrected
        return Fails(now=now, corrected=corrected)

    def _outcomes(
        self, group: EdgeGroup, table: CutTable, row: int, stance: Stance, shift: float
    ) -> Iterator[DemandOutcome]:
        states: dict[str, EdgeState] = {}

        def state(edge: str) -> EdgeState:
            if edge not in states:
                states[edge] = self._state(edge, table, row, stance, shift)
            return states[edge]

        rms = np.asarray(self.prepared.parameters.rq_over_ra)
        for demand in on_walls(group):
            acceptance = self.prepared.acceptance.get(demand.id)
            yield outcome(demand, state=state, corner_lag={}, rms_over_ra=rms, acceptance=acceptance)

    def of_cut(self, group: EdgeGroup, cut: Cut) -> Fails:
        """Return the same for a speed that is on no table yet."""
        table = self.prepared.table(cut.stance, [cut.speed])
        return self.fails(group, table=table, row=0, stance=cut.stance, shift=cut.shift)

    def _state(self, edge: str, table: CutTable, row: int, stance: Stance, shift: float) -> EdgeState:
        prepared, position = self.prepared, self.prepared.index[edge]
        curvature = float(prepared.path_curvature[position])
        bare = self._walls(table, curvature)[row]
        finish = self._finish(table, row, stance) * prepared.scatter.finish[position]
        stock = (
            clean_up_stock(prepared, edge=position, bare=bare, finish=finish[BOTTOM])
            if edge in prepared.later
            else 0.0
        )
        aim = float(prepared.targets[position]) + stock + shift
        depth, offset_depth = prepared.depth[position], prepared.offset_depth[position]
        key = (stance, float(table.speeds[row]), curvature, aim, depth, offset_depth)
        if key not in self._placed:
            self._placed[key] = placed_wall(
                bare, aim=aim, stance=stance, depth=depth, offset_depth=offset_depth
            )
        wall = with_chance(prepared, self._placed[key], edge=position, stance=stance)
        return EdgeState(wall=wall, finish=finish, through=table.through[row])

    def _finish(self, table: CutTable, row: int, stance: Stance) -> FloatArray:
        key = (stance, float(table.speeds[row]))
        if key not in self._rough:
            self._rough[key] = self.prepared.finish(table, row)
        return self._rough[key]

    def _walls(self, table: CutTable, curvature: float) -> FloatArray:
        if table.speeds.size == 1:
            return bare_walls(table, curvature)
        key = (id(table), curvature)
        if key not in self._bare:
            self._bare[key] = bare_walls(table, curvature)
        return self._bare[key]
