"""Readings are predicted by the same cut that a forecast uses, and answer to changes as geometry says."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from published_trade import trade_setup
from trial_samples import POSITION_SD, reading, sample_trial, usual_readings
from trialcut.physics.cut import cut_table
from trialcut.physics.discrepancy import KNOTS, Discrepancy, hats
from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.parameters import central_parameters
from trialcut.trials.effects import THICKNESS_KNOTS, Change, answers, effect_table, thickness_share
from trialcut.trials.fit_model import FitModel
from trialcut.trials.predict import Predictor, reading_table
from trialcut.trials.types import ReadingKind

SIZE, KERF = ReadingKind.SIZE, ReadingKind.KERF


def _predicted(trial, readings):
    table = reading_table([trial], readings)
    predictor = Predictor(table)
    found, _ = predictor.evaluate([central_parameters(batch.setup) for batch in predictor.batches])
    return found[:, 0]


def test_a_width_is_its_nominal_less_twice_what_the_kerf_takes_beyond_the_offset():
    trial = sample_trial(speeds=(2.5e-3,))
    setup, cut = trade_setup(), trial.coupons[0].cut("X")
    central = central_parameters(setup)
    table = cut_table(setup=setup, parameters=central, central=central, speeds=[2.5e-3])
    wanted = cut.nominal + 2.0 * (cut.offset - table.half_width[0, [0, 2, 4], 0])
    found = _predicted(trial, [reading("T1-1", "X", SIZE, depth, 0.0) for depth in (0.0, 0.5, 1.0)])
    assert_allclose(found, wanted, rtol=0.0, atol=1e-12)


def test_an_opening_grows_where_a_width_shrinks_and_its_lag_widens_it_at_the_bottom():
    trial = sample_trial(speeds=(2.5e-3,))
    setup, cut = trade_setup(), trial.coupons[0].cut("H")
    central = central_parameters(setup)
    table = cut_table(setup=setup, parameters=central, central=central, speeds=[2.5e-3])
    radius, lag = 1.0 / abs(cut.curvature), table.exit_lag[0, 0]
    outwards = np.hypot(radius, lag) - radius
    wanted = cut.nominal - 2.0 * (cut.offset - table.half_width[0, [0, 4], 0] - np.array([0.0, outwards]))
    found = _predicted(trial, [reading("T1-1", "H", SIZE, depth, 0.0) for depth in (0.0, 1.0)])
    assert_allclose(found, wanted, rtol=0.0, atol=2e-6)  # the shift is l^2 / 2R in the model


def test_a_wider_jet_shrinks_widths_and_widens_openings_and_slots_by_twice_its_half_width():
    trial = sample_trial(speeds=(2.5e-3,))
    table = reading_table([trial], [reading("T1-1", cut, SIZE, 0.0, 0.0) for cut in ("X", "Y", "H")])
    predictor = Predictor(table)
    found = answers(predictor, [central_parameters(batch.setup) for batch in predictor.batches])
    assert_allclose(found[:, list(Change).index(Change.TOP)], [-2.0, -2.0, 2.0], atol=1e-9)


def test_taper_moves_the_bottom_alone():
    trial = sample_trial(speeds=(2.5e-3,))
    readings = [reading("T1-1", "X", SIZE, depth, 0.0) for depth in (0.0, 0.5, 1.0)]
    predictor = Predictor(reading_table([trial], readings))
    found = answers(predictor, [central_parameters(batch.setup) for batch in predictor.batches])
    assert_allclose(found[:, list(Change).index(Change.TAPER)], [0.0, 1.0, 2.0], atol=1e-9)


def test_shares_of_the_speed_knots_sum_to_one_and_are_whole_on_a_knot():
    shares = hats(np.array([-9.0, *KNOTS, -1.3, 2.0]))
    assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
    assert_allclose(shares[1:-2], np.eye(KNOTS.size), atol=1e-12)


def test_a_discrepancy_is_passed_on_whole_to_its_own_thickness_and_fades_with_distance():
    share, rest = thickness_share(float(np.exp(THICKNESS_KNOTS[3])))
    assert_allclose(share, np.eye(THICKNESS_KNOTS.size)[3], atol=1e-6)
    assert rest < 1e-6
    assert thickness_share(0.2)[1] > 0.5


def test_a_discrepancy_widens_the_kerf_by_its_parts():
    setup, central = trade_setup(), central_parameters(trade_setup())
    one = np.full((KNOTS.size, 1), 1e-5)
    from dataclasses import replace

    moved = replace(central, discrepancy=Discrepancy(top=one, taper=2.0 * one, barrel=3.0 * one))
    plain, other = (
        cut_table(setup=setup, parameters=each, central=central, speeds=[2.5e-3]) for each in (central, moved)
    )
    assert_allclose(
        (other.half_width - plain.half_width)[0, :, 0],
        1e-5 * np.array([1.0, 1.0 - 0.5 + 2.25, 1.0 - 1.0 + 3.0, 1.0 - 1.5 + 2.25, 1.0 - 2.0]),
        atol=1e-12,
    )
    assert_allclose(other.taper - plain.taper, 2e-5, atol=1e-12)


@pytest.mark.parametrize("form", list(KerfForm))
def test_the_answers_to_all_effects_are_those_of_finite_changes(form):
    trial = sample_trial()
    table = reading_table([trial], usual_readings(trial))
    model = FitModel(table, form, position_sd=POSITION_SD)
    scores = np.zeros(model.seen.size)
    matrix = model.loadings(scores)
    labels = effect_table(table, edge_scatter=1e-5).labels
    session = matrix[:, labels.index("session 2026-03-02a kerf")]
    wide = [each.kind is SIZE and each.cut != "H" for each in table.readings]
    assert_allclose(session[wide], -2.0, atol=1e-6)
    pieces = [labels.index(f"piece {coupon.id}") for coupon in trial.coupons]
    assert_allclose(matrix[:, pieces].sum(axis=1), session, atol=1e-9)


def test_a_batch_of_draws_predicts_as_each_draw_alone():
    trial = sample_trial(ladder=(8e-3, 10e-3))
    readings = [*usual_readings(trial), reading("T1-4", "S1", ReadingKind.THROUGH, None, 1.0)]
    table = reading_table([trial], readings)
    model = FitModel(table, KerfForm.DOSE, position_sd=POSITION_SD)
    scores = np.random.default_rng(3).standard_normal((model.seen.size, 5))
    whole = model.predict(scores)
    for draw in range(5):
        alone = model.predict(scores[:, draw : draw + 1])
        assert_allclose(whole[:, draw], alone[:, 0], rtol=1e-12)
        assert_allclose(model.through(scores)[draw], model.through(scores[:, draw : draw + 1])[0], rtol=1e-12)
