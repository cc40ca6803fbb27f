"""Paths beside contours: exact lines and arcs, against hand-made figures and against buffers of a library."""

from math import cos, hypot, pi, sin, sqrt

import pytest
import shapely
from numpy.testing import assert_allclose

from sample_parts import bracket, contour, long_bar, plate, polygon, rectangle, reverse, round_opening, wheel
from trialcut.errors import ComputationError, UnknownNameError
from trialcut.geometry.contours import ContourRole
from trialcut.geometry.curves import Arc, Line
from trialcut.geometry.offsets import offset_contour
from trialcut.geometry.outline import flatten_contour, flatten_segments

HALF = 0.5e-3
FLAT = 1e-8
"""Flattening tolerance of both shapes that are compared. [m]"""


def even(c, offset=HALF):
    return offset_contour(c, {edge.id: offset for edge in c.edges})


def gaps(path):
    segments = [segment for _, segment in path.pieces]
    return [
        hypot(after.start[0] - before.end[0], after.start[1] - before.end[1])
        for before, after in zip(segments, [*segments[1:], segments[0]], strict=True)
    ]


def buffered(c, offset):
    drawn = shapely.Polygon(flatten_contour(c, tolerance=FLAT))
    away = offset if c.role is ContourRole.OUTLINE else -offset
    return drawn.buffer(away, quad_segs=500, join_style="mitre", mitre_limit=2.0).exterior


def as_ring(path):
    points = flatten_segments([segment for _, segment in path.pieces], tolerance=FLAT)
    return shapely.LinearRing(points[:-1])


@pytest.mark.parametrize(
    "make", [bracket, plate, long_bar, lambda: wheel(61)], ids=["bracket", "plate", "bar", "wheel"]
)
def test_paths_of_plain_parts_are_the_buffers_of_a_library(make):
    for c in make().contours:
        path = even(c)
        assert_allclose(gaps(path), 0.0, atol=1e-12)
        # Two flattenings of 0.01 µm each.
        assert_allclose(as_ring(path).hausdorff_distance(buffered(c, HALF)), 0.0, atol=2.5e-8)


def test_a_rectangle_gives_a_larger_one_with_the_names_of_its_edges():
    path = even(contour("A", rectangle(0.0, 0.0, 0.03, 0.02)))
    assert [name for name, _ in path.pieces] == ["A1", "A2", "A3", "A4"]
    assert_allclose([segment.length for _, segment in path.pieces], [0.031, 0.021, 0.031, 0.021], atol=1e-15)
    assert_allclose(path.pieces[0][1].start, (-HALF, -HALF), atol=1e-15)


def test_two_different_offsets_meet_at_the_exact_crossing_of_their_lines():
    square = contour("A", rectangle(0.0, 0.0, 0.02, 0.02))
    path = offset_contour(square, {"A1": 0.4e-3, "A2": 0.6e-3, "A3": 0.4e-3, "A4": 0.6e-3})
    assert_allclose(path.pieces[0][1].start, (-0.6e-3, -0.4e-3), atol=1e-15)
    assert_allclose(path.pieces[2][1].start, (20.6e-3, 20.4e-3), atol=1e-15)


def test_inside_corners_of_lines_and_an_arc_are_trimmed_at_their_crossings():
    dome = contour(
        "A",
        [
            Line((-0.02, -0.01), (0.02, -0.01)),
            Line((0.02, -0.01), (0.02, 0.0)),
            Line((0.02, 0.0), (0.01, 0.0)),
            Arc((0.0, 0.0), 0.01, 0.0, pi),
            Line((-0.01, 0.0), (-0.02, 0.0)),
            Line((-0.02, 0.0), (-0.02, -0.01)),
        ],
    )
    pieces = dict(even(dome).pieces)
    foot = sqrt(0.0105**2 - HALF**2)
    assert_allclose(pieces["A3"].end, (foot, HALF), atol=1e-14)
    assert_allclose((*pieces["A4"].start, *pieces["A4"].end), (foot, HALF, -foot, HALF), atol=1e-14)
    assert_allclose(as_ring(even(dome)).hausdorff_distance(buffered(dome, HALF)), 0.0, atol=2.5e-8)


