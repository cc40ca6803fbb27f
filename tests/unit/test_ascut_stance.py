"""Tilt and lead solved: closed forms of blends, corners and caps; no source but the algebra shown."""

from dataclasses import replace
from math import cos, inf, pi, radians, sqrt, tan

import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import rectangle_part, ring_part
from sample_parts import wheel
from sample_studies import INCH, IPM, TILTING, UPRIGHT_ONLY, inch_setup
from stance_cases import DEPTHS, RATE, TRAVEL, ell, head_jumps, head_rates, law_of, solved
from trialcut.ascut.corner_lean import corner_leans, mitre_lean
from trialcut.ascut.lean_path import rate_limited, rate_limited_below
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.stance import swing_time
from trialcut.ascut.turning import FORWARD_SHARE, TURNING_SHARE, fastest_turning
from trialcut.errors import RangeError, UnknownNameError
from trialcut.physics.cut import cut_table
from trialcut.physics.parameters import central_parameters


def corner(
    turn, *, before=0.02 + 0.01j, after=0.02 + 0.01j, lag=0.02, gap=0.0, speed=0.002, rate=RATE, blend=0.0
):
    return corner_leans(
        turn=np.array([turn]),
        lean_before=np.array([before]),
        lean_after=np.array([after]),
        lag=np.array([lag]),
        gap=np.array([gap]),
        speed=np.array([speed]),
        rate=rate,
        reach=tan(TRAVEL),
        blend=np.array([blend]),
    )


# What each speed asks for.


def test_the_lean_law_is_that_of_the_cut_table():
    setup = inch_setup()
    central = central_parameters(setup)
    speeds = np.array([0.4, 2.75, 6.25, 10.5]) * IPM
    table = cut_table(
        setup=setup,
        parameters=central,
        central=central,
        speeds=speeds,
        depths=DEPTHS,
        tilted=True,
        tilt_travel=TRAVEL,
    )
    tilt, lead = law_of(setup).at(speeds)
    # Between tabulated speeds the law is linear: 10 µrad of lean are 0.25 µm on an inch.
    assert_allclose(tilt, np.tan(table.tilt), atol=1e-5)
    assert_allclose(lead, np.tan(table.lead), atol=1e-5)
    bow = np.ptp(-table.kerf_shift[:, :, 0], axis=1)
    for row, speed in enumerate(speeds.tolist()):
        found = law_of(setup).out_of_square(speed, curvature=0.0, tilted=True)
        assert_allclose(found, bow[row], atol=0.3e-6)


def test_a_slow_cut_is_leaned_the_other_way():
    case = solved(rectangle_part(0.05, 0.03), ipm=0.4)
    assert case.stance.edges["A1"].tilt < 0.0
    assert case.stance.edges["A1"].wanted_tilt < 0.0


def test_the_longer_way_of_a_leaned_jet_is_in_its_lean():
    # Leaned by ten degrees and more the way is longer, the jet slower for it, and the lag greater.
    law = law_of(inch_setup(), travel=radians(30.0))
    speed = 15.0 * IPM
    central = central_parameters(inch_setup())
    upright = cut_table(setup=inch_setup(), parameters=central, central=central, speeds=[speed])
    wanted = float(law.wanted(speed)[1])
    assert wanted > 1.001 * float(upright.exit_lag[0, 0]) / INCH


def test_a_head_of_little_travel_says_what_it_does_not_reach():
    machine = replace(TILTING, tilt_travel=radians(2.0))
    case = solved(rectangle_part(0.05, 0.03), ipm=10.5, machine=machine)
    edge = case.stance.edges["A1"]
    assert edge.limited == "travel"
    assert edge.lead < edge.wanted_lead
    assert cos(edge.tilt) * cos(edge.lead) >= cos(radians(2.0)) * (1.0 - 1e-12)
    (note,) = case.stance.notes
    assert note.code == "tilt-travel-reached"
    assert note.message.startswith("edges A1, A2, A3, A4: the head leans 2° at most")


