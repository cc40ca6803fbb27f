"""Lots, coupons and slips of twin shops, against what can be worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.twins.gauges import DECIMAL, INCH_AS_MM, SWAPPED, WRONG_FEATURE, GaugeTruth, Noted, with_slips
from trialcut.twins.habits import one_slow_speed, three_speeds
from trialcut.twins.lot import LEAD, cut_lot, lot_program
from trialcut.twins.oracle import Oracle
from trialcut.twins.physics import draw_twin
from trialcut.twins.protocol import Conditions
from trialcut.twins.shop import draw_shop
from trialcut.twins.walls import DEPTHS, EdgeCut, inspection_of, resets, wall

SHARP = GaugeTruth(bias=0.0, noise_sd=0.0, resolution=1e-9)
PLATE = 8
"""Seed of a shop with a plate with holes."""


class StraightDay:
    """A jet of one width that neither trails nor scatters."""

    def __init__(self, half_width, lag=0.0):
        self.half_width, self.exit_lag = half_width, lag

    def run(self, *, jet_time):
        assert jet_time >= 0.0

    def kerf_half_width(self, cut, depths):
        return np.full((*np.shape(cut.speed), depths.size), self.half_width)

    def lag(self, cut, depths):
        return np.broadcast_to(self.exit_lag * depths, (*np.shape(cut.speed), depths.size))

    def roughness(self, cut, depths):
        return np.full((*np.shape(cut.speed), depths.size), 2e-6)

    def cuts_through(self, cut):
        return np.ones(np.shape(cut.speed), dtype=bool)

    def pierce_time(self, *, thickness):
        return 10.0 + 0.0 * thickness

    def cycle_time(self, *, steady, slow, fixed, pierces):
        return steady + slow + fixed + pierces

    def wall_scatter(self, *, edges):
        return np.zeros(edges)

    def roughness_scatter(self, *, edges):
        return np.ones(edges)


class StraightTwin:
    def __init__(self, half_width, lag=0.0):
        self.half_width, self.exit_lag = half_width, lag

    def session(self, *, start, seed):
        assert start >= 0.0
        assert seed >= 0
        return StraightDay(self.half_width, self.exit_lag)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    found = draw_shop(PLATE, folder=tmp_path_factory.mktemp("plate"))
    assert found.part == "plate"
    return found


def cuts_of(study, *, offset, speed=2e-3, tilted=False):
    return tuple(
        EdgeCut(speed=speed, tilt=0.0, lead=0.0, tilted=tilted, offset=offset, curvature=edge.curvature)
        for edge in study.part.edges
    )


def test_the_kept_wall_leans_as_the_head_does():
    cut = Conditions(speed=1e-3, thickness=20e-3, tilt=0.02)
    stands = wall(StraightDay(0.5e-3), conditions=cut, offset=0.5e-3, curvature=0.0)
    assert_allclose(stands, -20e-3 * DEPTHS * np.tan(0.02), atol=1e-18)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_trailing_jet_comes_off_an_arc_outwards(sign):
    cut = Conditions(speed=1e-3, thickness=20e-3)
    stands = wall(StraightDay(0.5e-3, lag=3e-3), conditions=cut, offset=0.5e-3, curvature=sign / 4e-3)
    assert_allclose(stands[-1], sign * 1e-3, rtol=1e-12)  # 3, 4, 5


def test_lead_takes_the_lag_away():
    cut = Conditions(speed=1e-3, thickness=20e-3, lead=np.arctan(3e-3 / 20e-3))
    stands = wall(StraightDay(0.5e-3, lag=3e-3), conditions=cut, offset=0.5e-3, curvature=250.0)
    assert_allclose(stands, 0.0, atol=1e-12)


def test_a_faultless_part_is_good_and_one_at_the_limit_still_is(shop):
    inspection = inspection_of(shop.study)
    edges = len(list(shop.study.part.edges))
    fine = np.full((edges, DEPTHS.size), 1e-6)
    through = np.ones(edges, dtype=bool)
    for deviation, good in ((0.0, True), (0.49, True), (0.51, False)):
        walls = np.full((edges, DEPTHS.size), deviation * shop.tolerance)
        assert bool(inspection.holds(walls, fine, through)) is good
    assert not inspection.holds(np.zeros((edges, DEPTHS.size)), fine, np.zeros(edges, dtype=bool))


def test_a_first_piece_takes_away_what_it_shows(shop):
    inspection = inspection_of(shop.study)
    edges = len(list(shop.study.part.edges))
    top, bottom = 40e-6, -20e-6
    walls = np.broadcast_to(top + (bottom - top) * DEPTHS, (edges, DEPTHS.size))
    sizes = inspection.sizes(walls) - inspection.nominal[:, None]
    found = {
        lean: walls
        - resets(inspection, top=sizes[:, 0], bottom=sizes[:, -1], tilted=np.full(edges, lean, dtype=bool))
        for lean in (True, False)
    }
    sized = (inspection.weights != 0.0).any(axis=0)
    assert_allclose(found[True][sized], 0.0, atol=1e-12)
    assert_allclose(found[False][sized], (30e-6 - 60e-6 * DEPTHS) * np.ones((sized.sum(), 1)), atol=1e-12)


def test_a_lot_off_by_more_than_the_tolerance_is_saved_by_its_first_piece(shop):
    twin, cuts = StraightTwin(0.5e-3), cuts_of(shop.study, offset=0.5e-3 + shop.tolerance)
    common = {"gauge": SHARP, "start": 0.0, "seed": 1}
    as_is = cut_lot(twin, shop.study, cuts, first_piece=False, **common)
    read = cut_lot(twin, shop.study, cuts, first_piece=True, **common)
    assert (as_is.share, read.share) == (0.0, 1.0)
    # Measured, and the first piece cut again: the odds that it held were nil.
    prices = shop.study.prices
    measured = as_is.cost + prices.machine * prices.measuring_time
    assert read.cost > measured
    again = (as_is.cost - prices.machine * prices.setup_time) / shop.study.quantity
    assert_allclose(read.cost, measured + again, rtol=1e-9)


def test_time_is_length_over_speed_and_what_every_contour_takes(shop):
    study = replace(shop.study, machine=replace(shop.study.machine, acceleration=1e9))
    program = lot_program(study, cuts_of(study, offset=0.5e-3), StraightDay(0.5e-3))
    contours = len(study.part.contours)
    assert program.contours == contours
    assert_allclose(program.steady, (study.part.length + contours * LEAD) / 2e-3, rtol=1e-12)
    assert_allclose(program.slow, 0.0, atol=1e-9)
    machine = study.machine
    each = machine.switch_time + 2.0 * machine.head_lift / machine.lift_speed
    assert contours * each < program.fixed < contours * (each + 1.0)


def test_a_lot_longer_than_a_shift_takes_more_days(shop):
    cuts = cuts_of(shop.study, offset=0.5e-3, speed=1e-4)
    lot = cut_lot(StraightTwin(0.5e-3), shop.study, cuts, first_piece=False, gauge=SHARP, start=0.0, seed=1)
    a_day = max(int(8 * 3600.0 / lot.piece_time), 1)
    assert lot.sessions == -(-shop.study.quantity // a_day) > 1


def test_the_oracle_is_no_slower_where_the_drawing_allows_more(shop):
    twin = draw_twin(shop.believed, PLATE)

    def speeds(share):
        demands = tuple(
            replace(
                each,
                lower=each.nominal - share * shop.tolerance,
                upper=each.nominal + share * shop.tolerance,
            )
            for each in shop.study.demands
            if each.weights
        )
        study = replace(shop.study, demands=demands)
        plan = Oracle(twin, study, believed=shop.believed, gauge=shop.gauge, seed=1).plan()
        assert plan.holds
        assert plan.odds >= study.asked_odds
        return np.array([cut.speed for cut in plan.cuts])

    assert (speeds(2.0) >= speeds(1.0)).all()
    assert speeds(2.0).sum() > speeds(1.0).sum()


def test_habits_cut_every_edge_upright_at_one_speed(shop):
    twin = draw_twin(shop.believed, PLATE)
    slow = one_slow_speed(shop.study, believed=shop.believed)
    three = three_speeds(twin, shop.study, believed=shop.believed, gauge=shop.gauge, seed=1)
    for habit in (slow, three):
        assert len({cut.speed for cut in habit.cuts}) == 1
        assert not any(cut.tilted or cut.tilt or cut.lead for cut in habit.cuts)
    assert three.cuts[0].speed >= slow.cuts[0].speed
    assert (slow.samples, three.samples) == (0, 3)
    assert slow.sample_time == 0.0 < three.sample_time


FORM = [
    Noted(coupon="T1-1", cut=cut, kind="size", depth=depth, value=value + depth * 1e-4)
    for cut, value in (("X", 40e-3), ("Y", 30e-3))
    for depth in (0.0, 1.0)
]


def test_a_pen_that_never_slips_writes_what_it_should():
    random = np.random.default_rng(1)
    assert with_slips(FORM, rate=0.0, random=random, kinds=frozenset({"size"})) == FORM


def test_slips_are_of_the_four_kinds_and_look_like_them():
    seen = set()
    for seed in range(40):
        spoilt = with_slips(FORM, rate=0.3, random=np.random.default_rng(seed), kinds=frozenset({"size"}))
        for place, (good, bad) in enumerate(zip(FORM, spoilt, strict=True)):
            if not bad.slip:
                assert bad == good
                continue
            seen.add(bad.slip)
            ratio = bad.value / good.value
            if bad.slip == DECIMAL:
                assert_allclose(abs(np.log10(ratio)), 1.0, rtol=1e-12)
            elif bad.slip == INCH_AS_MM:
                assert_allclose(ratio, 1.0 / 25.4, rtol=1e-12)
            elif bad.slip == WRONG_FEATURE:
                assert bad.value == FORM[(place + 2) % 4].value
    assert seen == {DECIMAL, INCH_AS_MM, SWAPPED, WRONG_FEATURE}


def test_only_lengths_are_written_down_wrongly():
    times = [replace(each, kind="pierce time") for each in FORM]
    random = np.random.default_rng(1)
    assert with_slips(times, rate=1.0, random=random, kinds=frozenset({"size"})) == times
