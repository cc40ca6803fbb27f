"""Lots of several sizes: by hand, and against a lot priced afresh."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_parts import bracket
from sample_results import bracket_study, option_of, spread
from sample_studies import study_of
from trialcut.planning.money import PieceTime, lot_cost
from trialcut.planning.price_breaks import Planned, cost_in_lot, lot_time, price_breaks
from trialcut.planning.results import Cost, CostLine


def option_costing(*, paid_once: float, each_piece: float, quantity: int, first_piece: bool = False):
    """An option whose every piece holds: so much once a lot, so much a piece, no spread."""
    once = paid_once / quantity
    cost = Cost(
        currency="USD",
        each=spread(once + each_piece, 0.0),
        lot=spread(paid_once + quantity * each_piece, 0.0),
        lines=(
            CostLine("cutting", spread(each_piece, 0.0), ""),
            CostLine("set-up", spread(once, 0.0), "shared by the lot"),
        ),
        good=spread(once + each_piece, 0.0),
    )
    option = option_of(bracket_study(), first_piece=first_piece)
    return replace(option, forecast=replace(option.forecast, cost=cost))


def test_what_is_paid_once_is_shared_by_the_pieces():
    option = option_costing(paid_once=100.0, each_piece=3.0, quantity=50)
    found = price_breaks(bracket_study(), [Planned(option, 50)], [1, 10, 50, 200])
    # By hand: 100 / n + 3.
    assert_allclose([each.good.mean for each in found], [103.0, 13.0, 5.0, 3.5], rtol=1e-12)
    assert [each.quantity for each in found] == [1, 10, 50, 200]


def test_each_lot_takes_the_cheapest_way_and_no_larger_one_is_dearer():
    quick_start = option_costing(paid_once=10.0, each_piece=5.0, quantity=10)
    quick_run = option_costing(paid_once=100.0, each_piece=3.0, quantity=50)
    lots = [1, 2, 10, 44, 45, 46, 100, 1000]
    found = price_breaks(bracket_study(), [Planned(quick_start, 10), Planned(quick_run, 50)], lots)
    # By hand: 10 / n + 5 = 100 / n + 3 at n = 45.
    by_hand = [10.0 / n + 5.0 if n <= 45 else 100.0 / n + 3.0 for n in lots]
    assert_allclose([each.good.mean for each in found], by_hand, rtol=1e-12)
    assert np.all(np.diff([each.good.mean for each in found]) < 0.0)


@pytest.mark.parametrize("first_piece", [False, True])
def test_a_lot_of_another_size_costs_what_it_costs_when_priced_afresh(first_piece):
    # Against our own pricing of that lot: it proves that sharing anew is exact, spreads and all.
    rng = np.random.default_rng(7)
    time = PieceTime(
        cutting=rng.uniform(80.0, 120.0, 500),
        traverse=np.full(500, 9.0),
        piercing=rng.uniform(10.0, 30.0, 500),
        slow=0.0,
        edges={},
    )
    study = study_of(bracket(), quantity=50)
    odds = {"first_piece": first_piece, "odds_now": 0.7, "odds": 0.96 if first_piece else 0.7}
    priced = lot_cost(study, time, **odds)
    for quantity in (1, 7, 50, 400):
        afresh = lot_cost(replace(study, quantity=quantity), time, **odds).good
        shared = cost_in_lot(priced, 50, quantity)
        assert afresh is not None
        assert shared is not None
        assert_allclose(
            [shared.mean, shared.sd, shared.p05, shared.p95],
            [afresh.mean, afresh.sd, afresh.p05, afresh.p95],
            rtol=1e-9,
        )


def test_where_hardly_any_piece_holds_there_is_no_price():
    option = option_costing(paid_once=100.0, each_piece=3.0, quantity=50)
    cost = replace(option.forecast.cost, good=None)
    hopeless = replace(option, forecast=replace(option.forecast, cost=cost))
    assert price_breaks(bracket_study(), [Planned(hopeless, 50)], [1, 10]) == []


def test_the_time_of_a_lot_counts_set_up_measuring_handling_and_pieces_cut_again():
    study = bracket_study()
    option = option_of(study, first_piece=True)
    # By hand: 900 s set-up, 600 s measuring, and 50 / 0.962 pieces of 129.4 + 1.645 * 7.5 + 30 s each.
    by_hand = 900.0 + 600.0 + 50.0 / 0.962 * (129.4 + 1.645 * 7.5 + 30.0)
    assert_allclose(lot_time(study, option, 50), by_hand, rtol=1e-12)
    without = option_of(study, first_piece=False)
    by_hand = 900.0 + 50.0 / 0.783 * (129.4 + 1.645 * 7.5 + 30.0)
    assert_allclose(lot_time(study, without, 50), by_hand, rtol=1e-12)
