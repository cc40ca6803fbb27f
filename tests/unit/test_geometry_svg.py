"""SVG drawings become the parts that they show, or one line says why not. Sizes are known by construction."""

from __future__ import annotations

from math import pi

import ezdxf
import pytest
from numpy.testing import assert_allclose

from trialcut.errors import DrawingError
from trialcut.geometry.contours import EdgeKind
from trialcut.geometry.curves import Line
from trialcut.geometry.findings import FindingStatus
from trialcut.geometry.importers import read_dxf, read_file
from trialcut.geometry.importers.svg_path import path_traces
from trialcut.geometry.outline import box_of_segments

PAGE = 'width="100mm" height="50mm" viewBox="0 0 100 50"'
PLATE = '<rect x="10" y="10" width="80" height="30"/>'


@pytest.fixture
def read(tmp_path):
    def reader(body: str, page: str = PAGE, head: str = "", **options):
        text = f'{head}<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>'
        (tmp_path / "part.svg").write_text(text, encoding="utf-8")
        return read_file(tmp_path / "part.svg", **options)

    return reader


def box(drawing, part=0):
    return box_of_segments(s for edge in drawing.parts[part].outline.edges for s in edge.segments)


def codes(drawing):
    return [finding.code for finding in drawing.findings]


@pytest.mark.parametrize(
    ("page", "unit", "width"),
    [
        (PAGE, "mm", 80.0e-3),
        ('width="10cm" viewBox="0 0 100 50"', "cm", 80.0e-3),
        ('width="2in" height="1in" viewBox="0 0 100 50"', "in", 0.8 * 2.0 * 0.0254),
        ('height="72pt" viewBox="0 0 100 50"', "in", 0.8 * 2.0 * 0.0254),
        ('height="6pc" viewBox="0 0 100 50"', "in", 0.8 * 2.0 * 0.0254),
        ('width="400q" height="50mm" viewBox="0 0 100 50"', "mm", 80.0e-3),
        ('width="200mm" height="50mm" viewBox="0 0 100 50"', "mm", 80.0e-3),
        ('width="200mm" height="50mm" viewBox="0 0 100 50" preserveAspectRatio="none"', "mm", 160.0e-3),
    ],
)
def test_the_size_of_the_page_decides(read, page, unit, width):
    drawing = read(PLATE, page)
    left, _, right, _ = box(drawing)
    assert_allclose(right - left, width, rtol=1e-12)
    assert drawing.unit == unit
    assert drawing.findings == ()


@pytest.mark.parametrize(
    "page", ['width="96px" height="48px" viewBox="0 0 100 50"', 'width="96px"', 'width="1in" height="1in"']
)
def test_a_page_in_pixels_is_read_at_96_to_the_inch_and_that_is_said(read, page):
    drawing = read(PLATE, page)
    scale = 0.96 if "viewBox" in page else 1.0
    left, _, right, _ = box(drawing)
    assert_allclose(right - left, scale * 80.0 / 96.0 * 0.0254, rtol=1e-12)
    assert codes(drawing) == ["read-in-pixels"]
    assert drawing.findings[0].status is FindingStatus.NOT_FIXED


@pytest.mark.parametrize("page", ["", 'viewBox="0 0 100 50"', 'width="100" height="50"', 'width="100%"'])
def test_a_page_without_a_unit_needs_one_to_be_said(read, page):
    with pytest.raises(DrawingError) as caught:
        read(PLATE, page)
    assert caught.value.case == "no-unit"
    assert "80 x 30 would be 80 x 30 in or 80 x 30 mm; say --units in or --units mm" in caught.value.message
    left, _, right, _ = box(read(PLATE, page, unit="in"))
    assert_allclose(right - left, 80.0 * 0.0254, rtol=1e-12)


def test_a_unit_that_is_said_goes_before_the_page_and_that_is_said(read):
    assert codes(read(PLATE, unit="mm")) == []
    drawing = read(PLATE, unit="in")
    assert drawing.unit == "in"
    assert codes(drawing) == ["unit-contradicts-file"]


def test_the_drawing_is_not_mirrored(read):
    # An L whose foot points right, as on the screen; y grows downwards there.
    drawing = read('<polygon points="10,10 20,10 20,30 40,30 40,40 10,40"/>')
    xs = [segment.start for edge in drawing.parts[0].outline.edges for segment in edge.segments]
    assert_allclose(sorted(xs)[0], (0.010, 0.010), atol=1e-12)
    assert_allclose(max(xs), (0.040, 0.020), atol=1e-12)


