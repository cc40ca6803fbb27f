"""A tolerance in words, as a drawing has it, at any width."""

from __future__ import annotations

import re
from math import ceil

from trialcut.planning.demands import Demand, DemandKind
from trialcut.units import Kind
from trialcut.units.table import Unit, printed_unit

STEPS = {"in": 1e-4, "mm": 0.005, "µin": 1.0, "µm": 0.1}
"""Steps in which people write tolerances and roughness, in the unit itself: common practice, no source."""
_PROPER = re.compile(r"(?:opening|outline|edge) [A-Z]|[A-Z]")
DECIMALS = {"in": (3, 4), "mm": (2, 3), "µin": (0, 0), "µm": (1, 2)}
"""Fewest and most decimals of a written limit."""


def limit_unit(demand: Demand, system: str) -> Unit:
    """Return the unit in which a demand's limits are written."""
    return printed_unit(Kind.ROUGHNESS if demand.kind is DemandKind.FINISH else Kind.LENGTH, system)


def half_width(demand: Demand) -> float:
    """Return what a width of 1 stands for: half the room between two limits, or a single limit. [m]"""
    if demand.lower is not None and demand.upper is not None:
        return 0.5 * (demand.upper - demand.lower)
    if demand.upper is not None:
        return demand.upper - demand.nominal
    return 0.0 if demand.lower is None else demand.nominal - demand.lower


def eased_limits(demand: Demand, width: float) -> tuple[float | None, float | None]:
    """Return both limits of a tolerance so many times as wide, about its middle or from the drawn value."""
    if demand.lower is not None and demand.upper is not None:
        middle, half = 0.5 * (demand.lower + demand.upper), width * half_width(demand)
        return middle - half, middle + half
    lower = None if demand.lower is None else demand.nominal - width * half_width(demand)
    upper = None if demand.upper is None else demand.nominal + width * half_width(demand)
    return lower, upper


def limit_words(demand: Demand, system: str, *, width: float = 1.0) -> str:
    """
    Say a tolerance.

    Parameters
    ----------
    demand : Demand
        Any but one that is machined later.
    system : str
        ``"inch"`` or ``"metric"``.
    width : float
        How many times as wide it is taken. [-]

    Returns
    -------
    str
        As ``"±0.0062 in"``, ``"+0.4/0 mm"``, ``"Rq 250 µin"``, ``"0.10 mm"``.
    """
    unit = limit_unit(demand, system)
    lower, upper = (
        None if limit is None else (limit - demand.nominal) / unit.factor
        for limit in eased_limits(demand, width)
    )
    if demand.kind is DemandKind.FINISH:
        return f"{'Rq' if demand.finish_is_rms else 'Ra'} {_number(upper or 0.0, unit)} {unit.symbol}"
    if lower is not None and upper is not None:
        if abs(lower + upper) < 1e-6:
            return f"±{_number(upper, unit)} {unit.symbol}"
        return f"{_signed(upper, unit)}/{_signed(lower, unit)} {unit.symbol}"
    if demand.kind is DemandKind.SIZE:
        return f"{_signed(upper if upper is not None else lower or 0.0, unit)} {unit.symbol}"
    return f"{_number(upper or 0.0, unit)} {unit.symbol}"


def with_article(title: str) -> str:
    """Return a demand's name with its article, if it takes one: ``"the width between A1 and A3"``."""
    return title if _PROPER.match(title) else f"the {title}"


def written_widths(demand: Demand, system: str) -> tuple[float, int]:
    """Return the width that one step of a written tolerance makes, and the first step above the tolerance."""
    unit = limit_unit(demand, system)
    half = half_width(demand)
    step = STEPS[unit.symbol] * unit.factor / half
    return step, ceil(1.0 / step + 1e-6)


def _number(value: float, unit: Unit) -> str:
    fewest, most = DECIMALS[unit.symbol]
    if abs(value - round(value, fewest)) < 1e-7:
        most = fewest
    return f"{value:.{most}f}"


def _signed(value: float, unit: Unit) -> str:
    text = _number(abs(value), unit)
    if float(text) == 0.0:
        return "0"
    return f"{'+' if value > 0.0 else '−'}{text}"
