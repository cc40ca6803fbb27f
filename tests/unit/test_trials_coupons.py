"""Standard coupons: sizes, lengths, curvature, geometry and time, each against arithmetic done by hand."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi

import pytest
from numpy.testing import assert_allclose

from sample_studies import TILTING
from trialcut.errors import RangeError
from trialcut.geometry.contours import ContourRole, EdgeKind
from trialcut.geometry.outline import box_of_part
from trialcut.trials.coupon_shapes import EDGE_CUTS, coupon_drawing, coupon_part, coupon_passes, coupon_room
from trialcut.trials.coupon_time import cycle_parts, with_cycle
from trialcut.trials.coupons import block_coupon, ladder_coupon, slot_coupon
from trialcut.trials.types import FeatureKind

HALF = 0.5e-3


def block(name="T1-1", *, thickness=12.7e-3, system="metric", **given):
    given = {"speed": 2.0e-3, "offset": HALF, "kerf_half_width": HALF, **given}
    return block_coupon(name, thickness=thickness, system=system, **given)


def test_a_metric_block_is_40_by_30_with_a_12_mm_opening_up_to_25_mm():
    for thickness in (1e-3, 12.7e-3, 25e-3, 25.4e-3 - 0.4e-3):
        assert [cut.nominal for cut in block(thickness=thickness).cuts] == [0.04, 0.03, 0.012]


def test_an_inch_block_has_round_inch_sizes():
    sizes = [cut.nominal / 0.0254 for cut in block(system="inch", thickness=0.0254).cuts]
    assert_allclose(sizes, [1.5, 1.25, 0.5], rtol=1e-12)


def test_a_block_grows_with_the_thickness():
    sizes = [block(thickness=t).cut("X").nominal for t in (25e-3, 30e-3, 50e-3, 75e-3, 100e-3, 200e-3)]
    assert_allclose(sizes, [0.04, 0.06, 0.08, 0.12, 0.16, 0.32], rtol=1e-12)


def test_a_wide_kerf_makes_the_opening_grow_to_five_kerfs():
    assert block(kerf_half_width=1.2e-3).cut("H").nominal == 0.012
    assert block(kerf_half_width=1.25e-3).cut("H").nominal == pytest.approx(0.018, abs=1e-15)


def test_plate_that_is_too_thick_is_refused_with_the_thickest():
    with pytest.raises(RangeError, match="200 mm"):
        block(thickness=0.25)


def test_lengths_and_curvature_are_those_of_the_path():
    cuts = block(offset={"X": 0.4e-3, "Y": 0.5e-3, "H": 0.6e-3})
    # X lies between the two short sides, each as long as Y and mitred at both ends.
    assert_allclose(cuts.cut("X").length, 2 * (0.030 + 2 * 0.5e-3), rtol=1e-12)
    assert_allclose(cuts.cut("Y").length, 2 * (0.040 + 2 * 0.4e-3), rtol=1e-12)
    assert_allclose(cuts.cut("H").length, 2 * pi * (0.006 - 0.6e-3), rtol=1e-12)
    assert_allclose(cuts.cut("H").curvature, -1 / (0.006 - 0.6e-3), rtol=1e-12)
    assert cuts.cut("X").curvature == cuts.cut("Y").curvature == 0.0


def test_each_cut_may_have_its_own_speed_and_lean():
    given = block(speed={"X": 1e-3, "Y": 2e-3, "H": 3e-3}, tilt={"X": 0.01, "Y": 0.0, "H": 0.0}, lead=0.02)
    assert [cut.speed for cut in given.cuts] == [1e-3, 2e-3, 3e-3]
    assert [cut.tilt for cut in given.cuts] == [0.01, 0.0, 0.0]
    assert [cut.lead for cut in given.cuts] == [0.02] * 3


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"speed": 0.0}, "speed of X"),
        ({"speed": float("nan")}, "speed of X"),
        ({"speed": {"X": 1e-3}}, "not for Y"),
        ({"tilt": 2.0}, "tilt of X"),
        ({"tilt": float("nan")}, "tilt of X"),
        ({"offset": 6e-3}, "offset of X"),
        ({"offset": -1e-3}, "offset of X"),
        ({"kerf_half_width": 0.0}, "kerf_half_width"),
        ({"thickness": -1e-3}, "thickness"),
    ],
)
def test_an_impossible_block_is_refused_by_name(given, words):
    with pytest.raises(RangeError, match=words):
        block(**given)


def test_the_part_of_a_block_has_its_sizes_between_the_edges_of_each_cut():
    coupon = block()
    part = coupon_part(coupon, at=(0.1, 0.2))
    assert_allclose(box_of_part(part), (0.1, 0.2, 0.14, 0.23), rtol=1e-12)
    assert {edge.id for edge in part.edges} == set(EDGE_CUTS)
    across = {cut: [part.edge(e).start for e, c in EDGE_CUTS.items() if c == cut] for cut in ("X", "Y")}
    assert_allclose(abs(across["X"][0][0] - across["X"][1][0]), 0.04, rtol=1e-12)
    assert_allclose(abs(across["Y"][0][1] - across["Y"][1][1]), 0.03, rtol=1e-12)
    (opening,) = part.openings
    assert opening.role is ContourRole.OPENING
    assert opening.edges[0].kind is EdgeKind.CIRCLE
    assert_allclose(opening.edges[0].radius, 0.006, rtol=1e-12)
    assert_allclose(part.area, 0.04 * 0.03 - pi * 0.006**2, rtol=1e-12)


def test_a_ladder_has_a_step_for_every_speed():
    ladder = ladder_coupon("T1-2", thickness=12.7e-3, speeds=(1e-3, 2e-3, 4e-3), system="metric")
    assert [(cut.id, cut.feature, cut.speed) for cut in ladder.cuts] == [
        ("S1", FeatureKind.STEP, 1e-3),
        ("S2", FeatureKind.STEP, 2e-3),
        ("S3", FeatureKind.STEP, 4e-3),
    ]
    assert [cut.length for cut in ladder.cuts] == [0.03] * 3
    thick = ladder_coupon("T1-2", thickness=0.051, speeds=(1e-3, 2e-3), system="metric")
    assert_allclose(thick.cuts[0].length, 0.105, rtol=1e-12)


def test_a_ladder_whose_speeds_do_not_rise_is_refused():
    for speeds in ((), (1e-3,), (2e-3, 1e-3), (1e-3, 1e-3)):
        with pytest.raises(RangeError, match="faster than the one before"):
            ladder_coupon("T1-2", thickness=0.01, speeds=speeds, system="metric")
    with pytest.raises(RangeError, match="at least one"):
        slot_coupon("T1-3", thickness=0.01, speeds=(), system="metric")


def test_passes_lie_side_by_side_in_one_direction():
    slots = slot_coupon("T1-3", thickness=0.01, speeds=(1e-3, 1e-3), system="metric")
    first, second = coupon_passes(slots, system="metric", at=(1.0, 2.0))
    assert_allclose(first.length, 0.03, rtol=1e-12)
    assert_allclose([first.heading(), second.heading()], [0.0, 0.0], atol=1e-12)
    assert_allclose(second.start[1] - first.start[1], 8e-3, rtol=1e-9)


def test_coupons_lie_in_rows_with_a_gap_between_any_two():
    coupons = [block(f"T1-{n}") for n in range(1, 12)]
    coupons.insert(3, ladder_coupon("T1-L", thickness=12.7e-3, speeds=(1e-3, 2e-3), system="metric"))
    drawing = coupon_drawing(coupons, system="metric")
    assert [each.coupon.id for each in drawing.coupons] == [coupon.id for coupon in coupons]
    assert drawing.width <= 0.4
    for i, a in enumerate(drawing.coupons):
        for b in drawing.coupons[i + 1 :]:
            apart_x = max(a.corner[0], b.corner[0]) - min(a.corner[0] + a.width, b.corner[0] + b.width)
            apart_y = max(a.corner[1], b.corner[1]) - min(a.corner[1] + a.height, b.corner[1] + b.height)
            assert max(apart_x, apart_y) >= 0.015 - 1e-12
    assert drawing.placed("T1-L").passes
    assert coupon_room(coupons[0], system="metric") == (0.04, 0.03)


def test_each_plate_begins_a_row_of_its_own():
    coupons = [block("T1-1"), block("T1-2"), block("T1-3", thickness=20e-3), block("T1-4", thickness=20e-3)]
    places = [each.corner for each in coupon_drawing(coupons, system="metric").coupons]
    assert_allclose(places, [(0.0, 0.0), (0.055, 0.0), (0.0, 0.045), (0.055, 0.045)], rtol=1e-12)


def test_the_time_of_a_ladder_is_that_of_moves_done_by_hand():
    # Acceleration 0.5 m/s^2, no jerk limit: a pass of 30 mm at 2 mm/s takes 15 s and v/a = 4 ms more.
    machine = replace(TILTING, acceleration=0.5, jerk=inf, head_lift=0.0, switch_time=1.0, traverse_speed=0.1)
    ladder = ladder_coupon("T1-2", thickness=0.01, speeds=(2e-3, 4e-3), system="metric")
    parts = cycle_parts(ladder, machine, kerf_half_width=HALF, system="metric")
    assert_allclose(parts.steady, 15.0 + 7.5, rtol=1e-12)
    assert_allclose(parts.slow, 0.004 + 0.008, rtol=1e-9)
    back = (0.03**2 + 0.008**2) ** 0.5
    assert_allclose(parts.fixed, 1.0 + back / 0.1 + 0.1 / 0.5, rtol=1e-9)
    assert parts.pierces == 2


def test_the_time_of_a_block_has_its_own_path_over_speed_and_one_traverse():
    coupon = with_cycle(block(), TILTING, kerf_half_width=HALF, system="metric")
    path = sum(cut.length for cut in coupon.cuts)
    parts = coupon.cycle
    assert parts.pierces == 2
    # Leads of a few millimetres come on top of the edges.
    assert path / 2e-3 < parts.steady < (path + 0.03) / 2e-3
    assert 0.0 < parts.slow < 2.0
    # One lift of 20 mm at 50 mm/s and back, one switching of 1 s, and less than 40 mm across.
    assert 1.8 < parts.fixed < 1.8 + 0.04 / 0.2 + 0.2 / 0.5


def test_slower_leads_take_longer():
    usual = cycle_parts(block(), TILTING, kerf_half_width=HALF, system="metric")
    slow = cycle_parts(block(), TILTING, kerf_half_width=HALF, system="metric", lead_speed=0.5e-3)
    assert slow.steady > usual.steady + 5.0
