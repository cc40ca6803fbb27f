"""The purchase question: against arithmetic by hand, tables of engineering economy, and simulation."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_parts import plate
from sample_studies import study_of
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.invest import Job, Purchase, Way, annuity_factor, payback, way_of, weigh
from trialcut.planning.invest_words import payback_words, purchase_sentences

DRAWS = 4000


def way(money, *, time=3600.0, scrap=1.0, holds=True, refused=""):
    return Way(
        money=np.full(DRAWS, float(money)) if np.isscalar(money) else money,
        time=np.full(DRAWS, time),
        scrap=scrap,
        odds=0.96 if holds else 0.2,
        holds=holds,
        refused=refused,
    )


def job(name, lots, today, sd=0.0):
    return Job(name=name, lots=lots, lots_sd=sd, quantity=10, today=today)


def bought(*ways, price=1000.0, upkeep=0.0, life=10.0):
    return Purchase(name="it", price=price, upkeep=upkeep, life=life, ways=ways)


def weighed(jobs, purchase, **more):
    return weigh(jobs, [purchase], name="year", currency="EUR", **more)


def test_savings_are_lots_times_the_difference_of_a_lot():
    found = weighed(
        [job("a", 12, way(100.0)), job("b", 5, way(300.0, time=7200.0, scrap=4.0))],
        bought(way(90.0, time=1800.0), way(250.0, time=3600.0, scrap=1.0), upkeep=70.0),
    )
    got = found.purchases[0]
    assert_allclose(got.money.mean, 12 * 10 + 5 * 50)
    assert_allclose(got.time.mean, 12 * 1800 + 5 * 3600)
    assert_allclose(got.scrap.mean, 5 * 3)
    assert_allclose(got.payback.middle, 1000.0 / (370.0 - 70.0))
    assert_allclose([each.share for each in got.jobs], [250 / 370, 120 / 370])
    assert_allclose(found.money.mean, 12 * 100 + 5 * 300)


def test_what_changes_nothing_saves_exactly_nothing():
    today = way(np.random.default_rng(1).normal(100.0, 20.0, DRAWS))
    got = weighed([job("a", 12, today, sd=3.0)], bought(today)).purchases[0]
    assert (got.money.mean, got.money.sd, got.time.mean) == (0.0, 0.0, 0.0)
    assert got.payback.odds_within_life == 0.0
    assert purchase_sentences(got, currency="EUR") == ("It saves nothing on this mix.",)


def test_what_does_not_help_is_cut_as_today_and_what_becomes_possible_is_no_saving():
    jobs = [job("dear", 3, way(50.0)), job("lost", 3, way(50.0)), job("new", 3, way(0.0, holds=False))]
    jobs.append(job("never", 3, way(0.0, holds=False)))
    found = weighed(
        jobs, bought(way(60.0), way(40.0, holds=False), way(30.0), way(0.0, holds=False, refused="too weak"))
    )
    verdicts = {each.name: each.verdict for each in found.purchases[0].jobs}
    assert verdicts == {
        "dear": "as today",
        "lost": "as today",
        "new": "newly possible",
        "never": "not possible",
    }
    assert found.purchases[0].money.mean == 0.0
    assert (
        "makes possible what is not held today: new"
        in purchase_sentences(found.purchases[0], currency="EUR")[-1]
    )


def test_pay_back_is_the_quantile_of_a_ratio():
    """A year's saving normal about 300 with 40: quantiles of 1000 / N from those of N."""
    from scipy.stats import norm

    yearly = np.random.default_rng(3).normal(300.0, 40.0, 200_000)
    got = payback(price=1000.0, yearly=yearly, life=4.0)
    for value, odds in ((got.early, 0.1), (got.middle, 0.5), (got.late, 0.9)):
        assert_allclose(value, 1000.0 / norm(300.0, 40.0).ppf(1.0 - odds), rtol=5e-3)
    assert_allclose(got.odds_within_life, norm(300.0, 40.0).sf(250.0), rtol=0, atol=5e-3)


def test_a_saving_that_may_be_none_is_never_paid_back_in_those_draws():
    yearly = np.array([-5.0] * 30 + [100.0] * 70)
    got = payback(price=300.0, yearly=yearly, life=2.0)
    assert got.late == np.inf
    assert got.middle == 3.0
    assert payback_words(got, life=2.0) == (
        "not paid back within its life of 2 years (odds that it is: under 1 %)"
    )
    assert payback_words(got, life=5.0) == "paid back in 3.0 years (3.0 to never)"


@pytest.mark.parametrize(
    ("rate", "life", "factor"), [(0.08, 10, 6.7101), (0.10, 5, 3.7908), (0.06, 20, 11.4699), (0.0, 7, 7.0)]
)
def test_annuity_factors_are_those_of_compound_interest_tables(rate, life, factor):
    """Uniform-series present worth (P/A, i, n) as printed in engineering-economy tables, from memory."""
    assert_allclose(annuity_factor(rate=rate, life=life), factor, rtol=0, atol=5e-5)


@pytest.fixture(scope="module")
def study():
    edges = [edge.id for edge in plate().edges]
    demands = tuple(
        Demand(
            id=f"s-{edge}",
            kind=DemandKind.SIZE,
            title=edge,
            text="±0.3 mm",
            edges=(edge,),
            weights=(1.0,),
            lower=-3e-4,
            upper=3e-4,
        )
        for edge in edges
    )
    return replace(study_of(plate(), demands, draws=256), quantity=20)


def test_two_heads_halve_the_time_on_the_path_and_leave_what_jets_use_up(study):
    strong = replace(study, setup=replace(study.setup, pump=replace(study.setup.pump, nameplate_power=1e6)))
    one, two, four = (way_of(strong, heads=heads) for heads in (1, 2, 4))
    assert_allclose(one.time - two.time, 2.0 * (two.time - four.time), rtol=1e-9)
    moving = 2.0 * (one.time - two.time)
    assert_allclose(one.money - two.money, 0.5 * moving * study.prices.machine, rtol=0.02)
    assert (one.money - two.money > 0.0).all()
    assert one.scrap == two.scrap


def test_a_pump_that_cannot_feed_two_orifices_is_told(study):
    setup = study.setup
    flow_power = 30e3
    tight = replace(study, setup=replace(setup, pump=replace(setup.pump, nameplate_power=flow_power)))
    two = way_of(tight, heads=2)
    assert "pump" in two.refused
    assert not two.holds
