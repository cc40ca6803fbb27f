"""The worth of a trial against preposterior analysis done the long way, outcome by outcome.

The long way shares nothing with Trialcut but the numbers of the case: exact conditioning or importance
weights, fresh draws for every outcome, and a plan made by plain loops.
"""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from trialcut.planning.trial_lot import Condition, EdgeGroup, Lot, LotPrices
from trialcut.planning.trial_worth import Outcomes, update, worth_curve

CUTS = 6
TIME = np.linspace(60.0, 160.0, CUTS)
TOLERANCE, LUCK, ASKED = 200e-6, 12e-6, 0.9
BASE = np.linspace(230e-6, 60e-6, CUTS)
SLOPE = np.stack([np.linspace(45e-6, 25e-6, CUTS), np.linspace(20e-6, -10e-6, CUTS)], axis=1)
CENTRE = np.stack([np.full(CUTS, 10e-6), np.full(CUTS, 35e-6)], axis=1)
PRICES = LotPrices(cutting=0.03, piece=2.0, lot=20.0, first_piece=15.0, quantity=40)


def spread_at(z: np.ndarray) -> np.ndarray:
    return BASE[:, None] + SLOPE @ z


def centre_at(z: np.ndarray) -> np.ndarray:
    return CENTRE @ z


def lot_of(z, luck, *, spread=spread_at) -> Lot:
    count = z.shape[1]
    room = np.stack([0.5 * TOLERANCE - luck])
    below = np.stack([0.5 * TOLERANCE + luck])
    given = {
        "spread": spread(z),
        "above": room,
        "below": below,
        "above_all": room,
        "below_all": below,
        "variant": np.zeros(CUTS, dtype=np.intp),
    }
    return Lot(
        now=(Condition(centre=centre_at(z), **given),),
        corrected=(Condition(centre=0.2 * centre_at(z), **given),),
        through=np.full((CUTS, count), -3.0),
        groups=(EdgeGroup(edges=("A1",), time=TIME, allowed=np.ones(CUTS, dtype=bool), conditions=(0,)),),
        prices=PRICES,
        asked=ASKED,
    )


def price_the_long_way(spread, centre, luck, weights) -> float:
    """Plan by loops on weighted draws: the cheaper of as known and corrected that holds, or the likelier."""
    plans, now = [], {}
    for corrected in (False, True):
        odds = []
        for cut in range(CUTS):
            middle = (0.2 if corrected else 1.0) * centre[cut]
            order = np.argsort(middle)
            aim = middle[order][np.searchsorted(np.cumsum(weights[order]), 0.5)]
            high, low = middle - aim + 0.5 * spread[cut], middle - aim - 0.5 * spread[cut]
            inside = (high + luck <= 0.5 * TOLERANCE) & (low + luck >= -0.5 * TOLERANCE)
            odds.append(float(weights @ inside))
        level = ASKED if max(odds) >= ASKED else max(odds) - 0.01
        pick = next(cut for cut in range(CUTS) if odds[cut] >= level)
        now[corrected] = odds
        piece = PRICES.piece + PRICES.cutting * TIME[pick]
        price = PRICES.lot + PRICES.quantity * piece * min(1.0 / max(odds[pick], 1e-9), 10.0)
        if corrected:
            price += PRICES.first_piece + (1.0 - now[False][pick]) * piece
        plans.append((odds[pick], price))
    holding = [price for odds, price in plans if odds >= ASKED]
    if holding:
        return min(holding)
    return max(plans)[1]


def outcomes_of(values, error_sd, generator) -> Outcomes:
    errors = error_sd[:, None] * generator.standard_normal(values.shape)
    return Outcomes(values=values, read=values + errors, error_covariance=np.diag(error_sd**2))


