"""From path and speeds to intervals, and from intervals to the time of a piece."""

from __future__ import annotations

from dataclasses import replace
from math import cos, inf, pi, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import rectangle_part, ring_part
from sample_parts import bracket, plate, wheel
from trialcut.errors import RangeError, UnknownNameError
from trialcut.geometry.contours import Part
from trialcut.geometry.outline import polygon_of_part
from trialcut.motion.cycle import cycle_time, law_of_intervals
from trialcut.motion.intervals import Intervals, path_intervals
from trialcut.motion.machine import Machine
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import PreparedPath, corner_speed, prepare_path
from trialcut.motion.scurve import rest_to_rest_time
from trialcut.motion.traverse import traverse_time

MACHINE = Machine(
    name="test bench",
    cut_speed_max=0.2,
    traverse_speed=0.25,
    acceleration=0.5,
    jerk=10.0,
    head_lift=0.010,
    lift_speed=0.050,
    switch_time=1.5,
    tilt_travel=0.17,
    tilt_rate=0.2,
    position_sd=1e-5,
)


def prepared(part: Part, machine: Machine = MACHINE, **changes) -> PreparedPath:
    return prepare_path(part, cut_path(part, kerf_width=1e-3), machine=machine, **changes)


def every_edge(part: Part, value: float) -> dict[str, float]:
    return {edge.id: value for edge in part.edges}


def intervals_of(part: Part, speed: float = 0.003, **changes) -> tuple[PreparedPath, Intervals]:
    ready = prepared(part)
    return ready, path_intervals(ready, speed=every_edge(part, speed), lead_speed=0.002, **changes)


@pytest.mark.parametrize(
    "part", [rectangle_part(0.1, 0.06), plate(), wheel(61)], ids=lambda p: len(p.openings)
)
def test_intervals_cover_every_edge_and_lead_once(part):
    ready, intervals = intervals_of(part)
    for i, edge in enumerate(part.edges):
        assert_allclose(intervals.lengths[intervals.edge_index == i].sum(), edge.length, rtol=1e-9)
    leads = sum(segment.length for run in ready.path.runs for segment in (*run.lead_in, *run.lead_out))
    assert_allclose(intervals.lengths[intervals.edge_index == -1].sum(), leads, rtol=1e-9)


def test_edges_come_in_the_order_of_travel_from_the_start_and_back_to_it():
    _, intervals = intervals_of(rectangle_part(0.1, 0.06))
    assert intervals.edge_index.tolist() == [-1, 0, 1, 2, 3, 0, -1]
    assert_allclose(intervals.lengths[[1, 5]], 0.05)


def test_each_edge_has_its_own_speed_and_leads_theirs():
    part = rectangle_part(0.1, 0.06)
    speeds = {"A1": 0.001, "A2": 0.002, "A3": 0.003, "A4": 0.004}
    intervals = path_intervals(prepared(part), speed=speeds, lead_speed={"A": 0.0015})
    assert intervals.caps.tolist() == [0.0015, 0.001, 0.002, 0.003, 0.004, 0.001, 0.0015]


def test_an_arc_is_held_to_the_speed_of_its_lateral_acceleration():
    _, intervals = intervals_of(ring_part(0.05, 0.005), speed=0.1)
    # Opening B is E2 of the part: sqrt(0.5 * 0.005) = 0.05; the outline, sqrt(0.5 * 0.05) = 0.158, is free.
    assert_allclose(intervals.caps[intervals.edge_index == 1], 0.05, rtol=1e-12)
    assert_allclose(intervals.caps[intervals.edge_index == 0], 0.1, rtol=1e-12)


def test_no_cap_is_above_the_machines_cutting_speed():
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), speed=5.0)
    assert intervals.caps.max() == MACHINE.cut_speed_max


def test_a_further_cap_holds_on_its_edge_only():
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), edge_cap={"A2": 0.0007})
    assert_allclose(intervals.caps[intervals.edge_index == 1], 0.0007)
    assert_allclose(intervals.caps[intervals.edge_index == 2], 0.003)
    assert_allclose(intervals.caps[intervals.edge_index == -1], 0.002)