# Corners.


@pytest.mark.parametrize("turn", [-2.0, -pi / 2, -0.3, 0.3, pi / 2, 2.0])
def test_the_mitre_lean_has_the_tilt_of_both_edges(turn):
    lean = mitre_lean(turn=np.array([turn]), tilt_before=np.array([0.01]), tilt_after=np.array([0.02]))[0]
    assert_allclose(lean.imag, 0.01, rtol=1e-12)
    assert_allclose((lean * np.exp(-1j * turn)).imag, 0.02, rtol=1e-12)


def test_the_mitre_of_equal_tilts_leans_along_by_the_tangent_of_half_the_turn():
    lean = mitre_lean(turn=np.array([-pi / 2]), tilt_before=np.array([0.01]), tilt_after=np.array([0.01]))[0]
    assert_allclose(lean.real, 0.01 * tan(pi / 4), rtol=1e-12)


def test_a_slow_head_weighs_the_wall_along_its_blend_against_the_corner():
    # With no time to blend, the lead of the edge after costs more along the wall before than it saves.
    quick, slow = corner(-pi / 2), corner(-pi / 2, blend=1e6)
    assert quick.standing[0] == pytest.approx(0.0, abs=1e-12)
    assert slow.before[0].imag > quick.before[0].imag
    assert max(3.0 * slow.gouge[0], slow.standing[0]) > 0.0


@pytest.mark.parametrize("turn", [-pi, -3.1, -1e-9, 0.0, 1e-9, 3.1, pi])
def test_cusps_and_straight_joints_have_finite_leans_within_the_travel(turn):
    gap = 0.5e-3 * tan(0.5 * min(max(turn, 0.0), pi / 2))
    found = corner(turn, before=0.1 + 0.05j, after=0.05 - 0.02j, gap=gap)
    for lean in (found.before[0], found.after[0]):
        assert np.isfinite(lean)
        assert abs(lean) <= tan(TRAVEL) * (1 + 1e-12)
    assert found.cap[0] > 0.0


def test_an_inside_corner_hurts_neither_wall():
    found = corner(-pi / 2)
    # At the corner: the mitre, 0.01 forward and 0.01 sideways, and the lead along the edge after,
    # which points away from the wall before.
    assert_allclose(found.before[0], 0.01 + 0.01j - 0.02j, atol=1e-12)
    assert_allclose(found.gouge, 0.0, atol=1e-12)
    assert_allclose(found.standing, 0.0, atol=1e-12)


def test_the_head_stands_still_at_an_inside_corner():
    found = corner(-1.0, before=0.03 + 0.01j, after=0.01 + 0.02j)
    assert_allclose(found.before * np.exp(1j), found.after, atol=1e-12)


def test_a_swing_that_fits_behind_an_outside_corner_costs_nothing():
    # At a right angle a lean of size c swings by sqrt(2) c; the time is gap / speed.
    size = abs(0.02 + 0.01j)
    gap = 0.5e-3
    fast = RATE * gap / (sqrt(2.0) * size)
    assert corner(pi / 2, gap=gap, speed=0.999 * fast).cap[0] == inf
    assert_allclose(corner(pi / 2, gap=gap, speed=0.999 * fast).before[0], 0.02 + 0.01j)


def test_a_faster_one_draws_the_lead_in_and_keeps_the_tilt():
    gap = 0.5e-3
    fast = RATE * gap / (sqrt(2.0) * abs(0.02 + 0.01j))
    found = corner(pi / 2, gap=gap, speed=1.5 * fast)
    assert found.cap[0] == inf
    assert 0.0 < found.before[0].real < 0.02
    assert_allclose(found.before[0].imag, 0.01)
    swing = abs(found.before[0] * np.exp(-0.5j * pi) - found.after[0])
    assert_allclose(swing, RATE * gap / (1.5 * fast), rtol=1e-9)