@pytest.mark.parametrize("error", [5e-6, 20e-6, 80e-6])
def test_the_saving_agrees_with_exact_conditioning_outcome_by_outcome(error):
    generator = np.random.default_rng(11)
    reading = np.array([[40e-6, 10e-6], [5e-6, 30e-6]])
    noise = np.full(2, error)

    z, luck = generator.standard_normal((2, 4096)), LUCK * generator.standard_normal(4096)
    ours = worth_curve(lot_of(z, luck), [None, outcomes_of(reading @ z, noise, generator)], [0.0, 30.0])

    gain = reading.T @ np.linalg.inv(reading @ reading.T + np.diag(noise**2))
    root = np.linalg.cholesky(np.eye(2) - gain @ reading)
    even = np.full(4000, 1 / 4000)
    prices = []
    for _ in range(500):
        truth = generator.standard_normal(2)
        mean = gain @ (reading @ truth + noise * generator.standard_normal(2))
        draws = mean[:, None] + root @ generator.standard_normal((2, 4000))
        chance = LUCK * generator.standard_normal(4000)
        prices.append(price_the_long_way(spread_at(draws), centre_at(draws), chance, even))
    before = []
    for _ in range(20):
        draws, chance = generator.standard_normal((2, 4000)), LUCK * generator.standard_normal(4000)
        before.append(price_the_long_way(spread_at(draws), centre_at(draws), chance, even))
    saving = np.mean(before) - np.mean(prices)
    error_of_it = np.hypot(np.std(prices) / np.sqrt(500), np.std(before) / np.sqrt(20))

    worth = ours.worths[1]
    assert worth.saving > 3.0 * worth.saving_error
    # what both leave to chance: outcomes, and the odds counted on 4096 draws, which move every price alike
    assert_allclose(worth.saving, saving, atol=3.0 * np.hypot(error_of_it, worth.saving_error) + 1.0)
    assert_allclose(worth.worth, worth.saving - 30.0, rtol=1e-12)


def test_the_saving_agrees_with_full_reweighting_where_readings_are_not_linear():
    generator = np.random.default_rng(12)

    def spread(z):
        return BASE[:, None] * np.exp(0.25 * z[:1] + 0.05 * z[1:])

    def read(z):
        return np.stack([100e-6 * np.exp(0.25 * z[0]), 30e-6 * z[1]])

    noise = np.array([10e-6, 10e-6])
    z, luck = generator.standard_normal((2, 4096)), LUCK * generator.standard_normal(4096)
    ours = worth_curve(
        lot_of(z, luck, spread=spread), [None, outcomes_of(read(z), noise, generator)], [0.0, 0.0]
    ).worths[1]

    z, luck = generator.standard_normal((2, 20000)), LUCK * generator.standard_normal(20000)
    even = np.full(20000, 1 / 20000)
    before = price_the_long_way(spread(z), centre_at(z), luck, even)
    prices = []
    for _ in range(400):
        seen = read(generator.standard_normal((2, 1))) + noise[:, None] * generator.standard_normal((2, 1))
        weights = np.exp(-0.5 * (((read(z) - seen) / noise[:, None]) ** 2).sum(axis=0))
        prices.append(price_the_long_way(spread(z), centre_at(z), luck, weights / weights.sum()))
    saving, error = before - np.mean(prices), np.std(prices) / np.sqrt(400)

    # a normal update of a spread that is log-normal with 25 %: right to a tenth of what is saved
    assert_allclose(ours.saving, saving, atol=3.0 * np.hypot(error, ours.saving_error) + 0.1 * saving)


def case(draws=2048, seed=3):
    generator = np.random.default_rng(seed)
    z, luck = generator.standard_normal((2, draws)), LUCK * generator.standard_normal(draws)
    return lot_of(z, luck), z


def test_a_coupon_that_tells_nothing_is_worth_minus_its_cost():
    lot, z = case()
    blind = outcomes_of(np.zeros((1, z.shape[1])), np.array([1e-5]), np.random.default_rng(0))
    curve = worth_curve(lot, [None, blind], [0.0, 12.5])
    assert_allclose(curve.worths[1].saving, 0.0, atol=1e-12)
    assert_allclose(curve.worths[1].worth, -12.5, rtol=1e-12)
    assert curve.best == 0


def test_where_nothing_is_unknown_nothing_is_worth_reading():
    generator = np.random.default_rng(1)
    lot = lot_of(np.zeros((2, 1024)), LUCK * generator.standard_normal(1024))
    values = np.full((2, 1024), 1e-4)
    curve = worth_curve(lot, [None, outcomes_of(values, np.full(2, 1e-5), generator)], [0.0, 1.0])
    assert_allclose(curve.worths[1].saving, 0.0, atol=1e-12)


def test_more_precise_readings_are_never_worth_less():
    lot, z = case()
    values = np.array([[40e-6, 10e-6], [5e-6, 30e-6]]) @ z
    precisions = (1e-3, 100e-6, 40e-6, 15e-6, 5e-6, 1e-6)
    trials = [None] + [outcomes_of(values, np.full(2, each), np.random.default_rng(4)) for each in precisions]
    curve = worth_curve(lot, trials, [0.0] * len(trials))
    for better in range(1, len(trials)):
        more, error = curve.difference(better, better - 1)
        # A plan must hold at the asked odds after every outcome, so news too faint to act on may cost a step
        # of speed in the outcomes that are worse; half a hundredth of the price covers it.
        assert more >= -2.0 * error - 0.005 * curve.worths[0].price
    assert curve.worths[-1].saving > curve.worths[1].saving + 10.0


