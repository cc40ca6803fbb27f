"""The set-up as a variable: what is tried, what is refused, and that more of a thing never hurts."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut import services
from trialcut.errors import UsageError
from trialcut.planning.setup_choice import rank_setups
from trialcut.services.setup_search import Free, free_of, search_setups

KSI = 6894.757293168e3


@pytest.fixture(scope="module")
def shop():
    return services.load_shop()


@pytest.fixture(scope="module")
def study():
    return replace(services.demo_study(), draws=512)


@pytest.fixture(scope="module")
def search(study, shop):
    return search_setups(study, shop, free=(Free.ORIFICE, Free.TUBE, Free.PRESSURE, Free.PUMP))


def test_the_best_is_no_dearer_than_the_study_s_own(search, study):
    own = next(each for each in search.tried if each.study.setup == study.setup)
    assert search.tried[0].good.mean <= own.good.mean
    assert search.tried[0].holds


def test_set_ups_are_in_order(search):
    prices = [each.good.mean for each in search.tried[4:] if each.holds]
    assert prices == sorted(prices)
    places = [bool(each.refused) for each in search.tried]
    assert places == sorted(places)


def test_every_free_combination_is_tried_once(search, shop):
    keys = [
        (names["pump"], names["head"], round(each.study.setup.pressure / KSI))
        for each in search.tried
        for names in [each.study.setup_names]
    ]
    assert len(set(keys)) == len(keys) == len(shop.pumps) * len(shop.heads) * 5


def test_abrasive_is_fed_in_proportion_to_water(search, study):
    """Flow through an orifice goes with its bore squared and the root of pressure (Bernoulli)."""
    usual = study.setup
    for each in search.tried:
        setup = each.study.setup
        water = (setup.orifice / usual.orifice) ** 2 * np.sqrt(setup.pressure / usual.pressure)
        assert_allclose(setup.abrasive_rate / usual.abrasive_rate, water, rtol=0.02)


def test_a_pump_that_cannot_feed_an_orifice_is_refused_with_the_reason(study):
    small = replace(study.setup.pump, name="small", nameplate_power=5e3)
    weak = replace(study, setup=replace(study.setup, pump=small))
    tried = rank_setups([weak, study])
    assert tried[0].study.setup.pump.name != "small"
    assert "pump" in tried[1].refused


def test_more_pressure_and_more_pump_never_make_a_piece_slower_or_dearer(study, shop):
    """Common practice, no source: a harder jet cuts no slower. Consumption stays as priced."""
    free = replace(study, prices=replace(study.prices, energy=0.0, water=0.0, abrasive=0.0))
    times = []
    for pressure in (30.0, 40.0, 50.0, 60.0):
        tried = rank_setups([replace(free, setup=replace(free.setup, pressure=pressure * KSI))])[0]
        times.append(tried.time)
    assert times == sorted(times, reverse=True)
    big = rank_setups([replace(free, setup=replace(free.setup, pump=shop.pump("hundred")))])[0]
    assert_allclose(big.time, times[-1], rtol=1e-9)


@pytest.mark.parametrize(
    ("text", "said"),
    [("orifice,nozle", "'nozle' is not known: choose among orifice"), (" , ", "names nothing")],
)
def test_what_is_not_known_is_one_line(text, said):
    with pytest.raises(UsageError, match=said):
        free_of(text)


def test_names_may_be_repeated_and_in_capitals():
    assert free_of("Tube, orifice,tube") == (Free.TUBE, Free.ORIFICE)
