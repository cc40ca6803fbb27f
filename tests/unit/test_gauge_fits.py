"""Lines and circles through points whose fit is known in closed form."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.ascut.gauge.circles import least_squares_circle, minimum_circumscribed_circle
from trialcut.ascut.gauge.fits import convex_hull, least_squares_line, minimum_zone_line, parallel_lines
from trialcut.ascut.gauge.inscribed import maximum_inscribed_circle, minimum_zone_circles
from trialcut.errors import ComputationError

RADIUS, LOBE, CENTRE = 5e-3, 4e-5, np.array((0.1, -0.2))
DIGITS = 1e-12
"""Lengths of a few millimetres about a centre 0.2 m away round to some 1e-16 m; a picometre is plenty. [m]"""


def bulge(points):
    """How far a circle held by two troughs can bulge between samples: spacing squared over eight radii."""
    return float(np.hypot(*np.diff(points, axis=0).T).max()) ** 2 / (8.0 * 4e-3)


def lobes(count, *, samples=720):
    """r = R + a cos(n angle): n lobes outwards, n troughs between."""
    angle = np.arange(samples) * 2.0 * np.pi / samples
    radius = RADIUS + LOBE * np.cos(count * angle)
    return CENTRE + np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)


def ellipse(major, minor, *, turned=0.3, samples=720):
    angle = np.arange(samples) * 2.0 * np.pi / samples
    x, y = major * np.cos(angle), minor * np.sin(angle)
    turn = np.array(((np.cos(turned), -np.sin(turned)), (np.sin(turned), np.cos(turned))))
    return CENTRE + np.stack((x, y), axis=1) @ turn.T


@pytest.mark.parametrize("count", [2, 3, 5, 9])
def test_a_lobed_circle_touches_at_its_lobes_and_its_troughs(count):
    points = lobes(count)
    ring, plug = minimum_circumscribed_circle(points), maximum_inscribed_circle(points)
    fitted, zone = least_squares_circle(points), minimum_zone_circles(points)
    assert_allclose(ring.radius, RADIUS + LOBE, rtol=0, atol=DIGITS)
    assert_allclose(plug.radius, RADIUS - LOBE, rtol=0, atol=DIGITS if count > 2 else bulge(points))
    assert_allclose(fitted.radius, RADIUS, rtol=0, atol=DIGITS)
    assert_allclose(zone.width, 2.0 * LOBE, rtol=0, atol=DIGITS)
    for centre in (
        (fitted.centre, zone.centre)
        if count == 2
        else (
            ring.centre,
            plug.centre,
            fitted.centre,
            zone.centre,
        )
    ):
        # The centre of a contact circle is known worse than its radius, by the tilt of the tangents.
        assert_allclose(centre, CENTRE, rtol=0, atol=1e-9)


@pytest.mark.parametrize("count", [3, 5])
def test_the_points_touched_are_lobes_and_troughs(count):
    points = lobes(count)
    out = np.hypot(*(points[minimum_circumscribed_circle(points).touched] - CENTRE).T)
    within = np.hypot(*(points[maximum_inscribed_circle(points).touched] - CENTRE).T)
    assert len(out) in (2, 3)
    assert_allclose(out, RADIUS + LOBE, rtol=0, atol=DIGITS)
    assert len(within) == 3
    assert_allclose(within, RADIUS - LOBE, rtol=0, atol=DIGITS)


def test_an_ellipse_is_held_by_its_major_and_holds_its_minor_circle():
    points = ellipse(6e-3, 5e-3)
    assert_allclose(minimum_circumscribed_circle(points).radius, 6e-3, rtol=0, atol=DIGITS)
    assert_allclose(maximum_inscribed_circle(points).radius, 5e-3, rtol=0, atol=bulge(points))
    assert_allclose(minimum_zone_circles(points).width, 1e-3, rtol=0, atol=DIGITS)


def test_a_true_circle_is_every_circle():
    points = (
        lobes(1, samples=97) * 0.0
        + CENTRE
        + RADIUS * np.stack((np.cos(np.arange(97)), np.sin(np.arange(97))), axis=1)
    )
    for circle in (
        least_squares_circle(points),
        minimum_circumscribed_circle(points),
        maximum_inscribed_circle(points),
    ):
        assert_allclose(circle.radius, RADIUS, rtol=0, atol=DIGITS)
        assert_allclose(circle.centre, CENTRE, rtol=0, atol=DIGITS)
    assert_allclose(minimum_zone_circles(points).width, 0.0, rtol=0, atol=DIGITS)


def test_three_points_and_two_points_make_their_circles():
    right = np.array(((0.0, 0.0), (4e-3, 0.0), (0.0, 3e-3)))
    assert_allclose(minimum_circumscribed_circle(right).radius, 2.5e-3, rtol=1e-14)
    sharp = np.array(((-1e-3, 0.0), (1e-3, 0.0), (0.0, np.sqrt(3.0) * 1e-3)))
    assert_allclose(minimum_circumscribed_circle(sharp).radius, 2e-3 / np.sqrt(3.0), rtol=1e-14)
    assert_allclose(minimum_circumscribed_circle(right[:2]).radius, 2e-3, rtol=1e-14)
    blunt = np.array(((-1e-3, 0.0), (1e-3, 0.0), (0.0, 0.2e-3)))
    assert_allclose(minimum_circumscribed_circle(blunt).radius, 1e-3, rtol=1e-14)
    assert_allclose(least_squares_circle(right).radius, 2.5e-3, rtol=1e-12)


def test_a_slot_holds_a_circle_as_wide_as_itself():
    x = np.linspace(-0.02, 0.02, 401)
    points = np.concatenate(
        (
            np.stack((x, np.full_like(x, 3e-3)), axis=1),
            np.stack((np.full(31, 0.02), np.linspace(3e-3, -3e-3, 31)), axis=1),
            np.stack((x[::-1], np.full_like(x, -3e-3)), axis=1),
            np.stack((np.full(31, -0.02), np.linspace(-3e-3, 3e-3, 31)), axis=1),
        )
    )
    # Between samples 0.1 mm apart, a 3 mm circle can bulge by their spacing squared over eight radii.
    bulge = 1e-4**2 / (8.0 * 3e-3)
    radius = float(maximum_inscribed_circle(points).radius)
    assert 3e-3 - DIGITS <= radius <= 3e-3 + bulge


def test_circles_of_many_draws_are_those_of_each():
    stack = np.stack((lobes(3), ellipse(6e-3, 5e-3), ellipse(2e-3, 1.9e-3)))
    together = least_squares_circle(stack)
    for k, points in enumerate(stack):
        alone = least_squares_circle(points)
        assert_allclose(together.radius[k], alone.radius, rtol=1e-14)
        assert_allclose(together.centre[k], alone.centre, rtol=1e-12)


def test_weights_count_like_repeated_points():
    points = ellipse(6e-3, 5e-3, samples=12)
    weights = np.arange(12) % 3 + 1.0
    repeated = np.repeat(points, weights.astype(int), axis=0)
    assert_allclose(
        least_squares_circle(points, weights=weights).radius,
        least_squares_circle(repeated).radius,
        rtol=1e-12,
    )
    one, other = least_squares_line(points, weights=weights), least_squares_line(repeated)
    assert_allclose(one.point, other.point, rtol=1e-12)
    assert_allclose(one.direction, other.direction, rtol=1e-12)


def test_no_circle_fits_points_on_a_line():
    line = np.stack((np.linspace(0.0, 1e-2, 20), np.zeros(20)), axis=1)
    for fit in (least_squares_circle, maximum_inscribed_circle):
        with pytest.raises(ComputationError, match="name a curved edge"):
            fit(line)


def test_an_open_wall_holds_no_largest_circle():
    angle = np.linspace(0.0, 0.8 * np.pi, 50)
    arc = np.stack((np.cos(angle), np.sin(angle)), axis=1)
    with pytest.raises(ComputationError, match="does not close"):
        maximum_inscribed_circle(arc, start=np.array((0.3, 0.3)))


def test_a_line_through_points_on_a_line_is_that_line():
    along = np.array((0.8, 0.6))
    points = CENTRE + np.linspace(-0.01, 0.02, 31)[:, None] * along
    fitted = least_squares_line(points)
    assert_allclose(np.abs(fitted.direction @ along), 1.0, rtol=1e-14)
    assert_allclose(fitted.heights(points), 0.0, atol=DIGITS)
    assert_allclose(minimum_zone_line(points).width, 0.0, atol=DIGITS)


def test_a_bowed_line_lies_in_a_strip_as_high_as_its_bow():
    x = np.linspace(-1.0, 1.0, 201)
    bow = np.stack((0.02 * x, 5e-5 * (1.0 - x**2)), axis=1)
    zone = minimum_zone_line(bow)
    assert_allclose(zone.width, 5e-5, rtol=0, atol=DIGITS)
    assert sorted(bow[zone.touched, 0]) == [-0.02, 0.0, 0.02]
    # The mean of 1 - x^2 is 2/3; equal steps take a little off it: half a step squared over six.
    fitted = least_squares_line(bow)
    assert_allclose(fitted.point[1], 5e-5 * (1.0 - np.mean(x**2)), rtol=1e-12)


def test_a_strip_stays_along_the_drawn_line_where_told():
    tall = np.array(((0.0, 0.0), (1e-4, 0.0), (1e-4, 5e-3), (0.0, 5e-3)))
    assert_allclose(minimum_zone_line(tall).width, 1e-4, rtol=1e-12)
    assert_allclose(minimum_zone_line(tall, along=np.array((1.0, 0.0))).width, 5e-3, rtol=1e-12)
    assert_allclose(minimum_zone_line(tall[:1]).width, 0.0, atol=0.0)


def test_two_parallel_lines_are_their_distance_apart():
    x = np.linspace(0.0, 0.03, 16)
    one = np.stack((x, 1e-4 + 0.01 * x), axis=1)
    other = np.stack((x[::-1], 0.02 + 0.01 * x[::-1]), axis=1)
    distance, direction = parallel_lines(one, other)
    assert_allclose(distance, (0.02 - 1e-4) / np.hypot(1.0, 0.01), rtol=1e-12)
    assert_allclose(direction, np.array((1.0, 0.01)) / np.hypot(1.0, 0.01), rtol=1e-12)


def test_the_hull_of_a_grid_is_its_four_corners():
    grid = np.stack(np.meshgrid(np.arange(5.0), np.arange(4.0)), axis=-1).reshape(-1, 2)
    corners = grid[convex_hull(grid)]
    assert_allclose(corners, [(0, 0), (4, 0), (4, 3), (0, 3)], rtol=0, atol=0)
