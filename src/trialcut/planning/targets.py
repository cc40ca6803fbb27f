"""Where each wall should stand so that every size sits in the middle of its limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.demands import Demand, DemandKind, Depth

_RIDGE = 1e-3
"""Pull towards the drawn edge, relative to the pull of a size with its own limits. [-]"""


def wall_targets(demands: Sequence[Demand], edge_index: Mapping[str, int]) -> NDArray[np.float64]:
    """Return where the wall of each edge should stand relative to the drawn edge.

    A size whose limits are not symmetrical about nominal is aimed at their middle, and each of its edges
    takes its share. Where sizes disagree about an edge, the tighter one weighs more (least squares with
    weights of one over the tolerance squared).

    Parameters
    ----------
    demands : sequence of Demand
        Only sizes with two limits take part.
    edge_index : mapping
        Edge id to position.

    Returns
    -------
    ndarray, shape (E,)
        Target deviation, positive for more material. [m]
    """
    targets = np.zeros(len(edge_index))
    sizes = [
        demand
        for demand in demands
        if demand.kind is DemandKind.SIZE and demand.lower is not None and demand.upper is not None
    ]
    shifts = [0.5 * (_two(d.lower) + _two(d.upper)) - d.nominal for d in sizes]
    if not any(shifts):
        return targets
    touched = sorted({edge_index[edge] for demand in sizes for edge in demand.edges})
    column = {edge: position for position, edge in enumerate(touched)}
    rows = np.zeros((len(sizes) + len(touched), len(touched)))
    right = np.zeros(len(sizes) + len(touched))
    tolerances = np.array([_two(d.upper) - _two(d.lower) for d in sizes])
    unit = tolerances.min()
    for row, (demand, shift) in enumerate(zip(sizes, shifts, strict=True)):
        pull = unit / tolerances[row]
        for edge, weight in zip(demand.edges, demand.weights, strict=True):
            rows[row, column[edge_index[edge]]] += pull * weight
        right[row] = pull * shift
    rows[len(sizes) :] = _RIDGE * np.eye(len(touched))
    targets[touched] = np.linalg.lstsq(rows, right, rcond=None)[0]
    return targets


def governing_depths(demands: Sequence[Demand], edge_index: Mapping[str, int]) -> list[Depth]:
    """Return at which depth each wall is to be centred: at every depth unless all its sizes say otherwise."""
    asked: list[set[Depth]] = [set() for _ in edge_index]
    for demand in demands:
        if demand.kind is DemandKind.SIZE:
            for edge in demand.edges:
                asked[edge_index[edge]].add(demand.depth)
    return [next(iter(depths)) if len(depths) == 1 else Depth.EVERY for depths in asked]


def _two(limit: float | None) -> float:
    if limit is None:  # pragma: no cover - filtered by the caller
        raise TypeError("a size with two limits")
    return limit
