"""What must hold for any as-cut surface and any path beside a contour."""

from dataclasses import replace
from math import cos, hypot, pi, sin

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sample_parts import contour, polygon, reverse
from surface_cases import DEPTHS, HALF, THICKNESS, jet_along, lags, rays, steady_law, widths
from trialcut.ascut.reach import deviations_of_wall
from trialcut.geometry.contours import ContourRole
from trialcut.geometry.offsets import offset_contour
from trialcut.geometry.outline import flatten_contour, flatten_segments

SEARCH = 2e-8
"""Two searches for a wall that each stop within 10 nm. [m]"""

angles = st.floats(-pi, pi)
radii = st.lists(st.floats(4e-3, 12e-3), min_size=5, max_size=14)
offsets = st.floats(0.05e-3, 1.5e-3)


def star(spokes):
    count = len(spokes)
    return [(r * cos(2 * pi * i / count), r * sin(2 * pi * i / count)) for i, r in enumerate(spokes)]


def loop(spokes, samples=240):
    """A closed smooth-ish way through spokes, and its directions."""
    count = len(spokes)
    turn = np.linspace(0.0, 2.0 * pi, samples, endpoint=False)
    radius = 8e-3 + np.interp(turn, 2.0 * pi * np.arange(count + 1) / count, [*spokes, spokes[0]])
    position = radius[:, None] * np.column_stack((np.cos(turn), np.sin(turn)))
    step = np.roll(position, -1, axis=0) - np.roll(position, 1, axis=0)
    return position, step / np.hypot(*step.T)[:, None]


def closed(position, direction, **leaned):
    again = [*range(len(position)), 0]
    return jet_along(position[again], direction[again], **leaned)


def walls(jet, point, normal):
    return deviations_of_wall(rays(point, normal), jet, steady_law(lag=lags()), thickness=THICKNESS)


def beside(position, direction):
    normal = np.column_stack((direction[:, 1], -direction[:, 0]))
    return position[::5] - HALF * normal[::5], normal[::5]


@given(radii, angles, st.floats(-0.02, 0.02), st.floats(0.0, 0.05))
def test_a_turned_part_has_the_same_walls(spokes, angle, tilt, lead):
    position, direction = loop(spokes)
    point, normal = beside(position, direction)
    rotate = np.array([[cos(angle), sin(angle)], [-sin(angle), cos(angle)]])
    before = walls(closed(position, direction, tilt=tilt, lead=lead), point, normal)
    after = walls(
        closed(position @ rotate, direction @ rotate, tilt=tilt, lead=lead), point @ rotate, normal @ rotate
    )
    assert_allclose(after, before, atol=SEARCH)


@given(radii, st.floats(-0.02, 0.02))
def test_a_mirrored_part_has_the_same_walls(spokes, tilt):
    position, direction = loop(spokes)
    point, normal = beside(position, direction)
    jet = closed(position, direction, tilt=tilt, lead=0.01)
    flip = np.array((-1.0, 1.0))
    mirrored = replace(
        jet, position=jet.position * flip, direction=jet.direction * flip, lean=jet.lean * flip
    )
    assert_allclose(walls(mirrored, point * flip, normal * flip), walls(jet, point, normal), atol=SEARCH)


@given(radii, st.integers(1, 239))
def test_a_closed_way_has_the_same_walls_wherever_it_starts(spokes, start):
    position, direction = loop(spokes)
    point, normal = beside(position, direction)
    moved = closed(np.roll(position, start, axis=0), np.roll(direction, start, axis=0))
    assert_allclose(
        walls(moved, point, normal), walls(closed(position, direction), point, normal), atol=SEARCH
    )


@given(radii, st.floats(1e-5, 1e-4))
def test_a_wider_jet_leaves_no_more_material(spokes, more):
    position, direction = loop(spokes)
    point, normal = beside(position, direction)
    jet = closed(position, direction)
    wall = rays(point, normal)
    thin, thick = (
        deviations_of_wall(wall, jet, steady_law(width=widths() + extra), thickness=THICKNESS)
        for extra in (0.0, more)
    )
    gain = (thin - thick)[np.isfinite(thin) & np.isfinite(thick)]
    assert gain.min() > -SEARCH


