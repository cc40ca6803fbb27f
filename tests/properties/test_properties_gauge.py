"""What must hold for any gauge on any wall."""

from dataclasses import replace
from math import pi

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from gauge_fields import block, disc, moved, restarted, shaped, wall_field, washer
from trialcut.ascut.gauge.circles import least_squares_circle, minimum_circumscribed_circle
from trialcut.ascut.gauge.fits import minimum_zone_line
from trialcut.ascut.gauge.inscribed import maximum_inscribed_circle, minimum_zone_circles
from trialcut.ascut.gauge.openings import (
    bore_gauge,
    circumscribed_diameter,
    least_squares_diameter,
    pin,
    position,
    round_caliper,
    roundness,
)
from trialcut.ascut.gauge.sizes import ROCK, caliper, least_squares_width, two_point, two_point_sizes
from trialcut.ascut.gauge.squareness import light_gap, perpendicularity, straightness

SAME = 1e-11
"""Ten picometres: rounding at 0.5 m, and what a contact circle makes of it."""

WAVES = st.lists(st.floats(-8e-5, 8e-5), min_size=8, max_size=8)
ANGLES = st.floats(-pi, pi)
SHIFTS = st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))


def wave(sizes):
    """A wall of four waves along the edge, each with a sine and a cosine."""

    def height(s):
        return sum(
            sizes[2 * k] * np.sin(2 * pi * (k + 1) * s) + sizes[2 * k + 1] * np.cos(2 * pi * (k + 1) * s)
            for k in range(4)
        )

    return height


def walls(first, second):
    """A block whose two upright walls wave, more so with depth."""
    field = wall_field(block(), shaped(A2=wave(first), A4=wave(second)), spacing=1e-3)
    return replace(field, deviation=field.deviation * (0.3 + 0.7 * field.depth))


@given(WAVES, WAVES, ANGLES, SHIFTS)
def test_sizes_and_squareness_do_not_depend_on_how_the_part_lies(first, second, angle, shift):
    field = walls(first, second)
    other = moved(field, angle=angle, shift=shift)
    for gauge in (
        lambda f: caliper(f, "A2", "A4", depth=0.4, place=0.2),
        lambda f: caliper(f, "A2", "A4", depth=None, jaw_width=None),
        lambda f: two_point(f, "A2", "A4", depth=0.4, largest=True),
        lambda f: least_squares_width(f, "A2", "A4", depth=0.4),
        lambda f: light_gap(f, "A2"),
        lambda f: perpendicularity(f, "A2"),
        lambda f: straightness(f, "A4", depth=0.4),
    ):
        assert_allclose(gauge(other).value, gauge(field).value, rtol=0, atol=SAME)


