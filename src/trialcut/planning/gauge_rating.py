"""How a gauge would decide a demand: guard band, and what it takes of the tolerance.

A reading proves that a piece conforms only where it keeps a guard band within the limits. What the band takes
of the tolerance is lost to the process. The rating needs no cut: limits and gauges are known beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.errors import RangeError
from trialcut.planning.conformance import conformance_probability, guard_band
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.study import Gauge
from trialcut.trials.gauges.instrument import Measure

CONFORMANCE = 0.95
"""Probability that what a guarded reading accepts conforms (ISO 14253-1:2017, second-hand). [-]"""
FINE_ENOUGH = 16.0
"""Tolerance over standard uncertainty from which a gauge counts as fine: common practice, no source. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeRating:
    """How one gauge would decide one demand.

    Parameters
    ----------
    gauge : str
        Name in the shop.
    standard_uncertainty : float
        Of a reading of what the demand is on. [m]
    ratio : float or None
        Tolerance over standard uncertainty; None for a size with a single limit. [-]
    at_limit : float
        Probability that a piece which reads on its limit conforms. [-]
    best : float
        Probability that a piece which reads at the best place within the limits conforms. [-]
    guard : float or None
        Band to keep within each limit; None where no reading proves conformity. [m]
    share : float or None
        Of the tolerance that the guard bands take; None where there is no band or no tolerance. [-]
    fine : bool
        Whether that is little enough.
    """

    gauge: str
    standard_uncertainty: float
    ratio: float | None
    at_limit: float
    best: float
    guard: float | None
    share: float | None
    fine: bool


def measure_of(demand: Demand) -> Measure | None:
    """What must be measured to decide a demand; None where no gauge does.

    Parameters
    ----------
    demand : Demand
        A size that shrinks as material is left standing is measured from inside.

    Returns
    -------
    Measure or None
        None for a corner, and for an edge that is machined later.
    """
    match demand.kind:
        case DemandKind.SIZE:
            return Measure.OPENING if sum(demand.weights) < 0.0 else Measure.SIZE
        case DemandKind.SQUARENESS:
            return Measure.LIGHT_GAP
        case DemandKind.FINISH:
            return Measure.RQ if demand.finish_is_rms else Measure.RA
        case _:
            return None


def tolerance_of(demand: Demand) -> float | None:
    """Width between the limits; from zero for squareness and finish; None for a size with one limit. [m]

    Parameters
    ----------
    demand : Demand
        With at least one limit.
    """
    low = demand.lower
    if low is None and demand.kind in (DemandKind.SQUARENESS, DemandKind.FINISH):
        low = 0.0
    return None if low is None or demand.upper is None else demand.upper - low


def rate_gauge(gauge: Gauge, *, demand: Demand, measure: Measure) -> GaugeRating:
    """
    How a gauge would decide a demand.

    Parameters
    ----------
    gauge : Gauge
        That measures such a thing.
    demand : Demand
        With at least one limit.
    measure : Measure
        What is measured for it.

    Returns
    -------
    GaugeRating
        Guard band, its share of the tolerance, and whether that is little.

    Raises
    ------
    RangeError
        If the demand has no limit, or the gauge no uncertainty.

    Notes
    -----
    The guard band ends where the conformance probability, both limits counted, is 95 %. With limits far
    apart that is 1.645 standard uncertainties.

    References
    ----------
    JCGM 106:2012; ISO 14253-1:2017, second-hand.
    """
    u = gauge.uncertainty(measure)
    if not u > 0.0:
        raise RangeError(f"standard uncertainty of the {gauge.name} is {u:g} m: it must be greater than zero")
    tolerance = tolerance_of(demand)
    bounds = {"lower": demand.lower, "upper": demand.upper}
    edge = demand.upper if demand.upper is not None else demand.lower
    if edge is None:
        raise RangeError(f"{demand.title} has no limit: there is nothing for a gauge to decide")
    at_limit = conformance_probability(estimate=edge, standard_uncertainty=u, **bounds)
    two_sided = demand.lower is not None and demand.upper is not None
    width = None if tolerance is None else tolerance / u
    best = 1.0 if width is None else _conformance(0.5 * width if two_sided else width, width, two_sided)
    guard = None
    if best >= CONFORMANCE:
        guard = u * _guard(width, two_sided=two_sided)
    share = None
    if guard is not None and tolerance is not None:
        share = (2.0 if two_sided else 1.0) * guard / tolerance
    return GaugeRating(
        gauge=gauge.name,
        standard_uncertainty=u,
        ratio=width,
        at_limit=at_limit,
        best=best,
        guard=guard,
        share=share,
        fine=guard is not None and (width is None or width >= FINE_ENOUGH),
    )


def _conformance(inside: float, width: float, two_sided: bool) -> float:
    """Of a reading so far inside a limit, all in standard uncertainties."""
    return float(
        conformance_probability(
            estimate=inside, standard_uncertainty=1.0, lower=0.0, upper=width if two_sided else None
        )
    )


def _guard(width: float | None, *, two_sided: bool) -> float:
    """How far inside a limit a reading conforms with the asked probability, in standard uncertainties."""
    if not two_sided or width is None:
        return guard_band(standard_uncertainty=1.0, probability=CONFORMANCE)
    from scipy.optimize import brentq  # noqa: PLC0415 - heavy

    return float(
        brentq(
            lambda inside: _conformance(inside, width, two_sided) - CONFORMANCE, 0.0, 0.5 * width, xtol=1e-12
        )
    )
