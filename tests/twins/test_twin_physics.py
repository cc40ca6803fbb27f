"""Sanity of the twins' own physics. Nothing here compares with measurements: twins are invented."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_less
from scipy.optimize import least_squares

from trialcut.physics.kerf import half_width_dose_law, taper_per_side_power_law
from trialcut.physics.profile import half_width
from trialcut.physics.separation import separation_speed_zeng_1993
from trialcut.twins.correlation import handbook_separation_speed
from trialcut.twins.laws import RANGES
from trialcut.twins.physics import draw_twin
from trialcut.twins.protocol import Conditions, TwinSetup

SETUP = TwinSetup(
    pressure=413.7e6,
    orifice=0.3556e-3,
    tube_bore=1.016e-3,
    abrasive_rate=7.56e-3,
    abrasive_factor=1.0,
    grain_size=0.18e-3,
    machinability=213.0,
    position_sd=15e-6,
)
INCH = 25.4e-3
DEPTHS = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
SEEDS = range(1, 21)


def separation(twin):
    return float(twin.separation_speed(thickness=np.array(INCH), bore=SETUP.tube_bore + twin.laws.bore_error))


def cut_at(ratios, twin, day, *, tilt=0.0, lead=0.0):
    speed = separation(twin) * np.exp(day.speed_shift) * np.asarray(ratios)
    return Conditions(speed=speed, thickness=INCH, tilt=tilt, lead=lead)


@pytest.mark.parametrize("thickness", [6e-3, INCH, 38e-3])
def test_both_writings_of_the_correlation_agree(thickness):
    ours = separation_speed_zeng_1993(
        pressure=SETUP.pressure,
        orifice=SETUP.orifice,
        abrasive_rate=SETUP.abrasive_rate,
        tube_bore=SETUP.tube_bore,
        thickness=thickness,
        machinability=SETUP.machinability,
    )
    assert_allclose(handbook_separation_speed(SETUP, thickness=thickness), ours, rtol=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_twin_keeps_to_the_ranges_that_are_promised(seed):
    twin = draw_twin(SETUP, seed)
    for name, (low, high) in RANGES.items():
        assert low <= getattr(twin.laws, name) <= high
    assert 0.05e-3 <= twin.taper(ratio=0.1) <= 0.25e-3
    assert twin.taper(ratio=0.015) < 0.0
    off = np.log(separation(twin) / handbook_separation_speed(SETUP, thickness=INCH))
    assert abs(off) < 0.3


@pytest.mark.parametrize("seed", SEEDS)
def test_top_kerf_is_a_little_wider_than_the_bore(seed):
    twin = draw_twin(SETUP, seed)
    day = twin.session(start=0.0, seed=1)
    day.width_shift = 0.0
    top = 2.0 * day.kerf_half_width(cut_at([0.1], twin, day), np.array([0.0]))[0, 0]
    bore = SETUP.tube_bore + twin.laws.bore_error
    assert 1.02 <= top / bore <= 1.3


@pytest.mark.parametrize("seed", SEEDS)
def test_faster_means_narrower_and_later_and_rougher(seed):
    twin = draw_twin(SETUP, seed)
    day = twin.session(start=0.0, seed=1)
    cut = cut_at(np.linspace(0.03, 0.95, 40), twin, day)
    assert_array_less(np.diff(day.kerf_half_width(cut, DEPTHS)[:, -1]), 0.0)
    assert_array_less(0.0, np.diff(day.lag(cut, DEPTHS)[:, 1:], axis=0))
    assert_array_less(0.0, np.diff(day.roughness(cut, DEPTHS)[:, 1:], axis=0))


@pytest.mark.parametrize("seed", SEEDS)
def test_deeper_means_later_and_rougher(seed):
    twin = draw_twin(SETUP, seed)
    day = twin.session(start=0.0, seed=1)
    cut = cut_at([0.1, 0.4], twin, day)
    assert_array_less(0.0, np.diff(day.lag(cut, DEPTHS), axis=1))
    assert_array_less(0.0, np.diff(day.roughness(cut, DEPTHS), axis=1))


def test_the_jet_comes_out_below_separation_speed_and_not_above():
    twin = draw_twin(SETUP, 3)
    day = twin.session(start=0.0, seed=1)
    cut = cut_at([0.99, 1.01], twin, day)
    assert day.cuts_through(cut).tolist() == [True, False]
    assert day.kerf_half_width(cut, DEPTHS)[1, -1] == 0.0


def test_a_leaned_jet_has_a_longer_way_and_so_a_narrower_exit():
    twin = draw_twin(SETUP, 3)
    day = twin.session(start=0.0, seed=1)
    upright, leaned = (
        day.kerf_half_width(cut_at([0.3], twin, day, tilt=tilt, lead=tilt), DEPTHS)[0, -1]
        for tilt in (0.0, 0.1)
    )
    assert leaned < upright


def test_the_same_seeds_give_the_same_twin_day_and_luck():
    one, other = (draw_twin(SETUP, 5).session(start=100.0, seed=7) for _ in range(2))
    cut = Conditions(speed=3e-3, thickness=INCH)
    assert (one.kerf_half_width(cut, DEPTHS) == other.kerf_half_width(cut, DEPTHS)).all()
    assert (one.wall_scatter(edges=4) == other.wall_scatter(edges=4)).all()
    assert one.pierce_time(thickness=INCH) == other.pierce_time(thickness=INCH)


def test_the_tube_wears_while_the_jet_runs():
    twin = draw_twin(SETUP, 5)
    day = twin.session(start=0.0, seed=7)
    fresh = day.bore
    day.run(jet_time=8 * 3600.0)
    assert 0.01e-3 <= day.bore - fresh <= 0.03e-3
    later = twin.session(start=8 * 3600.0, seed=7)
    assert_allclose(later.bore, day.bore, rtol=1e-12)


def test_scatter_is_as_wide_as_the_laws_say():
    twin = draw_twin(SETUP, 2)
    day = twin.session(start=0.0, seed=1)
    walls = np.array([day.wall_scatter(edges=2) for _ in range(4000)])
    own = np.hypot(twin.laws.edge_sd, twin.laws.position_share * SETUP.position_sd)
    # 4000 draws know a standard deviation to 1.1 %; five of those are allowed.
    assert_allclose(walls.std(), np.hypot(own, twin.laws.piece_sd), rtol=0.06)
    assert_allclose((walls[:, 0] - walls[:, 1]).std(), np.sqrt(2.0) * own, rtol=0.06)


RATIOS = np.array([0.03, 0.06, 0.1, 0.2, 0.35, 0.55, 0.8])


def taper_form(x):
    """The form of the forecast: power of the speed ratio that vanishes at one speed."""
    top, power, neutral, shape, barrel, log_factor = x
    ratio = np.exp(log_factor) * RATIOS
    taper = top * (np.minimum(ratio, 1.0) ** power - neutral) / (1.0 - neutral)
    return half_width(
        depth_fraction=DEPTHS,
        top_half_width=top,
        taper=taper[:, None],
        profile_exponent=shape,
        barrel=barrel,
    )


def power_form(x):
    """The power law, through the same profile."""
    top, scale, power, neutral, shape, barrel = x
    taper = taper_per_side_power_law(
        speed_ratio=RATIOS,
        thickness=INCH,
        scale=scale,
        thickness_exponent=0.5,
        speed_exponent=power,
        neutral=neutral,
    )
    return half_width(
        depth_fraction=DEPTHS,
        top_half_width=top,
        taper=np.asarray(taper)[:, None],
        profile_exponent=shape,
        barrel=barrel,
    )


def dose_form(x):
    """The dose law, its beam spreading with depth."""
    top, spread, spreading, power, log_factor = x
    return half_width_dose_law(
        speed_ratio=np.minimum(np.exp(log_factor) * RATIOS, 1.0)[:, None],
        depth_fraction=DEPTHS,
        beam_spread=spread * (1.0 + spreading * DEPTHS),
        top_half_width=top,
        depth_exponent=power,
    )


FORMS = {
    "taper": (taper_form, [0.57e-3, 0.4, 0.23, 1.3, 0.0, 0.0]),
    "power": (power_form, [0.57e-3, 4e-3, 0.4, 0.2, 1.3, 0.0]),
    "dose": (dose_form, [0.57e-3, 0.25e-3, 0.1, 1.15, 0.0]),
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_no_form_of_the_forecast_can_follow_a_twin_exactly(form, seed):
    twin = draw_twin(SETUP, seed)
    day = twin.session(start=0.0, seed=1)
    truth = day.kerf_half_width(cut_at(RATIOS, twin, day), DEPTHS)
    law, start = FORMS[form]
    best = least_squares(
        lambda x: (np.asarray(law(x)) - truth).ravel() * 1e6, start, x_scale=np.abs(start) + 0.05
    )
    assert np.abs(best.fun).max() > 5.0
