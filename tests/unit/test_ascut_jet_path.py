"""The jet's way beside a part, its leads, its speeds and times."""

from dataclasses import replace
from math import hypot, tan

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from parts import rectangle_part
from sample_parts import bracket, plate, wheel
from surface_cases import HALF, MACHINE, step_part
from trialcut.ascut.jet_path import jet_path, sample_path
from trialcut.ascut.laid_path import lay_path
from trialcut.errors import RangeError
from trialcut.motion.cycle import cycle_time, law_of_intervals
from trialcut.motion.intervals import path_intervals
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import prepare_path

SPEED = 3e-3


def laid_of(part, offset=HALF):
    path = cut_path(part, kerf_width=2.0 * HALF)
    return lay_path(part, path, machine=MACHINE, offsets={edge.id: offset for edge in part.edges})


def jet_of(part, **options):
    ids = [edge.id for edge in part.edges]
    return jet_path(
        part,
        cut_path(part, kerf_width=2.0 * HALF),
        machine=options.pop("machine", MACHINE),
        offsets=dict.fromkeys(ids, HALF),
        speed=dict.fromkeys(ids, SPEED),
        lead_speed=2e-3,
        **options,
    )


PARTS = {"bracket": bracket, "plate": plate, "wheel": lambda: wheel(61), "step": step_part}


@pytest.mark.parametrize("name", PARTS)
def test_every_run_hangs_together_from_its_pierce_to_its_end(name):
    laid = laid_of(PARTS[name]())
    run = laid.prepared.piece_run
    for k in np.flatnonzero(run[1:] == run[:-1]).tolist():
        before, after = laid.segments[k], laid.segments[k + 1]
        assert_allclose(after.start, before.end, atol=1e-9)


@pytest.mark.parametrize("name", PARTS)
def test_the_jet_comes_in_without_a_turn(name):
    laid = laid_of(PARTS[name]())
    leads = np.flatnonzero((laid.prepared.piece_edge[:-1] < 0) & (laid.prepared.piece_edge[1:] >= 0))
    for k in leads.tolist():
        before, after = laid.segments[k].heading(1.0), laid.segments[k + 1].heading(0.0)
        assert_allclose(np.cos(after - before), 1.0, atol=1e-9)


def test_leads_keep_the_shape_they_were_planned_with():
    part = rectangle_part(0.06, 0.04)
    path = cut_path(part, kerf_width=2.0 * HALF)
    laid = lay_path(part, path, machine=MACHINE, offsets={edge.id: HALF for edge in part.edges})
    planned, (lead, *_) = path.runs[0].lead_in[0], laid.segments
    assert_allclose(lead.centre, planned.centre, atol=1e-12)
    assert_allclose((lead.radius, lead.sweep), (planned.radius - HALF, planned.sweep), atol=1e-12)


def test_a_cut_that_starts_at_a_corner_comes_in_along_one_edge_and_leaves_along_the_other():
    part = rectangle_part(0.06, 0.04)
    avoid = [edge.id for edge in part.edges]
    path = cut_path(part, kerf_width=2.0 * HALF, avoid=avoid)
    (run,) = path.runs
    assert run.start_fraction == 0.0
    laid = lay_path(part, path, machine=MACHINE, offsets=dict.fromkeys(avoid, HALF))
    lengths = [segment.length for segment in laid.segments]
    on_edges = laid.prepared.piece_edge >= 0
    # Neither edge beside the start runs past the corner; the other three corners are passed on both sides.
    assert_allclose(np.sum(lengths, where=on_edges), part.length + 6.0 * HALF, atol=1e-9)
    start = part.edge(run.start_edge).start
    first = laid.segments[int(np.argmax(on_edges))]
    assert_allclose(hypot(first.start[0] - start[0], first.start[1] - start[1]), HALF, atol=1e-12)


def test_samples_keep_the_spacing_where_the_way_bends_and_span_straights():
    jet = jet_of(rectangle_part(0.06, 0.04, [(0.03, 0.02, 0.008)]), spacing=1e-4)
    step = np.hypot(*np.diff(jet.position, axis=0).T)
    turning = (np.abs(np.diff(jet.direction, axis=0)).max(axis=1) > 1e-9) & (jet.run[1:] == jet.run[:-1])
    assert step[turning].max() < 1e-4 + 1e-12
    assert step[jet.run[1:] == jet.run[:-1]].max() > 20e-3


def test_speed_and_time_are_those_of_the_time_law():
    part = bracket()
    laid = laid_of(part)
    speed = dict.fromkeys(laid.prepared.edge_ids, SPEED)
    intervals = path_intervals(laid.prepared, speed=speed, lead_speed=2e-3)
    samples = sample_path(laid, intervals, pierce_time=7.0)
    law = law_of_intervals(laid.prepared, intervals)
    whole = cycle_time(laid.prepared, intervals, pierce_time=7.0)
    assert_allclose(samples.time[-1], whole.total, rtol=1e-12)
    assert_allclose(samples.speed.max(), SPEED, rtol=1e-12)
    assert_allclose(samples.station[-1], law.positions[-1], rtol=1e-12)
    ends = np.flatnonzero(samples.run[1:] != samples.run[:-1])
    assert_allclose(samples.speed[[0, *ends, *(ends + 1), -1]], 0.0, atol=1e-12)
    assert np.all(np.diff(samples.time) >= 0.0)


