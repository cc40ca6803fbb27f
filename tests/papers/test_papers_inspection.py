"""The inspection sheet, both its forms read back by programs that did not write them."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from sample_inspections import golden_inspections, inspection_of
from sample_parts import wheel
from sample_results import bracket_study, option_of, plate_study, size
from sample_studies import study_of
from trialcut.papers.inspection_pages import inspection_html, inspection_pdf
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.results import Judged

GOLDEN = Path(__file__).parent / "golden"


def plain(text: str) -> str:
    return " ".join(text.replace("\u200b", "").split())


def pages_of(pdf: bytes) -> list[str]:
    return [plain(page.extract_text()) for page in PdfReader(BytesIO(pdf)).pages]


def text_of(pdf: bytes) -> str:
    return plain(" ".join(pages_of(pdf)))


class Words(HTMLParser):
    """All text of a page but that of its style."""

    def __init__(self) -> None:
        super().__init__()
        self.inside = ""
        self.tags: set[str] = set()
        self.text: list[str] = []

    def handle_starttag(self, tag, _attrs):
        self.inside = tag
        self.tags.add(tag)

    def handle_endtag(self, _tag):
        self.inside = ""

    def handle_data(self, data):
        if self.inside not in ("style", "title"):
            self.text.append(data)


def words_of(page: str) -> str:
    reader = Words()
    reader.feed(page)
    return plain(" ".join(reader.text))


def bracket(**changes):
    return replace(bracket_study(), quantity=50, **changes)


@pytest.fixture(scope="module", params=["inch", "metric"])
def paper(request):
    study = bracket() if request.param == "inch" else replace(plate_study(), quantity=12)
    sheet = inspection_of(study, level=0.01 if request.param == "inch" else None)
    return study, sheet, inspection_pdf(sheet), inspection_html(sheet)


def test_everything_it_says_can_be_read_in_both_forms(paper):
    _, sheet, pdf, page = paper
    for text in (text_of(pdf), words_of(page)):
        squeezed = text.replace(" ", "")
        for table in (sheet.lines, *sheet.records):
            assert table.rows
            for row in table.rows:
                for cell in row.cells:
                    assert plain(cell).replace(" ", "") in squeezed
        for section in (sheet.sampling, sheet.reading, sheet.outcome, sheet.remarks, sheet.cautions):
            assert section.lines
            for line in section.lines:
                assert plain(line) in text
        for line in (sheet.title, sheet.subtitle, sheet.approval, sheet.made_by):
            assert plain(line) in text
        assert "qualified engineer" in text


def test_the_numbers_are_those_of_the_plan():
    # By hand from the sample: 0.3, 0.7 and 1.2 thou over nominal; odds after the first piece 99.2 %.
    study = bracket()
    text = text_of(inspection_pdf(inspection_of(study)))
    forecast = option_of(study).forecast.demands[1]
    assert f"{forecast.demand.nominal / 0.0254:.3f}" == "3.000"
    assert "2 Width between A2 and A7 3.000; 2.995 – 3.005 in" in text
    top, middle, bottom = (each.mean / 0.0254 for each in (forecast.top, forecast.middle, forecast.bottom))
    assert [f"{each:.4f}" for each in (top, middle, bottom)] == ["3.0003", "3.0007", "3.0012"]
    assert "3.0003 ± 0.0014 3.0007 ± 0.0014 3.0012 ± 0.0014 over 99 % caliper" in text


def test_a_sample_says_which_pieces_and_what_it_tells():
    # ISO 2859-1, lot of 50 at 1 %: letter D leads to E, 13 pieces, none accepted; by hand 0.99^13, 0.9^13.
    sheet = inspection_of(bracket())
    said = " ".join(sheet.sampling.lines)
    assert "13 of 50 pieces: code letter E of ISO 2859-1" in said
    assert (
        "A lot with 1 % nonconforming is accepted with odds of 88 %, one with 10 % with odds of 25 %" in said
    )
    pieces = [column.title for table in sheet.records for column in table.columns[3:]]
    named = re.search(r"Take pieces ([\d, ]+) in cutting order", said)
    assert named is not None
    assert pieces == [f"T7-{each}" for each in named[1].split(", ")]
    assert len(pieces) == len(set(pieces)) == 13


def test_every_piece_of_a_small_lot_has_a_column():
    sheet = inspection_of(replace(plate_study(), quantity=7), level=None, in_book=False)
    pieces = [column.title for table in sheet.records for column in table.columns[3:]]
    assert pieces == [str(each) for each in range(1, 8)]
    assert "Every one of the 7 pieces" in sheet.sampling.lines[0]
    assert any("not in the shop's book" in line for line in sheet.remarks.lines)


def test_an_edge_that_is_machined_later_is_not_inspected():
    names = [row.cells[1] for row in inspection_of(bracket()).lines.rows]
    assert len(names) == 7
    assert not [name for name in names if "later" in name]


def test_each_number_stands_on_the_drawing_once():
    sheet = inspection_of(bracket())
    numbers = re.findall(r'data-number="(\d+)"', sheet.drawing)
    assert sorted(numbers, key=int) == [row.cells[0] for row in sheet.lines.rows]


def test_a_gauge_that_is_too_coarse_is_told_of():
    study = bracket_study()
    tight = tuple(
        replace(each, lower=each.nominal - 2e-5, upper=each.nominal + 2e-5)
        if each.kind is DemandKind.SIZE
        else each
        for each in study.demands
    )
    told = " ".join(inspection_of(replace(study, demands=tight)).remarks.lines)
    assert re.search(r"No\. 1: The caliper's 0\.0006?7 in cannot decide ±0\.0008 in", told)


def test_with_a_guard_band_the_limits_to_read_by_are_drawn_in():
    # By hand: ±5 thou less 1.2 thou; 4 thou of squareness less 1.2; a band wider than half the tolerance.
    study = bracket(guard=0.95)
    option = option_of(study)

    def sheet(band):
        demands = tuple(
            replace(each, judged=Judged(band=band * 0.0254e-3, consumer=0.01, producer=0.02))
            for each in option.forecast.demands
        )
        return inspection_of(study, replace(option, forecast=replace(option.forecast, demands=demands)))

    drawn_in = [row.cells[1] for row in sheet(1.2).records[0].rows if row.cells[0]]
    assert drawn_in[1] == "2.9962 – 3.0038 in"
    assert drawn_in[4] == "≤ 0.0028 in"
    assert [row.cells[2] for row in sheet(1.2).lines.rows][1] == "3.000; 2.995 – 3.005 in"
    assert any("conforms with odds of 95 %" in line for line in sheet(1.2).remarks.lines)
    assert sheet(6.0).records[0].rows[3].cells[1] == "no reading proves it"


def test_walls_that_are_cut_differently_stay_on_paper_and_are_named():
    # In the sample edges have speeds by turns of three, so that only some pairs are cut alike.
    sheet = inspection_of(bracket())
    told = " ".join(sheet.remarks.lines)
    assert "Readings of numbers 1, 2, 3, 5, 6, 7 stay on paper" in told
    assert "takes the readings of numbers 4;" in told


def test_the_same_sheet_is_the_same_bytes(paper):
    _, sheet, pdf, page = paper
    assert inspection_pdf(sheet) == pdf
    assert inspection_html(sheet) == page


def test_the_page_loads_nothing(paper):
    *_, page = paper
    reader = Words()
    reader.feed(page)
    assert not {"script", "link", "img", "iframe", "object"} & reader.tags
    assert set(re.findall(r"https?://[^\s\"']+", page)) == {"http://www.w3.org/2000/svg"}


def test_inch_and_metric_say_the_same_limits_and_odds():
    study = bracket()
    inch, metric = inspection_of(study), inspection_of(replace(study, system="metric"))
    assert inch.sampling == metric.sampling
    assert [row.cells[6] for row in inch.lines.rows] == [row.cells[6] for row in metric.lines.rows]
    for ours, theirs in zip(inch.lines.rows[:4], metric.lines.rows[:4], strict=True):
        low, high = (float(word) * 25.4 for word in re.findall(r"[\d.]+", ours.cells[2])[1:])
        words = re.findall(r"[\d.]+", theirs.cells[2])[1:]
        # Half of the last digit printed in millimetres.
        digits = len(words[0].partition(".")[2])
        for value, word in zip((low, high), words, strict=True):
            assert abs(value - float(word)) <= 0.5 * 10.0**-digits + 1e-9


NASTY = '#panic("x") *b* $x$ <script>alert(1)</script> {{ 7*7 }}'


def test_a_name_that_looks_like_markup_is_printed_literally():
    sheet = inspection_of(bracket(name=NASTY))
    assert NASTY.replace(" ", "") in text_of(inspection_pdf(sheet)).replace(" ", "")
    page = inspection_html(sheet)
    assert NASTY in words_of(page)
    assert "<script" not in page


@pytest.mark.parametrize("name", ["W" * 60, "Bracket for the upper left support of a very long machine bed"])
def test_a_name_of_sixty_letters_moves_nothing_to_another_page(name):
    study = bracket(name=name)
    study = replace(study, setup_names=dict.fromkeys(study.setup_names, name))
    usual = len(pages_of(inspection_pdf(inspection_of(bracket()))))
    pages = pages_of(inspection_pdf(inspection_of(study)))
    assert len(pages) <= usual + 1
    assert " ".join(pages).replace(" ", "").count(name.replace(" ", "")) >= 2


def test_a_part_of_four_hundred_edges_prints_every_characteristic():
    part = wheel(401)
    teeth = [edge.id for edge in part.edges if edge.contour == "A"]
    sizes = tuple(
        size(one, other, nominal=0.17, upper=1e-4, title=f"width between {one} and {other}")
        for one, other in zip(teeth[:60], teeth[200:260], strict=True)
    )
    finish = Demand(
        id="finish-part",
        kind=DemandKind.FINISH,
        title="finish of all edges",
        text="Ra 3.2 um",
        edges=tuple(edge.id for edge in part.edges),
        upper=3.2e-6,
    )
    study = replace(study_of(part, (*sizes, finish)), name="Wheel", quantity=2000)
    sheet = inspection_of(study, level=0.0065)
    assert len(sheet.lines.rows) == 61
    pages = pages_of(inspection_pdf(sheet))
    text = " ".join(pages)
    for row in sheet.lines.rows:
        assert plain(row.cells[1]) in text
    for page in pages:
        assert "Wheel" in page
    assert sum(len(table.columns) - 3 for table in sheet.records) == 125


@pytest.mark.parametrize("name", sorted(golden_inspections()))
def test_a_sheet_is_the_golden_one(name):
    # A regression check against our own earlier output: it proves no number, only that nothing moved.
    # `python tests/papers/update_golden.py` writes the golden files anew.
    assert golden_inspections()[name] == (GOLDEN / name).read_text(encoding="utf-8")
