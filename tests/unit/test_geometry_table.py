"""Areas, centroids, extents, turns and distances of lines and arcs, against shapely and closed forms."""

from __future__ import annotations

from math import pi, sqrt, tau

import numpy as np
import shapely
from numpy.testing import assert_allclose

from trialcut.geometry.curves import Arc, Line, Segment
from trialcut.geometry.outline import flatten_segments, polygons_of_loops
from trialcut.geometry.pairs import crossings, distances, near_pairs
from trialcut.geometry.table import SegmentTable

#        .--.
#      /      \        a half disc of radius 2 on a 4 by 1 rectangle
#     |        |
#     |        |
#     +--------+
DOME: list[Segment] = [
    Line((0.0, 0.0), (4.0, 0.0)),
    Line((4.0, 0.0), (4.0, 1.0)),
    Arc((2.0, 1.0), 2.0, 0.0, pi),
    Line((0.0, 1.0), (0.0, 0.0)),
]

#     +--------+
#      \      /        the same rectangle, 4 by 3, with a bite of radius 2 out of its top
BITTEN: list[Segment] = [
    Line((0.0, 0.0), (4.0, 0.0)),
    Line((4.0, 0.0), (4.0, 3.0)),
    Arc((2.0, 3.0), 2.0, 0.0, -pi),
    Line((0.0, 3.0), (0.0, 0.0)),
]
CIRCLE: list[Segment] = [Arc((10.0, 20.0), 3.0, 1.0, -tau)]


def test_areas_of_lines_and_arcs_are_exact() -> None:
    areas, _ = SegmentTable.of([DOME, BITTEN, CIRCLE]).areas_and_centroids()
    assert_allclose(areas, [4 + 2 * pi, 12 - 2 * pi, -9 * pi], rtol=1e-14)


def test_centroids_of_lines_and_arcs_are_exact() -> None:
    _, centroids = SegmentTable.of([DOME, BITTEN, CIRCLE]).areas_and_centroids()
    # The centroid of a half disc lies 4 r / 3 pi from its diameter.
    off = 4 * 2 / (3 * pi)
    dome = (4 * 0.5 + 2 * pi * (1 + off)) / (4 + 2 * pi)
    bitten = (12 * 1.5 - 2 * pi * (3 - off)) / (12 - 2 * pi)
    assert_allclose(centroids, [(2, dome), (2, bitten), (10, 20)], rtol=1e-13)


def test_centroids_agree_with_shapely() -> None:
    table = SegmentTable.of([DOME, BITTEN, CIRCLE])
    theirs = shapely.get_coordinates(shapely.centroid(polygons_of_loops(table, tolerance=1e-8)))
    _, ours = table.areas_and_centroids()
    # Flattening within 1e-8.
    assert_allclose(ours, theirs, rtol=0, atol=2e-8)


def test_extents_reach_the_top_of_an_arc() -> None:
    boxes = SegmentTable.of([DOME, BITTEN, CIRCLE]).loop_boxes()
    assert_allclose(boxes, [(0, 0, 4, 3), (0, 0, 4, 3), (7, 17, 13, 23)], rtol=1e-15)


def test_turns_of_a_closed_outline_and_its_arcs_make_one_turn() -> None:
    for loop in (DOME, BITTEN):
        table = SegmentTable.of([loop])
        assert_allclose(table.turns().sum() + table.sweep.sum(), tau, rtol=1e-14)


def test_a_loop_travelled_backwards_has_the_opposite_area_and_the_same_places() -> None:
    table = SegmentTable.of([DOME, CIRCLE])
    turned, rows = table.flipped(np.array([True, False]))
    assert_allclose(turned.areas_and_centroids()[0], [-(4 + 2 * pi), -9 * pi], rtol=1e-14)
    assert rows.tolist() == [3, 2, 1, 0, 4]
    backwards = SegmentTable.of([[segment.reversed() for segment in reversed(DOME)], CIRCLE])
    assert_allclose(turned.start, backwards.start, atol=1e-15)
    assert_allclose(turned.angle + turned.sweep, backwards.angle + backwards.sweep, atol=1e-15)


