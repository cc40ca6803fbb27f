"""A gauge study: components, intervals, classes, notes. By hand, by simulation of our own, and by scipy."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import chi2

from trialcut.errors import ComputationError, RangeError
from trialcut.trials.gauges import GaugeTable, Method, Pooling, Source, study_gauge
from trialcut.trials.gauges.intervals import Term, sd_interval
from trialcut.trials.gauges.study import CLASS_FACTOR


def table(values):
    """Readings (A, P, T) with plain names."""
    values = np.asarray(values, dtype=float)
    appraisers, parts, trials = (
        tuple(f"{letter}{k}" for k in range(count)) for letter, count in zip("APT", values.shape, strict=True)
    )
    return GaugeTable(appraisers=appraisers, parts=parts, trials=trials, values=values)


def made(appraisers=3, parts=8, trials=3, *, sds=(1.0, 2.0, 0.0, 10.0), seed=1):
    """Readings of the model: repeat, appraiser, interaction and part standard deviations."""
    rng = np.random.default_rng(seed)
    repeat, who, mixed, part = sds
    return table(
        25.0
        + part * rng.standard_normal((1, parts, 1))
        + who * rng.standard_normal((appraisers, 1, 1))
        + mixed * rng.standard_normal((appraisers, parts, 1))
        + repeat * rng.standard_normal((appraisers, parts, trials))
    )


def codes(study):
    return {note.code for note in study.notes}


def sds(study):
    return {each.source: each.sd for each in study.components}


def test_the_sums_of_squares_add_up_to_the_total():
    anova = study_gauge(made(sds=(1.0, 2.0, 3.0, 10.0))).anova
    parts = ("parts", "appraisers", "interaction", "error")
    assert_allclose(sum(anova.line(name).square for name in parts), anova.line("total").square, rtol=1e-12)
    assert sum(anova.line(name).freedom for name in parts) == anova.line("total").freedom


def test_a_study_by_hand_gives_its_mean_squares():
    # parts 1.1, 2.1 and appraisers 1.6, 1.9 about 1.75; repeats 0.1 about their means; no interaction
    study = study_gauge(table([[[1.0, 1.2], [2.0, 2.2]], [[1.3, 1.5], [2.3, 2.5]]]), pooling=Pooling.KEPT)
    squares = {line.source: line.square for line in study.anova.lines}
    assert_allclose(squares["parts"], 8 * 0.5**2, rtol=1e-12)
    assert_allclose(squares["appraisers"], 8 * 0.15**2, rtol=1e-12)
    assert_allclose(squares["error"], 8 * 0.1**2, rtol=1e-12)
    assert_allclose(squares["interaction"], 0.0, atol=1e-12)
    assert_allclose(study.component(Source.REPEATABILITY).sd, sqrt(0.08 / 4), rtol=1e-12)


def test_an_interaction_that_is_there_is_kept_and_one_that_is_not_is_pooled():
    kept, pooled = study_gauge(made(sds=(1.0, 2.0, 4.0, 10.0))), study_gauge(made(seed=3))
    assert (kept.anova.pooled, kept.anova.denominator) == (False, "interaction")
    assert (pooled.anova.pooled, pooled.anova.denominator) == (True, "pooled error")
    assert Source.INTERACTION in sds(kept)
    assert Source.INTERACTION not in sds(pooled)
    for study, words in ((kept, "kept as a component"), (pooled, "pooled with the error")):
        (note,) = [note.message for note in study.notes if note.code == "interaction"]
        assert words in note
        assert "0.25" in note
        assert study.anova.denominator in note


def test_every_f_ratio_names_its_denominator():
    anova = study_gauge(made(seed=3)).anova
    assert [test.over for test in anova.line("parts").tests] == ["interaction", "error", "pooled error"]
    for test in anova.line("parts").tests:
        other = anova.line(test.over)
        assert_allclose(test.f_ratio, anova.line("parts").mean_square / other.mean_square, rtol=1e-12)


def test_pooling_can_be_asked_for_or_refused():
    data = made(sds=(1.0, 2.0, 4.0, 10.0))
    assert study_gauge(data, pooling=Pooling.POOLED).anova.pooled
    assert not study_gauge(made(seed=3), pooling=Pooling.KEPT).anova.pooled


def test_the_level_decides_what_is_pooled():
    data = made(seed=3)
    chance = study_gauge(data).anova.line("interaction").tests[0].probability
    assert study_gauge(data, level=chance - 1e-6).anova.pooled
    assert not study_gauge(data, level=chance + 1e-6).anova.pooled


@pytest.mark.parametrize("method", list(Method))
def test_a_variance_below_zero_is_set_to_zero_and_said(method):
    study = study_gauge(made(sds=(1.0, 0.0, 0.0, 10.0), seed=5), method=method, pooling=Pooling.POOLED)
    assert sds(study)[Source.APPRAISERS] == 0.0
    assert "variance-below-zero" in codes(study)
    assert_allclose(sds(study)[Source.GAUGE], sds(study)[Source.REPEATABILITY], rtol=1e-12)


@pytest.mark.parametrize("method", list(Method))
def test_the_gauge_is_the_root_of_the_squares_of_its_parts(method):
    found = sds(study_gauge(made(sds=(1.0, 2.0, 4.0, 10.0)), method=method))
    own = sum(found.get(source, 0.0) ** 2 for source in ("repeatability", "appraisers", "interaction"))
    assert_allclose(found[Source.GAUGE] ** 2, own, rtol=1e-12)
    assert_allclose(found[Source.TOTAL] ** 2, own + found[Source.PARTS] ** 2, rtol=1e-12)


def test_shares_are_of_the_total_and_of_the_tolerance():
    study = study_gauge(made(), tolerance=120.0)
    gauge, total = study.component(Source.GAUGE), study.component(Source.TOTAL)
    assert_allclose(gauge.of_variation, gauge.sd / total.sd, rtol=1e-12)
    assert_allclose(gauge.of_variance, gauge.of_variation**2, rtol=1e-12)
    assert_allclose(gauge.of_tolerance, 6.0 * gauge.sd / 120.0, rtol=1e-12)
    assert study_gauge(made()).component(Source.GAUGE).of_tolerance is None


def spread_parts(ratio):
    """Two hands that agree, parts whose standard deviation over the gauge's is a ratio."""
    parts = 9
    place = np.linspace(-1.0, 1.0, parts)
    cells = np.array([0.5, -0.5])  # repeats: mean square 0.5 in every cell
    share = 0.5 * 2 * parts / (2 * parts + (parts - 1) + 1 - 1)  # pooled: interaction adds freedom, no square
    variance = ratio**2 * share + share / 4.0  # mean of four readings carries a quarter of the repeats
    place *= sqrt(variance / np.var(place, ddof=1))
    return table(np.broadcast_to(place[None, :, None] + cells, (2, parts, 2)))