def test_an_update_leaves_the_spread_and_moves_the_mean_of_exact_conditioning():
    generator = np.random.default_rng(5)
    z = generator.standard_normal((3, 20000))
    rows, reading = generator.standard_normal((4, 3)), generator.standard_normal((2, 3))
    noise = np.array([0.5, 0.8])
    outcomes = outcomes_of(reading @ z, noise, generator)
    after = update(rows @ z, outcomes)
    gain = reading.T @ np.linalg.inv(reading @ reading.T + np.diag(noise**2))
    # 20000 draws know a covariance to about one part in a hundred
    assert_allclose(
        after.left @ after.left.T / 20000, rows @ (np.eye(3) - gain @ reading) @ rows.T, atol=0.08
    )
    assert_allclose(after.moved, rows @ gain @ outcomes.read, atol=0.15)


def test_knowledge_and_what_is_left_are_not_tied_to_each_other():
    generator = np.random.default_rng(6)
    z = generator.standard_normal((2, 20000))
    outcomes = outcomes_of(np.array([[1.0, 0.5]]) @ z, np.array([0.7]), generator)
    after = update(np.array([[1.0, 0.0], [0.3, 1.0]]) @ z, outcomes)
    tie = (after.left - after.left.mean(axis=1, keepdims=True)) @ after.moved.T / 20000
    assert_allclose(tie, 0.0, atol=0.02)  # three standard errors of a covariance of 20000 draws


def test_the_fewest_coupons_that_none_beats_by_more_than_the_error_are_best():
    lot, z = case()
    values = np.array([[40e-6, 10e-6]]) @ z
    good = outcomes_of(values, np.array([5e-6]), np.random.default_rng(7))
    curve = worth_curve(lot, [None, good, good], [0.0, 1.0, 1.0])
    assert curve.best == 1
    assert worth_curve(lot, [None, good], [0.0, 1e6]).best == 0


def test_the_cuts_of_a_window_are_planned_as_in_the_whole():
    lot, z = case()
    values = np.array([[40e-6, 10e-6]]) @ z
    trial = outcomes_of(values, np.array([10e-6]), np.random.default_rng(8))
    whole = worth_curve(lot, [None, trial], [0.0, 0.0])
    used = np.concatenate([planned.picks.ravel() for planned in whole.plans])
    part = worth_curve(lot.window(int(used.min()), int(used.max())), [None, trial], [0.0, 0.0])
    assert_array_equal(part.plans[1].picks + used.min(), whole.plans[1].picks)
    assert_allclose(part.prices, whole.prices, rtol=1e-12)


def test_pieces_that_hardly_ever_hold_are_bought_at_ten_tries():
    lot, _ = case()
    hopeless = replace(
        lot,
        now=tuple(replace(each, spread=each.spread + 1e-3) for each in lot.now),
        corrected=tuple(replace(each, spread=each.spread + 1e-3) for each in lot.corrected),
    )
    price = worth_curve(hopeless, [None], [0.0]).worths[0].price
    piece = PRICES.piece + PRICES.cutting * TIME[0]
    assert_allclose(price, PRICES.lot + 10.0 * PRICES.quantity * piece, rtol=1e-12)


def test_the_error_of_the_simulation_tells_how_far_other_draws_lead():
    savings, errors = [], []
    for seed in range(12):
        lot, z = case(draws=1024, seed=seed)
        values = np.array([[40e-6, 10e-6], [5e-6, 30e-6]]) @ z
        trial = outcomes_of(values, np.full(2, 20e-6), np.random.default_rng(100 + seed))
        worth = worth_curve(lot, [None, trial], [0.0, 0.0], parts=8).worths[1]
        savings.append(worth.saving)
        errors.append(worth.saving_error)
    # a standard deviation of twelve is known to a factor of two, nineteen times out of twenty and more
    assert 0.5 < np.std(savings, ddof=1) / np.sqrt(np.mean(np.square(errors))) < 2.0


def test_parts_of_the_draws_hold_every_draw_once():
    lot, z = case(draws=1000)
    trial = outcomes_of(np.array([[40e-6, 10e-6]]) @ z, np.array([1e-5]), np.random.default_rng(9))
    curve = worth_curve(lot, [None, trial], [0.0, 0.0], outcomes=1000, parts=8)
    assert_array_equal(np.bincount(curve.part), np.full(8, 125))
    assert curve.prices.shape == (2, 1000)
    assert [len(np.unique(curve.prices[0][curve.part == each])) for each in range(8)] == [1] * 8
