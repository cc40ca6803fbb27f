"""Every way to finish every group of edges, with what it costs and under which draws it fails."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import EdgeKind
from trialcut.planning.decision.choices import ChoiceProblem, Group
from trialcut.planning.decision.eased import eased_choices
from trialcut.planning.decision.groups import EdgeGroup
from trialcut.planning.decision.problem import Choice, Ground
from trialcut.planning.edge_times import edge_times
from trialcut.planning.evaluate import EdgeState, outcome
from trialcut.planning.money import running_cost
from trialcut.planning.operations import Operation, OperationKind
from trialcut.planning.prepared import PreparedStudy
from trialcut.planning.results import Stance
from trialcut.planning.routes.chains import STRAIGHT, Chain, chains_of
from trialcut.planning.routes.machined import lowest_sound, machined_state, relocation
from trialcut.planning.stock import least_stock
from trialcut.planning.study import Study
from trialcut.planning.walls import EdgeWall, bare_walls, placed_wall, with_chance

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

RMS_OVER_RA = float(np.sqrt(0.5 * np.pi))
"""Rq over Ra of a machined face, for heights that are normal. [-]"""
CLEAN_UP_SHARE = 0.5
"""Of the draws that may fail, kept for stock that does not clean up: our own working value. [-]"""


@dataclass(frozen=True, kw_only=True)
class Charge:
    """Paid once for all edges that need it, per piece: an operation's set-up, a station's handling."""

    name: str
    cost: float


@dataclass(frozen=True, kw_only=True)
class RouteChoice:
    """One way to finish a group.

    Parameters
    ----------
    chain : Chain
        Its steps.
    jet : Choice or None
        How the jet cuts; None where it does not.
    stock : float
        Left by the jet for the first operation. [m]
    between : float
        Left by the first operation for the second. [m]
    """

    chain: Chain
    jet: Choice | None
    stock: float = 0.0
    between: float = 0.0


@dataclass(frozen=True, kw_only=True)
class RouteGroup:
    """A group with all its ways, on one basis.

    Parameters
    ----------
    group : EdgeGroup
        Finished alike.
    outline : bool
        Whether any edge is of the outline.
    choices : tuple of RouteChoice
        Its ways.
    cost : ndarray, shape (K,)
        Per piece, without charges. [currency]
    fails : ndarray of bool, shape (K, D)
        Draws that fail.
    charges : tuple of frozenset of int
        Of each way.
    lean : mapping
        For each cut by the jet how far out of square it leaves the outline's edges, shape (D,); empty for
        openings. [m]
    """

    group: EdgeGroup
    outline: bool
    choices: tuple[RouteChoice, ...]
    cost: FloatArray
    fails: BoolArray
    charges: tuple[frozenset[int], ...]
    lean: Mapping[Choice, FloatArray]

    def fails_to_clamp(self, limit: float) -> BoolArray:
        """Return the draws that leave the outline further out of square than a limit, shape (K, D)."""
        none = np.zeros(self.fails.shape[1], dtype=bool)
        far = {jet: lean > limit for jet, lean in self.lean.items()}
        return np.stack([none if each.jet is None else far.get(each.jet, none) for each in self.choices])


@dataclass(frozen=True, kw_only=True)
class RouteLayout:
    """All groups on one basis.

    Parameters
    ----------
    ground : Ground
        With the preview.
    groups : tuple of RouteGroup
        All.
    charges : tuple of Charge
        That ways may need.
    corrected : bool
        Whether a first piece is measured and corrected.
    """

    ground: Ground
    groups: tuple[RouteGroup, ...]
    charges: tuple[Charge, ...]
    corrected: bool

    def problem(
        self, allowed: Callable[[RouteGroup, RouteChoice], bool], *, asked: float, clamp: float = inf
    ) -> ChoiceProblem | None:
        """Pose the choice among allowed ways, outlines square to a limit; None where a group has none."""
        draws = self.ground.preview.prepared.study.draws
        groups = []
        for each in self.groups:
            keep = np.array([allowed(each, choice) for choice in each.choices])
            if not keep.any():
                return None
            fails = np.where(keep[:, None], each.fails | each.fails_to_clamp(clamp), True)
            groups.append(Group(cost=each.cost, fails=fails, charges=each.charges))
        recut = self.ground.piece + sum(float(each.cost.min()) for each in self.groups)
        return ChoiceProblem(
            groups=tuple(groups),
            budget=int(np.floor((1.0 - asked) * draws + 1e-9)),
            always=np.zeros(draws, dtype=bool),
            fixed=np.array([charge.cost for charge in self.charges]),
            draw_cost=max(recut, 0.0) / (asked * draws),
        )


def route_layout(ground: Ground, *, corrected: bool) -> RouteLayout:
    """
    Lay out every way to finish every group.

    Parameters
    ----------
    ground : Ground
        Of the study, groups split between outline and openings.
    corrected : bool
        Whether a first piece is measured and corrected.

    Returns
    -------
    RouteLayout
        On that basis.
    """
    study = ground.preview.prepared.study
    eased = eased_choices(ground, corrected=corrected).laid_out
    charges = _charges(study)
    place = {charge.name: number for number, charge in enumerate(charges)}
    maker = _Maker(ground=ground, corrected=corrected)
    groups = []
    for group, jets, cost, fails in zip(eased.groups, eased.choices, eased.costs, eased.fails, strict=True):
        ways = [
            _Way(RouteChoice(chain=STRAIGHT, jet=jet), float(each), row)
            for jet, each, row in zip(jets, cost, fails, strict=True)
        ]
        for chain in chains_of(study, group)[1:]:
            ways += maker.machined(group, chain, jets, cost)
        outline = {edge.id for edge in study.part.outline.edges}
        groups.append(
            RouteGroup(
                group=group,
                outline=bool(outline & set(group.edges)),
                choices=tuple(way.choice for way in ways),
                cost=np.array([way.cost for way in ways]),
                fails=np.stack([way.fails for way in ways]),
                lean={jet: maker.lean(group, jet) for jet in jets} if outline & set(group.edges) else {},
                charges=tuple(
                    frozenset(place[name] for name in charge_names(study, way.choice.chain)) for way in ways
                ),
            )
        )
    return RouteLayout(ground=ground, groups=tuple(groups), charges=charges, corrected=corrected)


@dataclass(frozen=True)
class _Way:
    choice: RouteChoice
    cost: float
    fails: BoolArray


def used_operations(study: Study, chain: Chain) -> tuple[Operation, ...]:
    """Return the operations of a chain, with the one that takes off its burr if the shop has it."""
    burr = next((each for each in study.operations if each.kind is OperationKind.DEBURR), None)
    return (*chain.operations, *((burr,) if chain.burrs and burr else ()))


def charge_names(study: Study, chain: Chain) -> tuple[str, ...]:
    """Return the names of what a chain needs paid once."""
    used = used_operations(study, chain)
    return tuple(
        dict.fromkeys(
            [f"set-up of {each.name}" for each in used] + [f"handling, {each.station}" for each in used]
        )
    )


def _charges(study: Study) -> tuple[Charge, ...]:
    found: dict[str, float] = {}
    for each in study.operations:
        found[f"set-up of {each.name}"] = each.price * each.setup_time / study.quantity
        station = f"handling, {each.station}"
        found[station] = max(found.get(station, 0.0), each.price * each.handling_time)
    return tuple(Charge(name=name, cost=cost) for name, cost in found.items())


def operation_time(study: Study, operation: Operation, edges: tuple[str, ...], *, stock: float) -> float:
    """Return the time of an operation on some edges, without set-up and handling. [s]"""
    total = 0.0
    for name in edges:
        edge = study.part.edge(name)
        total += operation.time(
            length=edge.length,
            thickness=study.setup.thickness,
            material=study.setup.material.name,
            stock=stock,
            diameter=2.0 * edge.radius if edge.kind is EdgeKind.CIRCLE else 0.0,
        )
    return total


def times_of(study: Study, edges: tuple[str, ...], choice: RouteChoice) -> Mapping[str, float]:
    """Return the time of each operation of a way on some edges, by name. [s]"""
    stocks = [choice.stock, choice.between]
    times = {}
    for number, operation in enumerate(used_operations(study, choice.chain)):
        stock = stocks[number] if number < len(choice.chain.operations) else 0.0
        times[operation.name] = operation_time(study, operation, edges, stock=stock)
    return times


class _Maker:
    """Makes the ways of one study, remembering walls that several share."""

    def __init__(self, *, ground: Ground, corrected: bool) -> None:
        self.ground, self.corrected = ground, corrected
        self.prepared = ground.preview.prepared
        self.study = self.prepared.study
        self.odds = 1.0 - CLEAN_UP_SHARE * (1.0 - self.study.asked_odds) / len(ground.groups)
        _, whole = edge_times(ground.preview)
        runs = len(self.prepared.path.runs)
        leads = float(whole.cutting.mean()) - sum(whole.edges.values())
        jet = running_cost(self.study) * (leads + float(whole.piercing.mean()))
        self.run_cost = (jet + self.study.prices.machine * float(whole.traverse.mean())) / runs
        self._outline = {edge.id for edge in self.study.part.outline.edges}
        self._walls: dict[tuple[str, Choice], EdgeWall] = {}
        self._bare: dict[tuple[Stance, float], FloatArray] = {}

    def lean(self, group: EdgeGroup, jet: Choice) -> FloatArray:
        """Return how far out of square a cut leaves the outline's edges of a group, shape (D,). [m]"""
        spread = [np.ptp(self._wall(edge, jet), axis=0) for edge in group.edges if edge in self._outline]
        return np.asarray(np.max(spread, axis=0))

    def machined(
        self, group: EdgeGroup, chain: Chain, jets: tuple[Choice, ...], cost: FloatArray
    ) -> list[_Way]:
        """Return the ways of one chain: one for each rough cut that it can follow."""
        missed = self._missed(group, chain)
        between = self._between(group, chain)
        if between is None:
            return []
        if not chain.jetted:
            first = chain.operations[0]
            choice = RouteChoice(chain=chain, jet=None, stock=first.stock_least, between=between)
            saved = self.run_cost * len({self.study.part.edge(edge).contour for edge in group.edges})
            return [_Way(choice, self._spent(group, choice) - saved, missed)]
        ways = []
        for jet, jetting in zip(jets, cost, strict=True):
            first = chain.operations[0]
            lowest = np.array([self.lowest(edge, jet, first) for edge in group.edges])
            stock = max(least_stock(lowest, odds=self.odds), first.stock_least)
            if not first.takes(stock + 0.0) or (len(chain.operations) > 1 and stock <= between):
                continue
            bare = (lowest + stock < 0.0).any(axis=0)
            through = self.ground.preview.tables[jet.stance].through[jet.row]
            choice = RouteChoice(chain=chain, jet=jet, stock=stock, between=between)
            ways.append(_Way(choice, float(jetting) + self._spent(group, choice), missed | bare | ~through))
        return ways

    def lowest(self, edge: str, jet: Choice, operation: Operation) -> FloatArray:
        """Return the lowest sound point of a rough wall aimed without stock, shape (D,). [m]"""
        preview, position = self.ground.preview, self.prepared.index[edge]
        finish = self.prepared.finish(preview.tables[jet.stance], jet.row)
        finish = finish * self.prepared.scatter.finish[position]
        return lowest_sound(self._wall(edge, jet), finish, relocation(self.study, operation, edge))

    def _spent(self, group: EdgeGroup, choice: RouteChoice) -> float:
        times = times_of(self.study, group.edges, choice)
        prices = {each.name: each.price for each in used_operations(self.study, choice.chain)}
        return sum(prices[name] * time for name, time in times.items())

    def _missed(self, group: EdgeGroup, chain: Chain) -> BoolArray:
        """Return the draws under which the finished walls fail a demand, shape (D,)."""
        between = self._between(group, chain)
        cleaned = cleans_between(self.study, group, chain, between=between or 0.0)
        return ~(machined_holds(self.prepared, group, chain) & cleaned)

    def _between(self, group: EdgeGroup, chain: Chain) -> float | None:
        """Return what the first of two operations leaves for the second; None where that cannot take it."""
        if len(chain.operations) == 1:
            return 0.0
        second = chain.last
        lowest = lowest_between(self.study, group, chain)
        stock = max(least_stock(lowest, odds=self.odds), second.stock_least)
        return stock if second.takes(stock) else None

    def _wall(self, edge: str, jet: Choice) -> FloatArray:
        """Return a rough wall aimed at the drawn edge, on the basis, shape (L, D). [m]"""
        if (edge, jet) not in self._walls:
            position = self.prepared.index[edge]
            bare = self._bare_walls(jet.stance, float(self.prepared.path_curvature[position]))[jet.row]
            depth = self.prepared.depth[position]
            placed = placed_wall(bare, aim=0.0, stance=jet.stance, depth=depth, offset_depth=depth)
            self._walls[edge, jet] = with_chance(self.prepared, placed, edge=position, stance=jet.stance)
        wall = self._walls[edge, jet]
        return wall.corrected if self.corrected else wall.now

    def _bare_walls(self, stance: Stance, curvature: float) -> FloatArray:
        key = (stance, curvature)
        if key not in self._bare:
            self._bare[key] = bare_walls(self.ground.preview.tables[stance], curvature)
        return self._bare[key]