@pytest.mark.parametrize(("classes", "ndc"), [(5.02, 5), (4.98, 4), (1.01, 1), (0.99, 0)])
def test_the_number_of_classes_is_cut_off_and_never_rounded(classes, ndc):
    study = study_gauge(spread_parts(classes / 1.41))
    ratio = study.component(Source.PARTS).sd / study.component(Source.GAUGE).sd
    assert_allclose(CLASS_FACTOR * ratio, classes, rtol=1e-9)
    assert study.ndc == ndc


def test_the_interval_of_repeats_is_that_of_chi_square():
    study = study_gauge(made(seed=3))
    freedom = study.anova.line("pooled error").freedom
    square = study.anova.line("pooled error").square
    interval = study.repeatability_sd
    assert_allclose(interval.low, sqrt(square / chi2.ppf(0.975, freedom)), rtol=1e-9)
    assert_allclose(interval.high, sqrt(square / chi2.ppf(0.025, freedom)), rtol=1e-9)
    assert interval.confidence == 0.95


def test_the_interval_of_a_sum_holds_the_truth_about_as_often_as_it_says():
    # own simulation: mean squares of 3 appraisers, 10 parts, 3 trials; from memory a little conservative
    freedoms = (2, 18, 60)
    rng = np.random.default_rng(7)
    draws = 4000
    for truth in ((1.0, 0.2, 0.6), (0.2, 0.3, 0.6)):
        squares = [v * rng.chisquare(f, draws) / f for v, f in zip(truth, freedoms, strict=True)]
        held = 0
        for row in zip(*squares, strict=True):
            terms = [Term(v, f) for v, f in zip(row, freedoms, strict=True)]
            interval = sd_interval(terms, estimate=1.0, confidence=0.9)
            held += interval.low**2 <= sum(truth) <= interval.high**2
        # 0.9 less three standard errors, 0.014; above, the width of what "a little" may be
        assert 0.886 <= held / draws <= 0.95


