"""Limits of a demand as a drawing states them: ``1.500 ±0.005 in``."""

from __future__ import annotations

from trialcut.planning.demands import Demand
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

_LEAST_DECIMALS = {"in": 3, "mm": 2}
_MOST_DECIMALS = {"in": 5, "mm": 4}


def decimals_of(values: tuple[float, ...], unit: str) -> int:
    """Fewest decimals, within reason for the unit, that print all values without loss."""
    least, most = _LEAST_DECIMALS.get(unit, 1), _MOST_DECIMALS.get(unit, 3)
    for count in range(least, most):
        if all(abs(value - round(value, count)) < 1e-7 for value in values):
            return count
    return most


def size_limits(demand: Demand, system: str) -> str:
    """Nominal size with its limits, in the system's unit of length."""
    unit = printed_unit(Kind.LENGTH, system)
    nominal = demand.nominal / unit.factor
    lower = None if demand.lower is None else (demand.lower - demand.nominal) / unit.factor
    upper = None if demand.upper is None else (demand.upper - demand.nominal) / unit.factor
    bounds = tuple(value for value in (lower, upper) if value is not None)
    digits = decimals_of(bounds, unit.symbol)
    size = f"{nominal:.{digits}f}"
    if lower is not None and upper is not None:
        if abs(lower + upper) < 10.0**-digits / 2:
            limits = f" ±{upper:.{digits}f}"
        else:
            limits = f" {_signed(upper, digits)}/{_signed(lower, digits)}"
    elif upper is not None:
        limits = f" {_signed(upper, digits)}" if upper else ""
        size = f"≤ {size}"
    elif lower is not None:
        limits = f" {_signed(lower, digits)}" if lower else ""
        size = f"≥ {size}"
    else:
        limits = ""
    return f"{size}{limits} {unit.symbol}"


def _signed(value: float, digits: int) -> str:
    text = f"{abs(value):.{digits}f}"
    if float(text) == 0.0:
        return "0"
    return f"{'+' if value > 0.0 else '−'}{text}"
