"""The as-cut solid against closed forms, and its closedness."""

from __future__ import annotations

from math import pi, sin

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose

from parts import plate_with_openings, rectangle_part, ring_part
from sample_fields import field_of
from sample_parts import bracket, contour, plate, polygon, rectangle, reverse, wheel
from trialcut.ascut.mesh import Mesh
from trialcut.ascut.rings import rings_of
from trialcut.ascut.solid import as_cut_solid
from trialcut.errors import ComputationError, RangeError
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.findings import FindingStatus

ROUNDING = 1e-12
"""Of a volume, relative: sums of some thousand products."""


def prismatoid(area, top, bottom, height):
    """Volume between parallel faces whose area is a square polynomial of depth: Simpson's rule is exact."""
    return height * (area(top) + 4.0 * area((top + bottom) / 2) + area(bottom)) / 6.0


def assert_is_a_body(mesh, openings):
    assert mesh.closed
    assert mesh.euler_characteristic == 2 - 2 * openings
    assert mesh.volume > 0.0
    assert mesh.smallest_height > 1e-7


def outline(solid, layer):
    """Area of a layer as shapely sees it."""
    lines = [ring.position[:, layer] for ring in solid.rings]
    return shapely.Polygon(lines[0], lines[1:])


@pytest.mark.parametrize("tolerance", [0.0, 5e-7])
def test_a_box_with_tapered_walls_has_the_volume_of_a_frustum(tolerance):
    top, bottom = -1e-4, 2e-4
    field = field_of(rectangle_part(0.04, 0.03), lambda _e, _f, d: top + (bottom - top) * d)
    mesh = as_cut_solid(rectangle_part(0.04, 0.03), field, tolerance=tolerance).mesh
    assert_is_a_body(mesh, 0)
    expected = prismatoid(lambda e: (0.04 + 2 * e) * (0.03 + 2 * e), top, bottom, 0.01)
    assert_allclose(mesh.volume, expected, rtol=ROUNDING)


def test_four_walls_with_four_deviations_meet_at_their_own_corners():
    off = np.array([1e-4, -2e-4, 3e-4, -4e-4])
    field = field_of(rectangle_part(0.04, 0.03), lambda e, _f, _d: off[e])
    mesh = as_cut_solid(rectangle_part(0.04, 0.03), field).mesh
    assert_is_a_body(mesh, 0)
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    assert_allclose(low, [4e-4, -1e-4, 0.0], atol=1e-15)
    assert_allclose(high, [0.04 - 2e-4, 0.03 + 3e-4, 0.01], atol=1e-15)
    assert len(mesh.vertices) == 4 * 5, "a flat wall needs its corners alone"


def test_a_ring_with_a_conical_opening_has_the_volume_of_a_polygonal_frustum():
    spacing, outside, inside = 1e-3, 0.02, 0.01

    def deviation(edge, _f, depth):
        return np.where(edge == 0, 0.0, 2e-4 * depth)  # material left in the opening: it narrows

    part = ring_part(outside, inside)
    solid = as_cut_solid(part, field_of(part, deviation, spacing=spacing), tolerance=0.0)
    assert_is_a_body(solid.mesh, 1)

    def polygon_area(radius, drawn):
        sides = np.ceil(2 * pi * drawn / spacing)
        return sides / 2 * radius**2 * sin(2 * pi / sides)

    opening = prismatoid(lambda e: polygon_area(inside - e, inside), 0.0, 2e-4, 0.01)
    assert_allclose(solid.mesh.volume, 0.01 * polygon_area(outside, outside) - opening, rtol=ROUNDING)
    cone = prismatoid(lambda e: pi * (inside - e) ** 2, 0.0, 2e-4, 0.01)
    true = 0.01 * pi * outside**2 - cone
    # Chords of length c about a radius r leave out (c/r)^2 / 6 of the area.
    assert_allclose(solid.mesh.volume, true, rtol=(spacing / inside) ** 2 / 4)


@pytest.mark.parametrize("level", [-8e-4, -1e-4, 0.0, 1e-4, 1e-3])
@pytest.mark.parametrize(("make", "openings"), [(bracket, 1), (plate, 7), (lambda: wheel(61), 1)])
def test_parts_are_bodies_whatever_is_left_or_cut_away(make, openings, level):
    part = make()
    solid = as_cut_solid(part, field_of(part, lambda _e, _f, d: level * (1.0 - 0.3 * d), spacing=5e-4))
    assert_is_a_body(solid.mesh, openings)


