"""Corners slowed or looped: closed forms of the loop, times against the time law, and the choice."""

import itertools
from dataclasses import replace
from math import inf, pi, tan

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose

from parts import rectangle_part
from sample_parts import contour, polygon
from sample_studies import INCH, IPM, TILTING, inch_setup
from stance_cases import DEPTHS, ell, head_jumps, head_rates, law_of, solved
from trialcut.ascut.corners import LOOP_KERFS, Pass, corner_policies, loops_of
from trialcut.ascut.loops import loop_at_corner
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.stance import solve_stance
from trialcut.errors import RangeError
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.outline import flatten_segments, polygon_of_part
from trialcut.motion.cycle import law_of_intervals
from trialcut.motion.intervals import path_intervals
from trialcut.motion.path_builder import cut_path
from trialcut.motion.prepared import prepare_path

HALF_KERF = 0.55e-3
MONEY = 0.025
SPEED = 10.5 * IPM


def exit_lag(speed: float) -> float:
    law = law_of(inch_setup())
    return float(law.wanted(speed)[1]) * law.thickness


def policies(part=None, *, machine=TILTING, caps=None, speed=SPEED, **given):
    part = part or rectangle_part(0.08, 0.05)
    path = cut_path(part, kerf_width=2.0 * HALF_KERF)
    prepared = prepare_path(part, path, machine=machine, half_kerf=HALF_KERF)
    zone = {} if caps is None else dict.fromkeys(prepared.corners, caps)
    options = {"money_rate": MONEY} | given
    return corner_policies(
        part,
        prepared,
        speed={edge.id: speed for edge in part.edges},
        lag=exit_lag,
        half_kerf=HALF_KERF,
        corner_zone=zone,
        **options,
    )


def loop(turn=pi / 2, *, straight=0.0, radius=2e-3, before=0.5e-3, after=0.5e-3):
    return loop_at_corner(
        position=(0.01, 0.02),
        heading_in=0.3,
        heading_out=0.3 + turn,
        offset_before=before,
        offset_after=after,
        straight=straight,
        radius=radius,
    )


# The loop.


@pytest.mark.parametrize("turn", [0.5, 1.2, pi / 2])
@pytest.mark.parametrize("offsets", [(0.5e-3, 0.5e-3), (0.5e-3, 0.8e-3)])
def test_a_loop_is_one_smooth_way_round_by_the_right(turn, offsets):
    found = loop(turn, before=offsets[0], after=offsets[1])
    for way in (found.core, found.segments):
        for one, following in itertools.pairwise(way):
            assert_allclose(one.end, following.start, atol=1e-12)
            assert_allclose(np.exp(1j * one.heading(1.0)), np.exp(1j * following.heading(0.0)), atol=1e-9)
    assert_allclose(found.core[0].start, found.core[-1].end, atol=1e-12)
    assert_allclose(found.core[1].sweep, turn - 2.0 * pi, rtol=1e-12)


@pytest.mark.parametrize("turn", [0.5, 1.2, pi / 2])
def test_a_loop_leaves_and_meets_the_path_beside_the_corner(turn):
    found = loop(turn)
    for end in (found.segments[0].start, found.segments[-1].end):
        assert_allclose(np.hypot(end[0] - 0.01, end[1] - 0.02), 0.5e-3, rtol=1e-9)


def test_a_loop_at_a_right_angle_is_three_quarters_of_a_circle_and_two_radii():
    found = loop(pi / 2, radius=2e-3)
    core = sum(segment.length for segment in found.core)
    assert_allclose(core, 2e-3 * (1.5 * pi + 2.0), rtol=1e-12)
    assert_allclose(found.length, core + 2.0 * 0.5e-3, rtol=1e-12)


@pytest.mark.parametrize("turn", [0.5, 1.2, pi / 2])
def test_a_loop_runs_straight_as_far_as_asked(turn):
    found = loop(turn, straight=7e-3)
    assert_allclose(found.segments[0].length, 7e-3, rtol=1e-9)
    assert_allclose(found.segments[-1].length, 7e-3, rtol=1e-9)
    assert_allclose(found.radius, (7e-3 - 0.5e-3 * tan(0.5 * turn)) / tan(0.5 * turn), rtol=1e-9)


@pytest.mark.parametrize("turn", [-pi / 2, 0.1, 2.0])
def test_an_inside_or_odd_corner_has_no_loop(turn):
    with pytest.raises(RangeError, match="cannot be looped"):
        loop(turn)


def test_a_loop_of_no_radius_is_refused():
    with pytest.raises(RangeError, match="must be above zero"):
        loop(radius=0.0)


# Times.


