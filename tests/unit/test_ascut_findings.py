"""Outlines, marks and findings of the as-cut part, and input that no jet can cut."""

from dataclasses import replace
from math import cos, pi, sin, sqrt
from time import perf_counter

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from parts import rectangle_part
from sample_parts import contour, polygon, rectangle, reverse, wheel
from surface_cases import (
    DEPTHS,
    HALF,
    MACHINE,
    THICKNESS,
    jet_along,
    lags,
    rays,
    steady_law,
    step_part,
    widths,
)
from trialcut.ascut.findings import path_findings, smallest_opening, surface_findings
from trialcut.ascut.jet_path import jet_path
from trialcut.ascut.laid_path import lay_path
from trialcut.ascut.law import JetLaw, jet_law
from trialcut.ascut.marks import corner_marks, start_marks
from trialcut.ascut.outlines import layer_outlines
from trialcut.ascut.reach import deviation_field, deviations_of_wall
from trialcut.errors import RangeError
from trialcut.geometry.contours import Contour, ContourRole, Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line
from trialcut.motion.path_builder import cut_path
from trialcut.physics.cut import separation_speed
from trialcut.physics.parameters import central_parameters
from trialcut.services.demo import demo_study


class Cut:
    """A part cut by one law at one speed."""

    def __init__(self, part, law, *, speed=2e-3, depths=DEPTHS, offset=HALF, thickness=THICKNESS):
        self.part, self.law, self.depths, self.thickness = part, law, depths, thickness
        ids = [edge.id for edge in part.edges]
        self.path = cut_path(part, kerf_width=2.0 * HALF)
        offsets = dict.fromkeys(ids, offset)
        self.laid = lay_path(part, self.path, machine=MACHINE, offsets=offsets)
        self.jet = jet_path(
            part,
            self.path,
            machine=MACHINE,
            offsets=offsets,
            speed=dict.fromkeys(ids, speed),
            lead_speed=speed,
        )
        self.field = deviation_field(
            part, self.jet, law, depths=depths, thickness=thickness, wall_spacing=1e-3
        )

    def outlines(self):
        return layer_outlines(self.part, self.jet, self.law, depths=self.depths, thickness=self.thickness)

    def findings(self, **known):
        found = surface_findings(self.part, self.field, not_cut=self.laid.not_cut, **known)
        return {finding.code: finding for finding in found}


def test_outlines_of_a_plain_rectangle_are_its_sides_moved_by_what_the_half_width_lacks():
    cut = Cut(rectangle_part(0.04, 0.02, [(0.02, 0.01, 0.004)]), steady_law())
    for layer, width in zip(cut.outlines(), widths().tolist(), strict=True):
        (piece,) = layer.pieces
        off = HALF - width
        assert_allclose(piece.bounds, (-off, -off, 0.04 + off, 0.02 + off), atol=1e-6)
        assert_allclose(piece.interiors[0].length, 2 * pi * (0.004 - off), rtol=1e-4)
        assert_allclose(len(layer.offcuts), 1)
        assert layer.free


def test_the_walls_of_the_field_lie_on_the_outlines():
    cut = Cut(wheel(21), steady_law(lag=lags()))
    import shapely

    for layer, outline in enumerate(cut.outlines()):
        rim = shapely.union_all([shapely.boundary(piece) for piece in outline.pieces])
        wall = cut.field.wall(layer)
        known = np.isfinite(wall).all(axis=1)
        assert known.all()
        assert_allclose(shapely.distance(shapely.points(wall), rim), 0.0, atol=1e-6)


