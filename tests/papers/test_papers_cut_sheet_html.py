"""The cut sheet as a page."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from sample_parts import wheel
from sample_results import bracket_study, golden_papers, option_of, plate_study
from sample_studies import study_of
from svg_reading import parse, with_class
from trialcut.papers import cut_sheet_content, cut_sheet_html

GOLDEN = Path(__file__).parent / "golden"
VOID = {"meta", "input", "br", "link", "img"}


class Reader(HTMLParser):
    """Tags, attributes and text, with a check that tags nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("style", "title"):
            self.text.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.text).split())


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert not reader.open
    return reader


def page_of(study, **more):
    option = option_of(study)
    return cut_sheet_html(cut_sheet_content(study, replace(option, **more)))


@pytest.mark.parametrize("study", [bracket_study(), plate_study()], ids=["inch", "metric"])
def test_every_number_of_the_sheet_is_on_the_page(study):
    sheet = cut_sheet_content(study, option_of(study))
    words = read(cut_sheet_html(sheet)).words
    tables = (
        sheet.setup,
        sheet.edges,
        sheet.demands,
        sheet.time,
        sheet.cost,
        sheet.consumption,
        sheet.readings,
        sheet.order,
        sheet.corners,
        sheet.corrections,
    )
    for table in tables:
        for row in table.rows:
            cells = " ".join(" ".join(cell for cell in row.cells if cell).split())
            assert cells in words
            assert row.below in words
    for sentence in (
        *sheet.cautions.lines,
        *sheet.checks.lines,
        *sheet.plate.lines,
        sheet.approval,
        sheet.made_by,
    ):
        assert " ".join(sentence.split()) in words


def test_the_page_loads_nothing():
    page = page_of(bracket_study())
    reader = read(page)
    assert not {"script", "link", "img", "iframe", "object"} & set(reader.tags)
    assert not {"src", "href", "srcset", "data", "action"} & {name for name, _ in reader.attributes}
    assert "url(" not in page.replace("url(#", "")
    assert "@import" not in page
    assert set(re.findall(r"https?://[^\s\"']+", page)) == {"http://www.w3.org/2000/svg"}


def test_the_page_has_a_light_and_a_dark_form_and_prints_light():
    page = page_of(bracket_study())
    assert "@media screen and (prefers-color-scheme:dark)" in page
    assert "@media print" in page


def test_names_that_look_like_markup_come_out_literally():
    nasty = "<script>alert(1)</script><img src=x onerror=alert(2)> \"q\" 'a' & {{ 7*7 }}"
    study = bracket_study()
    study = replace(study, name=nasty, setup_names={**study.setup_names, "pump": nasty})
    reader = read(page_of(study, title=nasty, summary=nasty))
    assert "script" not in reader.tags
    assert "img" not in reader.tags
    assert reader.words.count(nasty) >= 4
    assert not [name for name, _ in reader.attributes if name.startswith("on")]


def test_the_drawing_of_the_page_is_the_drawing_of_the_paper():
    study = bracket_study()
    sheet = cut_sheet_content(study, option_of(study))
    paper, page = parse(sheet.picture), parse(sheet.drawing_for_page)
    for name in ("tc-edge", "tc-size", "tc-label"):
        assert [n.get("d") or n.text for n in with_class(paper, name)] == [
            n.get("d") or n.text for n in with_class(page, name)
        ]


def test_hundreds_of_edges_make_a_page():
    study = replace(study_of(wheel(401)), name="Wheel")
    assert read(page_of(study)).tags.count("tbody") >= 401


@pytest.mark.parametrize("name", sorted(golden_papers()))
def test_a_paper_is_the_golden_one(name):
    # A regression check against our own earlier output: it proves no number, only that nothing moved.
    # `python tests/papers/update_golden.py` writes the golden files anew.
    assert golden_papers()[name] == (GOLDEN / name).read_text(encoding="utf-8")
