"""Closed forms and bisections of least cost against plain numerical minimisation."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from trialcut.physics.mixing import abrasive_rate_of_least_cost
from trialcut.physics.separation import separation_speed_zeng_1993
from trialcut.physics.wear import tube_bore_after, tube_change_of_least_cost


@pytest.mark.parametrize(("other_cost", "price"), [(0.03, 5.0), (0.02, 4.0)])
def test_the_abrasive_rate_of_least_cost_is_the_minimum_of_cost_per_length(other_cost, price):
    def cost_per_length(log_rate):
        rate = np.exp(log_rate)
        speed = separation_speed_zeng_1993(
            pressure=380e6,
            orifice=0.33e-3,
            abrasive_rate=rate,
            tube_bore=1e-3,
            thickness=10e-3,
            machinability=213.0,
        )
        return (other_cost + price * rate) / speed

    found = minimize_scalar(
        cost_per_length, bounds=(np.log(1e-4), np.log(0.1)), method="bounded", options={"xatol": 1e-9}
    )
    ours = abrasive_rate_of_least_cost(other_cost=other_cost, abrasive_price=price, flow=1.0)
    # A minimum is flat: its place is known to the square root of the precision of its value.
    assert_allclose(ours, np.exp(found.x), rtol=1e-6)


@pytest.mark.parametrize(("price", "growth"), [(110.0, 7e-10), (300.0, 3e-10), (60.0, 2e-9)])
def test_the_tube_change_of_least_cost_is_the_minimum_of_cost_per_length(price, growth):
    bore, cost, change = 1.016e-3, 90.0 / 3600.0, 600.0

    def speed(time):
        return separation_speed_zeng_1993(
            pressure=380e6,
            orifice=0.33e-3,
            abrasive_rate=7e-3,
            tube_bore=tube_bore_after(tube_bore=bore, jet_time=time, tube_growth=growth),
            thickness=10e-3,
            machinability=213.0,
        )

    def cost_per_length(log_time):
        time = np.exp(log_time)
        return (cost * time + price + cost * change) / quad(speed, 0.0, time, epsrel=1e-12)[0]

    found = minimize_scalar(
        cost_per_length, bounds=(np.log(3600.0), np.log(3.6e7)), method="bounded", options={"xatol": 1e-9}
    )
    ours = tube_change_of_least_cost(
        tube_bore=bore, hour_cost=cost, tube_price=price, change_time=change, tube_growth=growth
    )
    # A minimum is flat: its place is known to the square root of the precision of its value.
    assert_allclose(ours, np.exp(found.x), rtol=1e-5)