def test_a_web_between_two_openings_that_vanishes_is_found_on_the_edges_that_lose_it():
    part = replace(
        rectangle_part(0.04, 0.02),
        openings=(
            contour("B", reverse(rectangle(0.012, 0.002, 0.0155, 0.0076)), ContourRole.OPENING),
            contour("C", reverse(rectangle(0.012, 0.0104, 0.0155, 0.0076)), ContourRole.OPENING),
        ),
    )
    widening = HALF * (1.0 + 0.9 * DEPTHS)
    cut = Cut(part, steady_law(width=widening))
    # The web of 0.8 mm is gone where 2 (w - 0.5 mm) is more: in the last layer alone.
    assert_array_equal(2.0 * (widening - HALF) > 0.8e-3, DEPTHS == 1.0)
    outlines = cut.outlines()
    assert [len(layer.pieces[0].interiors) for layer in outlines] == [2] * 8 + [1]
    findings = cut.findings(outlines=outlines)
    finding = findings["wall-gone"]
    assert "from 20 mm (0.7874 in) of depth" in finding.message
    assert {part.edge(edge).contour for edge in finding.subjects} == {"B", "C"}
    assert "web-vanishes" not in findings


def test_a_part_whose_two_halves_hang_on_a_vanishing_web_falls_into_two_pieces():
    mm = 1e-3
    waist = [
        (0, 0),
        (15, 0),
        (15, 4.6),
        (25, 4.6),
        (25, 0),
        (40, 0),
        (40, 10),
        (25, 10),
        (25, 5.4),
        (15, 5.4),
        (15, 10),
        (0, 10),
    ]
    part = Part(id="1", outline=contour("A", polygon([(x * mm, y * mm) for x, y in waist])))
    cut = Cut(part, steady_law(width=HALF * (1.0 + DEPTHS)))
    outlines = cut.outlines()
    gone = 0.8 * mm < 2.0 * HALF * DEPTHS
    assert_array_equal([len(layer.pieces) for layer in outlines], np.where(gone, 2, 1))
    finding = cut.findings(outlines=outlines)["web-vanishes"]
    assert finding.message == "a web is cut through from 88% of the depth: the part falls into 2 pieces"
    assert 15 * mm - HALF <= finding.where[0] <= 25 * mm + HALF


def test_an_opening_smaller_than_the_jet_is_a_finding_that_names_the_smallest_possible():
    part = rectangle_part(0.06, 0.04, [(0.02, 0.02, 0.4e-3), (0.04, 0.02, 5e-3)])
    cut = Cut(part, steady_law(width=HALF))
    (finding,) = path_findings(part, cut.laid, cut.law, speed=2e-3)
    assert finding.code == "opening-not-cut"
    assert finding.subjects == ("B",)
    assert "the smallest that this set-up can make is 1 mm (0.03937 in) across" in finding.message
    bore = cut.field.edge == cut.field.edges.index("B1")
    assert np.isposinf(cut.field.deviation[bore]).all()
    assert cut.findings() == {}


def test_the_smallest_opening_is_the_widest_kerf_at_its_speed():
    law = JetLaw(
        speeds=np.array([1e-3, 3e-3]),
        depths=np.array([0.0, 1.0]),
        half_width=np.array([[0.5e-3, 0.6e-3], [0.5e-3, 0.3e-3]]),
        lag=np.zeros((2, 2)),
    )
    assert_allclose(smallest_opening(law, speed=1e-3), 1.2e-3, atol=1e-15)
    assert_allclose(smallest_opening(law, speed=2e-3), 1.1e-3, atol=1e-15)
    assert_allclose(smallest_opening(law, speed=3e-3), 1.0e-3, atol=1e-15)


def test_edges_that_the_jet_cannot_follow_are_named():
    mm = 1e-3
    points = [(0, 0), (20, 0), (20, 10), (10.4, 10), (10.4, 5), (9.6, 5), (9.6, 10), (0, 10)]
    part = Part(id="1", outline=contour("A", polygon([(x * mm, y * mm) for x, y in points])))
    cut = Cut(part, steady_law(width=HALF))
    (finding,) = path_findings(part, cut.laid, cut.law, speed=2e-3)
    assert (finding.code, finding.subjects) == ("edge-without-path", ("A4", "A5", "A6"))
    bottom = cut.field.edge == cut.field.edges.index("A5")
    assert np.isposinf(cut.field.deviation[bottom]).all()


