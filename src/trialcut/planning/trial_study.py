"""A study as a lot that trials can sharpen: conditions, groups of edges, prices, over the grid of speeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.edge_times import edge_times
from trialcut.planning.money import lot_cost, running_cost
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.trial_lot import Condition, EdgeGroup, Lot, LotPrices

FloatArray = NDArray[np.float64]

MOST_ALIKE = 8
"""Alike edges whose chance is played apart; beyond, the unluckiest of so many stands for all."""
COUNTED = frozenset((DemandKind.SIZE, DemandKind.SQUARENESS, DemandKind.FINISH))
"""Kinds of demand whose odds hang on speed and stance alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GridCut:
    """One cut of the grid: a stance and a row of its table."""

    stance: Stance
    row: int
    speed: float


@dataclass(frozen=True, kw_only=True)
class StudyLot:
    """A study's lot and what its numbers stand for.

    Parameters
    ----------
    preview : Preview
        Of the study.
    lot : Lot
        For planning under many states of knowledge.
    cuts : tuple of GridCut
        The S cuts, in the lot's order.
    demands : tuple of tuple of Demand
        Alike demands behind each condition.
    """

    preview: Preview
    lot: Lot
    cuts: tuple[GridCut, ...]
    demands: tuple[tuple[Demand, ...], ...]


def study_lot(preview: Preview) -> StudyLot:
    """Gather alike demands and alike edges of a study, and price them.

    Parameters
    ----------
    preview : Preview
        Of the study.

    Returns
    -------
    StudyLot
        With as many draws as the study has.
    """
    stances = tuple(reversed(preview.tables))  # of equally fast cuts the tilted one first, as in a plan
    cuts = tuple(
        GridCut(stance=stance, row=row, speed=float(preview.speeds[row]))
        for row in reversed(range(preview.speeds.size))
        for stance in stances
    )
    alike: dict[tuple[object, ...], list[Demand]] = {}
    for demand in preview.prepared.study.demands:
        if demand.kind in COUNTED:
            alike.setdefault(preview.demand_likeness(demand), []).append(demand)
    demands = tuple(tuple(each) for each in alike.values())
    build = _Conditions(preview, cuts, stances)
    times, prices = _times_and_prices(preview)
    now = tuple(build.condition(each, corrected=False) for each in demands)
    lot = Lot(
        now=now,
        corrected=tuple(
            first if each[0].kind is DemandKind.FINISH else build.condition(each, corrected=True)
            for first, each in zip(now, demands, strict=True)
        ),
        through=np.log(np.stack([preview.tables[cut.stance].speed_ratio[cut.row] for cut in cuts])),
        groups=_groups(preview, cuts, demands, times),
        prices=prices,
        asked=preview.prepared.study.asked_odds,
    )
    return StudyLot(preview=preview, lot=lot, cuts=cuts, demands=demands)


