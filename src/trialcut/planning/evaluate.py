"""How each demand comes out, draw by draw, and how often all hold together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    holds, holds_corrected : ndarray of bool, shape (D,)
        Whether the piece conforms now, and once a first piece has been measured and corrected.
    """

    demand: Demand
    values: FloatArray
    holds: BoolArray
    holds_corrected: BoolArray

    @property
    def odds(self) -> float:
        """Conformance probability as known now. [-]"""
        return float(self.holds.mean())

    @property
    def odds_corrected(self) -> float:
        """Conformance probability after a corrected first piece. [-]"""
        return float(self.holds_corrected.mean())


def outcome(
    demand: Demand,
    *,
    state: Callable[[str], EdgeState],
    corner_lag: Mapping[tuple[str, str], FloatArray],
    rms_over_ra: FloatArray,
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
    return DemandOutcome(
        demand=demand,
        values=values,
        holds=_inside(demand, values) & through,
        holds_corrected=_inside(demand, corrected) & through,
    )


def joint_odds(outcomes: list[DemandOutcome], through: BoolArray) -> tuple[float, float]:
    """Return the odds that one piece holds every demand and is cut through: now, and corrected."""
    now = np.logical_and.reduce([through, *(each.holds for each in outcomes)])
    corrected = np.logical_and.reduce([through, *(each.holds_corrected for each in outcomes)])
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


def _inside(demand: Demand, values: FloatArray) -> BoolArray:
    rows = values[_layers(demand)]
    inside = np.ones(rows.shape[1], dtype=bool)
    if demand.kind is DemandKind.LATER:
        return inside & (rows >= 0.0).all(axis=0)
    if demand.lower is not None:
        inside &= (rows >= demand.lower).all(axis=0)
    if demand.upper is not None:
        inside &= (rows <= demand.upper).all(axis=0)
    return inside