def test_speed_above_separation_says_so_and_where_and_from_which_depth():
    study = demo_study()
    setup = study.setup
    central = central_parameters(setup)
    fast = 1.5 * float(separation_speed(setup=setup, parameters=central)[0])
    law = jet_law(setup=setup, parameters=central, central=central, depths=DEPTHS, fastest=1.1 * fast)
    part = rectangle_part(0.06, 0.04)
    cut = Cut(part, law, speed=fast, thickness=setup.thickness)
    straight = cut.field.fraction[cut.field.edge == 2]
    middle = cut.field.deviation[cut.field.edge == 2][np.argmin(np.abs(straight - 0.5))]
    width = np.array([np.interp(fast, law.speeds, law.half_width[:, k]) for k in range(DEPTHS.size)])
    assert_array_equal(np.isposinf(middle), width == 0.0)
    assert np.isposinf(middle[-1])
    finding = cut.findings()["jet-not-through"]
    first = DEPTHS[np.argmax(width == 0.0)] * setup.thickness
    assert f"from {first * 1e3:.4g} mm" in finding.message
    assert set(finding.subjects) == {"A1", "A2", "A3", "A4"}
    assert not cut.outlines()[-1].free


def test_a_part_that_nothing_cuts_free_is_a_finding():
    law = steady_law(width=np.where(DEPTHS > 0.9, 0.0, HALF))
    cut = Cut(rectangle_part(0.03, 0.02), law)
    outlines = cut.outlines()
    assert [layer.free for layer in outlines] == [True] * 8 + [False]
    assert "at 100% of the depth" in cut.findings(outlines=outlines)["part-not-free"].message


def test_an_inside_corner_shows_the_radius_of_the_local_half_width():
    cut = Cut(step_part(), steady_law())
    mark = next(mark for mark in corner_marks(cut.part, cut.field) if mark.turn < 0.0)
    assert (mark.before, mark.after) == ("A3", "A4")
    # A circle fitted to samples of the round, within their sag.
    assert_allclose(mark.radius, widths(), rtol=2e-2)
    assert_allclose(
        mark.standing, (sqrt(2.0) - 1.0) * widths() + (sqrt(2.0) - 1.0) * (HALF - widths()), rtol=2e-2
    )


def test_lag_beyond_the_run_past_leaves_an_outside_corner_standing():
    cut = Cut(rectangle_part(0.03, 0.02), steady_law(lag=lags(exit_lag=1.5e-3), width=HALF))
    marks = corner_marks(cut.part, cut.field)
    assert len(marks) == 4
    shallow = lags(exit_lag=1.5e-3) <= HALF
    for mark in marks:
        assert_allclose(mark.standing[shallow], 0.0, atol=1e-7)
        assert mark.standing[-1] > 0.3e-3
    finding = cut.findings(corners=marks)["corner-left-standing"]
    assert finding.count == 4
    assert "at 20 mm (0.7874 in) of depth" in finding.message


def test_a_start_leaves_a_witness_where_the_lag_is_not_made_good():
    without = Cut(rectangle_part(0.03, 0.02), steady_law(width=HALF))
    trailing = Cut(rectangle_part(0.03, 0.02), steady_law(width=HALF, lag=lags()))
    (clean,), (mark,) = (start_marks(cut.part, cut.path, cut.field) for cut in (without, trailing))
    assert_allclose((clean.standing, clean.washed), 0.0, atol=3e-7)
    assert np.maximum(mark.standing, mark.washed)[-1] > 20e-6
    assert mark.edge == trailing.path.runs[0].start_edge


def test_marks_and_outlines_are_of_one_certain_part():
    one = steady_law()
    law = JetLaw(
        speeds=one.speeds,
        depths=one.depths,
        half_width=one.half_width[..., None],
        lag=one.lag[..., None],
        speed_exponent=0.0,
    )
    cut = Cut(rectangle_part(0.03, 0.02), law)
    with pytest.raises(RangeError, match="choose a draw"):
        corner_marks(cut.part, cut.field)
    with pytest.raises(RangeError, match="choose a draw"):
        cut.outlines()


def test_a_thickness_of_nothing_is_refused():
    with pytest.raises(RangeError, match="thickness 0 m must be above zero"):
        Cut(rectangle_part(0.03, 0.02), steady_law(), thickness=0.0)