@pytest.mark.parametrize("length", [0.0604, 0.0605, 0.0606])
def test_a_change_of_speed_a_rounding_error_before_the_end_is_no_stretch_of_its_own(monkeypatch, length):
    laid = laid_of(rectangle_part(length, 0.04))
    speed = dict.fromkeys(laid.prepared.edge_ids, SPEED)
    intervals = path_intervals(laid.prepared, speed=speed, lead_speed=2e-3)
    law = law_of_intervals(laid.prepared, intervals)
    usual = sample_path(laid, intervals)
    stretches = law.stretch_positions.copy()
    stretches[-1] = np.nextafter(laid.prepared.stations[-1], 0.0)
    early = replace(law, stretch_positions=stretches)
    monkeypatch.setattr("trialcut.ascut.jet_path.law_of_intervals", lambda *_: early)
    assert_allclose(sample_path(laid, intervals).position[-1], usual.position[-1], atol=1e-12)


def test_the_time_of_the_jets_way_is_that_of_the_path_half_a_kerf_off():
    part = wheel(61)
    path = cut_path(part, kerf_width=2.0 * HALF)
    laid = lay_path(part, path, machine=MACHINE, offsets={edge.id: HALF for edge in part.edges})
    speed = dict.fromkeys(laid.prepared.edge_ids, SPEED)
    times = [
        law_of_intervals(prepared, path_intervals(prepared, speed=speed, lead_speed=2e-3)).total
        for prepared in (laid.prepared, prepare_path(part, path, machine=MACHINE, half_kerf=HALF))
    ]
    # The planned path takes leads at their drawn length and sharp corners as right angles.
    assert_allclose(times[0], times[1], rtol=5e-3)


def test_corners_slow_the_jet_where_it_turns():
    part = step_part()
    laid = laid_of(part)
    zone = {("A3", "A4"): ((1e-3, 1e-3),)}
    speed = dict.fromkeys(laid.prepared.edge_ids, SPEED)
    intervals = path_intervals(laid.prepared, speed=speed, lead_speed=2e-3, corner_zone=zone)
    samples = sample_path(laid, intervals)
    apart = np.hypot(*(samples.position - (15.5e-3, 10.5e-3)).T)
    assert samples.speed[apart < 1e-3 - 1e-9].max() < 1e-3 + 1e-12
    assert_allclose(samples.speed[np.argmin(np.abs(apart - 4e-3))], SPEED, rtol=1e-9)


def test_edges_carry_their_own_lean_towards_the_part_and_forward():
    jet = jet_of(rectangle_part(0.06, 0.04), tilt={"A2": 0.01}, lead={"A1": 0.02})
    assert_allclose(jet.lean[jet.edge == 1], [[-tan(0.01), 0.0]] * (jet.edge == 1).sum(), atol=1e-12)
    assert_allclose(jet.lean[jet.edge == 0], [[tan(0.02), 0.0]] * (jet.edge == 0).sum(), atol=1e-12)
    assert_allclose(jet.lean[jet.edge == 2], 0.0, atol=1e-12)


def test_at_a_sharp_corner_the_jet_stands_in_both_directions():
    jet = jet_of(step_part())
    at = np.flatnonzero(np.hypot(*(jet.position - (15.5e-3, 10.5e-3)).T) < 1e-9)
    assert_array_equal(jet.edge[at], [2, 3])
    assert_allclose(jet.direction[at], [[-1.0, 0.0], [0.0, 1.0]], atol=1e-12)


def test_a_corner_sharper_than_a_right_angle_is_off_every_edge():
    from sample_parts import contour, polygon
    from trialcut.geometry.contours import Part

    spike = Part(id="1", outline=contour("A", polygon([(0.0, 0.0), (0.03, 0.004), (0.0, 0.008)])))
    laid = laid_of(spike)
    across = laid.off_edge & (laid.prepared.piece_edge >= 0)
    tips = [k for k in np.flatnonzero(across).tolist() if laid.segments[k].start[0] > 0.02]
    assert len(tips) == 1
    assert (laid.held[tips[0]], laid.following[tips[0]]) == (0, 1)


def test_openings_that_the_jet_does_not_fit_into_are_left_out():
    part = rectangle_part(0.06, 0.04, [(0.02, 0.02, 0.4e-3), (0.04, 0.02, 5e-3)])
    laid = laid_of(part)
    assert laid.not_cut == ("B",)
    assert set(laid.prepared.piece_run.tolist()) == {
        i for i, run in enumerate(laid.prepared.path.runs) if run.contour != "B"
    }


def test_a_machine_without_acceleration_is_refused_by_the_time_law():
    with pytest.raises(RangeError, match="acceleration is 0"):
        jet_of(step_part(), machine=replace(MACHINE, acceleration=0.0))


def test_a_spacing_that_is_not_above_zero_is_refused():
    with pytest.raises(RangeError, match="spacing 0 m must be above zero"):
        jet_of(step_part(), spacing=0.0)