def test_flattening_stays_within_the_tolerance_and_keeps_the_ends() -> None:
    arc = Arc((1.0, 2.0), 5.0, 0.3, 2.0)
    points = flatten_segments([arc], tolerance=1e-3)
    middles = 0.5 * (points[1:] + points[:-1])
    sagitta = 5.0 - np.hypot(middles[:, 0] - 1.0, middles[:, 1] - 2.0)
    assert sagitta.max() <= 1e-3
    assert sagitta.max() > 0.5e-3
    assert_allclose(points[[0, -1]], [arc.start, arc.end], rtol=1e-15)


def test_flattening_an_arc_of_vast_radius_takes_few_points() -> None:
    nearly_straight = Arc((0.0, -1e9), 1e9, pi / 2 - 1e-9, 2e-9)
    assert 2 <= len(flatten_segments([nearly_straight], tolerance=1e-6)) <= 1e4


def random_segments(count: int) -> list[Segment]:
    rng = np.random.default_rng(5)
    segments: list[Segment] = []
    for kind, (x, y, r, a, s) in zip(rng.random(count), rng.random((count, 5)), strict=True):
        if kind < 0.5:
            segments.append(Line((x, y), (x + r - 0.5, y + a - 0.5)))
        else:
            segments.append(Arc((x, y), 0.05 + 0.3 * r, tau * a, tau * (2 * s - 1)))
    return segments


def test_distances_agree_with_shapely() -> None:
    segments = random_segments(40)
    table = SegmentTable.of([[segment] for segment in segments])
    i, j = np.triu_indices(len(segments), 1)
    strings = np.array([shapely.LineString(flatten_segments([s], tolerance=1e-7)) for s in segments])
    theirs = shapely.distance(strings[i], strings[j])
    apart = theirs > 1e-6
    ours, on_i, on_j = distances(table, i[apart], j[apart])
    # Flattening within 1e-7 on either side.
    assert_allclose(ours, theirs[apart], rtol=0, atol=2.1e-7)
    assert_allclose(np.hypot(*(on_i - on_j).T), ours, rtol=0, atol=1e-12)


def test_crossings_agree_with_shapely() -> None:
    segments = random_segments(40)
    table = SegmentTable.of([[segment] for segment in segments])
    i, j = np.triu_indices(len(segments), 1)
    strings = np.array([shapely.LineString(flatten_segments([s], tolerance=1e-7)) for s in segments])
    theirs = shapely.crosses(strings[i], strings[j])
    pair, _, crosses = crossings(table, i, j, slack=1e-9)
    ours = np.zeros(len(i), dtype=bool)
    ours[pair[crosses]] = True
    assert theirs.sum() > 30
    assert ours.tolist() == theirs.tolist()


def test_a_line_crosses_a_circle_where_pythagoras_says() -> None:
    table = SegmentTable.of([[Line((-2.0, 0.6), (2.0, 0.6))], [Arc((0.0, 0.0), 1.0, 0.5, tau)]])
    _, points, crosses = crossings(table, np.array([0]), np.array([1]), slack=1e-9)
    assert crosses.all()
    assert_allclose(sorted(points[:, 0]), [-0.8, 0.8], rtol=1e-14)


def test_a_tangent_line_meets_an_arc_without_crossing() -> None:
    table = SegmentTable.of([[Line((-2.0, 1.0), (2.0, 1.0))], [Arc((0.0, 0.0), 1.0, 0.5, tau)]])
    _, _, crosses = crossings(table, np.array([0]), np.array([1]), slack=1e-9)
    assert not crosses.any()


def test_near_pairs_are_those_whose_boxes_come_close() -> None:
    boxes = np.array([(0, 0, 1, 1), (1.5, 0, 2, 1), (5, 5, 6, 6)], dtype=float)
    i, j, complete = near_pairs(boxes, reach=0.6)
    assert (i.tolist(), j.tolist(), complete) == ([0], [1], True)
    assert near_pairs(boxes, reach=0.4)[0].tolist() == []


def test_the_distance_between_two_arcs_lies_on_the_line_of_centres() -> None:
    table = SegmentTable.of([[Arc((0.0, 0.0), 1.0, 0.0, tau)], [Arc((3.0, 4.0), 2.0, 0.0, tau)]])
    d, on_i, _ = distances(table, np.array([0]), np.array([1]))
    assert_allclose(d, [sqrt(9 + 16) - 3], rtol=1e-14)
    assert_allclose(on_i, [(0.6, 0.8)], rtol=1e-14)
