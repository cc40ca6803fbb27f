"""Which gauge decides which demand: uncertainty of an instrument, guard band, share, verdict, sentence."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm

from trialcut.errors import RangeError
from trialcut.planning.conformance import conformance_probability
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.gauge_choice import gauge_verdict, gauge_verdicts
from trialcut.planning.gauge_rating import measure_of, rate_gauge, tolerance_of
from trialcut.planning.study import Gauge
from trialcut.services import demo_study, load_shop
from trialcut.trials.gauges import Measure, instrument_uncertainty

MM, UM, INCH = 1e-3, 1e-6, 0.0254
CALIPER = Gauge(
    name="caliper",
    standard_uncertainty=30 * UM / sqrt(3.0),
    largest_error=30 * UM,
    inside_extra=20 * UM,
    measures=(Measure.SIZE, Measure.OPENING),
)
MICROMETER = Gauge(
    name="micrometer",
    standard_uncertainty=4 * UM / sqrt(3.0),
    largest_error=4 * UM,
    measures=(Measure.SIZE,),
)
FEELERS = Gauge(name="feelers", standard_uncertainty=6 * UM, measures=(Measure.LIGHT_GAP,))
SHOP = (CALIPER, MICROMETER, FEELERS)


def size(half, *, weights=(1.0, 1.0), nominal=40 * MM, **more):
    limits = {"lower": nominal - half, "upper": nominal + half} | more
    return Demand(
        id="size-A1-A3",
        kind=DemandKind.SIZE,
        title="width between A1 and A3",
        text="",
        edges=("A1", "A3"),
        weights=weights,
        nominal=nominal,
        **limits,
    )


def other(kind, upper=None, **more):
    return Demand(id="x", kind=kind, title="x", text="", edges=("A1",), upper=upper, **more)


def test_what_is_known_of_an_instrument_adds_up_in_squares():
    # by hand, in µm: 3^2 + 30^2/3 + 10^2/12 + 4^2
    ours = instrument_uncertainty(
        standard_uncertainty=3 * UM, largest_error=30 * UM, resolution=10 * UM, repeatability=4 * UM
    )
    assert_allclose(ours / UM, sqrt(9.0 + 300.0 + 100.0 / 12.0 + 16.0), rtol=1e-12)


def test_a_caliper_of_thirty_micrometres_is_good_to_seventeen():
    # DIN 862 by way of a data sheet: 30 µm is taken as 17 µm
    assert_allclose(instrument_uncertainty(largest_error=30 * UM) / UM, 17.0, rtol=0.0, atol=0.5)


def test_a_negative_figure_of_an_instrument_is_an_error():
    with pytest.raises(RangeError, match="resolution"):
        instrument_uncertainty(resolution=-1e-6)


def test_from_inside_the_error_is_larger():
    assert_allclose(CALIPER.uncertainty(Measure.OPENING), 50 * UM / sqrt(3.0), rtol=1e-12)
    assert_allclose(CALIPER.uncertainty(Measure.SIZE), 30 * UM / sqrt(3.0), rtol=1e-12)
    used = replace(
        CALIPER, standard_uncertainty=instrument_uncertainty(largest_error=30 * UM, repeatability=8 * UM)
    )
    assert_allclose(used.uncertainty(Measure.OPENING) / UM, sqrt(2500.0 / 3.0 + 64.0), rtol=1e-12)


@pytest.mark.parametrize(
    ("demand", "measure"),
    [
        (size(0.1 * MM), Measure.SIZE),
        (size(0.1 * MM, weights=(-2.0,)), Measure.OPENING),
        (size(0.1 * MM, weights=(1.0, -1.0)), Measure.SIZE),
        (other(DemandKind.SQUARENESS, 0.1 * MM), Measure.LIGHT_GAP),
        (other(DemandKind.FINISH, 3 * UM), Measure.RA),
        (other(DemandKind.FINISH, 3 * UM, finish_is_rms=True), Measure.RQ),
        (other(DemandKind.CORNER, 0.1 * MM), None),
        (other(DemandKind.LATER), None),
    ],
)
def test_a_demand_says_what_must_be_measured(demand, measure):
    assert measure_of(demand) is measure


def test_the_tolerance_of_a_squareness_runs_from_zero_and_a_size_with_one_limit_has_none():
    assert tolerance_of(other(DemandKind.SQUARENESS, 0.1 * MM)) == 0.1 * MM
    assert tolerance_of(size(0.1 * MM, lower=None)) is None


def test_the_guard_band_ends_where_conformance_reaches_95_percent():
    for half in (0.5 * MM, 0.13 * MM, 40 * UM):
        demand = size(half)
        rating = rate_gauge(CALIPER, demand=demand, measure=Measure.SIZE)
        at_guard = conformance_probability(
            estimate=demand.upper - rating.guard,
            standard_uncertainty=rating.standard_uncertainty,
            lower=demand.lower,
            upper=demand.upper,
        )
        assert_allclose(at_guard, 0.95, rtol=1e-9)
        assert_allclose(rating.share, rating.guard / half, rtol=1e-12)


def test_with_limits_far_apart_the_guard_band_is_that_of_one_limit():
    rating = rate_gauge(MICROMETER, demand=size(0.5 * MM), measure=Measure.SIZE)
    assert_allclose(rating.guard, 1.6448536 * rating.standard_uncertainty, rtol=1e-7)
    assert_allclose(rating.at_limit, 0.5, rtol=1e-9)


def test_with_limits_close_together_both_count():
    rating = rate_gauge(CALIPER, demand=size(36 * UM), measure=Measure.SIZE)
    assert rating.guard > 1.7 * rating.standard_uncertainty


def test_a_gauge_too_coarse_for_any_proof_has_no_guard_band():
    rating = rate_gauge(CALIPER, demand=size(30 * UM), measure=Measure.SIZE)
    u = rating.standard_uncertainty
    assert rating.guard is None
    assert rating.share is None
    assert not rating.fine
    assert_allclose(rating.best, 2.0 * norm.cdf(30 * UM / u) - 1.0, rtol=1e-12)


def test_a_gauge_at_the_very_edge_of_any_proof_keeps_to_the_middle():
    u = CALIPER.standard_uncertainty
    widest = norm.ppf(0.975) * u  # half a tolerance within which the middle conforms with 95 %
    rating = rate_gauge(CALIPER, demand=size(widest * (1.0 + 1e-9)), measure=Measure.SIZE)
    assert_allclose(rating.guard, widest, rtol=1e-3)  # the probability is flat about the middle
    assert rate_gauge(CALIPER, demand=size(widest * (1.0 - 1e-6)), measure=Measure.SIZE).guard is None


def test_a_gauge_without_uncertainty_is_an_error():
    perfect = Gauge(name="perfect", standard_uncertainty=0.0)
    with pytest.raises(RangeError, match="uncertainty of the perfect is 0 m"):
        rate_gauge(perfect, demand=size(1e-4), measure=Measure.SIZE)


def test_sixteen_uncertainties_are_fine_and_less_is_not():
    u = CALIPER.standard_uncertainty
    assert rate_gauge(CALIPER, demand=size(8.01 * u), measure=Measure.SIZE).fine
    assert not rate_gauge(CALIPER, demand=size(7.99 * u), measure=Measure.SIZE).fine


def test_the_caliper_decides_but_eats_and_the_micrometer_would_eat_less():
    verdict = gauge_verdict(CALIPER, demand=size(0.127 * MM), shop_gauges=SHOP)
    assert verdict.sentence == (
        "the caliper's 17 µm decides ±0.127 mm, but eats 22 % of it; the micrometer would eat 3 %"
    )
    assert verdict.better is verdict.others[0]


def test_the_same_verdict_reads_in_inches():
    verdict = gauge_verdict(CALIPER, demand=size(0.005 * INCH), shop_gauges=SHOP, system="inch")
    assert verdict.sentence == (
        "the caliper's 0.0007 in decides ±0.005 in, but eats 22 % of it; the micrometer would eat 3 %"
    )


@pytest.mark.parametrize(
    ("gauge", "demand", "sentence"),
    [
        (MICROMETER, size(0.13 * MM), "the micrometer's 2.3 µm decides ±0.13 mm and eats 3 % of it"),
        (
            CALIPER,
            size(20 * UM),
            "the caliper's 17 µm cannot decide ±0.02 mm: even a reading in the middle would conform with "
            "only 75 %; the micrometer would eat 19 %",
        ),
        (
            MICROMETER,
            size(4 * UM),
            "the micrometer's 2.3 µm cannot decide ±0.004 mm: even a reading in the middle would conform "
            "with only 92 %; no gauge of the shop does better",
        ),
        (
            CALIPER,
            size(3 * UM),
            "the caliper's 17 µm cannot decide ±0.003 mm: even a reading in the middle would conform with "
            "only 14 %; the micrometer cannot decide it either",
        ),
        (
            MICROMETER,
            size(0.3 * MM, weights=(-2.0,)),
            "the micrometer does not measure openings; the caliper's 29 µm would decide ±0.3 mm and eat "
            "16 % of it",
        ),
        (
            CALIPER,
            other(DemandKind.FINISH, 3.2 * UM),
            "the caliper does not measure Ra, nor does any other gauge of the shop: state one that does",
        ),
        (
            CALIPER,
            other(DemandKind.SQUARENESS, 0.1 * MM),
            "the caliper does not measure light gaps; the feelers' 6 µm would decide at most 0.1 mm and eat "
            "10 % of it",
        ),
        (
            CALIPER,
            size(0.1 * MM, upper=None),
            "the caliper's 17 µm decides at least 39.9 mm where the reading is 28 µm within",
        ),
        (
            CALIPER,
            size(0.1 * MM, upper=40.4 * MM),
            "the caliper's 17 µm decides 0.5 mm between its limits and eats 11 % of it",
        ),
    ],
)
def test_a_verdict_is_one_plain_sentence(gauge, demand, sentence):
    assert gauge_verdict(gauge, demand=demand, shop_gauges=SHOP).sentence == sentence


def test_the_guard_band_lowers_the_consumers_risk_and_raises_the_producers():
    verdict = gauge_verdict(CALIPER, demand=size(0.13 * MM))
    assert verdict.guarded.consumer < verdict.plain.consumer
    assert verdict.guarded.producer > verdict.plain.producer


def test_risks_are_those_published_for_the_same_proportions():
    # Deaver by way of a public notebook: limits at two standard deviations of the process, the gauge at a
    # quarter of one, accepting up to the limits
    verdict = gauge_verdict(
        Gauge(name="g", standard_uncertainty=25 * UM, measures=(Measure.SIZE,)),
        demand=size(200 * UM),
        process_sd=100 * UM,
    )
    assert_allclose(verdict.plain.consumer, 0.008, rtol=0.0, atol=0.5e-3)
    assert_allclose(verdict.plain.producer, 0.015, rtol=0.0, atol=0.5e-3)


def test_the_process_just_fits_unless_it_is_known():
    assert_allclose(gauge_verdict(CALIPER, demand=size(0.15 * MM)).process_sd, 0.05 * MM, rtol=1e-9)
    assert gauge_verdict(CALIPER, demand=size(0.15 * MM), process_sd=2e-5).process_sd == 2e-5
    with pytest.raises(RangeError, match="process_sd"):
        gauge_verdict(CALIPER, demand=size(0.15 * MM), process_sd=0.0)


def test_a_demand_without_limits_gets_no_verdict():
    assert gauge_verdict(CALIPER, demand=size(0.1, lower=None, upper=None)) is None
    with pytest.raises(RangeError, match="no limit"):
        rate_gauge(CALIPER, demand=size(0.1, lower=None, upper=None), measure=Measure.SIZE)


def test_a_study_gets_a_verdict_for_each_demand_that_a_gauge_decides():
    study, shop = demo_study(metric=True), load_shop()
    verdicts = gauge_verdicts(study, tuple(shop.gauges.values()), process_sds={study.demands[0].id: 1e-4})
    decided = [demand.id for demand in study.demands if measure_of(demand) is not None]
    assert [verdict.demand.id for verdict in verdicts] == decided
    assert verdicts[0].process_sd == 1e-4
    assert all(verdict.gauge == study.gauge.name for verdict in verdicts)
