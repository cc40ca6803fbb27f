"""What jet-on time uses up."""

from numpy.testing import assert_allclose

from published_trade import trade_setup
from trialcut.physics.consumption import jet_use

HOUR = 3600.0


def test_an_hour_uses_flow_rate_power_and_life_for_an_hour():
    use = jet_use(setup=trade_setup(), jet_time=HOUR, orifice_life=40.0 * HOUR, tube_life=80.0 * HOUR)
    # 3.526 L/min, 24.31 kW at the orifice of a pump of efficiency 0.76: digits of the hydraulics table.
    assert_allclose(use.water, 3.526e-3 * 60.0, atol=0.0005e-3 * 60.0)
    assert_allclose(use.energy, 24.31e3 * HOUR / 0.76, atol=5.0 * HOUR / 0.76)
    assert_allclose(use.abrasive, 0.95 * 0.45359237 * 60.0, rtol=1e-12)
    assert_allclose([use.orifice_share, use.tube_share], [1 / 40.0, 1 / 80.0], rtol=1e-12)


def test_use_is_in_proportion_to_time():
    once, twice = (
        jet_use(setup=trade_setup(), jet_time=time, orifice_life=HOUR, tube_life=HOUR)
        for time in (10.0, 20.0)
    )
    assert_allclose(twice.water, 2.0 * once.water, rtol=1e-12)
    assert_allclose(twice.energy, 2.0 * once.energy, rtol=1e-12)
