"""The tabulated jet law against the cut table it comes from, and its refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from surface_cases import jet_along
from trialcut.ascut.law import JetLaw, jet_law, law_of_table
from trialcut.errors import RangeError
from trialcut.physics.cut import cut_table
from trialcut.physics.parameters import central_parameters, draw_parameters
from trialcut.services.demo import demo_study

SETUP = demo_study().setup
CENTRAL = central_parameters(SETUP)
DEPTHS = np.linspace(0.0, 1.0, 5)


def table(speeds, **stance):
    return cut_table(setup=SETUP, parameters=CENTRAL, central=CENTRAL, speeds=speeds, depths=DEPTHS, **stance)


def test_between_its_speeds_a_law_of_a_range_is_good_to_a_third_of_a_micrometre_and_a_thousandth_of_the_lag():
    law = jet_law(setup=SETUP, parameters=CENTRAL, central=CENTRAL, depths=DEPTHS, fastest=6e-3)
    speeds = np.geomspace(7e-6, 6e-3, 333)
    exact = table(speeds)
    for layer in range(DEPTHS.size):
        width = np.interp(speeds, law.speeds, law.half_width[:, layer])
        assert_allclose(width, exact.half_width[:, layer, 0], atol=0.3e-6)
        lag = np.interp(speeds, law.speeds, law.lag[:, layer])
        # Worst at the kink where the jet ceases to cut through.
        assert_allclose(lag, exact.residual_lag[:, layer, 0], rtol=1e-3)


def test_a_leaned_jet_cuts_as_an_upright_one_at_its_stretched_speed():
    leaned = table([2e-3], tilted=True, tilt_travel=0.17)
    slope = (np.tan(leaned.tilt[0]), np.tan(leaned.lead[0]))
    direction = np.array([[0.6, 0.8], [0.6, 0.8]])
    jet = jet_along(np.array([[0.0, 0.0], [0.01, 0.0]]), direction, tilt=slope[0], lead=slope[1])
    law = jet_law(setup=SETUP, parameters=CENTRAL, central=CENTRAL, depths=DEPTHS, fastest=6e-3, speeds=2000)
    upright = law.upright_speed(jet)[0]
    assert upright > 2e-3
    for layer in range(DEPTHS.size):
        width = np.interp(upright, law.speeds, law.half_width[:, layer])
        assert_allclose(width, leaned.half_width[0, layer, 0], atol=1e-9)


def test_the_law_of_a_leaned_table_stretches_no_further():
    law = law_of_table(table([1e-3, 2e-3], tilted=True, tilt_travel=0.17), draw=0)
    assert law.speed_exponent == 0.0
    assert law_of_table(table([1e-3, 2e-3]), draw=0).speed_exponent > 1.0


def test_the_lag_of_a_leaned_table_is_that_before_the_lead():
    leaned = table([1e-3, 2e-3], tilted=True, tilt_travel=0.17)
    law = law_of_table(leaned, draw=0)
    ahead = np.tan(leaned.lead)[:, None] * DEPTHS * SETUP.thickness
    assert_allclose(law.lag - ahead, leaned.residual_lag[:, :, 0], atol=1e-15)


def test_a_law_of_draws_can_be_cut_down_to_some_of_them():
    draws = draw_parameters(SETUP, count=8, seed=1)
    law = jet_law(setup=SETUP, parameters=draws, central=CENTRAL, depths=DEPTHS, fastest=6e-3, speeds=4)
    assert (law.draws, law.half_width.shape) == (8, (4, 5, 8))
    some = law.of_draws([6, 1])
    assert_allclose(some.lag, law.lag[:, :, [6, 1]], atol=0.0)


def test_between_its_depths_a_law_is_linear():
    law = law_of_table(table([1e-3, 2e-3]), draw=0)
    halfway = law.at_depths([0.125])
    assert_allclose(halfway.half_width[:, 0], law.half_width[:, :2].mean(axis=1), atol=1e-15)
    assert law.at_depths(DEPTHS) is law


def test_depths_outside_and_speeds_beyond_a_law_are_refused():
    law = JetLaw(
        speeds=np.array([1e-3, 2e-3]),
        depths=np.array([0.0, 0.5]),
        half_width=np.full((2, 2), 5e-4),
        lag=np.zeros((2, 2)),
    )
    with pytest.raises(RangeError, match=r"depth 1 of the thickness is outside .* 0 to 0.5"):
        law.at_depths([0.0, 1.0])
    fast = jet_along(np.zeros((2, 2)), np.tile((1.0, 0.0), (2, 1)), speed=3e-3)
    with pytest.raises(RangeError, match=r"speed 0.003 m/s is beyond the jet law's 0.002 m/s"):
        law.upright_speed(fast)


def test_tables_that_do_not_fit_or_do_not_rise_are_refused():
    good = {"speeds": np.array([1e-3, 2e-3]), "depths": np.array([0.0, 1.0])}
    with pytest.raises(RangeError, match="do not fit 2 speeds and 2 depths"):
        JetLaw(**good, half_width=np.zeros((2, 3)), lag=np.zeros((2, 3)))
    with pytest.raises(RangeError, match="speeds of a jet law must rise"):
        JetLaw(**good | {"speeds": np.array([2e-3, 1e-3])}, half_width=np.zeros((2, 2)), lag=np.zeros((2, 2)))