def test_what_no_lead_can_save_is_slowed_to_rate_times_gap_over_swing():
    gap = 0.5e-3
    found = corner(pi / 2, gap=gap, speed=0.2)
    assert_allclose(found.before[0].real, 0.0, atol=1e-15)
    assert_allclose(found.cap[0], RATE * gap / (sqrt(2.0) * 0.01), rtol=1e-9)


# Rate along the path.


def test_a_blend_is_as_long_as_its_swing_takes_at_the_speed_there():
    case = solved(rectangle_part(0.05, 0.03), ipm=6.25, corner_speed=0.5e-3)
    jet = case.jet(spacing=2e-5)
    lead = (jet.lean * jet.direction).sum(axis=1)
    on = (jet.edge == 1) & (jet.speed > 0.999 * case.speed["A2"])
    full = lead[on].max()
    rising = on & (lead < full - 1e-9) & (jet.time < jet.time[on].mean())
    steps = np.diff(lead[rising]) / np.diff(jet.time[rising])
    assert_allclose(steps, FORWARD_SHARE * RATE, rtol=1e-6)
    length = np.hypot(*np.diff(jet.position[rising][[0, -1]], axis=0)[0])
    swing = lead[rising][-1] - lead[rising][0]
    assert_allclose(length, swing / (FORWARD_SHARE * RATE) * case.speed["A2"], rtol=1e-6)


def test_a_rate_limited_course_is_the_best_within_the_rate():
    # A step of 1 within a rate of 1: the least worst error is one half, over one unit of time.
    clock = np.linspace(0.0, 10.0, 1001)
    step = np.where(clock < 5.0, 0.0, 1.0)
    best = rate_limited(step, clock=clock, rate=1.0)
    assert_allclose(np.abs(best - step).max(), 0.5, atol=0.01)
    assert np.all(np.abs(np.diff(best)) <= np.diff(clock) * (1 + 1e-12))
    below = rate_limited_below(step, clock=clock, rate=1.0)
    assert_allclose(below, np.clip(clock - 5.0 + 0.01, 0.0, 1.0), atol=1e-9)


@pytest.mark.parametrize("rate", [20.0, 2.0, 0.3])
@pytest.mark.parametrize(
    ("ipm", "thickness"), [(2.75, INCH), (10.5, INCH), (30.0, INCH / 8), (80.0, INCH / 8)]
)
def test_the_head_keeps_to_its_rate_and_travel_on_a_toothed_wheel(rate, ipm, thickness):
    machine = replace(TILTING, tilt_rate=radians(rate))
    case = solved(
        wheel(60), ipm=ipm, setup=inch_setup(thickness), machine=machine, corner_speed=ipm * IPM / 3
    )
    jet = case.jet()
    assert np.all(head_rates(jet) <= radians(rate) * (1 + 1e-6))
    assert np.all(head_jumps(jet) <= 1e-6)
    assert np.all(np.hypot(*jet.lean.T) <= tan(TRAVEL) * (1 + 1e-12))


def test_a_short_edge_holds_its_speed_down_until_the_head_is_ready():
    machine = replace(TILTING, tilt_rate=radians(0.5))
    slow, fast = (solved(ell(), ipm=6.25, machine=m).stance for m in (machine, TILTING))
    assert not fast.edge_cap
    assert all(cap < 6.25 * IPM for cap in slow.edge_cap.values())


# Arcs.


def test_a_tight_arc_is_slowed_until_the_head_can_turn_with_it():
    machine = replace(TILTING, tilt_rate=radians(1.0))
    case = solved(ring_part(0.05, 0.006), ipm=10.5, machine=machine)
    edge = case.stance.edges["B1"]
    assert edge.limited == "slowed"
    radius = 0.006 - case.half_kerf
    lean = np.hypot(tan(edge.tilt), tan(edge.lead))
    assert_allclose(edge.speed * lean / radius, TURNING_SHARE * radians(1.0), rtol=0.01)
    assert "arc-slowed-for-tilt-rate" in {note.code for note in case.stance.notes}


