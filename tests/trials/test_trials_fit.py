"""A fit finds what made the readings, is not led astray by a slip, and agrees with another sampler."""

from dataclasses import replace

import emcee
import numpy as np
import pytest
from numpy.testing import assert_allclose

from published_trade import trade_setup
from trial_samples import POSITION_SD, reading, sample_trial, simulated
from trialcut.errors import DataError
from trialcut.physics.cut import cut_table
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.fit import fit_trials
from trialcut.trials.fit_model import FitModel, Scales
from trialcut.trials.fit_store import fit_arrays, fit_document, fit_from
from trialcut.trials.knowledge import Context, FittedKnowledge, PriorKnowledge
from trialcut.trials.posterior import fit_posterior
from trialcut.trials.posterior.effects import scatter_at
from trialcut.trials.predict import reading_table
from trialcut.trials.types import ReadingKind

TUBE_AND_LOT = Context(tube="medium", lot="L1")
SETUP = trade_setup()


def _fit(readings, trials, **rest):
    return fit_trials(trials, readings, position_sd=POSITION_SD, version="test", **rest)


def _bottom(knowledge, speed, thickness=0.0254):
    setup = trade_setup(thickness=thickness)
    table = cut_table(
        setup=setup,
        parameters=knowledge.draw(setup, count=2048, seed=1),
        central=knowledge.central(setup),
        speeds=[speed],
    )
    return table.half_width[0, -1]


def _true_bottom(scores, form, speed, thickness=0.0254):
    trial = sample_trial(thickness=thickness)
    table = reading_table([trial], [reading("T1-1", "X", ReadingKind.SIZE, 1.0, 0.0)])
    model = FitModel(table, form, position_sd=POSITION_SD)
    setup = trade_setup(thickness=thickness)
    parameters = model.prior.parameters(model.prior.values(scores), setup)
    return cut_table(setup=setup, parameters=parameters, central=parameters, speeds=[speed]).half_width[
        0, -1, 0
    ]


@pytest.mark.parametrize("seed", range(3))
def test_a_fit_narrows_what_the_priors_leave_open_and_holds_the_truth(seed):
    trial = sample_trial()
    readings, scores = simulated([trial], seed=seed)
    known = FittedKnowledge(fit=_fit(readings, [trial]), context=TUBE_AND_LOT)
    for speed in (2e-3, 5e-3):
        before, after = _bottom(PriorKnowledge(), speed), _bottom(known, speed)
        assert after.std() < 0.5 * before.std()
        truth = _true_bottom(scores, KerfForm.CLOSING, speed)
        low, high = np.quantile(after, (0.001, 0.999))  # the truth is one of many; it must be among them
        assert low <= truth <= high


def test_readings_of_one_plate_help_another_less():
    trial = sample_trial(thickness=0.0127)
    readings, _ = simulated([trial], seed=4)
    known = FittedKnowledge(fit=_fit(readings, [trial]), context=TUBE_AND_LOT)
    gains = [
        _bottom(known, 3e-3, thickness=thickness).std()
        / _bottom(PriorKnowledge(), 3e-3, thickness=thickness).std()
        for thickness in (0.0127, 0.01905, 0.0381)
    ]
    assert gains[0] < gains[1] < 1.0
    assert gains[1] < gains[2]  # three times as thick, where the rival forms disagree


def test_one_slip_is_named_and_moves_nothing_by_more_than_half_its_spread():
    trial = sample_trial()
    readings, _ = simulated([trial], seed=5)
    slipped = [
        replace(each, value=each.value + 0.5e-3) if each.id == "T1-2/Y/SIZE/1.0" or place == 10 else each
        for place, each in enumerate(readings)
    ]
    clean, dirty = _fit(readings, [trial]), _fit(slipped, [trial])
    named = {cause for flag in dirty.flags if flag.code == "outlier-reading" for cause in flag.cause}
    assert named == {readings[10].id}
    before, after = (
        _bottom(FittedKnowledge(fit=each, context=TUBE_AND_LOT), 2.5e-3) for each in (clean, dirty)
    )
    assert abs(after.mean() - before.mean()) < 0.5 * before.std()


def test_two_seeds_give_the_same_fit_within_its_chance_and_one_seed_the_same_bits():
    trial = sample_trial()
    readings, _ = simulated([trial], seed=6)
    first, again, other = (_fit(readings, [trial], seed=seed) for seed in (1, 1, 2))
    assert_allclose(first.best.scores, again.best.scores, rtol=0.0, atol=0.0)
    error = first.best.scores.std(axis=1) * np.sqrt(2.0 / 500.0)
    seen = first.best.scores.std(axis=1) < 0.9
    assert seen.sum() > 5
    moved = np.abs(first.best.scores.mean(axis=1) - other.best.scores.mean(axis=1))
    assert np.all(moved[seen] < 5.0 * error[seen])


