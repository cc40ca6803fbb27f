"""Speed and time along intervals, against closed forms written out here."""

from __future__ import annotations

from math import inf, sqrt

import numba
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from trialcut.errors import RangeError
from trialcut.motion._kernels import compiled
from trialcut.motion.scurve import move, ramp_distance, rest_to_rest_time
from trialcut.motion.time_law import speed_at, time_law

A, J = 0.5, 10.0


def test_equal_neighbouring_caps_make_one_exact_move() -> None:
    law = time_law(lengths=[0.02, 0.01, 0.07], caps=[0.05, 0.05, 0.05], acceleration=A, jerk=J)
    assert_allclose(law.total, 2.15, rtol=1e-12)
    assert law.stretch_peaks.size == 1


def test_a_change_of_speed_takes_its_closed_form_time_and_distance() -> None:
    # dv = 0.04 > a^2/j = 0.025: T = dv/a + a/j = 0.08 + 0.05 s, distance = mean speed times T.
    law = time_law(
        lengths=[0.03 * 0.13], caps=[0.05], acceleration=A, jerk=J, start_speed=0.01, end_speed=0.05
    )
    assert_allclose(law.total, 0.13, rtol=1e-9)
    assert_allclose(
        ramp_distance(start_speed=0.01, end_speed=0.05, acceleration=A, jerk=J), 0.03 * 0.13, rtol=1e-12
    )


def test_a_small_change_of_speed_never_reaches_full_acceleration() -> None:
    # dv = 0.01 < 0.025: T = 2 sqrt(dv/j).
    distance = 0.015 * 2.0 * sqrt(0.01 / J)
    assert_allclose(
        ramp_distance(start_speed=0.02, end_speed=0.01, acceleration=A, jerk=J), distance, rtol=1e-12
    )


def test_without_a_jerk_limit_a_step_in_the_caps_follows_the_square_root_of_distance() -> None:
    law = time_law(lengths=[0.1, 0.1], caps=[0.1, 0.3], acceleration=A, jerk=inf)
    # rest -> 0.1, cruise, 0.1 -> 0.3 (0.08 m), then down to rest over 0.09 m does not fit: peak below 0.3.
    peak = sqrt((2 * A * 0.1 + 0.1**2) / 2)
    expected = (0.1 / A + (0.1 - 0.01) / 0.1) + (peak - 0.1) / A + peak / A
    assert_allclose(law.total, expected, rtol=1e-12)
    assert_allclose(law.peaks, [0.1, peak], rtol=1e-12)


def test_knot_caps_slow_the_path_to_rest_between_intervals() -> None:
    law = time_law(lengths=[0.1, 0.1], caps=[0.05, 0.05], acceleration=A, jerk=J, knot_caps=[inf, 0.0, inf])
    one = rest_to_rest_time(distance=0.1, speed_cap=0.05, acceleration=A, jerk=J)
    assert_allclose(law.interval_times, [one, one], rtol=1e-12)
    assert law.speeds[1] == 0.0


def test_sampling_at_the_knots_gives_the_knots() -> None:
    law = time_law(lengths=[0.02, 0.01, 0.04], caps=[0.05, 0.02, 0.06], acceleration=A, jerk=J)
    speeds, times = speed_at(law, law.positions)
    assert_allclose(speeds, law.speeds, rtol=1e-12, atol=1e-15)
    assert_allclose(times, law.times, rtol=1e-12, atol=1e-15)


@pytest.mark.parametrize(("jerk", "tolerance"), [(J, 5e-5), (200.0, 5e-5), (inf, 5e-3)])
def test_sampled_speed_is_the_slope_of_distance_over_time(jerk: float, tolerance: float) -> None:
    law = time_law(lengths=[0.02, 0.01, 0.04], caps=[0.05, 0.02, 0.06], acceleration=A, jerk=jerk)
    stations = np.linspace(0.0, 0.07, 20001)
    speeds, times = speed_at(law, stations)
    slope = np.diff(stations) / np.diff(times)
    middle = speed_at(law, 0.5 * (stations[1:] + stations[:-1]))[0]
    # Under constant acceleration the slope over a step is below the speed at its middle by the fraction
    # (a ds / v^2)^2 / 8, which at 0.01 m/s is 4e-5; nearer to rest it is left out.
    # Without a jerk limit the acceleration jumps within a step, which costs a ds / (4 v^2), 4e-3.
    fast = middle > 0.01
    assert_allclose(slope[fast], middle[fast], rtol=tolerance)
    assert np.all(np.abs(np.diff(speeds) / np.diff(times)) <= A * (1 + 1e-9))