def test_the_fastest_turning_is_rate_times_radius_over_lean():
    law = law_of(inch_setup())
    speed = fastest_turning(law, speed=0.004, curvature=-1.0 / 0.005, rate=0.02)
    lean = np.hypot(*law.at(speed))
    assert_allclose(speed, TURNING_SHARE * 0.02 * 0.005 / lean, rtol=0.005)


def test_an_arc_is_left_upright_where_that_is_the_squarer():
    # Thin plate with hardly any taper at the speed asked, and much the other way where the head could follow.
    law = law_of(inch_setup(INCH / 8))
    speeds = law.speeds[(law.speeds > 0.002) & (law.speeds < 0.05)]
    upright = [law.out_of_square(u, curvature=-200.0, tilted=False) for u in speeds.tolist()]
    neutral = float(speeds[int(np.argmin(upright))])
    machine = replace(TILTING, tilt_rate=radians(0.05))
    case = solved(ring_part(0.05, 0.0056), ipm=neutral / IPM, setup=inch_setup(INCH / 8), machine=machine)
    edge = case.stance.edges["B1"]
    assert edge.limited == "upright"
    assert not edge.tilted
    assert edge.speed == edge.asked_speed
    assert "arc-left-upright" in {note.code for note in case.stance.notes}


def test_whichever_wall_is_squarer_is_taken():
    for rate in (0.05, 0.5, 2.0):
        for ipm in (10.0, 25.0, 60.0):
            machine = replace(TILTING, tilt_rate=radians(rate))
            case = solved(ring_part(0.05, 0.006), ipm=ipm, setup=inch_setup(INCH / 8), machine=machine)
            edge = case.stance.edges["B1"]
            if edge.limited:
                bend = -1.0 / (0.006 - case.half_kerf)
                law = case.stance.law
                slow = fastest_turning(law, speed=ipm * IPM, curvature=bend, rate=radians(rate))
                errors = [law.out_of_square(ipm * IPM, curvature=bend, tilted=False)]
                errors += [law.out_of_square(slow, curvature=bend, tilted=True)] if slow else []
                assert_allclose(edge.out_of_square, min(errors), rtol=1e-9)


# On the wall itself.


@pytest.mark.parametrize("ipm", [2.75, 6.25, 10.5])
def test_solved_corners_leave_the_walls_as_square_as_the_straights(ipm):
    case = solved(ell(), ipm=ipm, corner_speed=1e-3)
    field = deviation_field(
        case.part,
        case.jet(spacing=5e-5),
        case.jet_law(),
        depths=DEPTHS,
        thickness=INCH,
        wall_spacing=2e-4,
    )
    # Away from the inside corner's radius and from the start.
    start = field.edges.index(case.path.runs[0].start_edge)
    length = np.array([case.part.edge(edge).length for edge in field.edges])[field.edge]
    along = field.fraction * length
    near_inside = ((field.edge == 2) & (along > length - 1e-3)) | ((field.edge == 3) & (along < 1e-3))
    wall = field.deviation[~near_inside & (field.edge != start)]
    assert np.abs(wall).max() <= 0.040e-3
    constant = case.jet(
        spacing=5e-5,
        tilt={edge: each.tilt for edge, each in case.stance.edges.items()},
        lead={edge: each.lead for edge, each in case.stance.edges.items()},
    )
    worse = deviation_field(
        case.part, constant, case.jet_law(), depths=DEPTHS, thickness=INCH, wall_spacing=2e-4
    )
    # At the slow speed the corners are hardly slower than the edges, and there is nothing to gain.
    gain = 0.95 if ipm < 5.0 else 2.0
    assert np.abs(worse.deviation[~near_inside & (field.edge != start)]).max() >= gain * np.abs(wall).max()