@pytest.mark.parametrize("form", list(KerfForm))
def test_emcee_samples_the_same_posterior(form):
    trial = sample_trial()
    readings, _ = simulated([trial], seed=7, form=form)
    model = FitModel(reading_table([trial], readings), form, position_sd=POSITION_SD)
    problem = replace(model.problem(Scales()), robust_dof=None)
    ours = fit_posterior(problem, draws=4096, seed=1)
    scatter = scatter_at(problem, ours.mode, noise_variance=problem.noise_sd**2)
    spread = scatter.loadings @ problem.effect_covariance @ scatter.loadings.T + np.diag(problem.noise_sd**2)
    root = np.linalg.inv(np.linalg.cholesky(spread))

    def log_density(scores):
        residuals = root @ (problem.values[:, None] - problem.predict(scores.T))
        return -0.5 * (residuals**2).sum(axis=0) - 0.5 * (scores**2).sum(axis=1)

    walkers = 4 * problem.count
    chance = np.random.default_rng(3)
    start = ours.mode + chance.multivariate_normal(np.zeros(problem.count), ours.covariance, size=walkers)
    move = emcee.moves.DEMove()
    sampler = emcee.EnsembleSampler(
        walkers,
        problem.count,
        log_density,
        vectorize=True,
        moves=[(move, 0.8), (emcee.moves.StretchMove(), 0.2)],
    )
    sampler.random_state = np.random.RandomState(5).get_state()
    sampler.run_mcmc(start, 2500, progress=False)
    theirs = sampler.get_chain(discard=600, flat=True)
    worth = theirs.shape[0] / sampler.get_autocorr_time(discard=600, tol=0).max()
    error = theirs.std(axis=0) * np.sqrt(1.0 / worth + 1.0 / ours.effective_sample_size)
    assert_allclose((ours.draws.mean(axis=1) - theirs.mean(axis=0)) / error, 0.0, atol=4.5)
    assert_allclose(ours.draws.std(axis=1), theirs.std(axis=0), rtol=0.15)


def test_a_fit_reads_back_from_its_document_and_arrays():
    trial = sample_trial(speeds=(1.5e-3, 4e-3))
    readings, _ = simulated([trial], seed=8)
    fit = _fit(readings, [trial])
    again = fit_from(fit_document(fit), fit_arrays(fit))
    assert again.flags == fit.flags
    assert again.materials == fit.materials
    assert [form.form for form in again.forms] == [form.form for form in fit.forms]
    assert_allclose(again.best.scores, fit.best.scores, rtol=1e-6, atol=1e-9)
    known, kept = (FittedKnowledge(fit=each, context=TUBE_AND_LOT) for each in (fit, again))
    assert_allclose(_bottom(kept, 2e-3), _bottom(known, 2e-3), rtol=1e-5)


def test_trials_of_two_machines_are_refused():
    one, other = sample_trial(), replace(sample_trial(id="T2"), machine="south")
    readings, _ = simulated([one], seed=1)
    with pytest.raises(DataError, match="several machines"):
        _fit(readings, [one, other])


def test_no_reading_is_refused():
    with pytest.raises(DataError, match="0 readings"):
        _fit([], [sample_trial()])


def test_passes_that_do_not_cut_through_bracket_the_separation_speed():
    ladder = tuple(np.array([7e-3, 9e-3, 11e-3, 13e-3, 15e-3]))
    trial = sample_trial(ladder=ladder)
    readings, _ = simulated([trial], seed=9, scores=np.zeros((21, 1)))
    through = [
        reading("T1-4", f"S{step + 1}", ReadingKind.THROUGH, None, float(speed < 10e-3))
        for step, speed in enumerate(ladder)
    ]
    known, blind = (
        FittedKnowledge(fit=_fit(each, [trial]), context=TUBE_AND_LOT).draw(SETUP, count=2048, seed=1)
        for each in ([*readings, *through], readings)
    )
    speed = _separation(known)
    assert 8.5e-3 < np.median(speed) < 11.5e-3  # what the lot and the session add widens the bracket
    assert speed.std() < 0.8 * _separation(blind).std()  # a new session adds its own share to both


def _separation(parameters):
    from trialcut.physics.cut import separation_speed

    return separation_speed(setup=SETUP, parameters=parameters)
