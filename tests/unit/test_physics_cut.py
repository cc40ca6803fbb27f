"""The table of the cut: shapes, stance, and what happens at and past separation."""

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from published_trade import IPM, TRAVEL, draws, trade_setup
from trialcut.errors import RangeError
from trialcut.physics.cut import DEPTHS, cut_table
from trialcut.physics.parameters import central_parameters

SETUP = trade_setup()
CENTRAL = central_parameters(SETUP)
DRAWS = draws()


def table(speeds_ipm, *, tilted=False, parameters=DRAWS, setup=SETUP, travel=TRAVEL):
    return cut_table(
        setup=setup,
        parameters=parameters,
        central=CENTRAL,
        speeds=np.asarray(speeds_ipm) * IPM,
        tilted=tilted,
        tilt_travel=travel,
    )


def test_shapes_are_speeds_by_depths_by_draws():
    cut = table([2.0, 4.0, 8.0])
    assert cut.half_width.shape == cut.kerf_shift.shape == cut.residual_lag.shape == (3, len(DEPTHS), 2048)
    assert cut.taper.shape == cut.speed_ratio.shape == cut.through.shape == (3, 2048)
    assert cut.separation_speed.shape == (2048,)


def test_upright_the_shift_is_the_half_width():
    cut = table([3.0])
    assert_array_equal(cut.kerf_shift, cut.half_width)
    assert_array_equal(cut.tilt, [0.0])
    assert_array_equal(cut.lead, [0.0])


def test_top_less_bottom_is_the_taper():
    cut = table([2.5, 6.0, 12.0])
    assert_allclose(cut.half_width[:, 0] - cut.half_width[:, -1], cut.taper, rtol=1e-9, atol=1e-15)


def test_a_very_slow_cut_asks_for_a_lean_the_other_way():
    cut = table([0.4], tilted=True, parameters=CENTRAL)
    assert cut.taper[0, 0] < 0.0
    assert cut.tilt[0] < 0.0


def test_a_head_that_cannot_lean_stays_upright():
    cut = table([6.0], tilted=True, travel=0.0)
    assert_array_equal(cut.tilt, [0.0])
    assert_array_equal(cut.lead, [0.0])


def test_a_lead_takes_the_lag_off_the_bottom():
    upright, leaned = (table([6.0], tilted=lean, parameters=CENTRAL) for lean in (False, True))
    assert_allclose(upright.residual_lag[0, -1], upright.exit_lag[0], rtol=1e-12)
    # The fixed point of lead and lag is solved to well below a nanometre.
    assert_allclose(leaned.residual_lag[0, -1], 0.0, atol=1e-9)


def test_a_leaned_head_has_further_to_cut():
    upright, leaned = (table([6.0], tilted=lean) for lean in (False, True))
    stretch = 1.0 / (np.cos(leaned.tilt) * np.cos(leaned.lead))
    assert_allclose(leaned.speed_ratio / upright.speed_ratio, stretch[0] ** 1.15, rtol=1e-12)


def test_past_separation_the_bottom_is_closed_and_nothing_warns():
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        cut = table([100.0, 1000.0], tilted=True)
    assert not cut.through.any()
    assert_allclose(cut.half_width[:, -1], 0.0, atol=1e-15)


def test_a_standing_head_is_refused():
    with pytest.raises(RangeError, match="speed 0 m/s must be above zero"):
        table([0.0])


def test_a_plate_beyond_the_evidence_carries_notes():
    codes = {note.code for note in table([1.0], setup=trade_setup(thickness=0.062)).notes}
    assert codes == {"beyond-thickness"}


def test_the_trade_setup_carries_no_note():
    assert table([1.0]).notes == ()
