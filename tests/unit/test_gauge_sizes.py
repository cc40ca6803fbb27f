"""Sizes across two edges of walls whose size is known in closed form."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gauge_fields import block, in_draws, leaning, moved, shaped, wall_field, with_openings
from sample_parts import contour, polygon, rectangle, reverse, round_opening
from trialcut.ascut.gauge.sizes import caliper, least_squares_width, two_point, two_point_sizes
from trialcut.ascut.gauge.steps import step, wall_thickness
from trialcut.errors import RangeError, UnknownNameError
from trialcut.geometry.contours import ContourRole, Part

ROUNDING = 1e-14
WIDE, HIGH = 0.05, 0.03


def window():
    """A block with an opening of 20 mm by 15 mm."""
    return with_openings(contour("B", reverse(rectangle(0.03, 0.02, 0.02, 0.015)), ContourRole.OPENING))


def facing_pair(part):
    """The two upright edges of the opening."""
    return [edge.id for edge in part.openings[0].edges if edge.start[0] == edge.end[0]]


@pytest.mark.parametrize(
    ("depth", "expected"), [(0.0, 0.0), (0.5, 1.5e-4), (1.0, 3e-4), (None, 3e-4), (0.3, 0.9e-4)]
)
def test_leaning_walls_grow_a_size_with_depth(depth, expected):
    field = wall_field(block(), leaning(A2=1e-4, A4=2e-4))
    for gauge in (
        caliper(field, "A2", "A4", depth=depth),
        least_squares_width(field, "A2", "A4", depth=depth),
        two_point(field, "A2", "A4", depth=depth, largest=True),
        two_point(field, "A4", "A2", depth=depth, largest=False),
    ):
        assert_allclose(gauge.value, WIDE + expected, rtol=0, atol=ROUNDING)
        assert gauge.depth == depth


@pytest.mark.parametrize(("depth", "expected"), [(0.0, 0.0), (1.0, -3e-4), (None, -3e-4)])
def test_walls_that_stand_proud_in_an_opening_take_from_its_width(depth, expected):
    part = window()
    one, other = facing_pair(part)
    field = wall_field(part, leaning(**{one: 1e-4, other: 2e-4}))
    reading = caliper(field, one, other, depth=depth)
    assert reading.kind == "caliper, inside"
    assert_allclose(reading.value, 0.02 + expected, rtol=0, atol=ROUNDING)
    assert_allclose(
        two_point(field, one, other, depth=depth, largest=True).value, 0.02 + expected, atol=ROUNDING
    )


def test_jaws_rest_on_the_high_points_of_a_bowed_wall():
    # A bow of 60 µm over 30 mm, highest in the middle, falls off with the square of the distance.
    field = wall_field(block(), shaped(A2=lambda s: 6e-5 * (1.0 - (2.0 * s - 1.0) ** 2)))
    assert_allclose(caliper(field, "A2", "A4", depth=0.5).value, WIDE + 6e-5, rtol=0, atol=ROUNDING)
    assert_allclose(two_point(field, "A2", "A4", depth=0.5, largest=True).value, WIDE + 6e-5, atol=ROUNDING)
    assert_allclose(two_point(field, "A2", "A4", depth=0.5, largest=False).value, WIDE, atol=ROUNDING)


def test_jaws_bridge_a_hollow():
    # Hollow in the middle: 6 mm jaws rest on the wall 3 mm to either side of it, a fifth of half the length.
    field = wall_field(block(), shaped(A2=lambda s: 6e-5 * (2.0 * s - 1.0) ** 2))
    reading = caliper(field, "A2", "A4", depth=0.5)
    assert_allclose(reading.value, WIDE + 6e-5 * 0.2**2, rtol=0, atol=ROUNDING)
    assert_allclose(sorted(set(reading.touched[:2, 1])), [0.012, 0.018], rtol=0, atol=ROUNDING)


def test_narrow_jaws_tell_where_a_wall_is_high():
    field = wall_field(block(), shaped(A2=lambda s: 1e-4 * s))
    # A wedge: jaws on the flat face A4 touch the higher end of their stretch of A2.
    for place, top in ((0.0, 6e-3), (0.5, 18e-3), (1.0, 30e-3)):
        reading = caliper(field, "A2", "A4", depth=0.0, place=place)
        assert_allclose(reading.value, WIDE + 1e-4 * top / HIGH, rtol=0, atol=ROUNDING)


def test_jaws_seat_flush_on_two_walls_that_lean_the_same_way():
    # A strip that is turned in its place: both walls slope by 1e-3 in one direction, 50 mm apart all along.
    field = wall_field(block(), shaped(A2=lambda s: 3e-5 * (s - 0.5), A4=lambda s: -3e-5 * (0.5 - s)))
    reading = caliper(field, "A2", "A4", depth=0.0, jaw_width=None)
    # Square to the jaws the strip is thinner by half the slope squared, 25 nm.
    assert_allclose(reading.value, WIDE, rtol=0, atol=ROUNDING)
    slope = 1e-3
    assert_allclose(
        least_squares_width(field, "A2", "A4", depth=0.0).value, WIDE / np.hypot(1.0, slope), atol=1e-12
    )


def test_local_sizes_run_along_the_first_edge():
    field = wall_field(block(), shaped(A2=lambda s: 1e-4 * s))
    places, sizes = two_point_sizes(field, "A2", "A4", depth=0.0)
    assert_allclose(sizes, WIDE + 1e-4 * places / HIGH, rtol=0, atol=ROUNDING)
    assert places[0] == 0.0
    assert_allclose(places[-1], HIGH, rtol=0, atol=ROUNDING)


def test_draws_read_as_each_draw_alone():
    field = wall_field(
        block(), shaped(A2=lambda s: 4e-5 * np.sin(9.0 * s), A4=lambda s: 3e-5 * np.cos(5.0 * s))
    )
    scales = (0.0, 1.0, -2.0)
    many = in_draws(field, *scales)
    alone = [in_draws(field, scale) for scale in scales]
    for gauge in (
        lambda f: caliper(f, "A2", "A4", depth=0.4),
        lambda f: caliper(f, "A2", "A4", depth=None, place=0.1),
        lambda f: two_point(f, "A2", "A4", depth=0.4, largest=True),
        lambda f: least_squares_width(f, "A2", "A4", depth=0.4),
        lambda f: wall_thickness(f, "A2", "A4", depth=0.4),
    ):
        value = gauge(many).value
        assert value.shape == (3,)
        assert_allclose(value, [gauge(one).value[0] for one in alone], rtol=0, atol=ROUNDING)
    one = caliper(field, "A2", "A4", depth=0.4)
    assert_allclose(caliper(many, "A2", "A4", depth=0.4).value[1], one.value, rtol=0, atol=ROUNDING)
    assert caliper(many, "A2", "A4", depth=0.4).touched.shape == (0, 2)


def test_a_step_is_read_from_the_foot_to_the_rod():
    #   A5 +----+ A4        A1 below is 40 mm, the ledge A3 stands 12 mm and the top A5 20 mm above it.
    #      |    +----+ A3
    #   A6 +---------+
    points = [(0, 0), (0.04, 0), (0.04, 0.012), (0.015, 0.012), (0.015, 0.02), (0, 0.02)]
    part = Part(id="1", outline=contour("A", polygon(points)))
    names = {(round(e.start[1], 4), round(e.end[1], 4)): e.id for e in part.edges}
    ledge, top = names[(0.012, 0.012)], names[(0.02, 0.02)]
    field = wall_field(part, leaning(**{ledge: 1e-4, top: 3e-4}))
    assert_allclose(step(field, ledge, top, depth=0.0).value, 8e-3, rtol=0, atol=ROUNDING)
    assert_allclose(step(field, top, ledge, depth=1.0).value, 8e-3 + 2e-4, rtol=0, atol=ROUNDING)
    assert_allclose(
        step(in_draws(field, 0.0, 1.0), ledge, top, depth=1.0).value, [8e-3, 8.2e-3], atol=ROUNDING
    )
    with pytest.raises(RangeError, match="face the same way"):
        caliper(field, ledge, top, depth=0.0)


def test_a_web_between_two_openings_is_as_thin_as_its_thinnest_place():
    part = with_openings(round_opening("B", 0.02, 0.02, 0.005), round_opening("C", 0.033, 0.02, 0.004))
    field = wall_field(part, leaning(B1=-1e-4, C1=5e-5), spacing=5e-5)
    # 13 mm between centres less both radii; a proud wall adds, a hollow one takes away.
    thin = wall_thickness(field, "B1", "C1", depth=1.0)
    assert_allclose(thin.value, 4e-3 - 1e-4 + 5e-5, rtol=0, atol=1e-7)  # chords of 50 µm cut off 0.1 µm
    assert_allclose(thin.touched[:, 1], 0.02, rtol=0, atol=5e-5)


def test_a_size_does_not_depend_on_how_the_part_lies():
    field = wall_field(
        block(), shaped(A2=lambda s: 4e-5 * np.sin(9.0 * s), A4=lambda s: 3e-5 * np.cos(5.0 * s))
    )
    turned = moved(field, angle=0.7, shift=(0.4, -0.2))
    assert_allclose(
        caliper(turned, "A2", "A4", depth=0.2).value,
        caliper(field, "A2", "A4", depth=0.2).value,
        atol=ROUNDING,
    )


def test_jaws_refuse_what_they_cannot_take():
    part = block()
    field = wall_field(part)
    with pytest.raises(RangeError, match="90 deg out of parallel"):
        caliper(field, "A1", "A2", depth=0.0)
    with pytest.raises(UnknownNameError, match="no edge A9; the nearest is A"):
        caliper(field, "A1", "A9", depth=0.0)
    with pytest.raises(RangeError, match=r"depth 1\.2 lies outside the layers"):
        caliper(field, "A1", "A3", depth=1.2)
    ring = with_openings(round_opening("B", 0.02, 0.02, 0.005))
    with pytest.raises(RangeError, match="B1 bends"):
        caliper(wall_field(ring), "B1", "A1", depth=0.0)
    apart = with_openings(
        contour("B", reverse(rectangle(0.01, 0.01, 0.01, 0.01)), ContourRole.OPENING),
        contour("C", reverse(rectangle(0.06, 0.04, 0.01, 0.01)), ContourRole.OPENING),
    )
    with pytest.raises(RangeError, match="nowhere opposite"):
        caliper(wall_field(apart), "B1", facing_to("B1", apart), depth=0.0)


def facing_to(name, part):
    """An edge of C that faces against the named one."""
    normal = normal_of(part.edge(name))
    return next(edge.id for edge in part.contour("C").edges if np.dot(normal, normal_of(edge)) < -0.5)


def normal_of(edge):
    heading = edge.segments[0].heading(0.0)
    return np.array((np.sin(heading), -np.cos(heading)))