def test_slowing_takes_the_length_over_the_slow_speed_and_two_ramps():
    # One stair of 5 mm at a quarter of the speed, the machine not rounding: without a limit of jerk each ramp
    # from v to v/4 takes 3v/4a more than at v would, over (v^2 - v^2/16)/2a.
    caps = ((5e-3, SPEED / 4),)
    machine = replace(TILTING, acceleration=0.5, jerk=inf)
    part = rectangle_part(0.08, 0.05)
    path = cut_path(part, kerf_width=2.0 * HALF_KERF)
    prepared = prepare_path(part, path, machine=machine, half_kerf=HALF_KERF)
    prepared = replace(prepared, station_caps=np.where(prepared.station_caps > 0, inf, 0.0))
    found = corner_policies(
        part,
        prepared,
        speed={edge.id: SPEED for edge in part.edges},
        lag=exit_lag,
        half_kerf=HALF_KERF,
        money_rate=MONEY,
        corner_zone=dict.fromkeys(prepared.corners, caps),
    )
    ramp = 0.75 * SPEED / 0.5 - (SPEED**2 - (SPEED / 4) ** 2) / (2 * 0.5) / SPEED
    want = 2 * 5e-3 * (4 / SPEED - 1 / SPEED) + 2 * ramp
    for policy in found.values():
        assert_allclose(policy.slow.time, want, rtol=1e-9)


def test_a_loop_at_full_speed_takes_its_length_over_the_speed():
    # Its radius lets the lateral acceleration pass the full speed.
    for policy in policies().values():
        assert policy.path is not None
        assert policy.loop is not None
        assert SPEED**2 / policy.path.radius <= TILTING.acceleration
        core = sum(segment.length for segment in policy.path.core)
        assert_allclose(policy.loop.time, core / SPEED, rtol=1e-9)
        assert policy.path.radius >= 2.0 * LOOP_KERFS * HALF_KERF * (1 - 1e-9)


def test_slowing_leaves_the_lag_of_the_slow_speed_and_a_loop_leaves_none():
    for policy in policies(caps=((1e-3, 0.5e-3),)).values():
        assert_allclose(policy.slow.error, exit_lag(0.5e-3), rtol=1e-12)
        assert policy.loop.error == 0.0


# Room.


@pytest.mark.parametrize("part", [rectangle_part(0.08, 0.05), ell()])
def test_loops_keep_their_kerf_off_the_part(part):
    polygon_ = polygon_of_part(part, tolerance=1e-6)
    for policy in policies(part).values():
        if policy.path is not None:
            line = shapely.LineString(flatten_segments(policy.path.core, tolerance=1e-6))
            assert shapely.distance(polygon_, line) >= HALF_KERF - 5e-6


def test_without_room_a_corner_is_slowed():
    # A notch of 4 mm in a plate: its outside corners at the mouth have room, its inside corners none, and a
    # tooth in a narrow window has no room for any loop.
    window = [(0.02, 0.02), (0.02, 0.03), (0.0235, 0.03), (0.0235, 0.027), (0.0265, 0.027), (0.0265, 0.03)]
    window += [(0.03, 0.03), (0.03, 0.02)]
    opening = contour("B", polygon(window), ContourRole.OPENING)
    part = Part(id="1", outline=rectangle_part(0.05, 0.05).outline, openings=(opening,))
    outside = {(corner.before, corner.after) for corner in opening.corners if corner.turn > 0.0}
    assert outside
    found = policies(part, caps=((1e-3, 0.2e-3),))
    for key in outside & set(found):
        assert found[key].chosen is Pass.SLOW
        assert found[key].loop is None
        assert "room" in found[key].why


def test_inside_corners_are_always_slowed():
    found = policies(ell(), caps=((1e-3, 0.1e-3),), money_rate=10.0)
    assert found["A3", "A4"].chosen is Pass.SLOW
    assert found["A3", "A4"].why == "an inside corner"
    assert any(policy.chosen is Pass.LOOP for policy in found.values())


# The choice.


def looped(**given) -> int:
    return sum(policy.chosen is Pass.LOOP for policy in policies(**given).values())


def test_a_dearer_second_favours_the_loop():
    # Slowed for longer than the loop takes: the plate that the loop needs is worth it once time is dear.
    caps = ((3e-3, 0.2e-3),)
    counts = [looped(caps=caps, money_rate=m, scrap_price=2e4) for m in (0.0, 0.003, 0.01, 0.03, 0.1, 1.0)]
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] > 0