@given(radii)
def test_walls_lie_at_the_half_width_from_the_way_of_the_jet_in_their_layer(spokes):
    position, direction = loop(spokes)
    point, normal = beside(position, direction)
    found = walls(closed(position, direction), point, normal)
    for layer in (0, DEPTHS.size - 1):
        way = shapely.LinearRing(position - lags()[layer] * direction)
        known = np.isfinite(found[:, layer])
        wall = shapely.points((point + found[:, layer, None] * normal)[known])
        assert_allclose(shapely.distance(wall, way), widths()[layer], atol=SEARCH)


@settings(max_examples=60)
@given(radii, offsets, st.booleans())
def test_a_path_keeps_its_offset_from_every_edge(spokes, offset, opening):
    runs = polygon(star(spokes))
    c = contour("B", reverse(runs), ContourRole.OPENING) if opening else contour("A", runs)
    path = offset_contour(c, {edge.id: offset for edge in c.edges})
    drawn = shapely.LinearRing(flatten_contour(c)[:-1])
    if not path.pieces:
        assert opening
        assert shapely.Polygon(drawn).buffer(-offset - 2e-9, join_style="mitre").is_empty
        return
    segments = [segment for _, segment in path.pieces]
    for before, after in zip(segments, [*segments[1:], segments[0]], strict=True):
        assert_allclose(hypot(after.start[0] - before.end[0], after.start[1] - before.end[1]), 0.0, atol=1e-7)
    way = shapely.LineString(flatten_segments(segments, tolerance=1e-9))
    assert_allclose(shapely.distance(way, drawn), offset, atol=1e-8)
    # Each straight runs at its offset from its own edge.
    edges = {edge.id: edge.segments[0] for edge in c.edges}
    for name, segment in path.pieces:
        if name is not None:
            own = edges[name]
            (x0, y0), (x1, y1), (x, y) = own.start, own.end, segment.point(0.5)
            right = ((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / own.length
            assert_allclose(right, offset, atol=1e-9)


@settings(max_examples=40)
@given(radii, offsets, st.integers(1, 4))
def test_a_path_does_not_depend_on_where_its_contour_starts(spokes, offset, start):
    points = star(spokes)
    lengths = []
    for corners in (points, points[start:] + points[:start]):
        c = contour("A", polygon(corners))
        path = offset_contour(c, {edge.id: offset for edge in c.edges})
        lengths.append(sum(segment.length for _, segment in path.pieces))
    assert_allclose(lengths[1], lengths[0], atol=1e-9)


@settings(max_examples=300)
@given(radii, st.lists(st.floats(0.4e-3, 0.7e-3), min_size=14, max_size=14), st.booleans())
def test_a_path_keeps_each_edges_own_offset(spokes, each, opening):
    runs = polygon(star(spokes))
    c = contour("B", reverse(runs), ContourRole.OPENING) if opening else contour("A", runs)
    own = {edge.id: offset for edge, offset in zip(c.edges, each, strict=False)}
    path = offset_contour(c, own)
    assert path.pieces or opening
    segments = [segment for _, segment in path.pieces]
    for before, after in zip(segments, [*segments[1:], *segments[:1]], strict=True):
        assert_allclose(hypot(after.start[0] - before.end[0], after.start[1] - before.end[1]), 0.0, atol=1e-7)
    for name, segment in path.pieces:
        for edge in c.edges:
            (x0, y0), (x1, y1) = edge.start, edge.end
            for t in (0.0, 0.3, 0.7, 1.0):
                x, y = segment.point(t)
                along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / edge.length
                right = ((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / edge.length
                if 0.0 <= along <= edge.length:
                    assert abs(right) > own[edge.id] - 1e-7
                if edge.id == name:
                    assert_allclose(right, own[name], atol=1e-8)
