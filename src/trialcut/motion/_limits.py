"""Checks of limits and lengths, each failing with one line."""

from __future__ import annotations

from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.errors import RangeError


def positive(name: str, value: float, unit: str, *, finite: bool = True) -> float:
    """Return the value if it is above zero; ``inf`` only if `finite` is False."""
    if not value > 0.0 or (finite and value == inf):
        rule = "above zero and finite" if finite else "above zero"
        raise RangeError(
            f"{name} is {value:g} {unit}; it must be {rule}: give the real limit",
            name=name,
            value=value,
        )
    return float(value)


def within(name: str, value: float, unit: str, *, low: float, high: float) -> float:
    """Return the value if it lies between `low` and `high`, both allowed."""
    if not low <= value <= high:
        rule = f"at least {low:g}" if high == inf else f"from {low:g} to {high:g}"
        raise RangeError(
            f"{name} is {value:g} {unit}; it must be {rule} {unit}: change it or the limits of the move",
            name=name,
            value=value,
        )
    return float(value)


def require_limits(*, acceleration: float, jerk: float) -> None:
    """Acceleration above zero and finite, jerk above zero."""
    positive("acceleration", acceleration, "m/s^2")
    positive("jerk", jerk, "m/s^3", finite=False)


def positive_array(name: str, values: ArrayLike, unit: str) -> NDArray[np.float64]:
    """Return the values, shape (N,) with N at least 1, if all are above zero and finite."""
    array = np.ascontiguousarray(values, dtype=float)
    if array.ndim != 1 or array.size == 0:
        raise RangeError(
            f"{name} have shape {array.shape}; one row of at least one value is needed", name=name
        )
    good = (array > 0.0) & np.isfinite(array)
    if not good.all():
        index = int(np.argmin(good))
        raise RangeError(
            f"{name}[{index}] is {array[index]:g} {unit}; each must be above zero and finite: "
            "leave that interval out or give its real value",
            name=name,
            index=index,
            value=float(array[index]),
        )
    return array
