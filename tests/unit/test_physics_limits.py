"""What a set-up may not be, and what is said about one that may."""

import pytest
from numpy.testing import assert_allclose

from published_trade import INCH, trade_setup
from trialcut.errors import RangeError
from trialcut.physics.hydraulics import orifice_flow
from trialcut.physics.limits import refuse_impossible_setup, setup_notes
from trialcut.physics.setup import Material

GLASS = Material(name="glass", machinability=596.0, machinability_log_sd=0.05, density=2500.0, brittle=True)


def refusal(**changes):
    with pytest.raises(RangeError) as caught:
        refuse_impossible_setup(trade_setup(**changes))
    return caught.value


def test_the_trade_setup_runs_on_fifty_horsepower():
    setup = trade_setup()
    refuse_impossible_setup(setup)
    needed = setup.pressure * orifice_flow(pressure=setup.pressure, orifice=setup.orifice)
    assert needed < setup.pump.nameplate_power * setup.pump.efficiency


def test_an_overloaded_pump_is_refused_with_the_largest_orifice_that_fits():
    error = refusal(orifice=0.018 * INCH)
    assert error.case == "pump-overloaded"
    assert "the largest orifice that fits is 0.015 in (0.381 mm)" in str(error)


def test_the_orifice_named_draws_what_the_pump_gives():
    error = refusal(orifice=0.018 * INCH)
    drawn = trade_setup().pressure * orifice_flow(
        pressure=trade_setup().pressure, orifice=error.facts["largest_orifice"]
    )
    assert_allclose(drawn, error.facts["power_available"], rtol=1e-12)


def test_more_pressure_than_the_pump_has_is_refused():
    assert refusal(pressure=450e6).case == "pump-pressure"


def test_a_tube_smaller_than_three_grains_is_refused():
    error = refusal(grain_size_max=0.40e-3)
    assert error.case == "tube-too-small"
    assert "smaller than three grains of garnet 80" in str(error)


def test_a_tube_no_wider_than_the_orifice_is_refused():
    assert refusal(tube_bore=0.3e-3).case == "tube-too-small"


@pytest.mark.parametrize("name", ["pressure", "orifice", "tube_bore", "abrasive_rate", "thickness"])
def test_a_value_of_nothing_is_refused_by_name(name):
    assert "must be above zero" in str(refusal(**{name: 0.0}))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"thickness": 0.062}, "beyond-thickness"),
        ({"tube_bore": 1.6e-3}, "bore-ratio"),
        ({"abrasive_rate": 0.016}, "loading-high"),
        ({"abrasive_rate": 0.004}, "loading-low"),
        ({"material": GLASS}, "pierce-brittle"),
    ],
)
def test_an_unusual_setup_runs_with_a_note(changes, code):
    setup = trade_setup(**changes)
    refuse_impossible_setup(setup)
    assert code in {note.code for note in setup_notes(setup)}


def test_a_usual_setup_carries_no_note():
    assert setup_notes(trade_setup()) == ()
