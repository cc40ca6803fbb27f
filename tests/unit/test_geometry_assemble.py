"""Loose lines and arcs to parts: gaps, doubles, junctions, nesting, edges. Lengths in metres."""

from __future__ import annotations

from math import pi, sqrt, tau

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.errors import DrawingError
from trialcut.geometry.assemble import assemble
from trialcut.geometry.chain import chain
from trialcut.geometry.contours import ContourRole, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.edges import CornerRule, NamedLoop, build_contours, letters
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.geometry.gather import Gatherer
from trialcut.geometry.junctions import pair_ends
from trialcut.geometry.mend import Loop
from trialcut.geometry.pieces import Piece


def ring(*points: Point) -> list[Segment]:
    return [Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]


def box(x: float, y: float, w: float, h: float) -> list[Segment]:
    return ring((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def circle(x: float, y: float, r: float) -> Piece:
    return Piece((Arc((x, y), r, 0.0, tau),), closed=True)


def loose(segments: list[Segment]) -> list[Piece]:
    return [Piece((segment,)) for segment in segments]


def read(pieces: list[Piece], *, gap: float | None = None) -> tuple[tuple[Part, ...], list[Finding]]:
    notes = Gatherer()
    return assemble(pieces, notes, gap=gap), notes.findings


def codes(findings: list[Finding]) -> dict[str, int]:
    return {finding.code: finding.count for finding in findings}


#      D-------C
#      |       |      60 mm by 40 mm; edges are counted from the lower left
#      A-------B
def test_a_rectangle_has_four_straight_edges_counted_from_the_lower_left() -> None:
    (part,), findings = read(loose(box(0.0, 0.0, 0.06, 0.04)))
    assert [edge.id for edge in part.edges] == ["A1", "A2", "A3", "A4"]
    assert [edge.kind for edge in part.edges] == [EdgeKind.STRAIGHT] * 4
    assert [edge.start for edge in part.edges] == [(0.0, 0.0), (0.06, 0.0), (0.06, 0.04), (0.0, 0.04)]
    assert_allclose([corner.turn for corner in part.outline.corners], pi / 2, rtol=1e-14)
    assert [(c.before, c.after) for c in part.outline.corners][-1] == ("A4", "A1")
    assert findings == []


def test_an_opening_runs_clockwise_so_that_its_corners_turn_inward() -> None:
    (part,), _ = read(loose(box(0.0, 0.0, 0.06, 0.04)) + loose(box(0.02, 0.01, 0.01, 0.01)))
    (opening,) = part.openings
    assert opening.role is ContourRole.OPENING
    assert [edge.start for edge in opening.edges][:2] == [(0.02, 0.01), (0.02, 0.02)]
    assert_allclose([corner.turn for corner in opening.corners], -pi / 2, rtol=1e-14)
    assert_allclose(part.area, 0.06 * 0.04 - 0.01**2, rtol=1e-13)


def test_openings_are_lettered_row_by_row() -> None:
    holes = [circle(0.05, 0.01, 0.002), circle(0.01, 0.03, 0.002), circle(0.01, 0.01, 0.002)]
    (part,), _ = read(loose(box(0.0, 0.0, 0.06, 0.04)) + holes)
    centres = [opening.edges[0].segments[0].centre for opening in part.openings]  # type: ignore[union-attr]
    assert [opening.id for opening in part.openings] == ["B", "C", "D"]
    assert centres == [(0.01, 0.01), (0.05, 0.01), (0.01, 0.03)]


def test_letters_go_on_after_z() -> None:
    names = letters()
    all_of_them = [next(names) for _ in range(704)]
    assert all_of_them[25:28] == ["Z", "AA", "AB"]
    assert all_of_them[701:704] == ["ZZ", "AAA", "AAB"]


# -- gaps --------------------------------------------------------------------------------------------


def with_gap(size: float) -> list[Piece]:
    lines = box(0.0, 0.0, 0.06, 0.04)
    return loose([Line((size, 0.0), (0.06, 0.0)), *lines[1:]])


def test_a_gap_of_rounding_is_closed_without_a_word() -> None:
    (part,), findings = read(with_gap(5e-8))
    assert findings == []
    assert part.edge("A1").start == part.edge("A4").end


@pytest.mark.parametrize(
    ("size", "code", "status"),
    [
        (1.9e-5, "gap-closed", FindingStatus.FIXED),
        (2.1e-5, "wide-gap-closed", FindingStatus.NOT_FIXED),
        (4.9e-4, "wide-gap-closed", FindingStatus.NOT_FIXED),
    ],
)
def test_a_gap_is_closed_and_reported_with_its_size(size: float, code: str, status: FindingStatus) -> None:
    (part,), (finding,) = read(with_gap(size))
    assert (finding.code, finding.status, finding.count) == (code, status, 1)
    assert f"{size * 1e3:.4g} mm" in finding.message
    assert_allclose(finding.where, (size / 2, 0.0), atol=1e-12)
    assert len(part.outline.edges) == 4


def test_a_wider_gap_stays_open_and_says_where() -> None:
    parts, (finding,) = read(with_gap(6e-4))
    assert parts == ()
    assert (finding.code, finding.status) == ("open-contour", FindingStatus.NEEDS_PERSON)
    assert "gap of 0.6 mm" in finding.message
    assert finding.where in {(0.0, 0.0), (6e-4, 0.0)}


def test_a_stated_gap_is_taken_and_no_wider_one_tried() -> None:
    assert read(with_gap(3e-5), gap=1e-5)[0] == ()
    (part,), (finding,) = read(with_gap(2e-3), gap=3e-3)
    assert finding.code == "gap-closed"
    assert len(part.outline.edges) == 4


def test_a_line_gives_way_to_an_arc_across_a_gap() -> None:
    #    .--.
    #   |    |     the arc stays exact; the straight comes to it
    #   +----+
    pieces = loose([Arc((0.0, 0.0), 0.02, 0.0, pi), Line((-0.02, 1e-5), (0.02, -1e-5))])
    (part,), findings = read(pieces)
    assert codes(findings) == {"gap-closed": 2}
    arc = next(edge.segments[0] for edge in part.edges if edge.kind is EdgeKind.ARC)
    assert isinstance(arc, Arc)
    assert (arc.centre, arc.radius) == ((0.0, 0.0), 0.02)
    straight = next(edge for edge in part.edges if edge.kind is EdgeKind.STRAIGHT)
    assert_allclose((straight.start, straight.end), ((-0.02, 0.0), (0.02, 0.0)), atol=1e-15)


def test_segments_shorter_than_the_gap_are_not_swallowed() -> None:
    points = [(0.01 * np.cos(t), 0.01 * np.sin(t)) for t in np.linspace(0, tau, 6001)[:-1].tolist()]
    (part,), findings = read(loose(ring(*points)))
    assert findings == []
    assert [edge.kind for edge in part.edges] == [EdgeKind.FREE]
    # A polygon of 6000 sides, thinned within 0.1 um of its outline.
    assert_allclose(part.outline.area, 3000 * np.sin(tau / 6000) * 1e-4, rtol=0, atol=1e-7 * 0.063)


# -- doubles and junctions ---------------------------------------------------------------------------


def test_a_line_drawn_three_times_counts_as_two_doubles() -> None:
    lines = box(0.0, 0.0, 0.06, 0.04)
    (part,), findings = read(loose([*lines, lines[0], lines[0].reversed()]))
    assert codes(findings) == {"duplicate": 2}
    assert len(part.outline.edges) == 4


def test_two_parts_may_share_a_side_drawn_for_each() -> None:
    parts, findings = read(
        [
            Piece(tuple(box(0.0, 0.0, 0.06, 0.04)), closed=True),
            Piece(tuple(box(0.06, 0.0, 0.06, 0.04)), closed=True),
        ]
    )
    assert_allclose([part.area for part in parts], 0.0024, rtol=1e-13)
    assert codes(findings) == {"contours-touch": 2}


def test_two_parts_that_meet_in_a_corner_stay_two() -> None:
    parts, findings = read(loose(box(0.0, 0.0, 0.06, 0.04) + box(0.06, 0.04, 0.06, 0.04)))
    assert_allclose([part.area for part in parts], 0.0024, rtol=1e-13)
    assert codes(findings) == {"contours-touch": 1}


def test_a_line_across_a_part_is_left_out_and_the_outline_goes_straight_on() -> None:
    #   +----+----+
    #   |    |    |
    #   +----+----+
    bottom = [Line((0.0, 0.0), (0.03, 0.0)), Line((0.03, 0.0), (0.06, 0.0))]
    top = [Line((0.06, 0.04), (0.03, 0.04)), Line((0.03, 0.04), (0.0, 0.04))]
    sides = [Line((0.06, 0.0), (0.06, 0.04)), Line((0.0, 0.04), (0.0, 0.0))]
    (part,), findings = read(loose([*bottom, *top, *sides, Line((0.03, 0.0), (0.03, 0.04))]))
    assert codes(findings) == {"branching": 1, "stray-line": 1}
    assert len(part.outline.edges) == 4


def test_a_tree_of_stray_lines_is_pruned() -> None:
    twigs = [
        Line((0.0, 0.0), (-0.01, 0.0)),
        Line((-0.01, 0.0), (-0.02, 0.01)),
        Line((-0.01, 0.0), (-0.02, -0.01)),
    ]
    (part,), findings = read(loose(box(0.0, 0.0, 0.06, 0.04) + twigs))
    assert len(part.outline.edges) == 4
    assert sum(finding.count for finding in findings if finding.code == "stray-line") == 3


def test_pairs_at_a_junction_go_straight_and_never_fold() -> None:
    right, up, left = 0.0, pi / 2, pi
    assert pair_ends([right, up, left]) == [(0, 2)]
    assert sorted(pair_ends([right, up, up, left])) in ([(0, 1), (2, 3)], [(0, 2), (1, 3)])
    assert pair_ends([right]) == []


def test_many_ends_at_one_point_are_paired_in_bounded_time() -> None:
    assert len(pair_ends([0.01 * k for k in range(200)])) == 100


def test_chaining_keeps_a_closed_piece_as_it_is() -> None:
    result = chain([circle(0.0, 0.0, 0.01)])
    assert [len(loop.segments) for loop in result.loops] == [1]
    assert result.open_runs == []


# -- nesting -----------------------------------------------------------------------------------------


def test_a_part_in_an_opening_is_a_part_of_its_own() -> None:
    parts, (finding,) = read([circle(0.0, 0.0, r) for r in (0.01, 0.02, 0.03)])
    assert [(part.id, len(part.openings)) for part in parts] == [("1", 1), ("2", 0)]
    assert (finding.code, finding.subjects) == ("part-in-opening", ("2",))


def test_parts_are_numbered_row_by_row_whatever_their_order_in_the_file() -> None:
    boxes = [box(0.1, 0.0, 0.02, 0.02), box(0.0, 0.1, 0.03, 0.03), box(0.0, 0.0, 0.02, 0.02)]
    parts, _ = read([piece for b in boxes for piece in loose(b)])
    assert [part.edge("A1").start for part in parts] == [(0.0, 0.0), (0.1, 0.0), (0.0, 0.1)]


# -- edges -------------------------------------------------------------------------------------------


def outline_of(segments: list[Segment], free: bool = False) -> list[tuple[str, str, int]]:
    (contour,) = build_contours(
        [NamedLoop(loop=Loop(segments, [free] * len(segments)), id="A", role=ContourRole.OUTLINE)]
    )
    return [(edge.id, edge.kind.value, len(edge.segments)) for edge in contour.edges]


def slot(r: float = 0.005, length: float = 0.02) -> list[Segment]:
    return [
        Line((0.0, -r), (length, -r)),
        Arc((length, 0.0), r, -pi / 2, pi),
        Line((length, r), (0.0, r)),
        Arc((0.0, 0.0), r, pi / 2, pi),
    ]


def test_a_slot_has_four_edges_with_smooth_corners() -> None:
    (part,), _ = read(loose(slot()))
    assert [edge.kind.value for edge in part.edges] == ["straight", "arc", "straight", "arc"]
    assert [corner.turn for corner in part.outline.corners] == [0.0] * 4


def test_a_small_slot_has_four_edges_too() -> None:
    assert len(outline_of(slot(r=0.0005, length=0.0015))) == 4


def test_a_run_of_short_lines_is_one_free_edge() -> None:
    wave = [(x, 0.004 * np.sin(150 * x)) for x in np.linspace(0, 0.06, 241).tolist()]
    edges = outline_of(ring(*wave, (0.06, 0.04), (0.0, 0.04)))
    assert [kind for _, kind, _ in edges] == ["free", "straight", "straight", "straight"]
    assert edges[0] == ("A1", "free", 240)


def test_a_straight_into_a_facetted_fillet_is_an_edge_of_its_own() -> None:
    fillet = [(0.05 + 0.01 * np.sin(t), 0.01 - 0.01 * np.cos(t)) for t in np.linspace(0, pi / 2, 19).tolist()]
    edges = outline_of(ring((0.0, 0.0), *fillet, (0.06, 0.04), (0.0, 0.04)))
    assert [kind for _, kind, _ in edges] == ["straight", "free", "straight", "straight", "straight"]


@pytest.mark.parametrize(("degrees", "edges"), [(0.9, 4), (1.1, 5)])
def test_between_long_lines_a_turn_over_one_degree_is_a_corner(degrees: float, edges: int) -> None:
    rise = 0.03 * np.tan(np.radians(degrees))
    assert len(outline_of(ring((0.0, 0.0), (0.03, 0.0), (0.06, rise), (0.06, 0.04), (0.0, 0.04)))) == edges


def test_the_corner_rule_is_a_parameter() -> None:
    octagon = ring(*[(0.01 * np.cos(t), 0.01 * np.sin(t)) for t in (np.arange(8) * pi / 4).tolist()])
    loop = NamedLoop(loop=Loop(octagon, [False] * 8), id="A", role=ContourRole.OUTLINE)
    (lenient,) = build_contours([loop], rule=CornerRule(turn_long=1.0, turn_short=1.0))
    (usual,) = build_contours([loop])
    assert (len(lenient.edges), len(usual.edges)) == (1, 8)


def test_a_spline_mark_keeps_a_run_of_arcs_together_and_apart_from_lines() -> None:
    arcs: list[Segment] = [Arc((0.0, 0.0), 0.02, 0.0, 1.0), Arc((0.0, 0.0), 0.02, 1.0, pi - 1.0)]
    loop = Loop([*arcs, Line((-0.02, 0.0), (0.02, 0.0))], [True, True, False])
    (contour,) = build_contours([NamedLoop(loop=loop, id="A", role=ContourRole.OUTLINE)])
    assert sorted(edge.kind.value for edge in contour.edges) == ["free", "straight"]


def test_a_circle_is_one_edge_without_corners() -> None:
    (part,), _ = read([circle(0.0, 0.0, 0.01)])
    assert [edge.kind for edge in part.edges] == [EdgeKind.CIRCLE]
    assert part.outline.corners == ()
    assert part.edge("A1").start == (0.01, 0.0)
    assert part.edge("A1").closed


def test_a_closed_free_edge_knows_that_it_is_closed() -> None:
    points = [(0.01 * np.cos(t), 0.02 * np.sin(t)) for t in np.linspace(0, tau, 201)[:-1].tolist()]
    (part,), _ = read(loose(ring(*points)))
    assert part.edge("A1").closed


# -- what is wrong with contours ---------------------------------------------------------------------


def test_a_figure_of_eight_is_reported_where_it_crosses() -> None:
    _, findings = read([Piece(tuple(ring((0.0, 0.0), (0.03, 0.03), (0.03, 0.0), (0.0, 0.02))), closed=True)])
    (finding,) = findings
    assert (finding.code, finding.count) == ("self-crossing", 1)
    # The diagonal y = x meets y = 0.02 (1 - x / 0.03).
    assert_allclose(finding.where, (0.012, 0.012), rtol=1e-12)


def test_crossing_contours_are_named() -> None:
    _, (finding,) = read([*loose(box(0.0, 0.0, 0.06, 0.04)), circle(0.06, 0.02, 0.008)])
    assert (finding.code, finding.count) == ("contours-cross", 2)
    assert finding.subjects == ("A of part 1", "A of part 2")


def test_an_opening_that_touches_its_outline_is_reported() -> None:
    _, (finding,) = read([*loose(box(0.0, 0.0, 0.06, 0.04)), circle(0.02, 0.008, 0.008)])
    assert (finding.code, finding.count, finding.subjects) == ("contours-touch", 1, ("A", "B"))
    assert_allclose(finding.where, (0.02, 0.0), atol=1e-12)


def test_a_strict_gatherer_raises_the_first_finding() -> None:
    with pytest.raises(DrawingError) as caught:
        assemble(with_gap(1e-5), Gatherer(strict=True))
    assert caught.value.case == "gap-closed"


def test_a_diamond_has_edges_of_the_length_that_pythagoras_gives() -> None:
    (part,), _ = read(loose(ring((0.0, -0.01), (0.01, 0.0), (0.0, 0.01), (-0.01, 0.0))))
    assert_allclose([edge.length for edge in part.edges], 0.01 * sqrt(2), rtol=1e-14)
    # Two corners are equally near the lower left of the box; the lower one is first.
    assert part.edge("A1").start == (0.0, -0.01)
