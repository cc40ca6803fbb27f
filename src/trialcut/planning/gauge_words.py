"""What a gauge decides of a demand, in one sentence."""

from __future__ import annotations

from math import isclose

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.gauge_rating import GaugeRating, tolerance_of
from trialcut.trials.gauges.instrument import Measure
from trialcut.units import Kind, format_value

THINGS = {
    Measure.SIZE: "sizes from outside",
    Measure.OPENING: "openings",
    Measure.KERF: "kerfs",
    Measure.LIGHT_GAP: "light gaps",
    Measure.LAG: "lag",
    Measure.RA: "Ra",
    Measure.RQ: "Rq",
}
"""What a gauge measures, as a sentence calls it."""


def verdict_sentence(
    demand: Demand,
    *,
    measure: Measure,
    gauge: str,
    own: GaugeRating | None,
    better: GaugeRating | None,
    system: str,
) -> str:
    """
    What a gauge decides of a demand, and what another would.

    Parameters
    ----------
    demand : Demand
        What is asked.
    measure : Measure
        What must be measured for it.
    gauge : str
        Name of the gauge that is to be used.
    own, better : GaugeRating or None
        Of that gauge, and of another that would do better.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        Without a full stop.
    """
    limits = limits_text(demand, system)
    if own is None:
        text = f"the {gauge} does not measure {THINGS[measure]}"
        if better is None:
            return f"{text}, nor does any other gauge of the shop: state one that does"
        told = uncertainty_text(better, measure, system)
        return f"{text}; the {_owner(better.gauge)} {told} {_would(better, limits)}"
    told = f"the {_owner(gauge)} {uncertainty_text(own, measure, system)}"
    if own.guard is None:
        text = (
            f"{told} cannot decide {limits}: even a reading in the middle would conform "
            f"with only {100.0 * own.best:.0f} %"
        )
    elif own.share is None:
        band = _length(own.guard, measure, system)
        return f"{told} decides {limits} where the reading is {band} within"
    else:
        join = "and" if own.fine else "but"
        text = f"{told} decides {limits}{'' if own.fine else ','} {join} eats {share_text(own)} of it"
    if own.fine:
        return text
    if better is None:
        return f"{text}; no gauge of the shop does better"
    return f"{text}; the {better.gauge} {_would(better, '')}"


def uncertainty_text(rating: GaugeRating, measure: Measure, system: str) -> str:
    """
    Standard uncertainty of a gauge to two digits.

    Parameters
    ----------
    rating : GaugeRating
        Of the gauge.
    measure : Measure
        What is measured.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        As ``"17 µm"``, ``"0.00068 in"``.
    """
    return _length(rating.standard_uncertainty, measure, system)


def share_text(rating: GaugeRating) -> str:
    """
    What guard bands take of the tolerance, in percent; a dash where that cannot be said.

    Parameters
    ----------
    rating : GaugeRating
        Of a gauge.

    Returns
    -------
    str
        As ``"22 %"``.
    """
    if rating.share is None:
        return "–"
    percent = 100.0 * rating.share
    return f"{percent:.0f} %" if percent >= 0.95 else "less than 1 %"


def limits_text(demand: Demand, system: str) -> str:
    """
    The limits of a demand, short.

    Parameters
    ----------
    demand : Demand
        With at least one limit.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        As ``"±0.13 mm"``, ``"0.2 mm between its limits"``, ``"at most 0.1 mm"``.
    """
    kind = Kind.ROUGHNESS if demand.kind is DemandKind.FINISH else Kind.LENGTH
    if demand.lower is None or demand.upper is None:
        word, limit = ("at most", demand.upper) if demand.upper is not None else ("at least", demand.lower)
        return f"{word} {format_value(limit or 0.0, kind, system)}"
    width = tolerance_of(demand) or 0.0
    above, below = demand.upper - demand.nominal, demand.nominal - demand.lower
    if isclose(above, below, rel_tol=1e-6, abs_tol=1e-9):
        return f"±{format_value(0.5 * width, kind, system)}"
    return f"{format_value(width, kind, system)} between its limits"


def _owner(name: str) -> str:
    return f"{name}'" if name.endswith("s") else f"{name}'s"


def _would(rating: GaugeRating, limits: str) -> str:
    if rating.guard is None:
        return f"cannot decide {limits}" if limits else "cannot decide it either"
    eating = "" if rating.share is None else f"eat {share_text(rating)}"
    if limits:
        return f"would decide {limits}{f' and {eating} of it' if eating else ''}"
    return f"would {eating}" if eating else "would decide it closer"


def _length(value: float, measure: Measure, system: str) -> str:
    if measure in (Measure.RA, Measure.RQ):
        return format_value(value, Kind.ROUGHNESS, system, spread=value)
    unit = "in" if system == "inch" else "µm"
    return format_value(value, Kind.LENGTH, system, spread=value, unit=unit)