def test_a_corner_zone_slows_both_sides_of_its_corner_in_stairs():
    #   A1, 100 mm      | corner |  A2, 60 mm
    # ... 3 | 2 mm/s    |   1 mm/s  |  2 mm/s | 3 ...
    #       5 mm       2 mm  0   2 mm        5 mm
    stairs = [(0.002, 0.001), (0.005, 0.002)]
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), corner_zone={("A1", "A2"): stairs})
    assert intervals.edge_index.tolist() == [-1, 0, 0, 0, 1, 1, 1, 2, 3, 0, -1]
    assert_allclose(intervals.lengths[1:7], [0.045, 0.003, 0.002, 0.002, 0.003, 0.055], rtol=1e-9)
    assert_allclose(intervals.caps[1:7], [0.003, 0.002, 0.001, 0.001, 0.002, 0.003])


def test_a_corner_zone_longer_than_its_edge_ends_with_the_edge():
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), corner_zone={("A2", "A3"): [(0.08, 0.001)]})
    slow = intervals.caps == 0.001
    assert_allclose(intervals.lengths[slow & (intervals.edge_index == 1)].sum(), 0.06)
    assert_allclose(intervals.lengths[slow & (intervals.edge_index == 2)].sum(), 0.08)
    assert not np.any(slow & np.isin(intervals.edge_index, (0, 3)))


def test_a_corner_zone_reaches_past_the_start_of_the_cut():
    # The cut starts 50 mm into A1; 70 mm of A1 before its corner with A2 take 20 mm off the end of the cut.
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), corner_zone={("A1", "A2"): [(0.07, 0.001)]})
    slow = intervals.caps == 0.001
    assert_allclose(intervals.lengths[slow & (intervals.edge_index == 0)].sum(), 0.07)
    assert slow[1]
    assert slow[-2]
    assert_allclose(intervals.lengths[-2], 0.02)


def test_the_lower_of_two_zones_holds_where_they_overlap():
    zones = {("A1", "A2"): [(0.05, 0.001)], ("A2", "A3"): [(0.05, 0.0005)]}
    _, intervals = intervals_of(rectangle_part(0.1, 0.06), corner_zone=zones)
    on_a2 = intervals.edge_index == 1
    assert_allclose(intervals.lengths[on_a2], [0.01, 0.04, 0.01], rtol=1e-9)
    assert_allclose(intervals.caps[on_a2], [0.001, 0.0005, 0.0005])


def test_a_smooth_joint_has_no_zone_and_no_stop():
    part = rectangle_part(0.1, 0.06, radius=0.01)
    zones = {(corner.before, corner.after): [(0.005, 0.001)] for corner in part.outline.corners}
    _, intervals = intervals_of(part, corner_zone=zones)
    assert 0.001 not in intervals.caps
    assert np.all(np.isinf(intervals.knot_caps[1:-1]))


def test_a_real_corner_is_rounded_within_the_tolerance():
    ready, intervals = intervals_of(rectangle_part(0.1, 0.06))
    # A right angle: R = delta cos 45 / (1 - cos 45).
    radius = 1e-5 * cos(pi / 4) / (1 - cos(pi / 4))
    at_corners = intervals.knot_caps[np.isfinite(intervals.knot_caps)]
    assert_allclose(at_corners, [0, *[sqrt(0.5 * radius)] * 4, 0], rtol=1e-12)
    law = law_of_intervals(ready, intervals)
    assert_allclose(law.speeds[2:6], np.minimum(0.003, sqrt(0.5 * radius)), rtol=1e-12)


def test_the_machine_stops_where_the_path_turns_back_and_not_where_it_runs_on():
    assert_allclose(corner_speed(turn=pi, acceleration=0.5, tolerance=1e-5), 0.0, atol=1e-10)
    assert corner_speed(turn=0.01, acceleration=0.5, tolerance=1e-5) == inf


