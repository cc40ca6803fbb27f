"""Features of parts, and what a kerf makes of them. Lengths in metres."""

from __future__ import annotations

from math import pi, sqrt, tan, tau

import numpy as np
import shapely
from numpy.testing import assert_allclose

from trialcut.geometry.assemble import assemble
from trialcut.geometry.contours import Feature, FeatureKind, Part
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.features import with_features
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.geometry.gather import Gatherer
from trialcut.geometry.importers.shapes import bulge_segment, conic_segments
from trialcut.geometry.kerf_findings import findings_for_kerf, widest_disc
from trialcut.geometry.narrows import narrow_places
from trialcut.geometry.outline import polygon_of_part
from trialcut.geometry.pieces import Piece

KERF = 1.0e-3


def ring(*points: Point) -> Piece:
    return Piece(tuple(Line(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)), closed=True)


def box(x: float, y: float, w: float, h: float) -> Piece:
    return ring((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def circle(x: float, y: float, r: float) -> Piece:
    return Piece((Arc((x, y), r, 0.0, tau),), closed=True)


def bulged(*vertices: tuple[float, float, float]) -> Piece:
    segments = [
        bulge_segment(a[:2], b[:2], a[2]) for a, b in zip(vertices, vertices[1:] + vertices[:1], strict=True)
    ]
    return Piece(tuple(segments), closed=True)


def part_of(*pieces: Piece) -> Part:
    (part,) = with_features(assemble(pieces, Gatherer(strict=True)))
    return part


def named(part: Part, kind: FeatureKind) -> list[Feature]:
    return [feature for feature in part.features if feature.kind is kind]


def found(part: Part, code: str, *, kerf_width: float = KERF, thickness: float = 0.01) -> Finding | None:
    findings = findings_for_kerf(part, kerf_width=kerf_width, thickness=thickness)
    return next((finding for finding in findings if finding.code == code), None)


PLATE = box(0.0, 0.0, 0.1, 0.06)


def test_a_circle_in_a_plate_is_a_round_opening_of_its_diameter() -> None:
    (feature,) = named(part_of(PLATE, circle(0.05, 0.03, 0.006)), FeatureKind.ROUND_OPENING)
    assert (feature.edges, feature.measure, feature.where) == (("B1",), 0.012, (0.05, 0.03))


#      .--------.
#     (          )    two half circles of 4 mm radius, 20 mm between centres
#      `--------'
def test_two_straights_and_two_half_circles_are_a_slot_of_its_width() -> None:
    slot = bulged((0.04, 0.026, 0.0), (0.06, 0.026, 1.0), (0.06, 0.034, 0.0), (0.04, 0.034, 1.0))
    (feature,) = named(part_of(PLATE, slot), FeatureKind.SLOT)
    assert feature.edges == ("B1", "B2", "B3", "B4")
    assert_allclose((feature.measure, *feature.where), (0.008, 0.05, 0.03), rtol=1e-12)


def test_an_arc_between_two_tangent_straights_is_a_corner_radius() -> None:
    quarter = tan(pi / 8)
    plate = bulged(
        (0.0, 0.0, 0.0), (0.09, 0.0, quarter), (0.1, 0.01, 0.0), (0.1, 0.06, 0.0), (0.0, 0.06, 0.0)
    )
    (feature,) = named(part_of(plate), FeatureKind.CORNER_RADIUS)
    assert_allclose(
        (feature.measure, *feature.where), (0.01, 0.09 + 0.01 * sqrt(0.5), 0.01 * (1 - sqrt(0.5)))
    )


def test_corners_of_a_square_opening_are_sharp_inside_corners_and_those_of_the_outline_are_not() -> None:
    sharp = named(part_of(PLATE, box(0.04, 0.02, 0.02, 0.02)), FeatureKind.SHARP_INSIDE_CORNER)
    assert [feature.edges for feature in sharp] == [("B1", "B2"), ("B2", "B3"), ("B3", "B4"), ("B4", "B1")]


def test_a_web_is_the_least_thickness_between_two_openings() -> None:
    part = part_of(PLATE, circle(0.04, 0.03, 0.004), circle(0.05, 0.03, 0.004))
    (web,) = named(part, FeatureKind.WEB)
    assert web.edges == ("B1", "C1")
    assert_allclose((web.measure, *web.where), (0.002, 0.045, 0.03), rtol=1e-12)


def test_a_web_between_an_opening_and_the_edge_of_the_plate() -> None:
    (web,) = named(part_of(PLATE, circle(0.05, 0.007, 0.004)), FeatureKind.WEB)
    assert web.edges == ("A1", "B1")
    assert_allclose(web.measure, 0.003, rtol=1e-12)


def test_a_web_from_the_corner_of_an_opening() -> None:
    diamond = ring((0.05, 0.002), (0.06, 0.03), (0.05, 0.05), (0.04, 0.03))
    (web,) = [w for w in named(part_of(PLATE, diamond), FeatureKind.WEB) if "A1" in w.edges][:1]
    assert_allclose((web.measure, *web.where), (0.002, 0.05, 0.001), rtol=1e-12)


def test_the_way_across_a_slot_is_no_web_and_the_way_round_a_corner_is_none() -> None:
    assert named(part_of(PLATE, box(0.04, 0.03, 0.02, 0.003)), FeatureKind.WEB) == []
    quarter = tan(pi / 8)
    plate = bulged(
        (0.0, 0.0, 0.0), (0.099, 0.0, quarter), (0.1, 0.001, 0.0), (0.1, 0.06, 0.0), (0.0, 0.06, 0.0)
    )
    assert named(part_of(plate), FeatureKind.WEB) == []


def test_a_web_is_not_seen_through_an_opening() -> None:
    part = part_of(PLATE, *(circle(0.04 + 0.003 * k, 0.03, 0.001) for k in range(3)))
    assert [web.edges for web in named(part, FeatureKind.WEB)] == [("B1", "C1"), ("C1", "D1")]


def test_a_web_beside_an_ellipse_is_its_distance_by_shapely() -> None:
    segments, _ = conic_segments((0.05, 0.03), (0.03, 0.004), (-0.0036, 0.027), 0.0, tau)
    part = part_of(PLATE, Piece(segments, free=True, closed=True))
    polygon = polygon_of_part(part, tolerance=1e-7)
    theirs = shapely.distance(shapely.LinearRing(polygon.exterior), shapely.LinearRing(polygon.interiors[0]))
    least = min(web.measure for web in named(part, FeatureKind.WEB))
    # Both sides are flattened within 1 um or less.
    assert_allclose(least, theirs, rtol=0, atol=1e-6)


def test_the_neck_of_a_free_outline_is_a_web() -> None:
    t = np.linspace(0, tau, 721)[:-1]
    r = 0.02 * (0.55 + 0.45 * np.cos(2 * t))
    neck = ring(*zip((r * np.cos(t)).tolist(), (r * np.sin(t)).tolist(), strict=True))
    (web,) = named(part_of(neck), FeatureKind.WEB)
    # Waist of the curve at a right angle to its long axis.
    assert_allclose(web.measure, 2 * 0.02 * 0.1, rtol=1e-6)


def test_a_part_below_the_pitch_of_slats_is_small() -> None:
    (feature,) = named(part_of(box(0.0, 0.0, 0.03, 0.02)), FeatureKind.SMALL_PART)
    assert feature.measure == 0.03
    assert named(part_of(PLATE), FeatureKind.SMALL_PART) == []


def test_many_parts_at_once_have_the_features_of_each_alone() -> None:
    parts = assemble(
        [box(0.1 * k, 0.0, 0.06, 0.04) for k in range(3)]
        + [circle(0.1 * k + 0.03, 0.02, 0.01 + 0.003 * k) for k in range(3)],
        Gatherer(strict=True),
    )
    together = with_features(parts)
    assert [part.features for part in together] == [with_features([part])[0].features for part in parts]


# -- what depends on the kerf ------------------------------------------------------------------------


def test_sharp_inside_corners_are_counted_and_the_radius_left_is_half_the_kerf() -> None:
    finding = found(part_of(PLATE, box(0.04, 0.02, 0.02, 0.02)), "inside-corner-too-sharp")
    assert finding is not None
    assert finding.count == 4
    assert "0.5 mm" in finding.message
    assert finding.subjects[0] == "B1/B2"


def test_an_inside_radius_counts_if_it_is_below_that_of_the_jet() -> None:
    quarter = tan(pi / 8)

    def opening(r: float) -> Piece:
        return bulged((0.04, 0.02, 0.0), (0.06 - r, 0.02, quarter), (0.06, 0.02 + r, 0.0), (0.06, 0.04, 0.0))

    tight = found(part_of(PLATE, opening(0.0004)), "inside-corner-too-sharp")
    wide = found(part_of(PLATE, opening(0.0006)), "inside-corner-too-sharp")
    assert tight is not None
    assert wide is not None
    assert (tight.count, wide.count) == (3, 2)


def test_an_opening_narrower_than_the_jet_names_the_smallest_that_can_be_made() -> None:
    part = part_of(PLATE, circle(0.05, 0.03, 0.0004), circle(0.07, 0.03, 0.0006))
    finding = found(part, "opening-too-small")
    assert finding is not None
    assert (finding.count, finding.subjects, finding.status) == (1, ("B",), FindingStatus.NEEDS_PERSON)
    assert "0.8 mm" in finding.message
    assert "wider than 1 mm" in finding.message


def test_the_widest_disc_in_a_triangle_is_its_inscribed_circle() -> None:
    part = part_of(PLATE, ring((0.03, 0.02), (0.033, 0.02), (0.033, 0.024)))
    # A 3-4-5 triangle has an inscribed circle of diameter 2.
    assert_allclose(widest_disc(part.openings[0]), 0.002, rtol=0, atol=4e-6)


def test_a_notch_narrower_than_the_jet_is_a_passage() -> None:
    #   +---+ +---+
    #   |   | |   |    0.8 mm wide, 10 mm deep
    #   |   +-+   |
    #   +---------+
    right, left = [(0.1, 0.06), (0.0508, 0.06), (0.0508, 0.05)], [(0.05, 0.05), (0.05, 0.06), (0.0, 0.06)]
    notched = ring((0.0, 0.0), (0.1, 0.0), *right, *left)
    part = part_of(notched)
    (place,) = [
        p
        for p in narrow_places([part], limit=KERF, through_material=False).of_part[0]
        if p.edges == ("A4", "A6")
    ]
    assert_allclose(place.width, 0.0008, rtol=1e-9)
    finding = found(part, "passage-too-narrow")
    assert finding is not None
    assert "0.8 mm" in finding.message
    assert found(part, "passage-too-narrow", kerf_width=0.0007) is None


def test_a_thin_web_is_named_with_its_sides() -> None:
    part = part_of(PLATE, circle(0.04, 0.03, 0.004), circle(0.0492, 0.03, 0.004))
    finding = found(part, "thin-web")
    assert finding is not None
    assert finding.subjects == ("B1", "C1")
    assert "1.2 mm" in finding.message
    assert found(part, "thin-web", kerf_width=0.0007) is None


def test_a_small_part_may_fall_and_a_narrow_one_may_tip() -> None:
    small, narrow, large = (
        part_of(box(0, 0, 0.03, 0.02)),
        part_of(box(0, 0, 0.3, 0.02)),
        part_of(box(0, 0, 0.3, 0.2)),
    )
    falls, tips = found(small, "part-may-fall"), found(narrow, "part-may-tip")
    assert falls is not None
    assert tips is not None
    # 30 mm by 20 mm by 10 mm.
    assert "6 cm³" in falls.message
    assert found(large, "part-may-fall") is None
    assert found(large, "part-may-tip") is None


def test_the_mass_of_a_small_part_is_given_if_the_density_is_known() -> None:
    (finding,) = findings_for_kerf(
        part_of(box(0, 0, 0.03, 0.02)), kerf_width=KERF, thickness=0.01, density=2700.0
    )
    assert "16.2 g" in finding.message


def test_bulge_of_one_is_a_half_circle() -> None:
    segment: Segment = bulge_segment((0.0, 0.0), (2.0, 0.0), 1.0)
    assert isinstance(segment, Arc)
    assert_allclose((*segment.centre, segment.radius, segment.sweep), (1.0, 0.0, 1.0, pi), atol=1e-15)
    # Positive bulges turn left, so the arc passes below the chord.
    assert_allclose(segment.point(0.5), (1.0, -1.0), atol=1e-15)