def test_an_opening_hardly_larger_than_the_jet_is_solved_all_the_same():
    case = solved(ring_part(0.05, 0.0006), ipm=6.25)
    edge = case.stance.edges["B1"]
    assert edge.limited in {"slowed", "upright"}
    assert edge.speed > 0.0
    assert np.isfinite(edge.out_of_square)


def test_a_corner_that_no_lean_suits_is_told_of():
    machine = replace(TILTING, tilt_rate=radians(0.5))
    case = solved(ell(), ipm=6.25, machine=machine, corner_speed=2e-3)
    told = [note for note in case.stance.notes if note.code == "corner-out-of-square"]
    assert len(told) == 1
    assert "A3-A4" in told[0].message
    worst = case.stance.corners["A3", "A4"]
    assert max(worst.gouge, worst.standing) > 1e-5


@pytest.mark.parametrize("ipm", [2.75, 10.5])
def test_what_a_slow_head_is_told_to_leave_at_a_corner_is_what_the_wall_shows(ipm):
    machine = replace(TILTING, tilt_rate=radians(1.0))
    case = solved(ell(), ipm=ipm, machine=machine, corner_speed=1e-3)
    field = deviation_field(
        case.part, case.jet(), case.jet_law(), depths=DEPTHS, thickness=INCH, wall_spacing=2e-4
    )
    # Along A3, but for the corner's own radius.
    wall = field.deviation[(field.edge == 2) & ((1.0 - field.fraction) * INCH > 0.8e-3)]
    told = case.stance.corners["A3", "A4"].standing
    # It is an estimate from one corner and one blend: to hold within a third.
    assert_allclose(wall.max(), told, rtol=0.34)


# Time and refusals.


def test_swinging_costs_no_time_worth_the_name_at_a_usual_rate():
    for ipm in (2.75, 6.25, 10.5):
        case = solved(ell(), ipm=ipm, corner_speed=1e-3)
        assert swing_time(case.prepared, case.stance, lead_speed=0.002, corner_zone=case.zone) <= 0.01


def test_a_slow_head_costs_time():
    case = solved(ell(), ipm=10.5, machine=replace(TILTING, tilt_rate=radians(0.5)))
    assert swing_time(case.prepared, case.stance, lead_speed=0.002) > 1.0


def test_an_upright_part_needs_nothing_of_the_head():
    case = solved(ell(), ipm=6.25, tilted={}, machine=UPRIGHT_ONLY)
    assert not case.stance.corners
    assert not case.stance.edge_cap
    assert_allclose(case.jet().lean, 0.0)


@pytest.mark.parametrize("change", [{"tilt_travel": 0.0}, {"tilt_rate": 0.0}])
def test_a_head_that_cannot_tilt_is_refused_in_one_line(change):
    with pytest.raises(RangeError, match="cannot tilt") as caught:
        solved(ell(), ipm=6.25, machine=replace(TILTING, **change))
    assert caught.value.case == "head-cannot-tilt"
    assert "\n" not in str(caught.value)


def test_speeds_that_are_missing_or_not_above_zero_are_refused():
    case = solved(ell(), ipm=6.25)
    from trialcut.ascut.stance import solve_stance

    common = {"law": case.stance.law, "tilted": {}, "half_kerf": case.half_kerf}
    with pytest.raises(UnknownNameError, match="edge A2 has no speed"):
        solve_stance(case.part, case.prepared, speed={"A1": 0.001}, **common)
    with pytest.raises(RangeError, match="speed of edge A1 is 0 m/s"):
        solve_stance(case.part, case.prepared, speed=dict.fromkeys(case.speed, 0.0), **common)


@pytest.mark.parametrize(("travel", "fastest"), [(-0.1, 0.1), (2.0, 0.1), (0.1, 0.0), (0.1, -1.0)])
def test_a_lean_law_of_impossible_limits_is_refused(travel, fastest):
    with pytest.raises(RangeError, match="must be"):
        law_of(inch_setup(), travel=travel, fastest=fastest)
