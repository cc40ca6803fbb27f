"""Forecast of a part under one assignment of speeds and stances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.stance import Stance as SolvedStance
from trialcut.ascut.stance import solve_stance
from trialcut.errors import RangeError, UsageError
from trialcut.geometry.curves import Arc
from trialcut.motion.cycle import cycle_time
from trialcut.motion.intervals import CornerZone, path_intervals
from trialcut.motion.overlap import with_overlaps
from trialcut.motion.path import CutPath
from trialcut.motion.prepared import prepare_path
from trialcut.physics.cut import CutTable
from trialcut.physics.limits import setup_notes
from trialcut.physics.piercing import piercing_time
from trialcut.planning.demands import DemandKind
from trialcut.planning.evaluate import DemandOutcome, EdgeState, joint_odds, outcome
from trialcut.planning.lag_limits import (
    arc_speed_limits,
    corner_lags,
    corner_zones,
    speed_at_lag_with_odds,
)
from trialcut.planning.money import PieceTime, lot_cost, piece_consumption
from trialcut.planning.prepared import BOTTOM, MIDDLE, TOP, PreparedStudy, prepare
from trialcut.planning.results import (
    CycleTime,
    DemandForecast,
    EdgeForecast,
    Forecast,
    Note,
    Spread,
    Stance,
)
from trialcut.planning.stock import clean_up_stock
from trialcut.planning.study import Study
from trialcut.planning.walls import bare_walls, edge_wall
from trialcut.units import Kind, format_odds, format_value

FloatArray = NDArray[np.float64]

LEAD_TRAIL = 0.5
"""Lag on a curved lead, over its radius: our own working value. [-]"""
FREED_ODDS = 0.95
"""Odds with which the overlap of a cut is longer than its lag: our own working value. [-]"""
SURE_THROUGH = 0.99
"""Odds of cutting through below which an edge carries a note. [-]"""


@dataclass(frozen=True, slots=True)
class Cut:
    """How one edge is cut: its commanded speed [m/s] and stance."""

    speed: float
    stance: Stance


Assignment = Mapping[str, Cut]


@dataclass(frozen=True, kw_only=True)
class CutPart:
    """A part cut in thought: every edge's state over the shared draws.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    assignment : dict
        Edge id to `Cut`, after the lag limits of arcs.
    held_by_lag : frozenset of str
        Edges that had to be slowed for lag.
    tables : dict
        For each stance its table, and the row of each speed.
    """

    prepared: PreparedStudy
    assignment: dict[str, Cut]
    held_by_lag: frozenset[str]
    tables: dict[Stance, tuple[CutTable, dict[float, int]]]
    _states: dict[str, EdgeState] = field(default_factory=dict)
    _stock: dict[str, float] = field(default_factory=dict)

    def row(self, edge: str) -> tuple[CutTable, int]:
        """Return the table of an edge's stance, and the row of its speed."""
        cut = self.assignment[edge]
        table, rows = self.tables[cut.stance]
        return table, rows[cut.speed]

    def stock(self, edge: str) -> float:
        """Return the stock left on an edge that is machined later, zero otherwise. [m]"""
        self.state(edge)
        return self._stock[edge]

    def state(self, edge: str) -> EdgeState:
        """Return wall, finish and cut-through of one edge."""
        if edge not in self._states:
            prepared, position = self.prepared, self.prepared.index[edge]
            table, row = self.row(edge)
            bare = bare_walls(table, float(prepared.path_curvature[position]))[row]
            finish = prepared.finish(table, row) * prepared.scatter.finish[position]
            self._stock[edge] = (
                clean_up_stock(prepared, edge=position, bare=bare, finish=finish[BOTTOM])
                if edge in prepared.later
                else 0.0
            )
            self._states[edge] = EdgeState(
                wall=edge_wall(
                    prepared,
                    edge=position,
                    bare=bare,
                    stance=self.assignment[edge].stance,
                    stock=self._stock[edge],
                ),
                finish=finish,
                through=table.through[row],
            )
        return self._states[edge]