def test_an_svg_and_a_dxf_of_one_part_are_the_same_part(read, tmp_path):
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(10, 10), (90, 10), (90, 40), (10, 40)], close=True)
    space.add_circle((30, 25), 6)
    space.add_lwpolyline([(50, 20, 0), (60, 20, 1), (60, 30, 0), (50, 30, 1)], format="xyb", close=True)
    document.saveas(tmp_path / "part.dxf")
    other = read_dxf(tmp_path / "part.dxf").parts[0]
    part = read(
        PLATE + '<circle cx="30" cy="25" r="6"/><path d="M50 20h10a5 5 0 010 10h-10a5,5,0,0,1,0-10z"/>'
    ).parts[0]
    assert [edge.id for edge in part.edges] == [edge.id for edge in other.edges]
    assert [edge.kind for edge in part.edges] == [edge.kind for edge in other.edges]
    assert_allclose([edge.length for edge in part.edges], [edge.length for edge in other.edges], rtol=1e-9)
    assert_allclose(
        [(*edge.start, *edge.end) for edge in part.edges],
        [(*edge.start, *edge.end) for edge in other.edges],
        rtol=0,
        atol=1e-9,
    )
    assert [each.kind for each in part.features] == [each.kind for each in other.features]


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('<rect x="5" y="5" width="20" height="10" rx="2"/>', 200.0 - (4.0 - pi) * 4.0),
        ('<rect x="5" y="5" width="20" height="10" rx="30" ry="1"/>', 200.0 - (4.0 - pi) * 10.0),
        ('<circle cx="20" cy="20" r="4"/>', 16.0 * pi),
        ('<ellipse cx="20" cy="20" rx="8" ry="3"/>', 24.0 * pi),
        ('<polygon points="1,1 11,1 11 6"/>', 25.0),
        ('<path d="M1 1H11V6z"/>', 25.0),
        ('<path d="M1,1l10,0 0,5L1,1"/>', 25.0),
        ('<path d="M10 10 Q20 0 30 10 T50 10 V30 H10 Z"/>', 800.0),
        ('<path d="M10 10 C20 0 30 20 40 10 S 60 20 70 10 V30 H10 Z"/>', 1200.0),
        ('<g transform="translate(20 20) rotate(30)"><rect width="10" height="5"/></g>', 50.0),
        ('<rect transform="matrix(2 0 0 3 1 1)" width="5" height="4"/>', 120.0),
        ('<circle transform="scale(2 1)" cx="10" cy="10" r="4"/>', 32.0 * pi),
        ('<rect transform="skewX(30) translate(4)" width="10" height="5"/>', 50.0),
        ('<rect x="1mm" y="1mm" width="10mm" height="5mm" transform="scale(.264583333333333)"/>', 50.0),
        ('<defs><rect id="a" width="4" height="5"/></defs><use href="#a" x="3" y="2"/>', 20.0),
        (
            '<symbol id="s" viewBox="0 0 2 1"><rect width="2" height="1"/></symbol>'
            '<use href="#s" width="8" height="4"/>',
            32.0,
        ),
        (
            '<svg x="5" y="5" width="20" height="10" viewBox="0 0 2 1"><rect width="1" height="1"/></svg>',
            100.0,
        ),
    ],
)
def test_a_shape_encloses_what_it_should(read, shape, area):
    drawing = read(shape)
    # Curves may lie 1 um off; these are less than 200 mm round.
    assert_allclose(drawing.parts[0].outline.area * 1e6, area, rtol=0, atol=0.2)
    assert drawing.findings == ()


def test_circles_stay_circles_and_straight_curves_become_lines(read):
    drawing = read('<circle cx="30" cy="25" r="6"/>')
    assert [edge.kind for edge in drawing.parts[0].edges] == [EdgeKind.CIRCLE]
    drawing = read('<path d="M10 10C20 10 30 10 40 10V30H10Z"/>')
    assert all(isinstance(s, Line) for edge in drawing.parts[0].edges for s in edge.segments)