def test_a_jet_that_stands_still_cuts_a_disc():
    jet = jet_along(np.zeros((1, 2)), np.array([[1.0, 0.0]]))
    angle = np.linspace(0.0, 2 * pi, 7)
    out = np.column_stack((np.cos(angle), np.sin(angle)))
    found = deviations_of_wall(rays(0.7e-3 * out, -out), jet, steady_law(), thickness=THICKNESS)
    assert_allclose(found, np.tile(0.7e-3 - widths(), (7, 1)), atol=2e-8)
    elsewhere = jet_along(
        np.array([[0.02, 0.0], [0.03, 0.0], [0.0, 0.0], [0.05, 0.0]]),
        np.tile((1.0, 0.0), (4, 1)),
        run=np.array([0, 0, 1, 2]),
    )
    among = deviations_of_wall(rays(0.7e-3 * out, -out), elsewhere, steady_law(), thickness=THICKNESS)
    assert_allclose(among, found, atol=2e-8)


def test_coincident_contours_and_micro_segments_are_cut_like_one():
    single = rectangle_part(0.04, 0.02, [(0.02, 0.01, 0.004)])
    twice = replace(
        single,
        openings=(
            single.openings[0],
            replace(
                single.openings[0],
                id="C",
                edges=(replace(single.openings[0].edges[0], id="C1", contour="C"),),
            ),
        ),
    )
    once, both = Cut(single, steady_law(width=HALF)), Cut(twice, steady_law(width=HALF))
    for name in ("B1", "C1"):
        bore = both.field.edge == both.field.edges.index(name)
        assert_allclose(
            both.field.deviation[bore],
            once.field.deviation[once.field.edge == once.field.edges.index("B1")],
            atol=2e-7,
        )


def facets(count, *, radius=0.02, wave=0.2):
    turn = [2 * pi * i / count for i in range(count)]
    size = [radius * (1.0 + wave * sin(7 * a)) for a in turn]
    points = [(r * cos(a), r * sin(a)) for r, a in zip(size, turn, strict=True)]
    return [Line(p, q) for p, q in zip(points, [*points[1:], points[0]], strict=True)]


def test_a_circle_of_micro_segments_is_cut_like_a_circle():
    def disc(edges):
        outline = Contour(id="A", role=ContourRole.OUTLINE, edges=edges, corners=(), area=pi * 4e-4)
        return Part(id="1", outline=outline)

    segments = tuple(facets(3000, wave=0.0))
    rough = disc((Edge(id="A1", contour="A", kind=EdgeKind.FREE, segments=segments),))
    circle = Arc((0.0, 0.0), 0.02, 0.0, 2 * pi)
    smooth = disc((Edge(id="A1", contour="A", kind=EdgeKind.CIRCLE, segments=(circle,)),))
    law = steady_law(lag=lags())
    walls = []
    for part in (rough, smooth):
        cut = Cut(part, law)
        away = np.abs(cut.field.fraction - cut.path.runs[0].start_fraction)
        away = np.minimum(away, 1.0 - away)
        walls.append(np.median(cut.field.deviation[away > 0.2], axis=0))
    # Chords of the path lie 0.1 µm within it; the exit trails along the facet, up to half of its 42 µm nearer
    # or farther than along the circle, which at a lag of 1.2 mm is 1.26 µm across.
    assert_allclose(walls[0], walls[1], atol=1.5e-6)


def test_an_outline_of_a_hundred_thousand_edges_takes_bounded_time():
    lines = facets(100_000, radius=0.1)
    edge = Edge(id="A1", contour="A", kind=EdgeKind.FREE, segments=tuple(lines))
    part = Part(
        id="1",
        outline=Contour(id="A", role=ContourRole.OUTLINE, edges=(edge,), corners=(), area=pi * 0.01),
    )
    start = perf_counter()
    laid = lay_path(part, cut_path(part, kerf_width=2.0 * HALF), machine=MACHINE, offsets={"A1": HALF})
    # Some 5 s on the machine it was written on; the bound only tells linear from quadratic.
    assert perf_counter() - start < 120.0
    assert (laid.not_cut, laid.vanished, laid.left_out) == ((), (), {})
    assert len(laid.segments) > 99_000