def lowest_between(study: Study, group: EdgeGroup, chain: Chain) -> FloatArray:
    """Return the lowest sound point of each wall between two operations, shape (E, D). [m]"""
    first, second = chain.operations
    lowest = []
    for edge in group.edges:
        state = machined_state(study, first, study.part.edge(edge), aim=0.0)
        lowest.append(lowest_sound(state.wall.now, state.finish, relocation(study, second, edge)))
    return np.array(lowest)


def cleans_between(study: Study, group: EdgeGroup, chain: Chain, *, between: float) -> BoolArray:
    """Return the draws under which a second operation meets sound material everywhere, shape (D,)."""
    if len(chain.operations) == 1:
        return np.ones(study.draws, dtype=bool)
    return np.asarray(np.all(lowest_between(study, group, chain) + between >= 0.0, axis=0))


def machined_holds(prepared: PreparedStudy, group: EdgeGroup, chain: Chain) -> BoolArray:
    """Return the draws under which finished walls hold every demand of a group, shape (D,)."""
    study, last, states = prepared.study, chain.last, {}

    def state(edge: str) -> EdgeState:
        if edge not in states:
            aim = float(prepared.targets[prepared.index[edge]])
            states[edge] = machined_state(study, last, study.part.edge(edge), aim=aim)
        return states[edge]

    holds = np.ones(study.draws, dtype=bool)
    for demand in group.demands:
        found = outcome(
            demand,
            state=state,
            corner_lag={},
            rms_over_ra=np.full(study.draws, RMS_OVER_RA),
            acceptance=prepared.acceptance.get(demand.id),
        )
        holds &= found.holds
    return holds
