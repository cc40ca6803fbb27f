"""The coupon drawing, read back by the library that wrote it and by our own importer."""

from __future__ import annotations

from io import StringIO
from itertools import pairwise

import ezdxf
import pytest
from numpy.testing import assert_allclose

from sample_coupons import sample_trial
from trialcut.geometry.importers import read_dxf
from trialcut.geometry.outline import box_of_part
from trialcut.papers.coupon_dxf import coupon_dxf, id_strokes
from trialcut.papers.strokes import ALPHABET, text_strokes, text_width
from trialcut.trials.coupon_shapes import coupon_drawing
from trialcut.trials.coupons import block_coupon, ladder_coupon

UNIT = {"metric": 1e-3, "inch": 0.0254}
MICROMETRE = 1e-6


@pytest.fixture(scope="module", params=["metric", "inch"])
def case(request):
    system = request.param
    trial = sample_trial(system=system, blocks=6)
    data = coupon_dxf(trial.coupons, system=system)
    return system, trial, data, ezdxf.read(StringIO(data.decode()))


def test_the_file_passes_the_audit_and_states_its_unit(case):
    system, _, _, document = case
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.header["$INSUNITS"] == {"metric": 4, "inch": 1}[system]
    assert {entity.dxf.layer for entity in document.modelspace()} == {"cut", "scribe"}


def test_our_importer_finds_every_block_within_a_micrometre(case, tmp_path):
    system, trial, data, _ = case
    # Passes are open by intention: the importer is asked about the blocks alone.
    blocks = [coupon for coupon in trial.coupons if coupon.kind == "block"]
    path = tmp_path / "coupons.dxf"
    path.write_bytes(coupon_dxf(blocks, system=system))
    drawing = read_dxf(path)
    assert drawing.unit == {"metric": "mm", "inch": "in"}[system]
    assert [finding.code for finding in drawing.findings] == ["layer-left-out"]
    wanted = coupon_drawing(blocks, system=system)
    assert len(drawing.parts) == len(blocks)
    for part, placed in zip(drawing.parts, wanted.coupons, strict=True):
        assert_allclose(box_of_part(part), box_of_part(placed.part), rtol=0, atol=MICROMETRE)
        (opening,) = part.openings
        (drawn,) = placed.part.openings
        assert_allclose(opening.edges[0].radius, drawn.edges[0].radius, rtol=0, atol=MICROMETRE)
        assert_allclose(
            opening.edges[0].segments[0].centre, drawn.edges[0].segments[0].centre, rtol=0, atol=MICROMETRE
        )
        assert_allclose(part.area, placed.part.area, rtol=0, atol=MICROMETRE * placed.part.length)
    assert data != path.read_bytes()


def test_passes_are_lines_on_the_cut_layer_in_order(case):
    system, trial, _, document = case
    wanted = [
        line for placed in coupon_drawing(trial.coupons, system=system).coupons for line in placed.passes
    ]
    lines = document.modelspace().query("LINE[layer=='cut']")
    assert len(lines) == len(wanted) == 7
    for line, drawn in zip(lines, wanted, strict=True):
        ends = [(point.x * UNIT[system], point.y * UNIT[system]) for point in (line.dxf.start, line.dxf.end)]
        assert_allclose(ends, [drawn.start, drawn.end], rtol=0, atol=MICROMETRE)


def test_scribed_strokes_keep_off_every_cut(case):
    system, trial, _, document = case
    unit = UNIT[system]
    placed = coupon_drawing(trial.coupons, system=system)
    strokes = [
        [(x * unit, y * unit) for x, y in line.get_points("xy")]
        for line in document.modelspace().query("LWPOLYLINE[layer=='scribe']")
    ]
    assert len(strokes) == sum(len(list(id_strokes(each))) for each in placed.coupons)
    for each in placed.coupons:
        x, y = each.corner
        here = [
            point
            for stroke in strokes
            for point in stroke
            if x <= point[0] <= x + each.width and y <= point[1] <= y + each.height
        ]
        assert here
        for point in here:
            if each.part is not None:
                sides = (point[0] - x, x + each.width - point[0], point[1] - y, y + each.height - point[1])
                centre = (x + each.width / 2, y + each.height / 2)
                from_opening = (
                    (point[0] - centre[0]) ** 2 + (point[1] - centre[1]) ** 2
                ) ** 0.5 - each.coupon.cut("H").nominal / 2
                assert min(*sides, from_opening) >= 2.4e-3
            for line in each.passes:
                beside = point[0] < line.start[0] or point[0] > line.end[0]
                gap = abs(point[1] - line.start[1]) if not beside else line.start[0] - point[0]
                assert gap > 1.5e-3


def test_the_same_coupons_give_the_same_bytes(case):
    system, trial, data, _ = case
    assert coupon_dxf(trial.coupons, system=system) == data


def test_long_ids_and_many_steps_stay_on_their_coupon():
    long = block_coupon(
        "T1234-LONG-ID-17", thickness=0.01, speed=1e-3, offset=5e-4, system="metric", kerf_half_width=5e-4
    )
    ladder = ladder_coupon(
        "T1234-18", thickness=0.01, speeds=[k * 1e-3 for k in range(1, 13)], system="metric"
    )
    for placed in coupon_drawing([long, ladder], system="metric").coupons:
        points = [point for stroke in id_strokes(placed) for point in stroke]
        left, bottom = placed.corner
        assert min(x for x, _ in points) >= left - 1e-9
        assert max(x for x, _ in points) <= left + placed.width + 1e-9
        assert min(y for _, y in points) >= bottom - 1e-9


def test_every_letter_stays_on_its_grid_and_looks_like_no_other():
    seen = {}
    for character in ALPHABET:
        strokes = list(text_strokes(character, at=(0.0, 0.0), height=6.0))
        for stroke in strokes:
            assert len(stroke) >= 2
            for a, b in pairwise(stroke):
                assert a != b
            for x, y in stroke:
                assert 0.0 <= x <= 4.0
                assert 0.0 <= y <= 6.0
        seen[character] = str(strokes)
    assert set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-") <= set(ALPHABET)
    assert len(set(seen.values())) == len(ALPHABET)
    assert_allclose(text_width("T7-2", height=6.0), 3 * 6 + 4, rtol=1e-12)