class _Conditions:
    """Makes conditions of demands, with cuts in the order of a lot."""

    def __init__(self, preview: Preview, cuts: Sequence[GridCut], stances: Sequence[Stance]) -> None:
        self.preview = preview
        self.cuts = cuts
        self.stances = stances
        self.variant = np.array([stances.index(cut.stance) for cut in cuts], dtype=np.intp)

    def condition(self, alike: Sequence[Demand], *, corrected: bool) -> Condition:
        demand = alike[0]
        if demand.kind is DemandKind.SIZE:
            return self._size(demand, len(alike), corrected=corrected)
        if demand.kind is DemandKind.SQUARENESS:
            return self._square(demand, len(alike), corrected=corrected)
        return self._finish(demand, len(alike))

    def _size(self, demand: Demand, count: int, *, corrected: bool) -> Condition:
        preview = self.preview
        edges = [preview.prepared.index[edge] for edge in demand.edges]
        high: dict[Stance, FloatArray] = {}
        low: dict[Stance, FloatArray] = {}
        chance: dict[Stance, tuple[FloatArray, FloatArray]] = {}
        aim = demand.nominal + sum(
            weight * float(preview.prepared.targets[edge])
            for weight, edge in zip(demand.weights, edges, strict=True)
        )
        for stance in self.stances:
            upper: FloatArray = np.zeros(1)
            lower, above, below = upper, upper, upper
            for order, (weight, edge) in enumerate(zip(demand.weights, edges, strict=True)):
                walls = preview.extremes(stance, edge, depth=demand.depth, corrected=corrected)
                luck = preview.luck(edge, order, stance, corrected=corrected)
                first, second = (walls.high, walls.low) if weight > 0.0 else (walls.low, walls.high)
                upper, lower = upper + weight * first, lower + weight * second
                first, second = luck if weight > 0.0 else luck[::-1]
                above, below = above + weight * first, below + weight * second
            high[stance], low[stance], chance[stance] = upper, lower, (above, below)
        top, bottom = self._by_cut(high), self._by_cut(low)
        above = np.stack([_limit(demand.upper, np.inf) - aim - chance[each][0] for each in self.stances])
        below = np.stack([aim + chance[each][1] - _limit(demand.lower, -np.inf) for each in self.stances])
        return self._made(top - bottom, 0.5 * (top + bottom), above, below, count=count, name=demand.id)

    def _square(self, demand: Demand, count: int, *, corrected: bool) -> Condition:
        edge = self.preview.prepared.index[demand.edges[0]]
        lean = {
            stance: self.preview.extremes(stance, edge, depth=Depth.EVERY, corrected=corrected).out_of_square
            for stance in self.stances
        }
        limit = _limit(demand.upper, np.inf)
        above = np.stack(
            [limit - self.preview.lean_luck(edge, each, corrected=corrected) for each in self.stances]
        )
        return self._made(self._by_cut(lean), None, above, above, count=count, name=demand.id)

    def _finish(self, demand: Demand, count: int) -> Condition:
        preview = self.preview
        edge = preview.prepared.index[demand.edges[0]]
        rms = np.asarray(preview.prepared.parameters.rq_over_ra) if demand.finish_is_rms else 1.0
        height = {stance: np.log(preview.tables[stance].finish_ra * rms) for stance in self.stances}
        room = np.log(_limit(demand.upper, np.inf)) - np.log(preview.finish_luck(edge))
        above = np.stack([room for _ in self.stances])
        return self._made(
            self._by_cut(height), None, above, above, count=count, name=demand.id, positive=False
        )

    def _by_cut(self, table: dict[Stance, FloatArray]) -> FloatArray:
        return np.stack([table[cut.stance][cut.row] for cut in self.cuts])

    def _made(
        self,
        spread: FloatArray,
        centre: FloatArray | None,
        above: FloatArray,
        below: FloatArray,
        *,
        count: int,
        name: str,
        positive: bool = True,
    ) -> Condition:
        return Condition(
            spread=spread,
            centre=centre,
            above=above,
            below=below,
            above_all=_unluckiest(above, count, name),
            below_all=_unluckiest(below, count, name),
            variant=self.variant,
            positive=positive,
        )


def _unluckiest(room: FloatArray, count: int, name: str) -> FloatArray:
    """Return the least room among edges that are alike, their chance shuffled against each other."""
    if count == 1:
        return room
    generator = np.random.default_rng(crc32(name.encode()))
    least = room
    for _ in range(min(count, MOST_ALIKE) - 1):
        least = np.minimum(least, room[:, generator.permutation(room.shape[1])])
    return least


def _limit(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _groups(
    preview: Preview,
    cuts: Sequence[GridCut],
    demands: Sequence[Sequence[Demand]],
    times: FloatArray,
) -> tuple[EdgeGroup, ...]:
    """Gather edges that look alike and have like demands."""
    on_edge: dict[str, list[int]] = {edge: [] for edge in preview.prepared.index}
    for place, alike in enumerate(demands):
        for demand in alike:
            for edge in demand.edges:
                if place not in on_edge[edge]:
                    on_edge[edge].append(place)
    gathered: dict[tuple[object, ...], list[str]] = {}
    for edge, position in preview.prepared.index.items():
        gathered.setdefault((preview.likeness(position), tuple(on_edge[edge])), []).append(edge)
    groups = []
    for edges in gathered.values():
        positions = [preview.prepared.index[edge] for edge in edges]
        allowed = {stance: preview.allowed(stance, positions[0]) for stance in preview.tables}
        by_row = times[positions].sum(axis=0)
        groups.append(
            EdgeGroup(
                edges=tuple(edges),
                time=np.array([by_row[cut.row] for cut in cuts]),
                allowed=np.array([allowed[cut.stance][cut.row] for cut in cuts]),
                conditions=tuple(on_edge[edges[0]]),
            )
        )
    return tuple(groups)


def _times_and_prices(preview: Preview) -> tuple[FloatArray, LotPrices]:
    """Return the time of each edge at each speed, shape (E, K), and the prices of all else."""
    study = preview.prepared.study
    times, middle = edge_times(preview)
    leads = float(np.mean(middle.cutting)) - sum(middle.edges.values())
    cost = lot_cost(study, middle, first_piece=False, odds_now=1.0)
    material = sum(line.each.mean for line in cost.lines if line.name == "material")
    jet = running_cost(study)
    fixed = float(np.mean(middle.traverse)) + study.prices.handling_time
    return times, LotPrices(
        cutting=jet,
        piece=jet * (leads + float(np.mean(middle.piercing))) + study.prices.machine * fixed + material,
        lot=study.prices.machine * study.prices.setup_time,
        first_piece=study.prices.machine * study.prices.measuring_time,
        quantity=study.quantity,
    )
