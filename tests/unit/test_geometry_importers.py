"""Units, layers, plain entities and the size limit of the drawing intake."""

from __future__ import annotations

from math import pi
from pathlib import Path

import ezdxf
import pytest
from numpy.testing import assert_allclose

from trialcut.errors import DataError, DrawingError
from trialcut.geometry.curves import Arc, Line
from trialcut.geometry.importers import read_dxf
from trialcut.geometry.importers.layers import named_for_construction
from trialcut.geometry.importers.plain import take_plain
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text, unit_of_header

LINE = ["0", "LINE", "8", "CUT", "10", "1.0", "20", "2.0", "11", "3.0", "21", "4.0"]


def entity_section(*tags: str) -> str:
    return "\n".join(["0", "SECTION", "2", "ENTITIES", *tags, "0", "ENDSEC", "0", "EOF", ""])


def square(path: Path, *, units: int = 4, side: float = 2.0, version: str = "R2010") -> Path:
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    document.modelspace().add_lwpolyline([(0, 0), (side, 0), (side, side), (0, side)], close=True)
    document.saveas(path)
    return path


@pytest.mark.parametrize(
    ("code", "metres"),
    [(1, 0.0254), (2, 0.3048), (4, 1e-3), (5, 1e-2), (6, 1.0), (9, 2.54e-5), (13, 1e-6), (14, 0.1)],
)
def test_the_unit_of_the_header_is_exact(tmp_path: Path, code: int, metres: float) -> None:
    # Codes of $INSUNITS as the DXF reference lists them, from memory; ezdxf uses the same.
    drawing = read_dxf(square(tmp_path / "u.dxf", units=code, side=100.0))
    assert_allclose(drawing.parts[0].edge("A1").length, 100.0 * metres, rtol=1e-15)
    assert unit_of_header(code) == drawing.unit


def test_header_codes_agree_with_ezdxf() -> None:
    for code, factor in enumerate(ezdxf.units.METER_FACTOR):
        unit = unit_of_header(code)
        if unit is not None and factor is not None:
            # Their table gives units to the metre, with float noise in the inch.
            assert_allclose(METRES_PER_UNIT[unit], 1.0 / factor, rtol=1e-6)


@pytest.mark.parametrize("text", ["in", "inch", "Inches", '"', "MM", "millimeters", "thou", "mil", "µm"])
def test_a_unit_may_be_written_in_the_usual_ways(text: str) -> None:
    assert unit_from_text(text) in METRES_PER_UNIT


def test_an_unknown_unit_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(DrawingError, match="'furlong' is not a drawing unit; say one of in, ft, mm"):
        unit_from_text("furlong")


def test_a_drawing_without_a_unit_asks_for_one_and_names_both_sizes(tmp_path: Path) -> None:
    with pytest.raises(DrawingError) as caught:
        read_dxf(square(tmp_path / "u.dxf", units=0, side=2.5))
    sizes = "2.5 x 2.5 would be 2.5 x 2.5 in or 2.5 x 2.5 mm"
    assert str(caught.value) == f"the file states no unit: {sizes}; say --units in or --units mm"
    assert caught.value.exit_status == 3


def test_a_stated_unit_that_contradicts_the_file_is_taken_and_reported(tmp_path: Path) -> None:
    drawing = read_dxf(square(tmp_path / "u.dxf", units=4), unit="in")
    assert drawing.unit == "in"
    assert_allclose(drawing.parts[0].area, (2 * 0.0254) ** 2, rtol=1e-14)
    assert [finding.code for finding in drawing.findings] == ["unit-contradicts-file"]


def test_a_stated_unit_that_agrees_is_not_reported(tmp_path: Path) -> None:
    assert read_dxf(square(tmp_path / "u.dxf", units=4), unit="mm").findings == ()


def test_the_size_limit_is_a_parameter(tmp_path: Path) -> None:
    path = square(tmp_path / "u.dxf")
    with pytest.raises(DataError, match="more than the 0 MB"):
        read_dxf(path, size_limit=1000)


@pytest.mark.parametrize(
    "name", ["CONSTRUCTION", "A-CENTER", "centerlines", "my_dims", "Text 2", "TITLE", "Defpoints"]
)
def test_layers_named_for_construction_are_left_out(name: str) -> None:
    assert named_for_construction(name)


@pytest.mark.parametrize("name", ["0", "CUT", "Outline", "through", "Contextual", "layer1", "Untitled"])
def test_other_layers_are_cut(name: str) -> None:
    assert not named_for_construction(name)


def test_a_plain_line_is_taken_out_of_the_text() -> None:
    (line,), rest = take_plain(entity_section(*LINE))
    assert (line.dxftype(), line.dxf.layer) == ("LINE", "CUT")
    assert (tuple(line.dxf.start), tuple(line.dxf.end)) == ((1.0, 2.0, 0.0), (3.0, 4.0, 0.0))
    assert rest == entity_section()


@pytest.mark.parametrize(
    "frill",
    [
        ["210", "0.0", "220", "0.0", "230", "-1.0"],
        ["67", "1"],
        ["60", "1"],
        ["102", "{X", "330", "1F", "102", "}"],
        ["1001", "APP", "1000", "text"],
        ["10", "5.0"],
    ],
)
def test_a_line_with_frills_is_left_for_the_library(frill: list[str]) -> None:
    text = entity_section(*LINE, *frill)
    assert take_plain(text) == ([], text)


def test_a_line_without_an_end_or_with_a_word_for_a_number_is_left_for_the_library() -> None:
    for text in (entity_section(*LINE[:-2]), entity_section(*LINE[:-1], "four")):
        assert take_plain(text) == ([], text)


def test_a_line_in_a_block_is_left_for_the_library() -> None:
    text = entity_section(*LINE).replace("ENTITIES", "BLOCKS")
    assert take_plain(text) == ([], text)


def test_circles_and_arcs_stay_exact(tmp_path: Path) -> None:
    document = ezdxf.new("R2010")
    document.units = 4
    space = document.modelspace()
    space.add_arc((10, 20), 7, 30, 210)
    space.add_line((10 + 7 * -(3**0.5) / 2, 16.5), (10 + 7 * (3**0.5) / 2, 23.5))
    document.saveas(tmp_path / "a.dxf")
    (part,) = read_dxf(tmp_path / "a.dxf").parts
    arc = next(s for edge in part.edges for s in edge.segments if isinstance(s, Arc))
    assert (arc.centre, arc.radius) == ((0.01, 0.02), 0.007)
    assert_allclose(abs(arc.sweep), pi, rtol=1e-15)
    assert_allclose(part.area, pi * 0.007**2 / 2, rtol=1e-12)
    assert sum(isinstance(s, Line) for edge in part.edges for s in edge.segments) == 1


def test_windows_line_ends_are_read(tmp_path: Path) -> None:
    path = square(tmp_path / "u.dxf")
    before = read_dxf(path)
    path.write_bytes(path.read_bytes().replace(b"\r\n", b"\n").replace(b"\n", b"\r\n"))
    assert read_dxf(path) == before


def test_layer_names_in_other_alphabets_are_kept(tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    document.units = 4
    document.layers.add("Konstruktion_ä").off()
    space = document.modelspace()
    space.add_circle((0, 0), 5)
    space.add_line((0, 0), (1, 0), dxfattribs={"layer": "Konstruktion_ä"})
    document.saveas(tmp_path / "a.dxf")
    (finding,) = read_dxf(tmp_path / "a.dxf").findings
    assert (finding.code, finding.count) == ("layer-left-out", 1)
    assert "Konstruktion_ä" in finding.message