def test_what_is_not_cut_is_left_out_and_counted(read):
    drawing = read(
        PLATE
        + '<text>A</text><image href="x.png"/><g id="centerlines"><path d="M0 0H9"/></g>'
        + '<rect width="3" height="3" style="display:none"/><use href="#none"/><path d="M1 1 L 2"/>'
        + '<line x1="1" x2="1"/><use href="https://a.example/x.svg#b"/><style>rect {}</style>'
    )
    assert sorted(codes(drawing)) == [
        "broken-entity",
        "layer-left-out",
        "missing-block",
        "other-left-out",
        "text-left-out",
        "zero-length",
    ]
    assert len(drawing.parts) == 1
    with pytest.raises(DrawingError):
        read(PLATE + "<text>A</text>", strict=True)


def test_a_clip_that_is_not_applied_is_said(read):
    assert codes(read(f'<g clip-path="url(#c)">{PLATE}</g>')) == ["clip-not-applied"]


@pytest.mark.parametrize(
    ("head", "body", "page", "case"),
    [
        ('<!DOCTYPE svg [<!ENTITY a "b">]>', PLATE, PAGE, "entity-declared"),
        (
            '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
            "<text>&a;</text>",
            PAGE,
            "entity-declared",
        ),
        ("", PLATE + "&a;", PAGE, "damaged-file"),
        ("", "<g>" * 120 + "</g>" * 120, PAGE, "too-many-elements"),
        ("", "<g>", PAGE, "damaged-file"),
        ("", '<g id="a"><use href="#a"/></g>', PAGE, "blocks-too-deep"),
        ("", PLATE, 'width="wide"', "bad-page"),
        ("", PLATE, 'width="-1mm"', "bad-page"),
        ("", PLATE, 'width="1e-300mm"', "bad-page"),
        ("", PLATE, 'width="9mm" viewBox="0 0 1e300 1"', "bad-page"),
        ("", PLATE, 'width="1mm" viewBox="0 0 0 1"', "bad-page"),
        ("", '<path d="M0 0"/>', PAGE, "nothing-to-cut"),
        ("", '<rect width="1e9" height="1"/>', PAGE, "nothing-to-cut"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(read, head, body, page, case):
    with pytest.raises(DrawingError) as caught:
        read(body, page, head)
    assert caught.value.case == case
    assert "\n" not in caught.value.message


def test_copies_of_copies_end(read, monkeypatch):
    monkeypatch.setattr("trialcut.geometry.importers.svg_entities._VISIT_LIMIT", 10_000)
    nested = "".join(f'<g id="n{n}">' + f'<use href="#n{n + 1}"/>' * 60 + "</g>" for n in range(12))
    with pytest.raises(DrawingError) as caught:
        read(f'<defs>{nested}<rect id="n12" width="0"/></defs><use href="#n0"/>')
    assert caught.value.case == "too-many-pieces"


def test_a_doctype_alone_is_read_and_nothing_is_fetched(read):
    doctype = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )
    assert len(read(PLATE, head=f'<?xml version="1.0"?>{doctype}').parts) == 1


def test_other_xml_is_told_to_be_no_svg(tmp_path):
    (tmp_path / "a.svg").write_text("<html></html>", encoding="utf-8")
    with pytest.raises(DrawingError) as caught:
        read_file(tmp_path / "a.svg")
    assert caught.value.case == "not-svg"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig"])
def test_other_encodings_are_read(tmp_path, encoding):
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {PAGE}>{PLATE}</svg>'
    (tmp_path / "a.svg").write_bytes(text.encode(encoding))
    assert len(read_file(tmp_path / "a.svg").parts) == 1


@pytest.mark.parametrize(
    "data", ["L1 1", "M", "M1", "M1 1 X", "M1 1 A1 1 0 2 0 3 3", "M0 0 Z 5", "M0 0 1e", "M0,0 L1 1 e"]
)
def test_path_data_against_the_grammar_are_refused(data):
    with pytest.raises(ValueError, match="path data"):
        path_traces(data)


def test_numbers_run_together_as_the_grammar_allows():
    (trace,) = path_traces("M.5.5-1-1e0l1.5.25")
    ends = [(stroke.start, stroke.end) for stroke in trace.strokes]
    assert ends == [((0.5, 0.5), (-1.0, -1.0)), ((-1.0, -1.0), (0.5, -0.75))]
