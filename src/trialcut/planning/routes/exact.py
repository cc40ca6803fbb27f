"""A route as chosen, evaluated exactly: the jet's part rebuilt without what it does not cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.outline import box_of_part
from trialcut.planning.cut_part import Cut, CutPart, all_through, cut_in_thought, demand_outcomes
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.money import PriceLine, good_price, material_line, price_lines
from trialcut.planning.operations import OperationKind
from trialcut.planning.part_time import piece_time
from trialcut.planning.prepared import prepare
from trialcut.planning.routes.layout import (
    RouteChoice,
    RouteGroup,
    RouteLayout,
    cleans_between,
    machined_holds,
    times_of,
)
from trialcut.planning.routes.machined import lowest_sound, relocation
from trialcut.planning.study import Study

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class ExactRoute:
    """A route with its exact odds and price.

    Parameters
    ----------
    groups : tuple of (RouteGroup, RouteChoice)
        As chosen.
    part : CutPart or None
        What the jet cuts; None if it cuts nothing.
    odds, odds_now : float
        On the basis, and as known now. [-]
    first_piece : bool
        The basis.
    lines : list of PriceLine
        Of a piece, draw by draw.
    good : ndarray or None
        Of a piece that holds. [currency]
    time, jet_time : ndarray, shape (D,)
        Of a piece in all, and on the jet. [s]
    """

    groups: tuple[tuple[RouteGroup, RouteChoice], ...]
    part: CutPart | None
    odds: float
    odds_now: float
    first_piece: bool
    lines: list[PriceLine]
    good: FloatArray | None
    time: FloatArray
    jet_time: FloatArray

    @property
    def price(self) -> float:
        """Expected cost of a piece that holds."""
        return np.inf if self.good is None else float(self.good.mean())


def exact_route(layout: RouteLayout, picks: NDArray[np.int64]) -> ExactRoute:
    """
    Evaluate a route.

    Parameters
    ----------
    layout : RouteLayout
        On one basis.
    picks : ndarray of int
        Way of each group.

    Returns
    -------
    ExactRoute
        The jet's part is prepared anew: without openings that it does not cut, with stock where another
        operation follows.
    """
    whole = layout.ground.preview.prepared
    study = whole.study
    groups = tuple(
        (group, group.choices[int(pick)]) for group, pick in zip(layout.groups, picks, strict=True)
    )
    now = np.ones(study.draws, dtype=bool)
    for group, choice in groups:
        if not choice.chain.straight:
            now &= machined_holds(whole, group.group, choice.chain)
            now &= cleans_between(study, group.group, choice.chain, between=choice.between)
    holds = now.copy()
    jetted = [(group, choice) for group, choice in groups if choice.jet is not None]
    if not jetted:
        return _priced(study, groups, None, now=now, holds=holds, corrected=False)
    aims = {edge: float(whole.targets[position]) for edge, position in whole.index.items()}
    reduced = jet_study(study, groups, aims=aims)
    speeds = layout.ground.preview.speeds
    cuts = {
        edge: Cut(float(speeds[choice.jet.row]), choice.jet.stance)
        for group, choice in jetted
        if choice.jet is not None
        for edge in group.group.edges
    }
    prepared = prepare(reduced)
    part = cut_in_thought(prepared, {edge: cuts[edge] for edge in prepared.index})
    through = all_through(part)
    now &= through
    holds &= through
    for found in demand_outcomes(part):
        if found.demand.kind is not DemandKind.LATER or not _is_ours(found.demand):
            now &= found.holds
            holds &= found.holds_corrected
    for group, choice in jetted:
        if not choice.chain.straight:
            first = choice.chain.operations[0]
            for edge in group.group.edges:
                off = relocation(study, first, edge) + aims[edge]
                state = part.state(edge)
                now &= lowest_sound(state.wall.now, state.finish, off) >= 0.0
                holds &= lowest_sound(state.wall.corrected, state.finish, off) >= 0.0
    clamp = _clamped(groups)
    for rim in reduced.part.outline.edges if clamp is not None else ():
        wall = part.state(rim.id).wall
        now &= np.ptp(wall.now, axis=0) <= clamp
        holds &= np.ptp(wall.corrected, axis=0) <= clamp
    return _priced(study, groups, part, now=now, holds=holds, corrected=layout.corrected)


def _clamped(groups: tuple[tuple[RouteGroup, RouteChoice], ...]) -> float | None:
    """Return how square the outline must be for every operation that clamps on it; None for any. [m]"""
    wanted = [
        operation.clamp_squareness
        for _, choice in groups
        for operation in choice.chain.operations
        if operation.clamp_squareness is not None
    ]
    return min(wanted, default=None)


def jet_study(
    study: Study, groups: tuple[tuple[RouteGroup, RouteChoice], ...], *, aims: Mapping[str, float]
) -> Study:
    """Return what is left to the jet: its openings, its demands, and stock where others finish."""
    away = {edge for group, choice in groups if choice.jet is None for edge in group.group.edges}
    openings = tuple(
        opening for opening in study.part.openings if not {edge.id for edge in opening.edges} <= away
    )
    demands: list[Demand] = []
    for group, choice in groups:
        if choice.chain.straight:
            demands += group.group.demands
        elif choice.jet is not None:
            demands += [_left(edge, choice, aim=aims[edge]) for edge in group.group.edges]
    part = replace(study.part, openings=openings)
    return replace(study, part=part, demands=tuple(demands))


_OURS = "stock for "
LEAST_ALLOWANCE = 1e-9
"""Stock of a demand that states one, even where the next wall is aimed inside the drawn edge. [m]"""


def _left(edge: str, choice: RouteChoice, *, aim: float) -> Demand:
    return Demand(
        id=f"later-{edge}",
        kind=DemandKind.LATER,
        title=f"{edge}, stock for {choice.chain.operations[0].name}",
        text=f"{_OURS}{choice.chain.operations[0].name}",
        edges=(edge,),
        allowance=max(aim + choice.stock, LEAST_ALLOWANCE),
    )


def _is_ours(demand: Demand) -> bool:
    return demand.text.startswith(_OURS)


def _priced(
    study: Study,
    groups: tuple[tuple[RouteGroup, RouteChoice], ...],
    part: CutPart | None,
    *,
    now: BoolArray,
    holds: BoolArray,
    corrected: bool,
) -> ExactRoute:
    odds_now, odds = float(now.mean()), float((holds if corrected else now).mean())
    if part is None:
        zero = np.zeros(study.draws)
        jet_time, lines = zero, _without_jet(study)
    else:
        time = piece_time(part)
        jet_time = time.cutting + time.piercing + time.traverse
        lines = price_lines(part.prepared.study, time, first_piece=corrected, odds_now=odds_now)
    own, spent = _operation_lines(study, groups, sawn=part is None)
    lines = [*lines, *own]
    return ExactRoute(
        groups=groups,
        part=part,
        odds=odds,
        odds_now=odds_now,
        first_piece=corrected,
        lines=lines,
        good=good_price(lines, odds=odds),
        time=jet_time + spent,
        jet_time=jet_time,
    )


def _without_jet(study: Study) -> list[PriceLine]:
    """Return the lines of a price that do not ask for a jet: the plate."""
    line = material_line(study)
    return [] if line is None else [line]


def _operation_lines(
    study: Study, groups: tuple[tuple[RouteGroup, RouteChoice], ...], *, sawn: bool
) -> tuple[list[PriceLine], FloatArray]:
    """Return the lines of all operations, and their time on a piece, shape (D,). [s]"""
    by_name = {each.name: each for each in study.operations}
    times: dict[str, float] = {}
    stations: dict[str, float] = {}
    for group, choice in groups:
        for name, time in times_of(study, group.group.edges, choice).items():
            times[name] = times.get(name, 0.0) + time
    if sawn:
        times = sawing_time(study) | times
    lines: list[PriceLine] = []
    spent = np.zeros(study.draws)
    for name, time in times.items():
        operation = by_name[name]
        drawn = time * _luck(study, name, operation.time_spread)
        spent += drawn
        lines.append((name, operation.price * drawn, "time on its station"))
        setup = operation.price * operation.setup_time / study.quantity
        lines.append((f"set-up of {name}", setup, "shared by the lot"))
        stations[operation.station] = max(
            stations.get(operation.station, 0.0), operation.price * operation.handling_time
        )
    lines += [(f"handling, {station}", cost, "once a piece") for station, cost in stations.items()]
    return lines, spent


def sawing_time(study: Study) -> dict[str, float]:
    """Return the time of sawing the rectangle around the part, all round, by the saw's name; none without."""
    saw = next((each for each in study.operations if each.kind is OperationKind.SAW), None)
    if saw is None:
        return {}
    x0, y0, x1, y1 = box_of_part(study.part)
    around = 2.0 * (x1 - x0 + y1 - y0 + 4.0 * saw.stock_least)
    material, thickness = study.setup.material.name, study.setup.thickness
    return {saw.name: saw.time(length=around, thickness=thickness, material=material)}


def _luck(study: Study, name: str, spread: float) -> FloatArray:
    random = np.random.default_rng([study.seed, crc32(f"time of {name}".encode())])
    return np.maximum(1.0 + spread * random.standard_normal(study.draws), 0.0)