def cut_in_thought(
    prepared: PreparedStudy, assignment: Assignment, *, tables: Mapping[Stance, CutTable] | None = None
) -> CutPart:
    """Cut the part in thought, slowing arcs to what their lag allows.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    assignment : mapping
        Every edge id to its `Cut`.
    tables : mapping, optional
        Tables already computed; they are used where they hold all the speeds wanted.

    Returns
    -------
    CutPart
        States are computed when asked for.

    Raises
    ------
    UsageError
        If an edge has no cut, or the head cannot tilt.
    RangeError
        If a speed is not above zero, or above what the machine can do.
    """
    _check(prepared, assignment)
    stances = {cut.stance for cut in assignment.values()}
    limits = {stance: arc_speed_limits(prepared, stance) for stance in stances}
    slowed: dict[str, Cut] = {}
    for position, edge in enumerate(prepared.edges):
        cut = assignment[edge.id]
        slowed[edge.id] = Cut(min(cut.speed, float(limits[cut.stance][position])), cut.stance)
    used = {}
    for stance in stances:
        speeds = sorted({cut.speed for cut in slowed.values() if cut.stance is stance})
        table = (tables or {}).get(stance)
        if table is None or not set(speeds) <= set(table.speeds.tolist()):
            table = prepared.table(stance, speeds)
        used[stance] = (table, {float(speed): row for row, speed in enumerate(table.speeds)})
    return CutPart(
        prepared=prepared,
        assignment=slowed,
        held_by_lag=frozenset(edge for edge, cut in slowed.items() if cut.speed < assignment[edge].speed),
        tables=used,
    )


def _check(prepared: PreparedStudy, assignment: Assignment) -> None:
    machine, system = prepared.study.machine, prepared.study.system
    for edge in prepared.edges:
        cut = assignment.get(edge.id)
        if cut is None:
            raise UsageError(f"edge {edge.id} has no speed: give one for every edge", edge=edge.id)
        if not 0.0 < cut.speed <= machine.cut_speed_max * (1.0 + 1e-9):
            raise RangeError(
                f"speed {format_value(cut.speed, Kind.SPEED, system)} is beyond {machine.name}: "
                f"choose one above zero and up to {format_value(machine.cut_speed_max, Kind.SPEED, system)}",
                code="speed-out-of-range",
                speed=cut.speed,
            )
        if cut.stance is Stance.TILTED and not machine.can_tilt:
            raise UsageError(
                f"the head of {machine.name} cannot tilt: choose upright, or a machine whose head tilts",
                code="head-cannot-tilt",
                machine=machine.name,
            )


def demand_outcomes(part: CutPart) -> list[DemandOutcome]:
    """Evaluate every demand of the study over the shared draws."""
    prepared = part.prepared
    speed = {edge: cut.speed for edge, cut in part.assignment.items()}
    lags = corner_lags(prepared, corner_zones(prepared), speed) if _has_corners(prepared) else {}
    rms = np.asarray(prepared.parameters.rq_over_ra)
    return [
        outcome(demand, state=part.state, corner_lag=lags, rms_over_ra=rms)
        for demand in prepared.study.demands
    ]


def all_through(part: CutPart) -> NDArray[np.bool_]:
    """Return where every edge is cut through, shape (D,)."""
    rows = {(id(table), row): table.through[row] for table, row in map(part.row, part.assignment)}
    through: NDArray[np.bool_] = np.logical_and.reduce(list(rows.values()))
    return through


def forecast(study: Study | PreparedStudy, *, assignment: Assignment, first_piece: bool = False) -> Forecast:
    """Forecast what the part will measure, look like, take and cost.

    Parameters
    ----------
    study : Study or PreparedStudy
        The enquiry; prepared already if many forecasts are made.
    assignment : mapping
        Every edge id to its `Cut`.
    first_piece : bool
        Whether the lot's cost carries a measured and corrected first piece.

    Returns
    -------
    Forecast
        Edges, demands, time, cost, notes.
    """
    prepared = prepare(study) if isinstance(study, Study) else study
    return forecast_of(cut_in_thought(prepared, assignment), first_piece=first_piece)