def test_faces_look_outwards():
    part = bracket()
    mesh = as_cut_solid(part, field_of(part, 1e-4, layers=2)).mesh
    normals, middle = mesh.normals, mesh.vertices[mesh.faces].mean(axis=1)
    body = outline(as_cut_solid(part, field_of(part, 1e-4, layers=2)), 0)
    walls = np.abs(normals[:, 2]) < 1e-9
    step = 1e-6
    outside = shapely.points((middle + step * normals)[walls, :2])
    inside = shapely.points((middle - step * normals)[walls, :2])
    assert not shapely.contains(body, outside).any()
    assert shapely.contains(body, inside).all()
    caps = ~walls
    assert_allclose(normals[caps, 2], np.where(middle[caps, 2] > 0.005, 1.0, -1.0), atol=1e-12)


def test_thinning_moves_no_outline_by_more_than_the_tolerance():
    part = plate()

    def wavy(edge, fraction, depth):
        return 2e-4 * np.sin(9.0 * fraction + edge) * (1.0 - 2.0 * depth)

    field = field_of(part, wavy, spacing=5e-4)
    whole, thin = (as_cut_solid(part, field, tolerance=tolerance) for tolerance in (0.0, 1e-6))
    assert len(thin.mesh.vertices) < 0.7 * len(whole.mesh.vertices)
    for layer in range(5):
        far = shapely.hausdorff_distance(outline(whole, layer), outline(thin, layer))
        assert far <= 1e-6 * (1.0 + 1e-9)


def test_every_vertex_carries_the_deviation_of_its_wall():
    part = ring_part(0.02, 0.01)
    field = field_of(part, lambda e, f, d: 1e-4 * np.cos(2 * pi * f) * (1 + e) + 5e-5 * d)
    mesh = as_cut_solid(part, field).mesh
    radius = np.hypot(mesh.vertices[:, 0], mesh.vertices[:, 1])
    off = np.where(radius > 0.015, radius - 0.02, 0.01 - radius)
    assert_allclose(mesh.deviation, off, atol=1e-15)


@pytest.mark.parametrize("left", [8e-4, -8e-4])
def test_a_folded_wall_is_laid_out_anew_and_told(left):
    """Rays cross at the inside round of 0.3 mm where 0.8 mm is left, at outside corners where it is cut away.

    ::

            |  part
        ----+ <- round of 0.3 mm here, scrap at upper left
    """
    points = [(0, 0), (0.02, 0), (0.02, 0.02), (0.01, 0.02), (0.01, 0.01), (0, 0.01)]
    part = Part(id="1", outline=contour("A", polygon(points, {4: 3e-4})))
    solid = as_cut_solid(part, field_of(part, left, layers=2, spacing=1e-5))
    assert_is_a_body(solid.mesh, 0)
    (finding,) = solid.findings
    assert (finding.code, finding.status, finding.count) == ("wall-folded", FindingStatus.FIXED, 2)
    low, high, step_x, step_y = -left, 0.02 + left, 0.01 - left, 0.01 + left
    sharp = shapely.Polygon(
        [(low, low), (high, low), (high, high), (step_x, high), (step_x, step_y), (low, step_y)]
    )
    # Cut away, the inside round grows to 1.1 mm; left standing, its walls meet in a point.
    grown = max(3e-4 - left, 0.0)
    square = shapely.box(step_x - grown, step_y, step_x, step_y + grown)
    hollow = shapely.Point(step_x - grown, step_y + grown).buffer(grown, quad_segs=256)
    expected = sharp.union(square.difference(hollow))
    assert outline(solid, 0).symmetric_difference(expected).area < 1e-9


def test_an_opening_that_closes_is_drawn_back_and_told():
    part = ring_part(0.02, 0.001)
    solid = as_cut_solid(part, field_of(part, lambda e, _f, d: np.where(e == 1, 2e-3 * d, 0.0), spacing=2e-4))
    assert_is_a_body(solid.mesh, 1)
    assert {(f.code, f.subjects, f.status) for f in solid.findings} == {
        ("walls-cross", ("B",), FindingStatus.NOT_FIXED)
    }
    assert "100 % of the depth" in solid.findings[0].message


