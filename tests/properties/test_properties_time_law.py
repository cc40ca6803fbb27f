"""What must hold for any time law."""

from __future__ import annotations

from math import inf

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trialcut.motion.time_law import speed_at, time_law

compiling = settings(deadline=None)  # the first example may wait for the compiler
ROUNDING = 1e-7
"""Where a ramp fits to the last digit, its peak rests on the square root of a rounding error."""

SPEED = st.floats(1e-4, 0.5)
ACCELERATION = st.floats(0.05, 20.0)
JERK = st.one_of(st.just(inf), st.floats(0.5, 1e4))


@st.composite
def paths(draw, least_length=1e-5):
    count = draw(st.integers(1, 8))
    lengths = draw(st.lists(st.floats(least_length, 0.5), min_size=count, max_size=count))
    palette = draw(st.lists(SPEED, min_size=1, max_size=4))
    caps = draw(st.lists(st.sampled_from(palette), min_size=count, max_size=count))
    return np.array(lengths), np.array(caps)


@compiling
@given(paths(), ACCELERATION, JERK)
def test_speeds_and_accelerations_keep_to_their_limits(path, acceleration, jerk):
    lengths, caps = path
    law = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    assert np.all(law.peaks <= caps * (1 + 1e-12))
    assert np.all(law.speeds[:-1] <= caps * (1 + 1e-12))
    assert np.all(law.speeds[1:] <= caps * (1 + 1e-12))
    assert law.speeds[0] == law.speeds[-1] == 0.0
    stations = np.linspace(0.0, law.positions[-1], 401)
    speeds, times = speed_at(law, stations)
    assert np.all(np.diff(times) > 0.0)
    assert np.all(np.abs(np.diff(speeds)) <= acceleration * np.diff(times) * (1 + 1e-6) + 1e-12)


@compiling
@given(paths(), ACCELERATION, JERK)
def test_time_is_at_least_length_over_cap_and_the_law_without_a_jerk_limit(path, acceleration, jerk):
    lengths, caps = path
    law = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    assert np.all(law.interval_times >= lengths / caps * (1 - 1e-9))
    bound = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=inf)
    assert law.total >= bound.total * (1 - 1e-9)
    assert_allclose(law.interval_times.sum(), law.total, rtol=1e-9)


@compiling
@given(paths(), ACCELERATION, st.integers(0, 7), st.floats(1.0, 5.0))
def test_raising_a_cap_never_lengthens_the_time_without_a_jerk_limit(path, acceleration, which, factor):
    lengths, caps = path
    raised = caps.copy()
    raised[which % caps.size] *= factor
    before = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=inf)
    after = time_law(lengths=lengths, caps=raised, acceleration=acceleration, jerk=inf)
    assert after.total <= before.total * (1 + 1e-9)


@compiling
@given(
    st.lists(st.floats(1e-4, 0.05), min_size=1, max_size=8),
    st.floats(0.5, 20.0),
    st.floats(5.0, 1e4),
    st.integers(0, 7),
    st.floats(1.0, 2.0),
)
def test_raising_a_cap_never_lengthens_the_time_where_stretches_reach_their_caps(
    caps, acceleration, jerk, which, factor
):
    # From rest to 0.1 m/s at 0.5 m/s^2 and 5 m/s^3 takes 0.0141 m, so that 0.05 m is room for two ramps.
    lengths = np.full(len(caps), 0.05)
    raised = np.array(caps)
    raised[which % raised.size] *= factor
    before = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    after = time_law(lengths=lengths, caps=raised, acceleration=acceleration, jerk=jerk)
    assert_allclose(after.peaks, raised, rtol=1e-12)
    assert after.total <= before.total * (1 + 1e-12)


@compiling
@given(paths(), ACCELERATION, JERK)
def test_a_path_takes_as_long_backwards(path, acceleration, jerk):
    lengths, caps = path
    there = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    back = time_law(lengths=lengths[::-1], caps=caps[::-1], acceleration=acceleration, jerk=jerk)
    assert_allclose(back.total, there.total, rtol=ROUNDING)


@compiling
@given(paths(), ACCELERATION, JERK, st.floats(0.1, 10.0), st.floats(0.1, 10.0))
def test_time_scales_with_the_units_of_length_and_time(path, acceleration, jerk, longer, slower):
    lengths, caps = path
    one = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    other = time_law(
        lengths=lengths * longer,
        caps=caps * longer / slower,
        acceleration=acceleration * longer / slower**2,
        jerk=jerk * longer / slower**3,
    )
    assert_allclose(other.total, one.total * slower, rtol=ROUNDING)


@compiling
@given(paths(), ACCELERATION)
def test_a_very_large_jerk_is_no_jerk_limit(path, acceleration):
    lengths, caps = path
    bound = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=inf).total
    near = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=1e12).total
    assert_allclose(near, bound, rtol=1e-5)


@compiling
@given(paths(), ACCELERATION, JERK, st.floats(0.05, 0.95))
def test_cutting_an_interval_in_two_changes_nothing(path, acceleration, jerk, where):
    lengths, caps = path
    one = time_law(lengths=lengths, caps=caps, acceleration=acceleration, jerk=jerk)
    split = np.concatenate(([lengths[0] * where, lengths[0] * (1 - where)], lengths[1:]))
    two = time_law(lengths=split, caps=np.concatenate((caps[:1], caps)), acceleration=acceleration, jerk=jerk)
    assert_allclose(two.total, one.total, rtol=ROUNDING)
