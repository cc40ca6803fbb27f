"""Squareness, straightness and corners of walls that are known in closed form."""

from math import pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from numpy.testing import assert_allclose

from gauge_fields import THICKNESS, block, in_draws, leaning, shaped, wall_field, washer, with_openings
from sample_parts import contour, polygon, reverse
from trialcut.ascut.gauge.corners import arc_radius, corner_error, corner_radius
from trialcut.ascut.gauge.squareness import edge_position, light_gap, perpendicularity, straightness
from trialcut.errors import ComputationError, RangeError
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Arc, Line

ROUNDING = 1e-14


def bowed(edge, size):
    """A wall that stands proud by that size at mid depth, as a parabola."""

    def height(name, fraction, depth):
        return np.ones_like(fraction) * (4.0 * size * depth * (1.0 - depth) if name == edge else 0.0 * depth)

    return height


def test_a_leaning_wall_shows_light_at_the_top():
    reading = light_gap(wall_field(block(), leaning(A2=1e-4)), "A2")
    assert_allclose(reading.value, 1e-4, rtol=0, atol=ROUNDING)
    assert "rests at 100 % of the depth and the light is widest at 0 %" in reading.note


def test_a_bowed_wall_shows_light_at_both_ends():
    reading = light_gap(wall_field(block(), bowed("A2", 3e-5)), "A2")
    assert_allclose(reading.value, 3e-5, rtol=0, atol=ROUNDING)
    assert "rests at 50 % of the depth" in reading.note


def test_a_trim_takes_its_share_off_a_leaning_wall():
    # A straight taper of angle t gives (thickness - 2 trim) tan t; the standard's example is 1 deg.
    lean = THICKNESS * tan(radians(1.0))
    field = wall_field(block(), leaning(A2=lean))
    reading = light_gap(field, "A2", trim=6e-4)
    assert_allclose(reading.value, (THICKNESS - 2 * 6e-4) * tan(radians(1.0)), rtol=1e-12)
    assert "by agreement" in reading.standard
    with pytest.raises(RangeError, match="leaves nothing"):
        light_gap(field, "A2", trim=0.011)


def test_the_blade_finds_the_worst_place_or_stands_where_it_is_put():
    field = wall_field(block(), lambda name, s, z: 1e-4 * s * z if name == "A2" else 0.0 * s * z)
    assert_allclose(light_gap(field, "A2").value, 1e-4, rtol=0, atol=ROUNDING)
    assert_allclose(light_gap(field, "A2", place=0.37).value, 3.7e-5, rtol=0, atol=ROUNDING)
    # 3 mm of 30 mm kept off leaves nine tenths of the rise.
    assert_allclose(light_gap(field, "A2", keep_off=3e-3).value, 9e-5, rtol=0, atol=ROUNDING)


def test_the_zone_of_a_face_takes_in_lean_bow_and_wave():
    # A wall twisted: leans by 1e-4 at one end and not at the other. Upright planes may turn to meet it: the
    # narrowest pair has the mean slope, and holds half the twist at either end.
    field = wall_field(block(), lambda name, s, z: 1e-4 * s * z if name == "A2" else 0.0 * s * z)
    # In plan the wall fills the triangle (0, 0), (1, 0), (1, 1e-4): its height on its longest side.
    assert_allclose(perpendicularity(field, "A2").value, 1e-4 * 0.03 / np.hypot(0.03, 1e-4), rtol=1e-12)
    leaning_wall = wall_field(block(), leaning(A2=1e-4))
    assert_allclose(perpendicularity(leaning_wall, "A2").value, 1e-4, rtol=0, atol=ROUNDING)
    assert_allclose(
        perpendicularity(in_draws(leaning_wall, 0.0, 2.0), "A2").value, [0.0, 2e-4], atol=ROUNDING
    )


def test_a_wall_turned_in_its_place_is_square_and_straight():
    field = wall_field(block(), shaped(A2=lambda s: 1e-4 * s))
    for reading in (perpendicularity(field, "A2"), straightness(field, "A2", depth=0.5)):
        assert_allclose(reading.value, 0.0, atol=ROUNDING)


def test_straightness_is_the_bow_along_the_edge():
    field = wall_field(block(), shaped(A2=lambda s: 4e-5 * (2.0 * s - 1.0) ** 2 + 1e-4 * s))
    # The slope of 1e-4 in 30 mm makes the zone narrower by half its square, 0.2 fm.
    assert_allclose(straightness(field, "A2", depth=0.5).value, 4e-5, rtol=1e-5)
    assert_allclose(straightness(in_draws(field, 1.0, 0.5), "A2", depth=0.5).value, [4e-5, 2e-5], rtol=1e-5)


def test_the_position_of_an_edge_is_its_mean():
    field = wall_field(block(), lambda name, s, z: 1e-4 * s + 2e-5 * z if name == "A2" else 0.0 * s * z)
    assert_allclose(edge_position(field, "A2", depth=0.5).value, 6e-5, rtol=0, atol=ROUNDING)
    assert_allclose(edge_position(in_draws(field, 2.0), "A2", depth=0.0).value, [1e-4], rtol=0, atol=ROUNDING)


