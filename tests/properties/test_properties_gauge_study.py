"""What no relabelling, reordering or change of unit may alter in a gauge study."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.testing import assert_allclose

from trialcut.trials.gauges import GaugeTable, Method, Pooling, study_gauge

SHAPES = st.tuples(st.integers(1, 4), st.integers(2, 6), st.integers(2, 4))
READINGS = SHAPES.flatmap(lambda shape: arrays(np.int64, shape, elements=st.integers(-500, 500)))
METHODS = st.sampled_from(Method)
POOLINGS = st.sampled_from(Pooling)


def table(values):
    names = [tuple(map(str, range(count))) for count in values.shape]
    return GaugeTable(appraisers=names[0], parts=names[1], trials=names[2], values=1e-6 * values)


def sds(study):
    return np.array([each.sd for each in study.components])


@given(READINGS, METHODS, POOLINGS, st.randoms(use_true_random=False))
def test_the_order_of_people_parts_and_trials_does_not_matter(values, method, pooling, random):
    assume(np.ptp(values, axis=2).any())
    shuffled = values
    for axis, count in enumerate(values.shape):
        shuffled = np.take(shuffled, random.sample(range(count), count), axis=axis)
    first, second = (study_gauge(table(v), method=method, pooling=pooling) for v in (values, shuffled))
    assume(
        len(first.components) == len(second.components)
    )  # a probability on the very level may go either way
    # variances are differences of squares: rounding is relative to the largest of them
    assert_allclose(sds(second) ** 2, sds(first) ** 2, rtol=0.0, atol=1e-12 * np.square(sds(first)).max())


@given(READINGS, METHODS, st.sampled_from([1e-3, 0.5, 25.4]))
def test_a_change_of_unit_scales_all_and_leaves_shares(values, method, factor):
    assume(np.ptp(values, axis=2).any())
    first = study_gauge(table(values), method=method, pooling=Pooling.POOLED, tolerance=1e-3)
    second = study_gauge(
        table(factor * values), method=method, pooling=Pooling.POOLED, tolerance=factor * 1e-3
    )
    largest = sds(first).max()
    assert_allclose(sds(second) / factor, sds(first), rtol=1e-9, atol=2e-6 * largest)
    assert_allclose(second.gauge_sd.high / factor, first.gauge_sd.high, rtol=1e-9)


@given(READINGS, METHODS, POOLINGS)
def test_shares_are_shares_and_intervals_are_in_order(values, method, pooling):
    assume(np.ptp(values, axis=2).any())
    study = study_gauge(table(values), method=method, pooling=pooling)
    assert all(0.0 <= each.of_variance <= 1.0 + 1e-12 for each in study.components)
    assert_allclose(study.component("total").of_variation, 1.0, rtol=1e-12)
    for interval in (study.gauge_sd, study.repeatability_sd):
        assert 0.0 <= interval.low <= interval.high
    assert study.repeatability_sd.low <= study.repeatability_sd.estimate <= study.repeatability_sd.high
    assert study.ndc >= 0
