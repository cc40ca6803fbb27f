"""What must hold for tilt and lead along any part."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, radians, sin, tan

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sample_parts import contour, polygon, round_opening
from sample_studies import INCH, TILTING, inch_setup
from stance_cases import DEPTHS, head_jumps, head_rates, law_of, solved
from trialcut.ascut.corner_lean import corner_leans, mitre_lean
from trialcut.ascut.lean_path import rate_limited, rate_limited_below
from trialcut.ascut.stance import swing_time
from trialcut.geometry.contours import Part

few = settings(max_examples=25)

SLOPE = st.floats(-0.12, 0.12)
TURN = st.floats(0.05, 2.6)


@st.composite
def stars(draw, *, opening: bool = True):
    """A star-shaped outline about the origin, and a round opening in its middle."""
    count = draw(st.integers(3, 9))
    reaches = draw(st.lists(st.floats(0.5, 1.0), min_size=count, max_size=count))
    turn = draw(st.floats(0.0, 2 * pi))
    size = draw(st.sampled_from([0.02, 0.05]))
    angles = [2 * pi * k / count + turn for k in range(count)]
    points = [(size * r * cos(a), size * r * sin(a)) for r, a in zip(reaches, angles, strict=True)]
    openings = (round_opening("B", 0.0, 0.0, 0.003),) if opening else ()
    return Part(id="1", outline=contour("A", polygon(points)), openings=openings)


CUTS = st.sampled_from([(2.75, INCH), (10.5, INCH), (30.0, INCH / 8), (80.0, INCH / 8)])


@few
@given(stars(), CUTS, st.floats(0.3, 40.0), st.floats(2.0, 12.0))
def test_the_head_never_exceeds_its_rate_or_travel(part, cut, rate, travel):
    ipm, thickness = cut
    machine = replace(TILTING, tilt_rate=radians(rate), tilt_travel=radians(travel))
    jet = solved(part, ipm=ipm, setup=inch_setup(thickness), machine=machine, corner_speed=0.003).jet()
    assert np.all(head_rates(jet) <= radians(rate) * (1 + 1e-6))
    assert np.all(head_jumps(jet) <= 1e-6)
    assert np.all(np.hypot(*jet.lean.T) <= tan(radians(travel)) * (1 + 1e-9))


@few
@given(stars(opening=False), CUTS, st.floats(0.3, 10.0), st.floats(1.0, 5.0))
def test_a_faster_head_never_costs_more_time(part, cut, rate, more):
    ipm, thickness = cut
    times = []
    for each in (rate, rate * more):
        machine = replace(TILTING, tilt_rate=radians(each))
        case = solved(part, ipm=ipm, setup=inch_setup(thickness), machine=machine)
        times.append(swing_time(case.prepared, case.stance, lead_speed=0.002))
    assert times[1] <= times[0] * (1 + 1e-9) + 1e-9
    assert times[1] >= -1e-9


@few
@given(stars(), CUTS, st.floats(0.0, 2 * pi))
def test_the_stance_turns_with_the_part(part, cut, angle):
    ipm, thickness = cut
    whole = np.exp(1j * angle)

    def turned(runs):
        points = [complex(*segment.start) * whole for segment in runs]
        return polygon([(p.real, p.imag) for p in points])

    other = Part(
        id="1",
        outline=contour("A", turned([s for edge in part.outline.edges for s in edge.segments])),
        openings=part.openings,
    )
    one, two = (
        solved(p, ipm=ipm, setup=inch_setup(thickness), corner_speed=0.003).stance for p in (part, other)
    )
    for key, corner in one.corners.items():
        if key in two.corners:
            assert_allclose(two.corners[key].before, corner.before, atol=1e-9)
            assert_allclose(two.corners[key].after, corner.after, atol=1e-9)


@few
@given(stars(opening=False), CUTS, st.floats(0.3, 20.0))
def test_a_mirrored_part_is_leaned_alike(part, cut, rate):
    ipm, thickness = cut
    machine = replace(TILTING, tilt_rate=radians(rate))
    points = [segment.start for edge in part.outline.edges for segment in edge.segments]
    mirrored = Part(id="1", outline=contour("A", polygon([(-x, y) for x, y in reversed(points)])))
    one, two = (
        solved(p, ipm=ipm, setup=inch_setup(thickness), machine=machine).stance for p in (part, mirrored)
    )
    number = len(points)
    # Edge k of the outline becomes edge n - k of the mirrored one, the last one stays.
    for k in range(1, number):
        a, b = one.edges[f"A{k}"], two.edges[f"A{number - k}"]
        assert_allclose([a.tilt, a.lead, a.out_of_square], [b.tilt, b.lead, b.out_of_square], rtol=1e-12)
    for k in range(1, number - 1):
        a_key, b_key = (f"A{k}", f"A{k + 1}"), (f"A{number - k - 1}", f"A{number - k}")
        if a_key in one.corners and b_key in two.corners:
            assert_allclose(one.corners[a_key].cap, two.corners[b_key].cap, rtol=1e-9)
            assert_allclose(one.corners[a_key].gap, two.corners[b_key].gap, rtol=1e-9)


@given(TURN, SLOPE, SLOPE)
def test_the_mitre_seen_from_the_other_side_is_its_mirror(turn, before, after):
    one = mitre_lean(turn=np.array([-turn]), tilt_before=np.array([before]), tilt_after=np.array([after]))
    other = mitre_lean(turn=np.array([-turn]), tilt_before=np.array([after]), tilt_after=np.array([before]))
    mirrored = -(one * np.exp(1j * turn)).conjugate()
    assert_allclose(other, mirrored, atol=1e-9)


@given(TURN, st.tuples(SLOPE, SLOPE, SLOPE, SLOPE), st.floats(1e-4, 0.2), st.floats(0.005, 1.0))
def test_an_outside_swing_fits_its_way_at_the_cap(turn, leans, speed, rate):
    lead, tilt, lead_after, tilt_after = leans
    gap = 0.5e-3 * tan(0.5 * min(turn, pi / 2))
    found = corner_leans(
        turn=np.array([turn]),
        lean_before=np.array([lead + 1j * tilt]),
        lean_after=np.array([lead_after + 1j * tilt_after]),
        lag=np.array([0.02]),
        gap=np.array([gap]),
        speed=np.array([speed]),
        rate=rate,
        reach=0.2,
        blend=np.array([0.0]),
    )
    swing = abs(found.before[0] * np.exp(-1j * turn) - found.after[0])
    assert swing <= rate * gap / min(speed, found.cap[0]) * (1 + 1e-6) + 1e-12
    assert_allclose([found.before[0].imag, found.after[0].imag], [tilt, tilt_after], atol=1e-15)


@given(TURN, st.floats(0.0, 0.03), st.floats(0.0, 0.03), st.floats(0.0, 0.1), st.floats(0.02, 0.2))
def test_an_inside_corner_keeps_to_the_travel_and_is_best_when_it_can_be(turn, tilt, tilt_after, lag, reach):
    found = corner_leans(
        turn=np.array([-turn]),
        lean_before=np.array([min(lag, 0.01) + 1j * min(tilt, 0.015)]),
        lean_after=np.array([min(lag, 0.01) + 1j * min(tilt_after, 0.015)]),
        lag=np.array([lag]),
        gap=np.array([0.0]),
        speed=np.array([0.002]),
        rate=0.3,
        reach=reach,
        blend=np.array([0.0]),
    )
    assert abs(found.before[0]) <= reach * (1 + 1e-12)
    assert_allclose(abs(found.before[0]), abs(found.after[0]), rtol=1e-9, atol=1e-15)
    mitre = mitre_lean(
        turn=np.array([-turn]),
        tilt_before=np.array([min(tilt, 0.015)]),
        tilt_after=np.array([min(tilt_after, 0.015)]),
    )[0]
    # The swing itself weighs a thousandth of an error, so the best may leave that little.
    if abs(mitre + lag * np.exp(-1j * turn)) <= reach:
        little = 1e-3 * 2.0 * (abs(mitre) + lag + 0.03)
        assert found.gouge[0] <= little
        assert found.standing[0] <= little


@given(
    st.lists(st.floats(-1.0, 1.0), min_size=2, max_size=30),
    st.lists(st.floats(0.0, 1.0), min_size=30, max_size=30),
    st.floats(0.01, 10.0),
)
def test_rate_limited_courses_keep_their_rate_and_their_side(target, steps, rate):
    x = np.array(target)
    clock = np.concatenate(([0.0], np.cumsum(steps[: x.size - 1])))
    below = rate_limited_below(x, clock=clock, rate=rate)
    best = rate_limited(x, clock=clock, rate=rate)
    for course in (below, best):
        assert np.all(np.abs(np.diff(course)) <= rate * np.diff(clock) + 1e-12)
    assert np.all(below <= x + 1e-12)
    # By brute force over all pairs, the least worst error that any such course can have.
    ahead = np.abs(clock[:, None] - clock[None, :])
    least = max(0.0, 0.5 * float((x[:, None] - x[None, :] - rate * ahead).max()))
    assert_allclose(np.abs(best - x).max(), least, atol=1e-12)


@few
@given(st.floats(0.0, 10.0), st.sampled_from([INCH, INCH / 8, 2 * INCH]))
def test_more_travel_never_leaves_a_wall_less_square_by_more_than_its_bow(travel, thickness):
    setup = inch_setup(thickness)
    one, two = (law_of(setup, travel=radians(t)) for t in (travel, travel + 5.0))
    bow = 0.1 * np.abs(two.walls[0][:, :] - two.walls[0][:, :1]).max()
    for speed in (0.0005, 0.002, 0.005):
        less = one.out_of_square(speed, curvature=0.0, tilted=True)
        more = two.out_of_square(speed, curvature=0.0, tilted=True)
        assert more <= less + bow
    assert DEPTHS.size == one.walls.shape[2]
