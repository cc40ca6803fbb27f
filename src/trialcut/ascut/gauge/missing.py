"""Readings where there is no wall to measure.

A deviation is infinite where the jet does not cut through, and minus infinite where it leaves nothing. No
gauge reads there: the value is not a number, for the draws concerned alone, and the note says where.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Concatenate, ParamSpec

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.faces import rows_of
from trialcut.ascut.gauge.reading import GaugeReading, as_value
from trialcut.ascut.types import DeviationField

P = ParamSpec("P")


def where_there_is_a_wall(
    measure: Callable[Concatenate[DeviationField, P], GaugeReading],
) -> Callable[Concatenate[DeviationField, P], GaugeReading]:
    """Have a measurement read not-a-number where the wall it needs is missing."""

    @wraps(measure)
    def guarded(field: DeviationField, /, *args: P.args, **kwargs: P.kwargs) -> GaugeReading:
        edges = [edge for given in (*args, *kwargs.values()) for edge in _names(given)]
        depth, keep_off = kwargs.get("depth"), kwargs.get("keep_off", 0.0)
        off = float(keep_off) if isinstance(keep_off, float | int) else 0.0
        rows = np.concatenate([rows_of(field, edge, keep_off=off) for edge in edges])
        missing = ~np.isfinite(field.deviation[rows])
        if not missing.any():
            return measure(field, *args, **kwargs)
        mended = replace(field, deviation=np.where(np.isfinite(field.deviation), field.deviation, 0.0))
        reading = measure(mended, *args, **kwargs)
        needed = missing[:, _layers_needed(field, depth if isinstance(depth, float | int) else None)]
        lost = needed.any(axis=(0, 1))
        if not lost.any():
            return reading
        row, _ = np.argwhere(needed.any(axis=2) if needed.ndim == 3 else needed)[0]
        edge = field.edges[field.edge[rows[row]]]
        return replace(
            reading,
            value=as_value(np.where(lost, np.nan, reading.value)),
            touched=np.empty((0, 2)),
            note=(
                f"no wall at {100.0 * field.fraction[rows[row]]:.0f} % of edge {edge}"
                + (" in some draws" if lost.ndim else "")
                + ": the jet does not cut through there, or leaves nothing"
            ),
        )

    return guarded


def _names(given: object) -> list[str]:
    """Edge ids in an argument: every text that a measurement takes is one."""
    if isinstance(given, str):
        return [given]
    return [str(name) for name in given] if isinstance(given, list | tuple) else []


def _layers_needed(field: DeviationField, depth: float | None) -> NDArray[np.bool_]:
    """Which layers a measurement at a depth looks at; all if it spans the plate."""
    layers = field.depth
    if depth is None:
        return np.ones(len(layers), dtype=bool)
    return np.array([np.interp(depth, layers, unit) > 0.0 for unit in np.eye(len(layers))])
