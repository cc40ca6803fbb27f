"""Is the gauge of a study fine enough for what it asks, and which gauge of the shop is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, pi, sqrt

from trialcut.errors import RangeError
from trialcut.planning.conformance import Risks, global_risks
from trialcut.planning.demands import Demand
from trialcut.planning.gauge_rating import GaugeRating, measure_of, rate_gauge, tolerance_of
from trialcut.planning.gauge_words import verdict_sentence
from trialcut.planning.study import Gauge, Study
from trialcut.trials.gauges.instrument import Measure

PROCESS_SPAN = 6.0
"""Tolerance over the process's standard deviation, where the process is not known: it just fits. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeVerdict:
    """What a demand's own gauge decides, and what another would.

    Parameters
    ----------
    demand : Demand
        What is asked.
    measure : Measure
        What must be measured for it.
    gauge : str
        The study's gauge.
    own : GaugeRating or None
        Of the study's gauge; None where it does not measure this.
    others : tuple of GaugeRating
        Gauges of the shop that measure this, finest first.
    better : GaugeRating or None
        The finest of them, where the own gauge is missing or not fine enough and it takes less.
    process_sd : float or None
        That the risks are told for, the process in the middle of its limits; None with a single limit. [m]
    plain, guarded : Risks or None
        With `own`, accepting up to the limits, and up to the guard bands; None without such a gauge or
        band, or where the demand has one limit and no natural one opposite.
    sentence : str
        All of it in one.
    """

    demand: Demand
    measure: Measure
    gauge: str
    own: GaugeRating | None
    others: tuple[GaugeRating, ...]
    better: GaugeRating | None
    process_sd: float | None
    plain: Risks | None
    guarded: Risks | None
    sentence: str


def gauge_verdict(
    gauge: Gauge,
    *,
    demand: Demand,
    shop_gauges: Sequence[Gauge] = (),
    process_sd: float | None = None,
    system: str = "metric",
) -> GaugeVerdict | None:
    """
    Whether a gauge decides a demand, what that costs, and which other gauge would do better.

    Parameters
    ----------
    gauge : Gauge
        The one that is to be used.
    demand : Demand
        What is asked.
    shop_gauges : sequence of Gauge
        What else is there.
    process_sd : float, optional
        Standard deviation of what is made; a sixth of the tolerance unless given. [m]
    system : str
        ``"inch"`` or ``"metric"``, of the sentence.

    Returns
    -------
    GaugeVerdict or None
        None where no gauge decides such a demand, or it has no limit.

    Raises
    ------
    RangeError
        If the process's standard deviation is not positive.
    """
    measure = measure_of(demand)
    if measure is None or (demand.lower is None and demand.upper is None):
        return None
    own = rate_gauge(gauge, demand=demand, measure=measure) if measure in gauge.measures else None
    others = sorted(
        (
            rate_gauge(each, demand=demand, measure=measure)
            for each in shop_gauges
            if each.name != gauge.name and measure in each.measures
        ),
        key=lambda rating: rating.standard_uncertainty,
    )
    tolerance = tolerance_of(demand)
    sd = process_sd
    if sd is None and tolerance is not None:
        sd = tolerance / PROCESS_SPAN
    if sd is not None and not sd > 0.0:
        raise RangeError(f"process_sd is {sd:g} m: it must be greater than zero")
    plain = guarded = None
    if own is not None and tolerance is not None and sd is not None:
        plain = _risks(demand, own, tolerance, sd, guard=0.0)
        guarded = None if own.guard is None else _risks(demand, own, tolerance, sd, guard=own.guard)
    better = _better(own, others)
    return GaugeVerdict(
        demand=demand,
        measure=measure,
        gauge=gauge.name,
        own=own,
        others=tuple(others),
        better=better,
        process_sd=sd,
        plain=plain,
        guarded=guarded,
        sentence=verdict_sentence(
            demand, measure=measure, gauge=gauge.name, own=own, better=better, system=system
        ),
    )


def gauge_verdicts(
    study: Study, shop_gauges: Sequence[Gauge], *, process_sds: Mapping[str, float] | None = None
) -> tuple[GaugeVerdict, ...]:
    """
    What the gauge of a study decides of what it asks, demand by demand.

    Parameters
    ----------
    study : Study
        With its gauge.
    shop_gauges : sequence of Gauge
        Every gauge of the shop.
    process_sds : mapping, optional
        From a demand's id to the standard deviation of what is made; a sixth of the tolerance where it is
        not given. [m]

    Returns
    -------
    tuple of GaugeVerdict
        In the order of the demands; none for corners and edges that are machined later.
    """
    known = process_sds or {}
    found = (
        gauge_verdict(
            study.gauge,
            demand=demand,
            shop_gauges=shop_gauges,
            process_sd=known.get(demand.id),
            system=study.system,
        )
        for demand in study.demands
    )
    return tuple(verdict for verdict in found if verdict is not None)


def _risks(demand: Demand, rating: GaugeRating, tolerance: float, sd: float, *, guard: float) -> Risks:
    """Of a normal process in the middle, all in standard uncertainties of the gauge."""
    u = rating.standard_uncertainty
    width, spread, band = tolerance / u, sd / u, guard / u
    middle = 0.5 * width

    def density(value: float) -> float:
        return exp(-0.5 * ((value - middle) / spread) ** 2) / (spread * sqrt(2.0 * pi))

    low = demand.lower is not None
    high = demand.upper is not None
    return global_risks(
        density,
        standard_uncertainty=1.0,
        lower=0.0 if low else None,
        upper=width if high else None,
        accept_lower=band if low else None,
        accept_upper=width - band if high else None,
        support=(middle - 12.0 * spread, middle + 12.0 * spread),
    )


def _better(own: GaugeRating | None, others: Sequence[GaugeRating]) -> GaugeRating | None:
    """The finest other gauge, where the own one is missing or not fine enough and it takes less."""
    if not others or (own is not None and own.fine):
        return None
    finest = others[0]
    return finest if own is None or finest.standard_uncertainty < own.standard_uncertainty else None
