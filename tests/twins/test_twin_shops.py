"""A few shops through the public services: the way is open. What it is worth, `make twins` says."""

from dataclasses import asdict

import pytest

from trialcut.twins.coverage import Unseen
from trialcut.twins.one_shop import run_shop
from trialcut.twins.physics import draw_twin
from trialcut.twins.workflow import PublicServices, WithoutTrial

SEEDS = (7, 11, 18, 19)
COUPONS = 2


@pytest.fixture(scope="module")
def shops():
    return [run_shop(seed, make_twin=draw_twin, tool=PublicServices(coupons=COUPONS)) for seed in SEEDS]


def test_every_shop_goes_from_enquiry_to_inspected_lot(shops):
    assert [shop.failure for shop in shops] == [""] * len(SEEDS)
    for shop in shops:
        assert shop.plan is not None
        assert 0.0 <= shop.plan.share <= 1.0
        assert shop.plan.cost > 0.0
        assert shop.plan.search_cost > 0.0
        assert shop.plan.piece_time > 0.0
        assert 0.0 < shop.odds <= 1.0
        assert shop.coupons == COUPONS
        assert shop.readings > COUPONS


def test_intervals_hold_more_often_than_not(shops):
    hits = [shop.hits[kind] for shop in shops if not shop.refused for kind in Unseen]
    values = sum(each.values for each in hits)
    assert values > 50
    # A weak floor: four shops say no more. With correct intervals nine in ten would hold.
    assert 0.5 < sum(each.at_90 for each in hits) / values <= 1.0
    assert all(each.at_50 <= each.at_95 <= each.values for each in hits)


def test_the_same_shop_comes_out_the_same_again(shops):
    again = run_shop(SEEDS[0], make_twin=draw_twin, tool=PublicServices(coupons=COUPONS))
    assert asdict(again) == asdict(shops[0])


def test_without_a_trial_nothing_is_cut_beforehand():
    shop = run_shop(SEEDS[0], make_twin=draw_twin, tool=WithoutTrial())
    assert (shop.failure, shop.coupons, shop.readings) == ("", 0, 0)
    assert shop.plan is not None
    assert shop.plan.search_cost == 0.0