def test_dearer_plate_favours_slowing():
    caps = ((3e-3, 0.2e-3),)
    counts = [looped(caps=caps, scrap_price=price) for price in (0.0, 1e3, 1e4, 1e5, 1e6)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > 0
    assert counts[-1] == 0


def test_a_tighter_demand_favours_the_loop():
    counts = [
        sum(
            policy.chosen is Pass.LOOP
            for policy in policies(
                scrap_price=1e9,
                allowed={("A1", "A2"): limit, ("A2", "A3"): 2.0 * limit, ("A3", "A4"): 4.0 * limit},
            ).values()
        )
        for limit in (1e-2, 1e-3, 0.4e-3, 1e-4, 1e-6)
    ]
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] == 3


def test_the_cheaper_way_that_holds_is_taken():
    for scrap_price in (0.0, 100.0, 1e4):
        for policy in policies(caps=((2e-3, 0.5e-3),), scrap_price=scrap_price).values():
            assert policy.loop is not None
            cheaper = Pass.LOOP if policy.loop.cost < policy.slow.cost else Pass.SLOW
            assert policy.chosen is cheaper
            assert_allclose(policy.slow.cost, MONEY * policy.slow.time, rtol=1e-12)


# On the path.


def test_a_looped_path_takes_the_time_that_the_loops_were_weighed_with():
    part = rectangle_part(0.08, 0.05)
    path = cut_path(part, kerf_width=2.0 * HALF_KERF)
    found = policies(part, caps=((3e-3, 0.2e-3),))
    loops = loops_of(found)
    assert loops.keys() == found.keys()
    speed = {edge.id: SPEED for edge in part.edges}

    def total(loops, **given):
        ready = prepare_path(part, path, machine=TILTING, half_kerf=HALF_KERF, loops=loops)
        intervals = path_intervals(ready, speed=speed, lead_speed=0.002, **given)
        return law_of_intervals(ready, intervals).total

    slowed = total({}, corner_zone=dict.fromkeys(found, ((3e-3, 0.2e-3),)))
    gain = sum(policy.slow.time - policy.loop.time for policy in found.values())
    assert_allclose(slowed - total(loops), gain, rtol=1e-6)


def looped_jet():
    """The case, its loops, the stance solved with them, and the jet."""
    case = solved(rectangle_part(0.08, 0.05), ipm=10.5)
    loops = loops_of(policies(case.part, caps=((3e-3, 0.2e-3),)))
    ready = prepare_path(case.part, case.path, machine=case.machine, half_kerf=case.half_kerf, loops=loops)
    stance = solve_stance(
        case.part,
        ready,
        law=case.stance.law,
        speed=case.speed,
        tilted=dict.fromkeys(case.speed, True),
        half_kerf=case.half_kerf,
        loops=loops,
    )
    return case, loops, stance, case.jet(stance=stance, loops=loops)


def test_the_jet_runs_the_loops_and_the_head_swings_in_them():
    case, loops, _, jet = looped_jet()
    step = np.hypot(*np.diff(jet.position, axis=0).T)
    cut = np.flatnonzero(jet.edge >= 0)
    inner = slice(cut[0], cut[-1])
    off = ((jet.edge[:-1] < 0) | (jet.edge[1:] < 0))[inner]
    want = sum(segment.length for way in loops.values() for segment in way)
    assert_allclose(step[inner][off].sum(), want, rtol=1e-4)
    assert np.all(head_rates(jet) <= case.machine.tilt_rate * (1 + 1e-6))
    assert np.all(head_jumps(jet) <= 1e-9)


def test_a_looped_corner_is_cut_sharp_at_full_speed():
    case, _, stance, jet = looped_jet()
    field = deviation_field(case.part, jet, case.jet_law(), depths=DEPTHS, thickness=INCH, wall_spacing=2e-4)
    start = field.edges.index(case.path.runs[0].start_edge)
    wall = field.deviation[field.edge != start]
    # The bow alone, within 3 µm of interpolation.
    assert np.abs(wall).max() <= stance.edges["A1"].out_of_square + 3e-6


# Refusals.


@pytest.mark.parametrize("given", [{"money_rate": -1.0}, {"money_rate": inf}, {"scrap_price": -1.0}])
def test_impossible_prices_are_refused(given):
    with pytest.raises(RangeError, match="must be zero or more"):
        policies(**given)


def test_a_machine_without_acceleration_is_refused():
    part = rectangle_part(0.08, 0.05)
    path = cut_path(part, kerf_width=2.0 * HALF_KERF)
    prepared = prepare_path(part, path, machine=TILTING, half_kerf=HALF_KERF)
    still = replace(prepared, machine=replace(TILTING, acceleration=0.0))
    with pytest.raises(RangeError, match=r"acceleration of tilting is 0 m/s\^2; it must be above zero"):
        corner_policies(
            part,
            still,
            speed={edge.id: SPEED for edge in part.edges},
            lag=exit_lag,
            half_kerf=HALF_KERF,
            money_rate=MONEY,
        )