def test_inside_corners_of_two_arcs_are_trimmed_at_their_crossings():
    twins = contour(
        "A",
        [
            Arc((-0.006, 0.0), 0.01, 0.9272952180016122, 4.428594871176362),
            Arc((0.006, 0.0), 0.01, -2.214297435588181, 4.428594871176362),
        ],
    )
    pieces = dict(even(twins).pieces)
    assert_allclose(pieces["A1"].end, (0.0, -sqrt(0.0105**2 - 0.006**2)), atol=1e-14)
    assert_allclose(pieces["A2"].end, (0.0, sqrt(0.0105**2 - 0.006**2)), atol=1e-14)


def test_an_arc_is_left_and_met_along_its_tangents_at_outside_corners():
    bite = contour(
        "A",
        [
            Line((0.0, 0.0), (0.04, 0.0)),
            Line((0.04, 0.0), (0.04, 0.02)),
            Line((0.04, 0.02), (0.03, 0.02)),
            Arc((0.02, 0.02), 0.01, 0.0, -pi),
            Line((0.01, 0.02), (0.0, 0.02)),
            Line((0.0, 0.02), (0.0, 0.0)),
        ],
    )
    beside = [segment for name, segment in even(bite).pieces if name == "A4"]
    assert [type(segment) for segment in beside] == [Line, Arc, Line]
    assert_allclose(beside[1].radius, 0.0095, atol=1e-15)
    assert_allclose((*beside[0].start, *beside[0].end), (0.0295, 0.0205, 0.0295, 0.02), atol=1e-14)


def test_straights_with_different_offsets_that_meet_smoothly_are_joined_on_the_larger():
    runs = [
        Line((0.0, 0.0), (0.01, 0.0)),
        Line((0.01, 0.0), (0.02, 0.0)),
        Line((0.02, 0.0), (0.02, 0.01)),
        Line((0.02, 0.01), (0.0, 0.01)),
        Line((0.0, 0.01), (0.0, 0.0)),
    ]
    path = offset_contour(
        contour("A", runs), {"A1": 0.3e-3, "A2": 0.5e-3, "A3": HALF, "A4": HALF, "A5": HALF}
    )
    pieces = dict(path.pieces[:3])
    assert_allclose(pieces["A1"].end, (0.01 - sqrt(0.5**2 - 0.3**2) * 1e-3, -0.3e-3), atol=1e-12)
    assert_allclose((pieces[None].radius, pieces[None].end[0]), (HALF, 0.01), atol=1e-12)
    assert_allclose(gaps(path), 0.0, atol=1e-12)


def test_a_corner_sharper_than_a_right_angle_is_crossed_one_offset_past_it():
    spike = contour("A", polygon([(0.0, 0.0), (0.03, 0.001), (0.0, 0.002)]))
    path = even(spike)
    (across,) = [s for name, s in path.pieces if name is None and s.start[0] > 0.02]
    for point in (across.start, across.end):
        assert_allclose(hypot(point[0] - 0.03, point[1] - 0.001), sqrt(2.0) * HALF, atol=1e-12)
    assert shapely.Polygon(as_ring(path)).exterior.distance(
        shapely.Polygon([(0, 0), (0.03, 0.001), (0, 0.002)])
    ) > (HALF - 1e-9)


def test_circles_grow_outside_and_shrink_inside():
    outside = even(contour("A", [Arc((0.0, 0.0), 0.01, 0.0, 2 * pi)])).pieces[0][1]
    inside = even(round_opening("B", 0.0, 0.0, 0.01)).pieces[0][1]
    assert_allclose((outside.radius, inside.radius), (0.0105, 0.0095), atol=1e-15)


def test_an_opening_smaller_than_the_jet_has_no_path():
    path = even(round_opening("B", 0.0, 0.0, 0.4e-3))
    assert (path.pieces, path.vanished) == ((), ("B1",))
    slit = contour("B", reverse(rectangle(0.0, 0.0, 0.02, 0.8e-3)), ContourRole.OPENING)
    assert even(slit).pieces == ()
    assert even(slit).vanished == ("B1", "B2", "B3", "B4")


def test_the_edges_of_a_notch_narrower_than_the_kerf_vanish():
    mm = 1e-3
    points = [(0, 0), (20, 0), (20, 10), (10.4, 10), (10.4, 5), (9.6, 5), (9.6, 10), (0, 10)]
    path = even(contour("A", polygon([(x * mm, y * mm) for x, y in points])))
    assert path.vanished == ("A4", "A5", "A6")
    assert_allclose(as_ring(path).bounds, (-0.5e-3, -0.5e-3, 20.5e-3, 10.5e-3), atol=1e-12)