def test_components_are_right_on_average():
    # own simulation of the model with known variances; standard errors of the means are below 2.5 %
    truth = {"repeatability": 1.0, "appraisers": 4.0, "interaction": 2.25, "parts": 100.0}
    count = 300
    sums = dict.fromkeys(truth, 0.0)
    for seed in range(count):
        study = study_gauge(made(12, 12, 2, sds=(1.0, 2.0, 1.5, 10.0), seed=seed), pooling=Pooling.KEPT)
        for name in truth:
            sums[name] += study.component(name).sd ** 2 / count
    assert_allclose([sums[name] / truth[name] for name in truth], 1.0, rtol=0.0, atol=0.08)


def test_one_appraiser_will_do_and_a_note_says_what_was_not_seen():
    for method in Method:
        study = study_gauge(made(appraisers=1), method=method)
        assert set(sds(study)) == {Source.REPEATABILITY, Source.GAUGE, Source.PARTS, Source.TOTAL}
        assert "one-appraiser" in codes(study)
        assert study.gauge_sd == study.repeatability_sd


def test_a_range_out_of_control_is_named():
    values = made(sds=(1.0, 0.0, 0.0, 10.0)).values.copy()
    values[1, 2, 0] += 12.0
    study = study_gauge(table(values))
    assert [(each.appraiser, each.part) for each in study.ranges.wide] == [("A1", "P2")]
    (note,) = [note for note in study.notes if note.code == "range-out-of-control"]
    assert "A1 on part P2" in note.message


@pytest.mark.parametrize(("trials", "fine", "coarse"), [(2, 3.01, 2.99), (3, 4.01, 3.99)])
def test_steps_too_coarse_for_the_scatter_are_told(trials, fine, coarse):
    # on a thousand parts so many steps between repeats, one more on some, that the limit is as wished
    d4 = {2: 3.2665, 3: 2.5746}[trials]  # printed factors, to four decimals
    for steps, told in ((fine, False), (coarse, True)):
        every, some = divmod(round(1000 * steps / d4), 1000)
        values = np.zeros((1, 1000, trials))
        values[0, :, 0] = every
        values[0, :some, 0] += 1.0
        study = study_gauge(table(1e-5 * (values + 10.0 * np.arange(1000)[None, :, None])))
        assert_allclose(study.ranges.limit / 1e-5, steps, rtol=0.0, atol=0.005)
        assert ("coarse-steps" in codes(study)) is told


def test_the_figures_do_not_depend_on_where_zero_is():
    data = made()
    near, far = study_gauge(data), study_gauge(table(data.values + 1e7))
    # readings about 1e7 carry 2e-9 of rounding each
    assert_allclose(list(sds(far).values()), list(sds(near).values()), rtol=1e-7)


def test_repeats_that_never_differ_are_an_error_with_a_remedy():
    with pytest.raises(ComputationError, match=r"step is too coarse.*read one more digit"):
        study_gauge(made(sds=(0.0, 2.0, 0.0, 10.0)))


@pytest.mark.parametrize(
    ("given", "words"),
    [({"tolerance": 0.0}, "tolerance"), ({"level": 1.0}, "level"), ({"confidence": 0.0}, "confidence")],
)
def test_a_setting_out_of_its_range_is_an_error(given, words):
    with pytest.raises(RangeError, match=words):
        study_gauge(made(), **given)