def test_squareness_of_draws_is_that_of_each():
    field = wall_field(block(), bowed("A2", 3e-5))
    assert_allclose(light_gap(in_draws(field, 1.0, -2.0, 0.0), "A2").value, [3e-5, 6e-5, 0.0], atol=ROUNDING)


def opening_with(corners, radius, *, spacing=2e-5):
    """A regular opening whose inside corners hold rounds of that radius."""
    turn = 2.0 * pi / corners
    points = [
        (0.05 + 0.012 * np.cos(k * turn + 0.3), 0.03 + 0.012 * np.sin(k * turn + 0.3)) for k in range(corners)
    ]
    part = with_openings(contour("B", reverse(polygon(points)), ContourRole.OPENING))
    length = 2.0 * 0.012 * sin(0.5 * turn)
    reach = radius / tan(0.5 * (pi - turn))  # the round leaves each line so far from the corner

    def height(name, fraction, depth):
        if not name.startswith("B"):
            return 0.0 * fraction * depth
        away = np.minimum(fraction, 1.0 - fraction) * length
        off = np.maximum(reach - away, 0.0)
        return (radius - np.sqrt(np.maximum(radius**2 - off**2, 0.0))) * np.ones_like(depth)

    return part, wall_field(part, height, spacing=spacing)


@pytest.mark.parametrize("corners", [4, 5, 6])
@pytest.mark.parametrize("radius", [3e-4, 6e-4])
def test_a_round_in_an_inside_corner_has_its_radius(corners, radius):
    part, field = opening_with(corners, radius)
    corner = part.openings[0].corners[1]
    reading = corner_radius(field, corner.before, corner.after, depth=0.5)
    assert_allclose(reading.value, radius, rtol=1e-9)
    assert f"{180 - 360 / corners:.1f} deg" in reading.note
    draws = corner_radius(in_draws(field, 1.0, 0.0), corner.before, corner.after, depth=0.5)
    assert_allclose(draws.value, [radius, 0.0], rtol=1e-9)


def test_a_sharp_corner_has_no_radius():
    part, field = opening_with(4, 3e-4)
    sharp = wall_field(part)
    corner = part.openings[0].corners[0]
    assert corner_radius(sharp, corner.before, corner.after, depth=0.5).value == 0.0
    # At the drawn corner the round stands r (1 - 0) proud of either line of a right angle.
    error = corner_error(field, corner.before, corner.after, depth=0.5)
    assert_allclose(error.value, 3e-4, rtol=0, atol=1e-12)


def test_what_is_lost_at_an_outside_corner_is_its_error():
    dip = shaped(A1=lambda s: -8e-5 * np.maximum(1.0 - (1.0 - s) * 0.05 / 2e-3, 0.0) + 1e-5)
    field = wall_field(block(), dip)
    error = corner_error(field, "A1", "A2", depth=0.0)
    assert_allclose(error.value, 8e-5, rtol=0, atol=1e-14)
    assert_allclose(error.touched, [(0.05, 7e-5)], rtol=0, atol=1e-14)
    assert_allclose(
        corner_error(in_draws(field, 1.0, 0.5), "A1", "A2", depth=0.0).value, [8e-5, 4e-5], atol=1e-14
    )
    with pytest.raises(RangeError, match="outside corner"):
        corner_radius(field, "A1", "A2", depth=0.0)
    with pytest.raises(RangeError, match="does not end where A3 starts"):
        corner_radius(field, "A1", "A3", depth=0.0)


def test_an_arc_has_its_radius_more_or_less_the_wall():
    quarter = [Line((0, 0), (0.02, 0)), Arc((0, 0), 0.02, 0.0, pi / 2), Line((0, 0.02), (0, 0))]
    field = wall_field(Part(id="1", outline=contour("A", quarter)), leaning(A2=1e-4))
    reading = arc_radius(field, "A2", depth=1.0)
    assert_allclose(reading.value, 0.02 + 1e-4, rtol=1e-12)
    assert reading.note == "of an arc that turns 90 deg"
    assert_allclose(arc_radius(in_draws(field, 0.0, 1.0), "A2", depth=1.0).value, [0.02, 0.0201], rtol=1e-12)
    with pytest.raises(ComputationError, match="name a curved edge"):
        arc_radius(field, "A1", depth=1.0)
    with pytest.raises(RangeError, match="A2 bends"):
        straightness(field, "A2", depth=1.0)


def test_squareness_of_a_bore_is_measured_all_round():
    field = wall_field(washer(), leaning(B1=-7e-5))
    assert_allclose(light_gap(field, "B1").value, 7e-5, rtol=0, atol=ROUNDING)
    assert sqrt(2.0) * 7e-5 > light_gap(field, "B1").value