def forecast_of(part: CutPart, *, first_piece: bool) -> Forecast:
    """Write up a part that has been cut in thought, as `forecast` does."""
    prepared = part.prepared
    outcomes = demand_outcomes(part)
    now, corrected = joint_odds(outcomes, all_through(part))
    time = piece_time(part)
    return Forecast(
        edges=_edge_forecasts(part, time.edges),
        demands=tuple(_demand_forecast(each) for each in outcomes),
        joint_odds=now,
        joint_odds_corrected=corrected,
        time=CycleTime(
            cutting=Spread.of(time.cutting),
            piercing=Spread.of(time.piercing),
            traverse=Spread.of(time.traverse),
            total=Spread.of(time.cutting + time.traverse + time.piercing),
            slow=time.slow,
        ),
        cost=lot_cost(prepared.study, time, first_piece=first_piece, odds_now=now),
        consumption=piece_consumption(prepared.study, time),
        path=path_of(part),
        notes=_notes(part),
    )


def piece_time(part: CutPart) -> PieceTime:
    """Return the time of one piece: the path under all its speed limits, piercing, traverses."""
    prepared = part.prepared
    setup, draws = prepared.study.setup, prepared.parameters
    zones = corner_zones(prepared)
    stance = part_stance(part, zones)
    path = prepare_path(
        prepared.study.part, path_of(part), machine=prepared.study.machine, half_kerf=prepared.half_kerf
    )
    intervals = path_intervals(
        path,
        speed={edge: cut.speed for edge, cut in part.assignment.items()},
        corner_zone=zones,
        lean=stance.lean,
        edge_cap=stance.edge_cap,
        swing_zone=stance.swing_zone,
        lead_speed=lead_speeds(part),
    )
    moves = cycle_time(path, intervals, pierce_time=0.0)
    each = piercing_time(
        thickness=setup.thickness,
        machinability=setup.material.machinability,
        pierce_time=draws.pierce_time,
        pierce_exponent=draws.pierce_exponent,
    )
    return PieceTime(
        cutting=moves.cutting,
        traverse=moves.traverse,
        piercing=np.broadcast_to(each, (prepared.study.draws,)) * len(prepared.path.runs),
        slow=moves.slow_time,
        edges=moves.edge_times,
    )


def path_of(part: CutPart) -> CutPath:
    """Return the path on which every cut runs on past its start until the trail has freed the piece."""
    prepared = part.prepared
    overlap = {}
    for run in prepared.path.runs:
        table, row = part.row(run.start_edge)
        trail = np.abs(table.residual_lag[row]).max(axis=0)
        overlap[run.contour] = float(np.quantile(trail, FREED_ODDS))
    return with_overlaps(prepared.study.part, prepared.path, overlap)


def lead_speeds(part: CutPart) -> dict[str, float]:
    """Return the speed on the leads of every contour. [m/s]

    No faster than the edge they lead to; on a curved lead the trail must stay short against its radius, or
    it would sweep into the part.
    """
    prepared = part.prepared
    speeds = {}
    for run in prepared.path.runs:
        speed = part.assignment[run.start_edge].speed
        curved = [segment.radius for segment in (*run.lead_in, *run.lead_out) if isinstance(segment, Arc)]
        if curved:
            trail = LEAD_TRAIL * min(curved)
            speed = min(speed, speed_at_lag_with_odds(prepared, trail, FREED_ODDS))
        speeds[run.contour] = speed
    return speeds


def part_stance(part: CutPart, zones: CornerZone) -> SolvedStance:
    """Return the head's tilt and lead on every edge and at every corner slowed by the zones."""
    prepared = part.prepared
    return solve_stance(
        prepared.study.part,
        prepared.prepared_path,
        law=prepared.lean_law,
        speed={edge: cut.speed for edge, cut in part.assignment.items()},
        tilted={edge: cut.stance is Stance.TILTED for edge, cut in part.assignment.items()},
        half_kerf=prepared.half_kerf,
        corner_zone=zones,
    )


