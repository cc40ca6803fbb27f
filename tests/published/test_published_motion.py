"""Move times against closed forms and the values that another program gave for them."""

from __future__ import annotations

import tomllib
from math import inf, sqrt
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from parts import ring_part
from trialcut.motion.machine import Machine
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import prepare_path
from trialcut.motion.scurve import rest_to_rest_time
from trialcut.motion.time_law import time_law

CHECKS = tomllib.loads((Path(__file__).parent / "motion" / "moves.toml").read_text(encoding="utf-8"))["check"]


def half_of_the_last_digit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["where"])
def test_a_move_from_rest_to_rest_takes_the_printed_time(check):
    printed = check["printed"]
    ours = rest_to_rest_time(**check["inputs"])
    assert_allclose(ours, float(printed), rtol=0.0, atol=half_of_the_last_digit(printed))
    # 2.15 and 4.45 are exact.
    if len(printed) <= 4:
        assert_allclose(ours, float(printed), rtol=1e-12)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["where"])
def test_a_path_cut_into_intervals_takes_the_printed_time_too(check):
    inputs, printed = check["inputs"], check["printed"]
    law = time_law(
        lengths=[0.3 * inputs["distance"], 0.2 * inputs["distance"], 0.5 * inputs["distance"]],
        caps=[inputs["speed_cap"]] * 3,
        acceleration=inputs["acceleration"],
        jerk=inputs["jerk"],
    )
    assert_allclose(law.total, float(printed), rtol=0.0, atol=half_of_the_last_digit(printed))


@pytest.mark.parametrize("name", ["distance", "speed_cap", "acceleration", "jerk"])
def test_moving_an_input_by_one_percent_breaks_a_check(name):
    def holds(check, factor):
        inputs = check["inputs"] | {name: check["inputs"][name] * factor}
        half = half_of_the_last_digit(check["printed"])
        return abs(rest_to_rest_time(**inputs) - float(check["printed"])) <= half

    assert all(holds(check, 1.0) for check in CHECKS)
    assert not all(holds(check, 1.01) for check in CHECKS)


def test_an_arc_of_5_mm_at_500_mm_per_second_squared_is_passed_at_50_mm_per_second():
    machine = Machine(
        name="check",
        cut_speed_max=1.0,
        traverse_speed=1.0,
        acceleration=0.5,
        jerk=inf,
        head_lift=0.0,
        lift_speed=1.0,
        switch_time=0.0,
        tilt_travel=0.0,
        tilt_rate=0.0,
        position_sd=0.0,
    )
    part = ring_part(0.02, 0.005)
    prepared = prepare_path(part, cut_path(part, kerf_width=1e-3), machine=machine)
    on_opening = prepared.piece_caps[prepared.piece_edge == prepared.edge_ids.index("B1")]
    assert_allclose(on_opening, 0.050, rtol=0.0, atol=0.5e-6)
    assert_allclose(on_opening, sqrt(0.5 * 0.005), rtol=1e-12)