@given(WAVES, WAVES, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_outside_jaws_read_no_less_than_any_size_between_them(first, second, depth, place):
    field = walls(first, second)
    places, sizes = two_point_sizes(field, "A2", "A4", depth=depth)
    start = place * (places[-1] - 6e-3)
    under = (places >= start) & (places <= start + 6e-3)
    narrow = caliper(field, "A2", "A4", depth=depth, place=place)
    # Whatever their slope, both ends of a size square to the first edge lie between the jaws.
    assert narrow.value >= sizes[under].max() - SAME
    long = caliper(field, "A2", "A4", depth=depth, jaw_width=None)
    assert long.value >= narrow.value - SAME
    assert long.value >= two_point(field, "A2", "A4", depth=depth, largest=True).value - SAME
    assert long.value >= least_squares_width(field, "A2", "A4", depth=depth).value - SAME
    assert caliper(field, "A2", "A4", depth=None, jaw_width=None).value >= long.value - SAME


@given(WAVES, WAVES)
def test_jaws_read_the_same_from_either_side(first, second):
    field = walls(first, second)
    one, other = (
        caliper(field, *pair, depth=0.7, jaw_width=None).value for pair in (("A2", "A4"), ("A4", "A2"))
    )
    assert_allclose(one, other, rtol=0, atol=SAME)


@given(WAVES, WAVES, st.floats(0.0, 1e-4))
def test_a_wall_moved_out_adds_as_much_to_a_size(first, second, shift):
    field = walls(first, second)
    moved_out = replace(field, deviation=field.deviation + shift * (field.edge == 1)[:, None])
    for gauge in (
        lambda f: caliper(f, "A2", "A4", depth=0.4),
        lambda f: two_point(f, "A2", "A4", depth=0.4, largest=False),
    ):
        assert_allclose(gauge(moved_out).value, gauge(field).value + shift, rtol=0, atol=SAME)
    assert_allclose(light_gap(moved_out, "A2").value, light_gap(field, "A2").value, rtol=0, atol=SAME)


@given(WAVES, WAVES)
def test_a_face_is_no_squarer_than_its_profiles_and_lines_are_straight(first, second):
    field = walls(first, second)
    zone = perpendicularity(field, "A2").value
    for depth in (0.0, 0.25, 1.0):
        assert zone >= straightness(field, "A2", depth=depth).value - SAME
    # A profile stands across the zone, whose planes lean by no more than the wall slopes.
    steepest = 2e-1
    assert zone >= light_gap(field, "A2").value / np.hypot(1.0, steepest) - SAME


@settings(max_examples=40)
@given(WAVES)
def test_circles_of_an_opening_are_ordered(sizes):
    field = wall_field(washer(), shaped(B1=wave(sizes)), spacing=2e-4)
    hole = ("B1",)
    inner, mean, outer = (
        g(field, hole, depth=0.5).value for g in (pin, least_squares_diameter, circumscribed_diameter)
    )
    least, largest = (bore_gauge(field, hole, depth=0.5, largest=most).value for most in (False, True))
    assert inner <= mean + SAME
    assert mean <= outer + SAME
    assert least <= largest + SAME
    assert largest <= outer + SAME
    assert (
        roundness(field, hole, depth=0.5).value <= 0.5 * (outer - inner) + position_apart(field, hole) + SAME
    )


def position_apart(field, hole):
    """Distance of the centres of the inscribed and the circumscribed circle. [m]"""
    rows = field.edge == field.edges.index(hole[0])
    points = field.wall(2)[rows]
    inner, outer = maximum_inscribed_circle(points), minimum_circumscribed_circle(points)
    return float(np.hypot(*(inner.centre - outer.centre)))


@settings(max_examples=25)
@given(WAVES, ANGLES, SHIFTS, st.integers(1, 150))
def test_round_gauges_do_not_depend_on_place_turn_or_start(sizes, angle, shift, steps):
    field = wall_field(washer(), shaped(B1=wave(sizes)), spacing=2e-4)
    other = restarted(moved(field, angle=angle, shift=shift), "B1", steps=steps)
    hole = ("B1",)
    for gauge in (
        lambda f: pin(f, hole, depth=0.5),
        lambda f: pin(f, hole, depth=None),
        lambda f: circumscribed_diameter(f, hole, depth=0.5),
        lambda f: least_squares_diameter(f, hole, depth=0.5),
        lambda f: bore_gauge(f, hole, depth=0.5, largest=True),
        lambda f: position(f, hole, depth=0.5),
    ):
        assert_allclose(gauge(other).value, gauge(field).value, rtol=0, atol=SAME)


@given(WAVES)
def test_jaws_round_a_disc_lie_between_its_circles(sizes):
    field = wall_field(disc(), shaped(A1=wave(sizes)), spacing=4e-4)
    part = ("A1",)
    least, largest = (round_caliper(field, part, depth=0.0, largest=most).value for most in (False, True))
    ring = circumscribed_diameter(field, part, depth=0.0).value
    assert least <= largest + SAME
    assert largest <= ring + SAME
    assert ring <= largest * 2.0 / np.sqrt(3.0) + SAME  # Jung's theorem in the plane


@given(st.lists(st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0)), min_size=3, max_size=40, unique=True))
def test_a_circumscribed_circle_holds_every_point_and_rests_on_its_own(cloud):
    points = np.array(cloud)
    assume(np.ptp(points, axis=0).max() > 1e-3)
    circle = minimum_circumscribed_circle(points)
    distance = np.hypot(*(points - circle.centre).T)
    assert distance.max() <= float(circle.radius) * (1.0 + 1e-12)
    assert_allclose(distance[circle.touched], circle.radius, rtol=1e-9)
    assert 2 <= len(circle.touched) <= 3


@given(st.lists(st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0)), min_size=2, max_size=40))
def test_a_strip_holds_every_point(cloud):
    points = np.array(cloud)
    zone = minimum_zone_line(points)
    heights = zone.direction[0] * points[:, 1] - zone.direction[1] * points[:, 0]
    assert_allclose(np.ptp(heights), zone.width, rtol=0, atol=1e-12)
    assert zone.width <= min(np.ptp(points, axis=0)) + 1e-12


@settings(max_examples=25)
@given(st.lists(st.floats(-0.02, 0.02), min_size=8, max_size=8), st.floats(0.5, 3.0))
def test_all_fits_scale_with_the_part(sizes, scale):
    angle = np.arange(180) * 2 * pi / 180
    radius = 1.0 + wave(sizes)(angle / (2 * pi))
    points = np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)
    for measure in (
        lambda p: float(least_squares_circle(p).radius),
        lambda p: float(minimum_circumscribed_circle(p).radius),
        lambda p: float(maximum_inscribed_circle(p).radius),
        lambda p: minimum_zone_circles(p).width,
    ):
        assert_allclose(measure(scale * points), scale * measure(points), rtol=1e-9, atol=1e-11)


def test_rocking_jaws_stop_at_five_degrees():
    assert_allclose(np.degrees(np.arctan(ROCK)), 5.0, rtol=1e-14)