def test_a_hollow_arc_tighter_than_the_offset_vanishes():
    mm = 1e-3
    points = [(0, 0), (30 * mm, 0), (30 * mm, 10 * mm), (15 * mm, 10 * mm), (15 * mm, 20 * mm), (0, 20 * mm)]
    path = even(contour("A", polygon(points, {3: 0.3e-3})))
    assert path.vanished == ("A4",)
    assert_allclose(path.pieces[3][1].start, (15.5e-3, 10.5e-3), atol=1e-12)


def test_an_opening_with_a_neck_keeps_its_longest_loop_and_counts_the_others():
    mm = 1e-3
    points = [
        (0, 0),
        (10, 0),
        (10, 4),
        (12, 4),
        (12, 0),
        (20, 0),
        (20, 9),
        (12, 9),
        (12, 4.6),
        (10, 4.6),
        (10, 9),
        (0, 9),
    ]
    neck = contour("B", reverse(polygon([(x * mm, y * mm) for x, y in points])), ContourRole.OPENING)
    path = even(neck)
    assert path.left_out == 1
    assert_allclose(as_ring(path).length, 2.0 * (9.0 + 8.0) * mm, atol=2e-9)


def test_a_circle_in_two_thousand_straights_gives_the_path_of_the_circle():
    radius, count = 0.01, 2000
    ring = polygon(
        [(radius * cos(2 * pi * i / count), radius * sin(2 * pi * i / count)) for i in range(count)]
    )
    for c, wanted in (
        (contour("A", ring), radius + HALF),
        (contour("B", reverse(ring), ContourRole.OPENING), radius - HALF),
    ):
        path = even(c)
        assert (len(path.pieces), path.vanished) == (count, ())
        # A chord of 31 µm lies 0.012 µm within its circle.
        assert_allclose([hypot(*segment.start) for _, segment in path.pieces], wanted, atol=1.3e-8)


def test_a_cusp_is_gone_round():
    blade = contour(
        "A",
        [
            Line((0.0, 0.0), (0.02, 0.0)),
            Arc((0.02, 0.02), 0.02, -pi / 2, -pi / 2),
            Line((0.0, 0.02), (0.0, 0.0)),
        ],
    )
    path = even(blade)
    assert_allclose(gaps(path), 0.0, atol=1e-12)
    assert_allclose(max(segment.end[0] for _, segment in path.pieces), 0.0205, atol=1e-12)
    assert path.vanished == ()


def test_an_edge_without_an_offset_is_named():
    with pytest.raises(UnknownNameError, match="edge A3 has no offset"):
        offset_contour(contour("A", rectangle(0.0, 0.0, 0.03, 0.02)), {"A1": 0.0, "A2": 0.0})


def test_offsets_too_different_for_a_closed_path_are_refused_with_their_range():
    spokes = [0.0078125, 0.0078125, 0.0078125, 0.004, 0.0078125, 0.005859375]
    points = [(r * cos(2 * pi * i / 6), r * sin(2 * pi * i / 6)) for i, r in enumerate(spokes)]
    c = contour("A", polygon(points))
    assert even(c).pieces
    wild = {"A1": 5e-5, "A2": 5e-5, "A3": 5e-5, "A4": 8e-3, "A5": 3e-3, "A6": 8e-3}
    with pytest.raises(ComputationError, match=r"outline A with offsets from 0.05 mm \(.*\) to 8 mm"):
        offset_contour(c, wild)


def test_at_a_slight_outside_corner_the_path_steps_over_to_the_larger_offset():
    points = [(0.0, 0.0), (0.02, 0.0), (0.02, 0.01), (0.01, 0.01 + 1.5e-4), (0.0, 0.01)]
    path = offset_contour(
        contour("A", polygon(points)), {f"A{i}": HALF for i in (1, 2, 5)} | {"A3": 0.49e-3, "A4": HALF}
    )
    assert_allclose(gaps(path), 0.0, atol=1e-9)
    assert [name for name, _ in path.pieces] == ["A1", "A2", "A3", None, "A4", "A5"]
    step = path.pieces[3][1]
    assert_allclose((step.radius, *step.centre), (HALF, *points[3]), atol=1e-12)
