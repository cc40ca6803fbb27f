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


Measure = Callable[Concatenate[DeviationField, P], GaugeReading]
Rows = Callable[Concatenate[DeviationField, P], NDArray[np.int64]]


def where_there_is_a_wall(measure: Measure[P]) -> Measure[P]:
    """Have a measurement read not-a-number where any wall of its edges, less the keep-off, is missing."""

    def rows(field: DeviationField, /, *args: P.args, **kwargs: P.kwargs) -> NDArray[np.int64]:
        edges = [edge for given in (*args, *kwargs.values()) for edge in _names(given)]
        keep_off = kwargs.get("keep_off", 0.0)
        off = float(keep_off) if isinstance(keep_off, float | int) else 0.0
        return np.concatenate([rows_of(field, edge, keep_off=off) for edge in edges])

    return where_needed(rows)(measure)


def where_needed(rows_needed: Rows[P]) -> Callable[[Measure[P]], Measure[P]]:
    """Have a measurement read not-a-number where one of the samples that it needs is missing."""

    def decorate(measure: Measure[P]) -> Measure[P]:
        @wraps(measure)
        def guarded(field: DeviationField, /, *args: P.args, **kwargs: P.kwargs) -> GaugeReading:
            whole = np.isfinite(field.deviation)
            if whole.all():
                return measure(field, *args, **kwargs)
            mended = replace(field, deviation=np.where(whole, field.deviation, 0.0))
            reading = measure(mended, *args, **kwargs)
            rows = rows_needed(mended, *args, **kwargs)
            depth = kwargs.get("depth")
            layers = _layers_needed(field, depth if isinstance(depth, float | int) else None)
            return _without(field, reading, rows, ~whole[rows][:, layers])

        return guarded

    return decorate


def _without(
    field: DeviationField, reading: GaugeReading, rows: NDArray[np.int64], missing: NDArray[np.bool_]
) -> GaugeReading:
    """Take the value from a reading, for the draws in which a wall is missing."""
    lost = missing.any(axis=(0, 1))
    if not lost.any():
        return reading
    row = rows[np.flatnonzero(missing.reshape(len(rows), -1).any(axis=1))[0]]
    return replace(
        reading,
        value=as_value(np.where(lost, np.nan, reading.value)),
        touched=np.empty((0, 2)),
        note=(
            f"no wall at {100.0 * field.fraction[row]:.0f} % of edge {field.edges[field.edge[row]]}"
            + (" in some draws" if lost.ndim else "")
            + ": the jet does not cut through there, or leaves nothing"
        ),
    )


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
