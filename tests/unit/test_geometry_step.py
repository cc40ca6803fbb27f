"""STEP files of solids whose size is known, because the tests make them, become plates or are refused."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import pytest
from numpy.testing import assert_allclose

from step_files import box, cone, cut, cylinder, fused, together, turned, written
from trialcut.cli.entry import run
from trialcut.errors import DrawingError, UsageError
from trialcut.geometry.contours import EdgeKind
from trialcut.geometry.findings import FindingStatus
from trialcut.geometry.importers import read_file
from trialcut.services import (
    StudyOptions,
    load_shop,
    load_study,
    new_study_file,
    pack_study,
    study_from_options,
    unpack_study,
)

HOLE = (20.0, 20.0)


def plate(thickness=12.0):
    """80 by 40 mm, a round hole of 12 mm and a window of 20 by 10 mm."""
    return cut(
        box(80.0, 40.0, thickness),
        cylinder(6.0, 2 * thickness, (*HOLE, -1.0)),
        box(20.0, 10.0, 2 * thickness, (50.0, 15.0, -1.0)),
    )


@pytest.fixture
def read(tmp_path):
    def reader(shape, unit="MM", **options):
        return read_file(written(shape, tmp_path / "part.step", unit), **options)

    return reader


def areas(drawing):
    (part,) = drawing.parts
    return [contour.area * 1e6 for contour in part.contours]


PLAIN = [3200.0, 36.0 * pi, 200.0]


@pytest.mark.parametrize(("unit", "told"), [("MM", "mm"), ("INCH", "in"), ("M", "m")])
def test_a_plate_has_its_thickness_and_its_contours_in_true_size(read, unit, told):
    drawing = read(plate(), unit)
    assert drawing.unit == told
    assert_allclose(drawing.thickness, 0.012, rtol=0, atol=1e-9)
    assert_allclose(areas(drawing), PLAIN, rtol=1e-9)
    assert drawing.findings == ()
    part = drawing.parts[0]
    assert [edge.kind for edge in part.openings[0].edges] == [EdgeKind.CIRCLE]
    assert_allclose(part.openings[0].edges[0].segments[0].centre, (0.020, 0.020), rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("axis", "angle"), [((1, 0, 0), pi / 2), ((0, 1, 0), pi / 2), ((1, 2, 3), 0.7), ((1, 0, 0), pi)]
)
def test_a_plate_is_found_however_it_stands(read, axis, angle):
    drawing = read(turned(plate(), axis, angle, (5.0, -300.0, 7.0)))
    assert_allclose(drawing.thickness, 0.012, rtol=0, atol=1e-9)
    assert_allclose(sorted(areas(drawing)), sorted(PLAIN), rtol=1e-6)  # openings go by where they lie
    assert drawing.findings == ()


def test_a_plate_is_not_mirrored(read):
    # A foot that points to +x at the low end of y, seen from +z.
    shape = fused(box(10.0, 40.0, 5.0), box(30.0, 10.0, 5.0))
    for turned_shape in (shape, turned(shape, (0, 0, 1), 2 * pi)):
        starts = [edge.start for edge in read(turned_shape).parts[0].outline.edges]
        assert_allclose(sorted(starts)[-1], (0.030, 0.010), rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("tools", "code", "count", "words"),
    [
        ([cylinder(9.0, 4.0, (*HOLE, 8.0))], "stepped-opening", 1, "4 mm (0.1575 in)"),
        ([cone(6.0, 10.0, 4.0, (*HOLE, 8.0))], "tapered-wall", 1, "countersink"),
        ([cylinder(3.0, 6.0, (40.0, 30.0, 6.0))], "pocket-left-out", 1, "6 mm (0.2362 in) deep"),
        ([box(5.0, 40.0, 2.0, (0.0, 0.0, 10.0))], "pocket-left-out", 1, "2 mm"),
        (
            [box(9.0, 5.0, 3.0, (5.0, 3.0, 0.0)), cylinder(2.0, 4.0, (70.0, 5.0, 8.0))],
            "pocket-left-out",
            2,
            "4 mm",
        ),
        ([cylinder(2.0, 60.0, (42.0, -10.0, 6.0), (0.0, 1.0, 0.0))], "shaped-wall", 1, "cross holes"),
        (
            [turned(box(200.0, 40.0, 40.0), (1, 0, 0), pi / 4, (-50.0, 0.0, 10.0))],
            "shaped-wall",
            1,
            "chamfers",
        ),
    ],
)
def test_what_is_not_square_through_is_a_finding_and_the_rest_is_cut(read, tools, code, count, words):
    drawing = read(cut(plate(), *tools))
    assert_allclose(drawing.thickness, 0.012, rtol=0, atol=1e-9)
    assert_allclose(areas(drawing)[1:], PLAIN[1:], rtol=1e-6)
    (finding,) = drawing.findings
    assert (finding.code, finding.count) == (code, count)
    assert finding.status is FindingStatus.NEEDS_PERSON
    assert words in finding.message
    assert finding.remedy


def test_a_tapered_hole_is_cut_at_its_least_opening(read):
    drawing = read(cut(box(80.0, 40.0, 12.0), cone(5.0, 8.0, 12.0, (*HOLE, 0.0))))
    # The section is taken 0.1 um above the lower face, where the radius is 0.025 um larger.
    assert_allclose(areas(drawing)[1], 25.0 * pi, rtol=2 * 0.025e-3 / 5.0 * 1.01)
    assert [finding.code for finding in drawing.findings] == ["tapered-wall"]


def test_the_strict_door_refuses_what_is_not_square_through(read):
    with pytest.raises(DrawingError) as caught:
        read(cut(plate(), cylinder(9.0, 4.0, (*HOLE, 8.0))), strict=True)
    assert caught.value.case == "stepped-opening"


@pytest.mark.parametrize(
    ("shape", "case", "words"),
    [
        (together(plate(), box(1.0, 1.0, 1.0, (100.0, 0.0, 0.0))), "several-solids", "2 solids"),
        (fused(plate(), box(10.0, 10.0, 20.0, (0.0, 0.0, 12.0))), "not-a-plate", "3% and 100%"),
        (turned(cone(10.0, 3.0, 20.0, (0.0, 0.0, 0.0)), (1, 0, 0), 1.0), "not-a-plate", "its two flat sides"),
    ],
)
def test_what_is_no_single_plate_is_refused_in_one_line(read, shape, case, words):
    with pytest.raises(DrawingError) as caught:
        read(shape)
    assert caught.value.case == case
    assert words in caught.value.message
    assert "\n" not in caught.value.message


def test_a_shell_is_no_solid(read):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.gp import gp_Pln

    with pytest.raises(DrawingError) as caught:
        read(BRepBuilderAPI_MakeFace(gp_Pln(), 0.0, 10.0, 0.0, 10.0).Face())
    assert caught.value.case == "no-solid"


@pytest.mark.parametrize("kept", [30, 400, 3000, -2000])
def test_a_file_cut_short_is_refused(tmp_path, kept):
    path = written(plate(), tmp_path / "part.step")
    path.write_bytes(path.read_bytes()[:kept])
    with pytest.raises(DrawingError) as caught:
        read_file(path, unit="mm")
    assert caught.value.case in ("damaged-file", "no-solid")
    assert "\n" not in caught.value.message


@pytest.mark.parametrize(
    ("says", "case"), [("os.abort()", "damaged-file"), ("time.sleep(9)", "takes-too-long")]
)
def test_a_kernel_that_falls_over_or_hangs_takes_nothing_with_it(tmp_path, monkeypatch, says, case):
    path = written(plate(), tmp_path / "part.step")
    monkeypatch.setattr("trialcut.geometry.importers.step_child._RUN", f"import os, time; {says}")
    monkeypatch.setattr("trialcut.geometry.importers.step_child.TIME_LIMIT", 1.0)
    with pytest.raises(DrawingError) as caught:
        read_file(path)
    assert caught.value.case == case
    assert "\n" not in caught.value.message


def test_a_unit_is_asked_for_and_a_stated_one_goes_before_the_file(tmp_path):
    path = written(plate(), tmp_path / "part.step")
    drawing = read_file(path, unit="in")
    assert_allclose(drawing.thickness, 12 * 0.0254, rtol=1e-9)
    assert [finding.code for finding in drawing.findings] == ["unit-contradicts-file"]
    path.write_bytes(path.read_bytes().replace(b"SI_UNIT(.MILLI.,.METRE.)", b"SI_UNIT(.MILLI.,.GRAM.)"))
    with pytest.raises(DrawingError) as caught:
        read_file(path)
    assert caught.value.case == "no-unit"


def test_without_the_extra_one_line_names_it(tmp_path, monkeypatch, capsys):
    path = written(plate(), tmp_path / "part.step")
    monkeypatch.setattr("trialcut.geometry.importers.step.find_spec", lambda _: None)
    assert run(["show", str(path)]) == 3
    err = capsys.readouterr().err
    assert "pip install trialcut[step]" in err
    assert len(err.splitlines()) == 1


def test_what_a_solid_holds_is_shown_with_its_thickness_in_either_system(tmp_path, capsys):
    path = written(plate(12.7), tmp_path / "part.step", "INCH")
    assert run(["show", str(path)]) == 0
    assert "part.step, drawn in inches, a plate 0.5 in thick" in capsys.readouterr().out
    assert run(["show", str(path), "--print-in", "mm"]) == 0
    assert "a plate 12.7 mm thick" in capsys.readouterr().out


def test_a_study_of_a_solid_is_packed_and_comes_out_the_same(tmp_path):
    path = written(plate(), tmp_path / "part.step")
    (tmp_path / "part.toml").write_text(
        new_study_file(path, StudyOptions(ask="6061, sizes ±0.3 mm"), shop=load_shop(), folder=tmp_path)
        + "[draws]\nnumber = 64\n",
        encoding="utf-8",
    )
    packed = pack_study(tmp_path / "part.toml", tmp_path / "part")
    found = unpack_study(packed, tmp_path / "out")
    assert load_study(found.study).setup == load_study(tmp_path / "part.toml").setup
    assert pack_study(found.study, tmp_path / "again").read_bytes() == packed.read_bytes()


def test_a_study_takes_its_thickness_from_the_solid(tmp_path):
    path = written(plate(12.7), tmp_path / "part.step", "INCH")
    options = StudyOptions(material="6061", size="±0.010 in")
    shop = load_shop()
    study = study_from_options(path, options, shop=shop)
    assert_allclose(study.setup.thickness, 0.0127, rtol=0, atol=1e-9)
    assert study.system == "inch"
    text = new_study_file(path, options, shop=shop, folder=tmp_path)
    (tmp_path / "part.toml").write_text(text, encoding="utf-8")
    assert load_study(tmp_path / "part.toml").setup == study.setup


def test_a_thickness_that_contradicts_the_solid_is_taken_and_said(tmp_path):
    path = written(plate(), tmp_path / "part.step")
    options = StudyOptions(ask="1/4 in 6061, sizes ±0.010 in")
    study = study_from_options(path, options, shop=load_shop())
    assert_allclose(study.setup.thickness, 0.00635, rtol=1e-12)
    assert study.drawing.findings[0].code == "thickness-contradicts-file"
    alike = study_from_options(path, replace(options, ask="12 mm 6061, sizes ±0.2 mm"), shop=load_shop())
    assert alike.drawing.findings == ()


def test_a_drawing_without_a_solid_still_needs_a_thickness(tmp_path):
    (tmp_path / "flat.step").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><circle r="4"/></svg>'
    )
    with pytest.raises(UsageError) as caught:
        study_from_options(tmp_path / "flat.step", StudyOptions(material="6061"), shop=load_shop())
    assert "--thickness" in caught.value.message