def test_a_web_that_vanishes_is_drawn_back_and_told():
    part = rectangle_part(0.03, 0.02, [(0.0095, 0.01, 0.005), (0.0205, 0.01, 0.005)])
    solid = as_cut_solid(
        part, field_of(part, lambda e, _f, d: np.where(e > 3, -1.2e-3 * d, 0.0), spacing=2e-4)
    )
    assert_is_a_body(solid.mesh, 2)
    crossing = {f.subjects[0] for f in solid.findings if f.code == "walls-cross"}
    assert crossing == {"B", "C"}
    untouched = rings_of(part, field_of(part, -1.2e-3, spacing=2e-4))[1]
    far_side = solid.rings[1].drawn[:, 0] < 0.0095
    assert_allclose(np.hypot(*(solid.rings[1].position[far_side, -1] - [0.0095, 0.01]).T), 0.0062, atol=1e-12)
    assert len(untouched.drawn) >= len(solid.rings[1].drawn)


def test_walls_that_cross_in_the_drawing_are_refused():
    outline_ = contour("A", rectangle(0.0, 0.0, 0.02, 0.02))
    opening = contour("B", reverse(rectangle(0.01, 0.005, 0.02, 0.01)), ContourRole.OPENING)
    part = Part(id="1", outline=outline_, openings=(opening,))
    with pytest.raises(ComputationError, match="A, B cross in the drawing itself"):
        as_cut_solid(part, field_of(part))


def test_a_wall_that_is_not_cut_free_in_places_is_bridged_and_told():
    part = ring_part(0.02, 0.01)
    field = field_of(part, lambda e, f, d: np.where((e == 1) & (f < 0.05) & (d > 0.6), np.inf, 1e-4))
    solid = as_cut_solid(part, field)
    assert_is_a_body(solid.mesh, 1)
    (finding,) = solid.findings
    assert (finding.code, finding.subjects) == ("wall-unknown", ("B",))
    assert "B1" in finding.message
    assert "from 75 % of the depth" in finding.message
    assert_allclose(solid.mesh.deviation, 1e-4, rtol=1e-12)


def test_a_contour_without_any_wall_is_refused():
    part = ring_part(0.02, 0.01)
    field = field_of(part, lambda e, _f, d: np.where((e == 1) & (d == 1.0), np.inf, 0.0))
    with pytest.raises(RangeError, match="contour B has no as-cut wall at 100 % of the depth"):
        as_cut_solid(part, field)


def test_a_field_of_draws_needs_the_draw_named():
    part = ring_part(0.02, 0.01)
    flat = field_of(part, 1e-4)
    draws = np.stack((flat.deviation, -flat.deviation), axis=2)
    field = type(flat)(**{name: getattr(flat, name) for name in flat.__slots__} | {"deviation": draws})
    with pytest.raises(RangeError, match="name the draw"):
        as_cut_solid(part, field)
    assert_allclose(as_cut_solid(part, field, draw=1).mesh.deviation, -1e-4)


def test_a_field_of_another_part_is_refused():
    with pytest.raises(RangeError, match="does not know edge A2"):
        as_cut_solid(bracket(), field_of(ring_part(0.02, 0.01)))


def test_the_same_field_gives_the_same_bytes():
    part = plate()
    first, second = (as_cut_solid(part, field_of(part, 1e-4)).mesh for _ in range(2))
    for name in ("vertices", "faces", "deviation"):
        assert getattr(first, name).tobytes() == getattr(second, name).tobytes()


def test_a_hundred_openings_are_a_body_of_that_genus():
    part = plate_with_openings(100)
    assert_is_a_body(as_cut_solid(part, field_of(part, -5e-5, layers=2)).mesh, 100)


def tetrahedron(**change):
    corners = np.array([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)])
    faces = np.array([(0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3)])
    return Mesh(**{"vertices": corners, "faces": faces, "deviation": np.zeros(4)} | change)


def test_the_checks_know_a_body_from_what_is_none():
    body = tetrahedron()
    assert body.closed
    assert body.euler_characteristic == 2
    assert_allclose(body.volume, 1.0 / 6.0, rtol=1e-15)
    assert_allclose(body.smallest_height, 1.0 / 2.0**0.5, rtol=1e-15)
    assert not tetrahedron(faces=body.faces[1:]).closed, "a face is missing"
    turned = body.faces.copy()
    turned[0] = turned[0, ::-1]
    assert not tetrahedron(faces=turned).closed, "a face looks inwards"
    assert not tetrahedron(faces=np.concatenate((body.faces, body.faces))).closed, "every face is there twice"
    assert_allclose(tetrahedron(faces=body.faces[:, ::-1]).volume, -1.0 / 6.0, rtol=1e-15)
    assert tetrahedron(faces=np.array([(0, 1, 1)])).smallest_height == 0.0