def _has_corners(prepared: PreparedStudy) -> bool:
    return any(demand.kind is DemandKind.CORNER for demand in prepared.study.demands)


def _edge_forecasts(part: CutPart, times: Mapping[str, float]) -> tuple[EdgeForecast, ...]:
    prepared = part.prepared
    shared: dict[tuple[Stance, float], _CutSpreads] = {}
    edges = []
    for edge in prepared.edges:
        cut = part.assignment[edge.id]
        table, row = part.row(edge.id)
        key = (cut.stance, cut.speed)
        if key not in shared:
            shared[key] = _cut_spreads(table, row)
        state = part.state(edge.id)
        edges.append(
            EdgeForecast(
                id=edge.id,
                contour=edge.contour,
                length=edge.length,
                speed=cut.speed,
                stance=cut.stance,
                separation_speed=shared[key].separation_speed,
                speed_ratio=shared[key].speed_ratio,
                kerf_top=shared[key].kerf_top,
                kerf_bottom=shared[key].kerf_bottom,
                taper_per_side=shared[key].taper_per_side,
                lag=shared[key].lag,
                finish_ra=shared[key].finish_ra,
                wall_top=Spread.of(state.wall.now[TOP]),
                wall_middle=Spread.of(state.wall.now[MIDDLE]),
                wall_bottom=Spread.of(state.wall.now[BOTTOM]),
                tilt=float(table.tilt[row]),
                lead=float(table.lead[row]),
                offset=state.wall.offset,
                stock=part.stock(edge.id),
                time=times[edge.id],
                notes=_edge_notes(part, edge.id, table, row),
            )
        )
    return tuple(edges)


@dataclass(frozen=True, slots=True, kw_only=True)
class _CutSpreads:
    """What edges of one speed and stance have in common."""

    separation_speed: Spread
    speed_ratio: Spread
    kerf_top: Spread
    kerf_bottom: Spread
    taper_per_side: Spread
    lag: Spread
    finish_ra: Spread


def _cut_spreads(table: CutTable, row: int) -> _CutSpreads:
    return _CutSpreads(
        separation_speed=Spread.of(table.separation_speed),
        speed_ratio=Spread.of(table.speed_ratio[row]),
        kerf_top=Spread.of(2.0 * table.half_width[row, TOP]),
        kerf_bottom=Spread.of(2.0 * np.maximum(table.half_width[row, BOTTOM], 0.0)),
        taper_per_side=Spread.of(table.taper[row]),
        lag=Spread.of(table.exit_lag[row]),
        finish_ra=Spread.of(table.finish_ra[row]),
    )


def _edge_notes(part: CutPart, edge: str, table: CutTable, row: int) -> tuple[Note, ...]:
    system = part.prepared.study.system
    notes = []
    if edge in part.held_by_lag:
        speed = format_value(part.assignment[edge].speed, Kind.SPEED, system)
        notes.append(Note("held-by-lag", f"slowed to {speed} so that the lag on this arc stays small"))
    through = float(table.through[row].mean())
    if through < SURE_THROUGH:
        notes.append(
            Note(
                "may-not-cut-through",
                f"odds of cutting through are only {format_odds(through)}: slow this edge down",
            )
        )
    return tuple(notes)


def _demand_forecast(each: DemandOutcome) -> DemandForecast:
    return DemandForecast(
        demand=each.demand,
        top=Spread.of(each.values[TOP]),
        middle=Spread.of(each.values[MIDDLE]),
        bottom=Spread.of(each.values[BOTTOM]),
        odds=each.odds,
        odds_corrected=each.odds_corrected,
    )


def _notes(part: CutPart) -> tuple[Note, ...]:
    seen: dict[tuple[str, str], Note] = {}
    for table, _ in part.tables.values():
        for note in table.notes:
            seen.setdefault((note.code, note.message), note)
    priors = Note(
        "no-readings",
        "No reading of this machine is in this forecast: it rests on published and working values alone, "
        "and is as wide as they are.",
    )
    for note in setup_notes(part.prepared.study.setup):
        seen.setdefault((note.code, note.message), note)
    return (priors, *seen.values())
