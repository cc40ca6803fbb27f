"""What a demand asks, as a drawing and as a gauge state it."""

from __future__ import annotations

from trialcut.papers.figures import fixed
from trialcut.papers.words import say
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.units.kinds import Kind
from trialcut.units.table import Unit, printed_unit

_LEAST_DECIMALS = {"in": 3, "mm": 2, "µin": 0, "µm": 1}
_MOST_DECIMALS = {"in": 5, "mm": 4, "µin": 0, "µm": 2}


def demand_unit(demand: Demand, system: str) -> Unit:
    """Unit in which a demand's values are printed."""
    return printed_unit(Kind.ROUGHNESS if demand.kind is DemandKind.FINISH else Kind.LENGTH, system)


def decimals_of(values: tuple[float, ...], unit: str) -> int:
    """Fewest decimals, within reason for the unit, that print all values without loss."""
    least, most = _LEAST_DECIMALS[unit], _MOST_DECIMALS[unit]
    for count in range(least, most):
        if all(abs(value - round(value, count)) < 1e-7 for value in values):
            return count
    return most


def size_limits(demand: Demand, system: str) -> str:
    """Nominal size with its limits as deviations, ``1.500 ±0.005 in``."""
    unit = demand_unit(demand, system)
    nominal = demand.nominal / unit.factor
    lower = None if demand.lower is None else (demand.lower - demand.nominal) / unit.factor
    upper = None if demand.upper is None else (demand.upper - demand.nominal) / unit.factor
    bounds = tuple(value for value in (lower, upper) if value is not None)
    digits = decimals_of(bounds, unit.symbol)
    size = fixed(nominal, digits)
    if lower is not None and upper is not None:
        if abs(lower + upper) < 10.0**-digits / 2:
            limits = f" ±{fixed(upper, digits)}"
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
    text = fixed(abs(value), digits)
    if float(text) == 0.0:
        return "0"
    return f"{'+' if value > 0.0 else '−'}{text}"


def gauge_limits(demand: Demand, system: str) -> tuple[str, str]:
    """Nominal, and the limits as a gauge reads them: ``("1.500", "1.495 – 1.505 in")``.

    The nominal is empty where a demand has none.
    """
    unit = demand_unit(demand, system)
    if demand.kind is DemandKind.LATER:
        if not demand.allowance:
            return "", say("demand.stock_free")
        digits = decimals_of((demand.allowance / unit.factor,), unit.symbol)
        return "", say("demand.stock", value=f"{fixed(demand.allowance / unit.factor, digits)} {unit.symbol}")
    known = [value / unit.factor for value in (demand.lower, demand.upper) if value is not None]
    digits = decimals_of(tuple(known), unit.symbol)
    lower, upper = (
        None if value is None else fixed(value / unit.factor, digits)
        for value in (demand.lower, demand.upper)
    )
    if lower is not None and upper is not None:
        limits = f"{lower} – {upper}"
    else:
        limits = f"≤ {upper}" if upper is not None else f"≥ {lower}" if lower is not None else "–"
    words = [limits, unit.symbol]
    if demand.kind is DemandKind.FINISH:
        words.append("Rq" if demand.finish_is_rms else "Ra")
    if demand.depth is not Depth.EVERY:
        words.append(say(f"demand.at_{demand.depth.name.lower()}"))
    nominal = fixed(demand.nominal / unit.factor, digits) if demand.kind is DemandKind.SIZE else ""
    return nominal, " ".join(words)