def test_without_a_tolerance_the_machine_stops_at_every_corner():
    ready = prepared(rectangle_part(0.1, 0.06), corner_tolerance=0.0)
    assert ready.station_caps[np.isfinite(ready.station_caps)].tolist() == [0.0] * 6


def test_an_arc_under_a_leaned_head_is_held_to_the_tilt_rate():
    # The lean of 0.05 turns with the path: 0.05 v / R <= 0.2 rad/s.
    part = ring_part(0.05, 0.0005)
    _, intervals = intervals_of(part, speed=0.01, lean=every_edge(part, 0.05))
    assert_allclose(intervals.caps[intervals.edge_index == 1], 0.2 * 0.0005 / 0.05, rtol=1e-12)
    assert_allclose(intervals.caps[intervals.edge_index == 0], 0.01)


def test_a_swing_holds_the_speed_down_on_both_sides_of_its_corner():
    part = rectangle_part(0.1, 0.06)
    lag, swing = {("A1", "A2"): [(0.002, 0.005)]}, {("A1", "A2"): [(0.001, 0.003)]}
    _, intervals = intervals_of(part, speed=0.01, corner_zone=lag, swing_zone=swing)
    slow = (intervals.caps < 0.01) & (intervals.edge_index >= 0)
    assert_allclose(intervals.caps[slow], [0.005, 0.003, 0.003, 0.005])
    assert_allclose(intervals.lengths[slow], 0.001, rtol=1e-6)


def test_no_lean_changes_nothing():
    part = rectangle_part(0.1, 0.06)
    _, upright = intervals_of(part)
    _, leaned = intervals_of(part, lean=every_edge(part, 0.0))
    assert_allclose(leaned.caps, upright.caps)


def test_an_edge_without_a_speed_fails_with_one_line():
    part = rectangle_part(0.1, 0.06)
    with pytest.raises(UnknownNameError, match="edge A4 has no speed"):
        path_intervals(prepared(part), speed={"A1": 1.0, "A2": 1.0, "A3": 1.0}, lead_speed=0.002)


def test_a_speed_of_zero_fails_with_one_line():
    part = rectangle_part(0.1, 0.06)
    ready = prepared(part)
    with pytest.raises(RangeError, match=r"speed of edge A2 is 0 m/s"):
        path_intervals(ready, speed=every_edge(part, 0.003) | {"A2": 0.0}, lead_speed=0.002)
    with pytest.raises(RangeError, match=r"lead speed is 0 m/s"):
        path_intervals(ready, speed=every_edge(part, 0.003), lead_speed=0.0)
    with pytest.raises(RangeError, match=r"caps\[2\] is 0 m/s"):
        cycle_time(
            ready,
            path_intervals(ready, speed=every_edge(part, 0.003), lead_speed=0.002, edge_cap={"A2": 0.0}),
            pierce_time=10.0,
        )


def test_a_traverse_takes_its_move_and_two_lifts():
    across = rest_to_rest_time(distance=0.1, speed_cap=0.25, acceleration=0.5, jerk=10.0)
    assert_allclose(traverse_time(distance=0.1, machine=MACHINE), across + 0.4, rtol=1e-12)
    assert traverse_time(distance=0.0, machine=MACHINE) == 0.0
    low = replace(MACHINE, head_lift=0.0, lift_speed=0.0)
    assert_allclose(traverse_time(distance=0.1, machine=low), across, rtol=1e-12)


def test_the_time_of_a_piece_is_the_sum_of_its_causes():
    part = rectangle_part(0.1, 0.06, [(0.03, 0.03, 0.005), (0.07, 0.03, 0.005)])
    ready, intervals = intervals_of(part)
    time = cycle_time(ready, intervals, pierce_time={"A": 10.0, "B": 8.0, "C": 7.0})
    assert time.piercing == 25.0
    assert_allclose(
        time.traverse,
        sum(1.5 + traverse_time(distance=run.approach, machine=MACHINE) for run in ready.path.runs),
    )
    assert_allclose(time.total, time.cutting + time.piercing + time.traverse)
    assert_allclose(sum(time.edge_times.values()) + time.leads, time.cutting, rtol=1e-12)
    assert cycle_time(ready, intervals, pierce_time=10.0).piercing == 30.0


