"""What a machine holds: against sums done draw by draw in plain Python, and in the order physics gives."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_less

from sample_capability import plates_of
from sample_fits import sample_readings, sample_trials
from trialcut.physics.cut import cut_table
from trialcut.planning.capability import (
    MIDDLE,
    OPENINGS,
    PLATES,
    SPEED_SHARES,
    capability,
    evidence,
    stands_behind,
)
from trialcut.planning.prepared import DEPTHS
from trialcut.planning.results import Stance
from trialcut.planning.scatter import draw_scatter
from trialcut.services.shop_file import load_shop
from trialcut.trials.knowledge import PriorKnowledge

THICK = 0.020
DRAWS = 200
SYSTEMS = [(system, fitted) for system in ("inch", "metric") for fitted in (False, True)]


def on(shop, *, draws=DRAWS, thicknesses=(THICK,), setup=None, machine=None):
    return capability(
        setup or sample_trials()[0].setup,
        machine=machine or shop.machine(),
        gauge=shop.gauge(),
        knowledge=PriorKnowledge(),
        thicknesses=thicknesses,
        diameter=0.025,
        draws=draws,
    )


def counted(values: list[float], share: float) -> float:
    """The least value that a share of all do not exceed."""
    return sorted(values)[math.ceil(share * len(values)) - 1]


def test_an_upright_width_squareness_and_finish_are_those_of_sums_done_draw_by_draw():
    shop = load_shop()
    (plate,) = on(shop)
    setup = replace(sample_trials()[0].setup, thickness=THICK)
    known = PriorKnowledge()
    central, draws = known.central(setup), known.draw(setup, count=DRAWS, seed=1)
    table = cut_table(
        setup=setup, parameters=draws, central=central, speeds=plate.speeds, depths=DEPTHS, tilted=False
    )
    assert_allclose(plate.speeds, np.array(SPEED_SHARES) * np.median(table.separation_speed), rtol=1e-12)
    chance = draw_scatter(
        closed=np.array([False, False, True]),
        draws=DRAWS,
        seed=1,
        piece_sd=float(central.piece_scatter),
        edge_sd=math.hypot(float(central.edge_scatter), shop.machine().position_sd),
        gauge_sd=shop.gauge().standard_uncertainty,
        finish_log_sd=float(central.finish_scatter),
    )
    for k in range(len(SPEED_SHARES)):
        # After a correction by the mean of both faces a wall is off by its bow and taper alone.
        shapes = []
        for d in range(DRAWS):
            wall = [-float(table.half_width[k, layer, d]) for layer in range(len(DEPTHS))]
            shapes.append([each - 0.5 * (wall[0] + wall[-1]) for each in wall])
        middles = sorted(0.5 * (max(shape) + min(shape)) for shape in shapes)
        aim = 0.5 * (middles[DRAWS // 2 - 1] + middles[DRAWS // 2])
        widths, leans, rough = [], [], []
        for d, shape in enumerate(shapes):
            luck = 0.0
            for place in (0, 1):
                misread = 0.5 * (chance.first_top[place, d] + chance.first_bottom[place, d])
                luck += chance.wall[place, d] - misread
            widths.append(max(abs(2.0 * (each - aim) + luck) for each in shape))
            leans.append(max(shape) - min(shape))
            rough.append(float(table.finish_ra[k, d] * chance.finish[0, d]))
        held = plate.stances[Stance.UPRIGHT]
        for told, values in ((held.width, widths), (held.square, leans), (held.finish, rough)):
            assert_allclose(told.most[k], counted(values, 0.95), rtol=1e-9)
            assert_allclose(told.half[k], counted(values, 0.5), rtol=1e-9)


@pytest.mark.parametrize(("system", "fitted"), SYSTEMS)
def test_slower_is_not_rougher(system, fitted):
    for plate in plates_of(system, fitted=fitted):
        for held in plate.stances.values():
            for values in (held.finish.half, held.finish.most):
                assert_array_less(values[:-1], values[1:])


@pytest.mark.parametrize(("system", "fitted"), SYSTEMS)
def test_thicker_is_not_faster(system, fitted):
    plates = plates_of(system, fitted=fitted)
    speeds = np.array([plate.speeds for plate in plates])
    assert_array_less(speeds[1:], speeds[:-1] * (1.0 + 1e-12))
    separation = np.array([plate.separation for plate in plates])
    assert_array_less(separation[1:], separation[:-1])


@pytest.mark.parametrize(("system", "fitted"), SYSTEMS)
def test_half_of_the_pieces_hold_no_more_than_95_of_100(system, fitted):
    for plate in plates_of(system, fitted=fitted):
        for held in plate.stances.values():
            for name in ("width", "opening", "square", "finish"):
                one = getattr(held, name)
                assert_array_less(one.half, one.most)


def test_readings_narrow_the_bands_at_the_plates_that_were_cut():
    # Half an inch and an inch were cut.
    pairs = zip(plates_of("inch", fitted=False), plates_of("inch", fitted=True), strict=True)
    for before, after in pairs:
        if round(before.thickness / 0.0254, 3) not in (0.5, 1.0):
            continue
        assert after.separation[2] / after.separation[0] < before.separation[2] / before.separation[0]
        for stance, held in after.stances.items():
            for name in ("width", "finish"):
                wide, narrow = getattr(before.stances[stance], name), getattr(held, name)
                assert narrow.most[MIDDLE] - narrow.half[MIDDLE] < wide.most[MIDDLE] - wide.half[MIDDLE]


def test_a_machine_that_cannot_tilt_is_told_of_upright_alone():
    shop = load_shop()
    (plate,) = on(shop, machine=replace(shop.machine(), tilt_travel=0.0))
    assert list(plate.stances) == [Stance.UPRIGHT]


def test_a_machine_goes_no_faster_than_it_can():
    shop = load_shop()
    slow = replace(shop.machine(), cut_speed_max=1e-3)
    (plate,) = on(shop, machine=slow, thicknesses=(0.003,))
    assert plate.speeds.max() == 1e-3


def test_readings_are_counted_by_the_plates_they_were_read_on():
    trials = sample_trials()
    readings = sample_readings(trials)
    coupons = [coupon for trial in trials for coupon in trial.coupons]
    found = evidence(readings, coupons)
    plates = {coupon.id: coupon.thickness for coupon in coupons}
    by_hand = Counter(plates[each.coupon] for each in readings)
    assert [(each.thickness, each.total) for each in found] == sorted(by_hand.items())
    rough = sum(each.kind.value == "Ra" and plates[each.coupon] == 12.7e-3 for each in readings)
    assert found[0].finish == rough > 0
    # 12 mm is within a tenth of half an inch, 10 mm is not.
    assert stands_behind(found, 0.012).total == found[0].total
    assert stands_behind(found, 0.010).total == 0
    assert evidence(readings, coupons[:0]) == ()


def test_both_unit_systems_have_as_many_plates_and_span_much_the_same():
    assert len(PLATES["inch"]) == len(PLATES["metric"])
    assert_allclose(PLATES["inch"], PLATES["metric"], rtol=0.28)  # the nearest usual plates
    assert_allclose(OPENINGS["inch"], OPENINGS["metric"], rtol=0.02)