def test_a_short_stretch_does_not_reach_its_cap() -> None:
    result = move(distance=0.001, speed_cap=1.0, acceleration=A, jerk=J)
    assert_allclose(result.time, 4.0 * (0.001 / (2.0 * J)) ** (1.0 / 3.0), rtol=1e-12)


def test_no_distance_takes_no_time() -> None:
    assert rest_to_rest_time(distance=0.0, speed_cap=1.0, acceleration=A, jerk=J) == 0.0


def test_peaks_are_the_highest_speed_in_each_interval() -> None:
    law = time_law(lengths=[0.01] * 10, caps=[0.05] * 10, acceleration=A, jerk=J)
    stations = np.linspace(0.0, 0.1, 100001)
    speeds = speed_at(law, stations)[0]
    sampled = [speeds[10000 * i : 10000 * i + 10001].max() for i in range(10)]
    assert_allclose(law.peaks, sampled, rtol=1e-9)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"caps": [0.05, 0.0]}, "caps[1] is 0 m/s"),
        ({"caps": [float("nan"), 0.05]}, "caps[0] is nan m/s"),
        ({"caps": [0.05]}, "2 lengths and 1 caps"),
        ({"lengths": [0.1, -0.1]}, "lengths[1] is -0.1 m"),
        ({"lengths": [], "caps": []}, "at least one value"),
        ({"acceleration": 0.0}, "acceleration is 0 m/s^2"),
        ({"acceleration": inf}, "acceleration is inf"),
        ({"jerk": 0.0}, "jerk is 0 m/s^3"),
        ({"jerk": float("nan")}, "jerk is nan"),
        ({"start_speed": 0.06}, "start speed is 0.06 m/s"),
        ({"end_speed": -0.01}, "end speed is -0.01 m/s"),
        ({"lengths": [1e-5, 1e-5], "start_speed": 0.05}, "start speed is 0.05 m/s but the path allows"),
        ({"lengths": [1e-5, 1e-5], "end_speed": 0.05}, "end speed is 0.05 m/s but the path allows"),
        ({"knot_caps": [1.0, 1.0]}, "2 knot caps were given for 2 intervals"),
        ({"knot_caps": [1.0, -1.0, 1.0]}, "knot_caps[1] is -1 m/s"),
    ],
)
def test_impossible_values_fail_with_one_line(change: dict[str, object], words: str) -> None:
    arguments: dict[str, object] = {
        "lengths": [0.1, 0.1],
        "caps": [0.05, 0.05],
        "acceleration": A,
        "jerk": J,
    }
    with pytest.raises(RangeError) as failure:
        time_law(**(arguments | change))  # type: ignore[arg-type]
    assert words in str(failure.value)
    assert "\n" not in str(failure.value)


def test_a_station_off_the_path_fails_with_one_line() -> None:
    law = time_law(lengths=[0.1], caps=[0.05], acceleration=A, jerk=J)
    with pytest.raises(RangeError, match=r"station is 0\.2 m"):
        speed_at(law, [0.0, 0.2])


def test_a_distance_too_short_for_the_change_of_speed_fails_with_one_line() -> None:
    with pytest.raises(RangeError, match="distance is 1e-05 m"):
        move(distance=1e-5, speed_cap=1.0, acceleration=A, jerk=J, start_speed=0.5)


def test_samples_come_back_in_the_order_they_were_asked() -> None:
    law = time_law(lengths=[0.05, 0.05], caps=[0.05, 0.02], acceleration=A, jerk=J)
    forward = speed_at(law, [0.01, 0.06, 0.09])
    backward = speed_at(law, [0.09, 0.06, 0.01])
    assert_array_equal(forward[1], backward[1][::-1])


def test_without_a_writable_place_for_compiled_code_it_is_compiled_afresh(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from numba.core.caching import CompileResultCacheImpl

    monkeypatch.setattr(CompileResultCacheImpl, "_locator_classes", [])

    def twice(value: float) -> float:
        return 2.0 * value

    with pytest.raises(RuntimeError, match="no locator available"):
        numba.njit(cache=True)(twice)
    assert compiled(twice)(1.5) == 3.0