def test_the_time_of_a_piece_is_near_length_over_speed_when_nothing_slows_it():
    # 0.5 m/s^2 takes the jet to 3 mm/s within 10 um, so that only the corners and ends are felt.
    part = rectangle_part(0.1, 0.06)
    ready, intervals = intervals_of(part)
    time = cycle_time(ready, intervals, pierce_time=10.0)
    free = part.length / 0.003 + time.leads
    assert time.cutting > free
    assert_allclose(time.cutting, free, rtol=1e-3)
    assert_allclose(time.slow_time, time.cutting - intervals.unhindered_time)
    assert 0.0 < time.slow_time < 0.2


def test_the_law_without_a_jerk_limit_bounds_the_time_from_below():
    part = wheel(61)
    zones = {
        (corner.before, corner.after): [(0.0002 * k, 0.0005 * k) for k in range(1, 6)]
        for corner in part.outline.corners
    }
    ready, intervals = intervals_of(part, corner_zone=zones)
    time = cycle_time(ready, intervals, pierce_time=0.0)
    assert time.cutting_without_jerk_limit < time.cutting
    assert_allclose(time.cutting, time.cutting_without_jerk_limit, rtol=0.02)


@pytest.mark.parametrize(
    "part", [rectangle_part(0.1, 0.06), plate(), bracket()], ids=["square", "plate", "bracket"]
)
def test_the_path_is_as_long_as_the_outline_moved_out_by_half_a_kerf(part):
    half = 0.55e-3
    path = cut_path(part, kerf_width=2 * half)
    ready = prepare_path(part, path, machine=MACHINE, half_kerf=half)
    lengths = np.diff(ready.stations)
    moved = polygon_of_part(part, tolerance=1e-8).buffer(half, join_style="mitre", quad_segs=400)
    rings = [moved.exterior, *moved.interiors]
    # Arcs of the buffer are chords of a quarter of a degree at most, which shortens them by 1e-6.
    assert_allclose(lengths[ready.piece_edge >= 0].sum(), sum(ring.length for ring in rings), rtol=2e-6)
    leads = sum(segment.length for run in path.runs for segment in (*run.lead_in, *run.lead_out))
    assert_allclose(lengths[ready.piece_edge < 0].sum(), leads, rtol=1e-12)


def test_an_inside_arc_is_passed_at_the_speed_of_the_radius_that_the_jet_runs_on():
    part = ring_part(0.05, 0.005)
    ready = prepare_path(part, cut_path(part, kerf_width=1e-3), machine=MACHINE, half_kerf=0.5e-3)
    assert_allclose(ready.piece_caps[ready.piece_edge == 1], sqrt(0.5 * 0.0045), rtol=1e-12)


def test_a_corner_zone_starts_at_the_corner_of_the_path_beside_the_drawn_one():
    part = rectangle_part(0.1, 0.06)
    ready = prepare_path(part, cut_path(part, kerf_width=1e-3), machine=MACHINE, half_kerf=0.5e-3)
    intervals = path_intervals(
        ready, speed=every_edge(part, 0.003), lead_speed=0.002, corner_zone={("A1", "A2"): [(0.002, 0.001)]}
    )
    assert_allclose(intervals.lengths[1:5], [0.0485, 0.002, 0.002, 0.059], rtol=1e-9)


def test_every_run_starts_and_ends_at_rest():
    ready, intervals = intervals_of(plate())
    law = law_of_intervals(ready, intervals)
    changes = np.flatnonzero(np.diff(intervals.run_index)) + 1
    assert law.speeds[0] == law.speeds[-1] == 0.0
    assert np.all(law.speeds[changes] == 0.0)
    assert changes.size == len(ready.path.runs) - 1
