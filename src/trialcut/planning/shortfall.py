"""Why a demand does not hold, by how much, and what would make it hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from trialcut.planning.cut_part import CutPart
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.evaluate import EdgeState, outcome
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import DemandForecast, EdgeForecast, Forecast, Stance
from trialcut.units import Kind, format_odds, format_value

SMALLER_HEAD = 0.75
"""Bores and grain of the smaller head that is tried as a remedy, over the present ones. [-]"""


def explain(found: Forecast, part: CutPart, preview: Preview, *, first_piece: bool) -> Forecast:
    """Add to a forecast what binds each edge, and what is wrong with each demand that falls short.

    Parameters
    ----------
    found : Forecast
        As written up.
    part : CutPart
        The cuts it stands on.
    preview : Preview
        The grid of rival cuts.
    first_piece : bool
        Whether the odds after a corrected first piece decide.

    Returns
    -------
    Forecast
        The same with `binds`, `shortfall` and `remedies` filled in.
    """
    asked = part.prepared.study.asked_odds
    smaller: list[Preview] = []
    demands = []
    for each in found.demands:
        odds = each.odds_corrected if first_piece else each.odds
        if odds >= asked:
            demands.append(each)
            continue
        if not smaller:
            smaller.append(_with_smaller_head(preview))
        demands.append(
            replace(
                each,
                shortfall=_shortfall(each, part, odds=odds, first_piece=first_piece),
                remedies=_remedies(each, part, preview, smaller[0], odds=odds, first_piece=first_piece),
            )
        )
    edges = tuple(_with_binding(edge, preview, first_piece=first_piece) for edge in found.edges)
    return replace(found, demands=tuple(demands), edges=edges)


def _shortfall(each: DemandForecast, part: CutPart, *, odds: float, first_piece: bool) -> str:
    demand, system = each.demand, part.prepared.study.system
    kind = Kind.ROUGHNESS if demand.kind is DemandKind.FINISH else Kind.LENGTH
    basis = "after a corrected first piece" if first_piece else "as known now"
    text = f"odds {format_odds(odds)} {basis}, {format_odds(part.prepared.study.asked_odds)} asked"
    overs = []
    for where, values in (("top", each.top), ("bottom", each.bottom)):
        if demand.upper is not None and values.p95 > demand.upper:
            overs.append(
                (values.p95 - demand.upper, f"may come out {{}} over the upper limit at the {where}")
            )
        if demand.lower is not None and values.p05 < demand.lower:
            overs.append(
                (demand.lower - values.p05, f"may come out {{}} under the lower limit at the {where}")
            )
    if overs and not first_piece:
        excess, words = max(overs)
        text += f"; {words.format(format_value(excess, kind, system, spread=0.2 * excess))}"
    return text


def _remedies(
    each: DemandForecast,
    part: CutPart,
    preview: Preview,
    smaller: Preview,
    *,
    odds: float,
    first_piece: bool,
) -> tuple[str, ...]:
    demand, study = each.demand, part.prepared.study
    if demand.kind is DemandKind.CORNER:
        return ("allow a larger corner error, or round the corner on the drawing",)
    remedies: list[tuple[float, str]] = []
    if not first_piece and each.odds_corrected > odds:
        remedies.append(
            (
                each.odds_corrected,
                f"measure the first piece and correct offset and tilt: {format_odds(each.odds_corrected)}",
            )
        )
    best, speed, stance = _best(preview, demand, first_piece=first_piece)
    if best > odds:
        where = format_value(speed, Kind.SPEED, study.system)
        remedies.append((best, f"cut at {where}, {stance.value}: {format_odds(best)}"))
    elif not study.machine.can_tilt and demand.kind in {DemandKind.SIZE, DemandKind.SQUARENESS}:
        remedies.append((odds, "use a machine whose head tilts"))
    known = _odds_if_known(demand, part)
    if known > odds:
        remedies.append(
            (
                known,
                f"cut trials: were this machine and material known, this cut would give {format_odds(known)}",
            )
        )
    best, _, _ = _best(smaller, demand, first_piece=first_piece)
    if best > odds:
        bore = format_value(smaller.prepared.study.setup.tube_bore, Kind.LENGTH, study.system)
        remedies.append((best, f"use a smaller head with finer grain, tube {bore} say: {format_odds(best)}"))
    texts = [text for _, text in sorted(remedies, key=lambda pair: -pair[0])]
    if demand.kind in {DemandKind.SIZE, DemandKind.SQUARENESS, DemandKind.FINISH}:
        texts.append("machine it later: leave stock on " + " and ".join(demand.edges))
    return tuple(texts)


def _odds_if_known(demand: Demand, part: CutPart) -> float:
    """Return the odds of a demand if only chance were left, every parameter at its median."""
    draws = part.prepared.study.draws

    def known(edge: str) -> EdgeState:
        state = part.state(edge)
        median = np.median(state.wall.systematic, axis=1, keepdims=True)
        wall = median + (state.wall.now - state.wall.systematic)
        position = part.prepared.index[edge]
        chance = part.prepared.scatter.finish[position]
        finish = np.median(state.finish / chance, axis=1, keepdims=True) * chance
        return EdgeState(
            wall=replace(state.wall, now=wall, corrected=wall),
            finish=finish,
            through=np.full(draws, bool(np.median(state.through))),
        )

    rms = np.full(draws, float(np.median(part.prepared.parameters.rq_over_ra)))
    accept = part.prepared.acceptance.get(demand.id)
    return outcome(demand, state=known, corner_lag={}, rms_over_ra=rms, acceptance=accept).odds


def _best(preview: Preview, demand: Demand, *, first_piece: bool) -> tuple[float, float, Stance]:
    """Return the best odds of one demand on the grid, and where."""
    found = []
    for stance in preview.tables:
        odds = preview.odds(demand, stance, corrected=first_piece)
        k = int(odds.argmax())
        found.append((float(odds[k]), float(preview.speeds[k]), stance))
    return max(found, key=lambda row: row[0])


def _with_smaller_head(preview: Preview) -> Preview:
    """Try the same part with orifice, tube and grain scaled down together, and abrasive with the water."""
    study = preview.prepared.study
    setup = study.setup
    smaller = replace(
        setup,
        orifice=setup.orifice * SMALLER_HEAD,
        tube_bore=setup.tube_bore * SMALLER_HEAD,
        grain_size=setup.grain_size * SMALLER_HEAD,
        grain_size_max=setup.grain_size_max * SMALLER_HEAD,
        abrasive_rate=setup.abrasive_rate * SMALLER_HEAD**2,
    )
    return Preview(prepare(replace(study, setup=smaller)))


def _with_binding(edge: EdgeForecast, preview: Preview, *, first_piece: bool) -> EdgeForecast:
    """Name the demand that would be the first to suffer at the next faster speed."""
    faster = np.flatnonzero(preview.speeds > edge.speed)
    if not faster.size:
        return edge
    worst, name = 1.0, ""
    for demand in preview.prepared.study.demands:
        if edge.id in demand.edges and demand.kind is not DemandKind.CORNER:
            odds = float(preview.odds(demand, edge.stance, corrected=first_piece)[faster[0]])
            if odds < worst:
                worst, name = odds, demand.id
    return replace(edge, binds=name)
