"""How each demand comes out, draw by draw, and how often all hold together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.acceptance import Acceptance
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.prepared import BOTTOM, TOP
from trialcut.planning.walls import EdgeWall

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class EdgeState:
    """Everything about one edge that a demand can ask.

    Parameters
    ----------
    wall : EdgeWall
        Where the kept wall stands.
    finish : ndarray, shape (L, D)
        Ra through the depth, scatter in. [m]
    through : ndarray of bool, shape (D,)
        Whether the jet cuts through.
    """

    wall: EdgeWall
    finish: FloatArray
    through: BoolArray


@dataclass(frozen=True, kw_only=True)
class DemandOutcome:
    """One demand over all draws.

    Parameters
    ----------
    demand : Demand
        What is asked.
    values : ndarray, shape (L, D)
        Of the characteristic as known now. [m]
    need, need_corrected : ndarray, shape (D,)
        How many times as wide the tolerance would have to be for the piece to be accepted, now and once a
        first piece has been measured and corrected: up to 1 it is; infinite where no width helps. [-]
    conforms, conforms_corrected : ndarray of bool, shape (D,)
        Whether the piece truly conforms; the same as being accepted unless the gauge's error counts.
    """

    demand: Demand
    values: FloatArray
    need: FloatArray
    need_corrected: FloatArray
    conforms: BoolArray
    conforms_corrected: BoolArray

    @property
    def holds(self) -> BoolArray:
        """Whether the piece is accepted as known now, shape (D,)."""
        return self.need <= 1.0

    @property
    def holds_corrected(self) -> BoolArray:
        """Whether the piece is accepted once a first piece has been measured and corrected, shape (D,)."""
        return self.need_corrected <= 1.0

    @property
    def odds(self) -> float:
        """Probability of being accepted as known now. [-]"""
        return float(self.holds.mean())

    @property
    def odds_corrected(self) -> float:
        """Probability of being accepted after a corrected first piece. [-]"""
        return float(self.holds_corrected.mean())


def outcome(
    demand: Demand,
    *,
    state: Callable[[str], EdgeState],
    corner_lag: Mapping[tuple[str, str], FloatArray],
    rms_over_ra: FloatArray,
    acceptance: Acceptance | None = None,
) -> DemandOutcome:
    """Evaluate one demand over all draws.

    The value of a size is linear in its walls and must lie inside the limits at every depth that the demand
    names; the joint event over depths and edges is counted on shared draws (conformance probability after
    JCGM 106, with the distribution of the value represented by its draws).

    Parameters
    ----------
    demand : Demand
        What is asked.
    state : callable
        Edge id to `EdgeState`.
    corner_lag : mapping
        Lag left at each corner, by the edges before and after, shape (D,). [m]
    rms_over_ra : ndarray, shape (D,)
        Rq over Ra. [-]
    acceptance : Acceptance, optional
        How an inspector reads it; without it the true value decides.

    Returns
    -------
    DemandOutcome
        Values and who holds.
    """
    states = [state(edge) for edge in demand.edges]
    through = np.logical_and.reduce([edge.through for edge in states])
    if demand.kind is DemandKind.SIZE:
        values = _size(demand, [edge.wall.now for edge in states])
        corrected = _size(demand, [edge.wall.corrected for edge in states])
    elif demand.kind is DemandKind.SQUARENESS:
        values = _out_of_square(states[0].wall.now)
        corrected = _out_of_square(states[0].wall.corrected)
    elif demand.kind is DemandKind.FINISH:
        values = states[0].finish * (rms_over_ra if demand.finish_is_rms else 1.0)
        corrected = values
    elif demand.kind is DemandKind.CORNER:
        lag = corner_lag[demand.edges[0], demand.edges[1]]
        values = np.stack([np.zeros_like(lag), 0.25 * lag, lag])[[0, 0, 1, 1, 2]]
        corrected = values
    else:
        values, corrected = states[0].wall.now, states[0].wall.corrected
    need, conforms = _judged(demand, values, through, acceptance)
    need_corrected, conforms_corrected = _judged(demand, corrected, through, acceptance)
    return DemandOutcome(
        demand=demand,
        values=values,
        need=need,
        need_corrected=need_corrected,
        conforms=conforms,
        conforms_corrected=conforms_corrected,
    )


def joint_odds(
    outcomes: list[DemandOutcome], through: BoolArray, *, widths: Mapping[str, float] | None = None
) -> tuple[float, float]:
    """Return the odds that one piece holds every demand and is cut through: now, and corrected.

    Parameters
    ----------
    outcomes : list of DemandOutcome
        Of all demands.
    through : ndarray of bool, shape (D,)
        Whether every edge is cut through.
    widths : mapping, optional
        Demand id to how many times as wide its tolerance is taken; 1 for those left out. [-]
    """
    eased = widths or {}
    wide = [eased.get(each.demand.id, 1.0) for each in outcomes]
    now, corrected = through.copy(), through.copy()
    for each, width in zip(outcomes, wide, strict=True):
        now &= each.need <= width
        corrected &= each.need_corrected <= width
    return float(now.mean()), float(corrected.mean())


def _size(demand: Demand, walls: list[FloatArray]) -> FloatArray:
    value = np.full_like(walls[0], demand.nominal)
    for weight, wall in zip(demand.weights, walls, strict=True):
        value += weight * wall
    return value


def _out_of_square(wall: FloatArray) -> FloatArray:
    """Lean of the wall from its top down to each depth: the gap a square shows, shape (L, D)."""
    spread = np.maximum.accumulate(wall, axis=0) - np.minimum.accumulate(wall, axis=0)
    return np.asarray(spread, dtype=float)


def _layers(demand: Demand) -> slice | list[int]:
    if demand.kind is DemandKind.SIZE:
        if demand.depth is Depth.TOP:
            return [TOP]
        if demand.depth is Depth.BOTTOM:
            return [BOTTOM]
    return slice(None)


def _judged(
    demand: Demand, values: FloatArray, through: BoolArray, acceptance: Acceptance | None
) -> tuple[FloatArray, BoolArray]:
    """Return the width needed to be accepted, and whether the true value conforms, shape (D,) each."""
    rows = values[_layers(demand)]
    true = np.where(through, _need(demand, rows), np.inf)
    if acceptance is None:
        return true, true <= 1.0
    read = _need(demand, rows + acceptance.error, band=acceptance.band)
    return np.where(through, read, np.inf), true <= 1.0


def _need(demand: Demand, rows: FloatArray, *, band: float = 0.0) -> FloatArray:
    """Return how many times as wide the tolerance must be to take in every row, shape (D,).

    Two limits widen about their middle, one widens from the drawn value. A tolerance without width cannot be
    widened, nor can stock that is not there: such a piece needs nothing or cannot be helped.
    """
    if demand.kind is DemandKind.LATER:
        return np.where((rows >= 0.0).all(axis=0), 0.0, np.inf)
    if demand.lower is not None and demand.upper is not None:
        out = np.abs(rows - 0.5 * (demand.lower + demand.upper)).max(axis=0) + band
        return _over(out, 0.5 * (demand.upper - demand.lower))
    need = np.zeros(rows.shape[1])
    if demand.upper is not None:
        need = _over(rows.max(axis=0) + band - demand.nominal, demand.upper - demand.nominal)
    elif demand.lower is not None:
        need = _over(demand.nominal - rows.min(axis=0) + band, demand.nominal - demand.lower)
    return need


def _over(out: FloatArray, allowed: float) -> FloatArray:
    if allowed > 0.0:
        return np.maximum(out, 0.0) / allowed
    return np.where(out <= allowed, 0.0, np.inf)
