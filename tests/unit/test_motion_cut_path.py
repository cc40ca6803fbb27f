"""Order, starts, pierces and leads on parts that can be checked by eye."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import pytest
import shapely
from numpy.testing import assert_allclose

from parts import plate_with_openings, rectangle_part, ring_part
from sample_parts import contour, polygon, rectangle, reverse, slot_opening
from trialcut.errors import RangeError
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Arc, Line
from trialcut.geometry.outline import flatten_contour, polygon_of_part
from trialcut.motion.path import CutPath
from trialcut.motion.path_builder import cut_path

KERF = 1.0e-3


def run_of(path: CutPath, name: str):
    return next(run for run in path.runs if run.contour == name)


def test_openings_are_cut_before_their_outline():
    path = cut_path(rectangle_part(0.1, 0.06, [(0.03, 0.03, 0.005), (0.07, 0.03, 0.005)]), kerf_width=KERF)
    assert path.runs[-1].contour == "A"
    assert sorted(run.contour for run in path.runs) == ["A", "B", "C"]
    assert path.findings == ()


def test_an_outline_starts_in_the_middle_of_its_longest_straight_edge():
    #        A3
    #    +---------+
    # A4 |         | A2
    #    +---------+
    #        A1
    run = cut_path(rectangle_part(0.1, 0.06), kerf_width=KERF).runs[0]
    assert (run.start_edge, run.start_fraction) == ("A1", 0.5)
    # A quarter circle of 3 mm below the edge, coming up from the left.
    assert_allclose(run.pierce, (0.047, -0.003), atol=1e-12)
    assert isinstance(run.lead_in[0], Arc)
    assert_allclose(run.lead_in[-1].end, (0.05, 0.0), atol=1e-12)
    assert_allclose(run.lead_in[-1].heading(1.0) % (2 * pi), 0.0, atol=1e-12)


def test_a_start_keeps_off_edges_that_a_witness_would_harm():
    run = cut_path(rectangle_part(0.1, 0.06), kerf_width=KERF, avoid={"A1", "A3"}).runs[0]
    assert run.start_edge in {"A2", "A4"}
    assert run.start_fraction == 0.5


def test_with_every_edge_demanded_the_start_is_an_outside_corner_met_on_the_extension_of_its_edge():
    run = cut_path(
        rectangle_part(0.1, 0.06),
        kerf_width=KERF,
        avoid={"A1", "A2", "A3", "A4"},
        avoid_corners={("A4", "A1")},
    ).runs[0]
    assert (run.start_edge, run.start_fraction) == ("A3", 0.0)
    assert isinstance(run.lead_in[0], Line)
    assert_allclose(run.lead_in[0].start, (0.103, 0.06), rtol=1e-12)
    assert_allclose(run.lead_in[0].end, (0.1, 0.06), rtol=1e-12)
    assert_allclose(run.lead_out[0].start, (0.1, 0.06))
    assert_allclose(run.lead_out[0].end[0], 0.1)
    assert run.lead_out[0].end[1] > 0.06


def test_with_every_edge_and_corner_demanded_the_start_is_the_middle_of_the_longest_edge():
    edges = {"A1", "A2", "A3", "A4"}
    corners = {("A1", "A2"), ("A2", "A3"), ("A3", "A4"), ("A4", "A1")}
    run = cut_path(rectangle_part(0.1, 0.06), kerf_width=KERF, avoid=edges, avoid_corners=corners).runs[0]
    assert (run.start_edge, run.start_fraction) == ("A1", 0.5)


def test_a_large_round_opening_is_pierced_at_the_usual_distance_from_its_wall():
    run = run_of(cut_path(ring_part(0.06, 0.035), kerf_width=KERF), "B")
    assert_allclose(hypot(*run.pierce), 0.032, rtol=1e-12)


def test_a_small_round_opening_is_pierced_in_its_centre():
    run = run_of(cut_path(ring_part(0.03, 0.002), kerf_width=KERF), "B")
    assert_allclose(run.pierce, (0.0, 0.0), atol=1e-12)


def test_the_lead_grows_with_the_kerf():
    run = cut_path(rectangle_part(0.1, 0.06), kerf_width=2e-3).runs[0]
    assert_allclose(run.pierce[1], -4e-3, rtol=1e-12)


def test_a_given_lead_length_is_used():
    run = cut_path(rectangle_part(0.1, 0.06), kerf_width=KERF, lead_length=8e-3).runs[0]
    assert_allclose(run.pierce[1], -8e-3, rtol=1e-12)


def test_an_opening_narrower_than_its_pierce_is_a_finding_and_pierced_in_its_middle():
    path = cut_path(rectangle_part(0.1, 0.06, [(0.05, 0.03, 0.0005)]), kerf_width=KERF)
    (finding,) = path.findings
    assert finding.code == "opening-too-small-for-lead"
    assert finding.subjects == ("B",)
    assert "\n" not in finding.message
    assert_allclose(run_of(path, "B").pierce, (0.05, 0.03), atol=1e-12)


def test_a_slot_narrower_than_its_pierce_is_a_finding():
    part = Part(
        id="1",
        outline=contour("A", rectangle(0, 0, 0.1, 0.06)),
        openings=(slot_opening("B", 0.05, 0.03, 0.04, 0.0008),),
    )
    (finding,) = cut_path(part, kerf_width=KERF).findings
    assert finding.code == "opening-too-small-for-lead"


def test_a_narrow_slot_is_pierced_between_its_walls():
    part = Part(
        id="1",
        outline=contour("A", rectangle(0, 0, 0.1, 0.06)),
        openings=(slot_opening("B", 0.05, 0.03, 0.04, 0.0024),),
    )
    path = cut_path(part, kerf_width=KERF)
    assert path.findings == ()
    walls = polygon_of_part(part).interiors[0]
    assert shapely.distance(walls, shapely.Point(run_of(path, "B").pierce)) >= 0.6e-3


def test_an_opening_with_a_long_thin_arm_is_started_in_its_wide_room():
    # A square of 10 mm with a slit 0.3 mm wide and 80 mm long running out of it.
    points = [(0, 0), (0.01, 0), (0.01, 0.00485), (0.09, 0.00485), (0.09, 0.00515), (0.01, 0.00515)]
    points += [(0.01, 0.01), (0, 0.01)]
    keyhole = contour("B", reverse(polygon(points)), ContourRole.OPENING)
    part = Part(id="1", outline=contour("A", rectangle(-0.01, -0.01, 0.12, 0.03)), openings=(keyhole,))
    path = cut_path(part, kerf_width=KERF)
    assert path.findings == ()
    x, y = run_of(path, "B").pierce
    assert_allclose(min(x, 0.01 - x, y, 0.01 - y), 3e-3, atol=1e-9)


def test_a_start_in_a_notch_too_narrow_for_a_lead_is_given_up_for_another_place():
    # The two long edges of a slit 0.5 mm wide come first by length, but no lead fits between them.
    #
    #   +-------------------+
    #   |  =================|  slit, open to the right
    #   +-------------------+
    points = [(0, 0), (0.1, 0), (0.1, 0.02), (-0.02, 0.02), (-0.02, 0.0205), (0.1, 0.0205)]
    points += [(0.1, 0.04), (-0.03, 0.04), (-0.03, 0.0)]
    part = Part(id="1", outline=contour("A", polygon([*points[1:], points[0]])))
    path = cut_path(part, kerf_width=KERF)
    assert path.findings == ()
    x, y = path.runs[0].pierce
    assert y < 0.0 or y > 0.04 or x < -0.03


def test_an_opening_whose_edges_all_lie_in_arms_too_thin_for_the_jet_is_a_finding():
    # Three arms, each narrowing to a point, about a middle that would just take the pierce.
    points = []
    for k in range(3):
        for radius, turn in ((0.01, 0.0), (0.0011, pi / 3)):
            angle = -(2 * pi * k / 3 + turn)
            points.append((0.05 + radius * cos(angle), 0.03 + radius * sin(angle)))
    star = contour("B", polygon(points), ContourRole.OPENING)
    part = Part(id="1", outline=contour("A", rectangle(0, 0, 0.1, 0.06)), openings=(star,))
    # The inner corners have room for a lead on the extension of an edge; with them demanded, nothing has.
    assert cut_path(part, kerf_width=KERF).findings == ()
    corners = {(corner.before, corner.after) for corner in star.corners}
    (finding,) = cut_path(part, kerf_width=KERF, avoid_corners=corners).findings
    assert finding.code == "lead-touches-part"
    assert finding.subjects == ("B",)
    assert "1 mm (0.0394 in)" in finding.message


def test_a_window_whose_corners_turn_inward_is_started_on_a_straight():
    window = contour("B", reverse(rectangle(0.03, 0.02, 0.04, 0.02)), ContourRole.OPENING)
    part = Part(id="1", outline=contour("A", rectangle(0, 0, 0.1, 0.06)), openings=(window,))
    run = run_of(cut_path(part, kerf_width=KERF, avoid={"B1", "B2", "B3", "B4"}), "B")
    assert run.start_fraction == 0.5


def test_approaches_are_the_distances_between_exits_and_pierces():
    part = rectangle_part(0.1, 0.06, [(0.03, 0.03, 0.005), (0.07, 0.03, 0.005)])
    path = cut_path(part, kerf_width=KERF, start_at=(-0.05, -0.05))
    here = (-0.05, -0.05)
    for run in path.runs:
        assert_allclose(run.approach, hypot(run.pierce[0] - here[0], run.pierce[1] - here[1]))
        here = run.lead_out[-1].end


def passes_over(part: Part, path: CutPath) -> int:
    """How often a traverse crosses an opening that is already cut, except those it leaves."""
    slugs = {opening.id: shapely.Polygon(flatten_contour(opening)).buffer(-1e-6) for opening in part.openings}
    times = 0
    for k in range(1, len(path.runs)):
        before = path.runs[k - 1]
        leave = before.lead_out[-1].end if before.lead_out else before.lead_in[-1].end
        leg = shapely.LineString([leave, path.runs[k].pierce])
        times += sum(leg.intersects(slugs[run.contour]) for run in path.runs[: k - 1])
    return times


def test_the_head_does_not_pass_over_a_slug_where_it_can_go_round():
    part = rectangle_part(0.2, 0.04, [(x, 0.02, 0.008) for x in (0.1, 0.04, 0.16, 0.07, 0.13)])
    path = cut_path(part, kerf_width=KERF, start_at=(-0.01, 0.02))
    assert passes_over(part, path) == 0
    assert path.findings == ()


def test_a_longer_way_is_taken_to_keep_off_a_slug():
    # The shortest order from below is B, then C behind it; back down to the outline's start it would pass
    # over B. So C comes first.
    part = rectangle_part(0.12, 0.12, [(0.06, 0.06, 0.045), (0.06, 0.112, 0.003)])
    path = cut_path(part, kerf_width=KERF, start_at=(0.06, -0.01), avoid={"A2", "A3", "A4"})
    assert [run.contour for run in path.runs] == ["C", "B", "A"]
    assert passes_over(part, path) == 0


def test_passing_over_a_slug_that_cannot_be_avoided_is_a_finding():
    # Each hook starts halfway up its bar, and the other's foot lies between there and the outline's start.
    #
    #    |         |
    #  B |         | C
    #    | --------+
    #    +--------
    #        A1
    def hook(name, points):
        return contour(name, reverse(polygon([(x / 100, y / 100) for x, y in points])), ContourRole.OPENING)

    part = Part(
        id="1",
        outline=contour("A", rectangle(-0.08, -0.06, 0.16, 0.16)),
        openings=(
            hook("B", [(-5.5, -3.5), (4, -3.5), (4, -2.5), (-4.5, -2.5), (-4.5, 8), (-5.5, 8)]),
            hook("C", [(-4, -1.5), (5.5, -1.5), (5.5, 8), (4.5, 8), (4.5, -0.5), (-4, -0.5)]),
        ),
    )
    path = cut_path(part, kerf_width=KERF, avoid={"A2", "A3", "A4"})
    (finding,) = path.findings
    assert finding.code == "traverse-over-slug"
    assert finding.count == passes_over(part, path) == 1


@pytest.mark.parametrize("change", [{"kerf_width": 0.0}, {"kerf_width": KERF, "lead_length": -1.0}])
def test_a_kerf_or_lead_of_no_width_fails_with_one_line(change):
    with pytest.raises(RangeError, match="above zero"):
        cut_path(rectangle_part(0.1, 0.06), **change)


def test_a_grid_of_openings_is_cut_on_a_short_route():
    part = plate_with_openings(100)
    path = cut_path(part, kerf_width=KERF)
    travelled = sum(run.approach for run in path.runs[1:-1])
    # No route is shorter than the pitch a step, less the lead-out; row by row with returns takes 3.5 m.
    assert travelled <= 1.15 * 99 * 0.02
    assert path.findings == ()
