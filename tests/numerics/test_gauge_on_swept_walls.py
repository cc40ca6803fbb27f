"""The gauge on walls that the surface swept, where jet and wall are simple enough for closed forms.

A jet that narrows with depth, without lag, runs sharp corners half a top kerf off the drawn edges. ::

    A +------------------+
      |  B +---+    C    |
      |    |   |   ( )   |
      |    +---+         |
      +------------------+
"""

from math import pi, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_parts import contour, rectangle, reverse, round_opening
from trialcut.ascut.gauge.corners import corner_error, corner_radius
from trialcut.ascut.gauge.inspect import inspect_part, plain_characteristics
from trialcut.ascut.gauge.openings import least_squares_diameter, pin, position, roundness
from trialcut.ascut.gauge.sizes import caliper
from trialcut.ascut.gauge.squareness import light_gap, perpendicularity, straightness
from trialcut.ascut.law import JetLaw
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.types import JetPath
from trialcut.geometry.contours import ContourRole, Part

TOP, TAPER = 5e-4, 1e-4
DEPTHS = np.linspace(0.0, 1.0, 5)
NANOMETRE = 1e-9
FACETS = 2000
RISE = (0.004 - TOP) * (pi / FACETS) ** 2 / 2
"""How far the facets of the round path keep the jet off its ring. [m]"""


def travel(corners):
    """Places and directions round a closed polygon, each corner once in either direction."""
    points = np.array(corners)
    steps = np.roll(points, -1, axis=0) - points
    along = steps / np.hypot(*steps.T)[:, None]
    pairs = np.stack((points, points + steps), axis=1).reshape(-1, 2)
    return pairs, np.repeat(along, 2, axis=0)


@pytest.fixture(scope="module")
def cut():
    window = contour("B", reverse(rectangle(0.01, 0.01, 0.012, 0.01)), ContourRole.OPENING)
    hole = round_opening("C", 0.036, 0.015, 0.004)
    part = Part(id="1", outline=contour("A", rectangle(0.0, 0.0, 0.05, 0.03)), openings=(window, hole))
    outside = travel([(-TOP, -TOP), (0.05 + TOP, -TOP), (0.05 + TOP, 0.03 + TOP), (-TOP, 0.03 + TOP)])
    left, right, low, high = 0.01 + TOP, 0.022 - TOP, 0.01 + TOP, 0.02 - TOP
    inside = travel([(left, low), (left, high), (right, high), (right, low)])
    angle = pi - np.linspace(0.0, 2.0 * pi, FACETS + 1)
    ring = np.stack((np.cos(angle), np.sin(angle)), axis=1)
    round_ = (np.array((0.036, 0.015)) + (0.004 - TOP) * ring, np.stack((ring[:, 1], -ring[:, 0]), axis=1))
    runs = (outside, inside, round_)
    count = sum(len(position) for position, _ in runs)
    jet = JetPath(
        position=np.concatenate([position for position, _ in runs]),
        direction=np.concatenate([direction for _, direction in runs]),
        lean=np.zeros((count, 2)),
        speed=np.full(count, 1e-3),
        time=np.arange(count, dtype=float),
        edge=np.full(count, -1),
        run=np.repeat(np.arange(3), [len(position) for position, _ in runs]),
    )
    law = JetLaw(
        speeds=np.array([1e-3]),
        depths=DEPTHS,
        half_width=(TOP - TAPER * DEPTHS)[None],
        lag=np.zeros((1, len(DEPTHS))),
    )
    return part, deviation_field(part, jet, law, depths=DEPTHS, thickness=0.02, wall_spacing=2e-4)


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0, None])
def test_sizes_grow_outside_and_shrink_inside_by_the_taper_of_both_walls(cut, depth):
    part, field = cut
    proud = TAPER * (1.0 if depth is None else depth)
    assert_allclose(caliper(field, "A2", "A4", depth=depth).value, 0.05 + 2 * proud, rtol=0, atol=NANOMETRE)
    upright = [edge.id for edge in part.openings[0].edges if edge.start[0] == edge.end[0]]
    reading = caliper(field, *upright, depth=depth, keep_off=1e-3)
    assert_allclose(reading.value, 0.012 - 2 * proud, rtol=0, atol=NANOMETRE)
    # The facets of the round path keep the jet off the ring by their rise.
    assert_allclose(
        pin(field, ("C1",), depth=depth).value, 0.008 - 2 * proud, rtol=0, atol=2 * RISE + NANOMETRE
    )


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0])
def test_an_inside_corner_keeps_the_radius_of_the_jet_at_each_depth(cut, depth):
    part, field = cut
    jet = TOP - TAPER * depth
    for corner in part.openings[0].corners:
        reading = corner_radius(field, corner.before, corner.after, depth=depth)
        assert_allclose(reading.value, jet, rtol=0, atol=NANOMETRE)
        error = corner_error(field, corner.before, corner.after, depth=depth)
        assert_allclose(error.value, jet * (sqrt(2.0) - 1.0), rtol=0, atol=NANOMETRE)
        assert error.note.endswith("material is left")


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0])
def test_an_outside_corner_stays_sharp(cut, depth):
    part, field = cut
    for corner in part.outline.corners:
        error = corner_error(field, corner.before, corner.after, depth=depth)
        assert_allclose(error.value, 0.0, rtol=0, atol=NANOMETRE)


def test_faces_are_out_of_square_by_the_taper_right_up_to_outside_corners(cut):
    _, field = cut
    for edge in ("A1", "A2", "A3", "A4"):
        assert_allclose(light_gap(field, edge).value, TAPER, rtol=0, atol=NANOMETRE)
        assert_allclose(perpendicularity(field, edge).value, TAPER, rtol=0, atol=NANOMETRE)
        assert_allclose(straightness(field, edge, depth=0.75).value, 0.0, rtol=0, atol=NANOMETRE)
    assert_allclose(light_gap(field, "C1").value, TAPER, rtol=0, atol=RISE + NANOMETRE)


def test_a_round_opening_is_round_and_where_it_is_drawn(cut):
    _, field = cut
    for depth in DEPTHS:
        assert_allclose(roundness(field, ("C1",), depth=float(depth)).value, 0.0, atol=RISE + NANOMETRE)
        assert_allclose(position(field, ("C1",), depth=float(depth)).value, 0.0, atol=NANOMETRE)
        mean = least_squares_diameter(field, ("C1",), depth=float(depth)).value
        assert_allclose(mean, 0.008 - 2 * TAPER * depth, rtol=0, atol=2 * RISE + NANOMETRE)


def test_every_reading_of_a_whole_cut_is_a_number(cut):
    part, field = cut
    readings = inspect_part(part, field, plain_characteristics(part))
    assert len(readings) > 80
    assert np.isfinite([reading.value for reading in readings]).all()
