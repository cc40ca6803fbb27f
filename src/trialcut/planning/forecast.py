"""Forecast of a part under one assignment of speeds and stances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.cut import CutTable
from trialcut.physics.limits import setup_notes
from trialcut.planning.acceptance import risks
from trialcut.planning.corner_choice import corner_forecasts, loop_note
from trialcut.planning.cut_part import Assignment, CutPart, all_through, cut_in_thought, demand_outcomes
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.evaluate import DemandOutcome, joint_odds
from trialcut.planning.levels import SURE_THROUGH
from trialcut.planning.money import lot_cost, piece_consumption
from trialcut.planning.part_time import path_of, piece_time, stance_notes
from trialcut.planning.prepared import BOTTOM, MIDDLE, TOP, PreparedStudy, prepare
from trialcut.planning.results import (
    CycleTime,
    DemandForecast,
    EdgeForecast,
    Forecast,
    Judged,
    Note,
    Spread,
    Stance,
)
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_value

FloatArray = NDArray[np.float64]


def forecast(
    study: Study | PreparedStudy,
    *,
    assignment: Assignment,
    first_piece: bool = False,
    offset_at: Depth = Depth.EVERY,
) -> Forecast:
    """Forecast what the part will measure, look like, take and cost.

    Parameters
    ----------
    study : Study or PreparedStudy
        The enquiry; prepared already if many forecasts are made.
    assignment : mapping
        Every edge id to its `Cut`.
    first_piece : bool
        Whether the lot's cost carries a measured and corrected first piece.
    offset_at : Depth
        For a study that is not prepared yet, see `prepare`.

    Returns
    -------
    Forecast
        Edges, demands, time, cost, notes.
    """
    prepared = prepare(study, offset_at=offset_at) if isinstance(study, Study) else study
    return forecast_of(cut_in_thought(prepared, assignment), first_piece=first_piece)


def forecast_of(part: CutPart, *, first_piece: bool) -> Forecast:
    """Write up a part that has been cut in thought, as `forecast` does."""
    prepared = part.prepared
    outcomes = demand_outcomes(part)
    now, corrected = joint_odds(outcomes, all_through(part))
    time = piece_time(part)
    return Forecast(
        edges=_edge_forecasts(part, time.edges),
        demands=tuple(_demand_forecast(part, each, first_piece=first_piece) for each in outcomes),
        joint_odds=now,
        joint_odds_corrected=corrected,
        time=CycleTime(
            cutting=Spread.of(time.cutting),
            piercing=Spread.of(time.piercing),
            traverse=Spread.of(time.traverse),
            total=Spread.of(time.cutting + time.traverse + time.piercing),
            slow=time.slow,
        ),
        cost=lot_cost(
            prepared.study,
            time,
            first_piece=first_piece,
            odds_now=now,
            odds=corrected if first_piece else now,
        ),
        consumption=piece_consumption(prepared.study, time),
        path=path_of(part),
        corners=corner_forecasts(prepared, part.corners),
        notes=_notes(part, time.cutting),
        judged=_judged(part, outcomes, first_piece=first_piece),
    )


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
                shift=cut.shift,
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


def _demand_forecast(part: CutPart, each: DemandOutcome, *, first_piece: bool) -> DemandForecast:
    return DemandForecast(
        demand=each.demand,
        top=Spread.of(each.values[TOP]),
        middle=Spread.of(each.values[MIDDLE]),
        bottom=Spread.of(each.values[BOTTOM]),
        odds=each.odds,
        odds_corrected=each.odds_corrected,
        judged=_judged(part, [each], first_piece=first_piece),
        aim=_aim(part, each.demand) if each.demand.kind is DemandKind.SIZE else None,
    )


def _aim(part: CutPart, demand: Demand) -> float:
    """Expected reading of a size at the faces that count, after a corrected first piece. [m]"""
    faces = {Depth.TOP: [TOP], Depth.BOTTOM: [BOTTOM]}.get(demand.depth, [TOP, BOTTOM])
    walls = (part.state(edge).wall.corrected[faces] for edge in demand.edges)
    return demand.nominal + sum(
        weight * float(wall.mean()) for weight, wall in zip(demand.weights, walls, strict=True)
    )


def _judged(part: CutPart, outcomes: list[DemandOutcome], *, first_piece: bool) -> Judged | None:
    """Return how often readings mislead about some demands together; None where none is read."""
    acceptance = part.prepared.acceptance
    bands = [acceptance[each.demand.id].band for each in outcomes if each.demand.id in acceptance]
    if not bands:
        return None
    conforms = [each.conforms_corrected if first_piece else each.conforms for each in outcomes]
    accepted = [each.holds_corrected if first_piece else each.holds for each in outcomes]
    found = risks(conforms=np.logical_and.reduce(conforms), accepted=np.logical_and.reduce(accepted))
    return Judged(band=max(bands), consumer=found.consumer, producer=found.producer)


def _notes(part: CutPart, cutting: FloatArray) -> tuple[Note, ...]:
    seen: dict[tuple[str, str], Note] = {}
    for table, _ in part.tables.values():
        for note in table.notes:
            seen.setdefault((note.code, note.message), note)
    for note in setup_notes(part.prepared.study.setup):
        seen.setdefault((note.code, note.message), note)
    loops = loop_note(part.prepared, part.corners, cutting=float(np.mean(cutting)))
    basis = part.prepared.study.knowledge.notes(part.prepared.study.setup)
    return (*basis, *seen.values(), *stance_notes(part), *((loops,) if loops else ()))
