"""The cut sheet as PDF, read back by a program that did not write it."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from sample_parts import ring, wheel
from sample_results import bracket_study, option_of, plate_study
from sample_studies import study_of
from svg_reading import advance
from trialcut.papers import cut_sheet_content, cut_sheet_pdf

STUDIES = {
    "bracket": bracket_study,
    "plate": plate_study,
    "wheel": lambda: replace(study_of(wheel(61)), name="Wheel"),
}


def text_of(pdf: bytes) -> str:
    """Text of all pages with one kind of space."""
    pages = PdfReader(BytesIO(pdf)).pages
    text = " ".join(page.extract_text() for page in pages).replace("\u200b", "")
    return " ".join(text.split())


@pytest.fixture(scope="module", params=STUDIES)
def paper(request):
    study = STUDIES[request.param]()
    sheet = cut_sheet_content(study, option_of(study))
    pdf = cut_sheet_pdf(sheet)
    return sheet, pdf, text_of(pdf)


def rows_of(sheet):
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
    return [row for table in tables for row in table.rows]


def test_every_row_of_every_table_can_be_read_in_the_pdf(paper):
    sheet, _, text = paper
    rows = rows_of(sheet)
    assert len(rows) > 30
    for row in rows:
        assert " ".join(" ".join(cell for cell in row.cells if cell).split()) in text
        assert row.below in text


def test_headline_verdict_checks_and_cautions_can_be_read(paper):
    sheet, _, text = paper
    wanted = [sheet.title, sheet.subtitle, sheet.verdict, sheet.summary, sheet.approval, sheet.made_by]
    wanted += [fact.value for fact in sheet.headline]
    wanted += [
        *sheet.checks.lines,
        *sheet.plate.lines,
        *sheet.cautions.lines,
        *sheet.notes.lines,
        *sheet.first_piece.lines,
    ]
    for finding in sheet.findings:
        wanted += [finding.message, finding.remedy]
    for sentence in wanted:
        assert " ".join(sentence.split()) in text


def test_labels_and_sizes_of_the_drawing_are_text(paper):
    sheet, _, text = paper
    shown = re.findall(r'<text class="tc-(?:size|label)"[^>]*>([^<]+)</text>', sheet.drawing)
    assert shown
    for words in shown:
        assert words in text


def test_the_same_content_gives_the_same_bytes(paper):
    sheet, pdf, _ = paper
    assert cut_sheet_pdf(sheet) == pdf


def test_a_short_sheet_is_one_page():
    study = replace(study_of(ring()), name="Ring", system="metric")
    pdf = cut_sheet_pdf(cut_sheet_content(study, option_of(study, first_piece=False)))
    assert len(PdfReader(BytesIO(pdf)).pages) == 1


def test_a_long_table_repeats_its_head_on_every_page():
    study = replace(study_of(wheel(201)), name="Wheel")
    sheet = cut_sheet_content(study, option_of(study))
    # The first page holds the drawing, whose labels would count as rows.
    pages = [page.extract_text() for page in PdfReader(BytesIO(cut_sheet_pdf(sheet))).pages[1:]]
    full = [page for page in pages if len(re.findall(r"^A\d+$|\bA\d+\n", page)) > 5 or "Kerf, top" in page]
    assert len(full) >= 3
    assert all("Kerf, bottom" in page for page in full)


@pytest.mark.parametrize("paper_size", ["a4", "us-letter"])
def test_the_paper_has_its_size(paper_size):
    study = bracket_study()
    pdf = cut_sheet_pdf(cut_sheet_content(study, option_of(study), paper=paper_size))
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    # ISO 216 A4 is 210 mm by 297 mm; US letter is 8.5 in by 11 in. Points, 72 to the inch.
    wanted = {"a4": (595.28, 841.89), "us-letter": (612.0, 792.0)}[paper_size]
    assert abs(float(box.width) - wanted[0]) < 0.01
    assert abs(float(box.height) - wanted[1]) < 0.01


NASTY = '#panic("x") *b* $x$ @ref <lbl> \\ // [y] `z` ~ = "q"'


def test_names_that_look_like_markup_are_printed_literally():
    study = bracket_study()
    study = replace(study, name=NASTY, setup_names={**study.setup_names, "machine": NASTY})
    option = replace(option_of(study), title=NASTY, summary=NASTY)
    text = text_of(cut_sheet_pdf(cut_sheet_content(study, option)))
    assert text.count(NASTY) >= 4


@pytest.mark.parametrize("name", ["W" * 60, "Bracket for the upper left support of a very long machine bed"])
def test_a_name_of_sixty_letters_stays_on_the_paper(name):
    study = bracket_study()
    study = replace(
        study,
        name=name,
        setup_names=dict.fromkeys(study.setup_names, name),
        demands=(replace(study.demands[0], title=name),),
    )
    pdf = cut_sheet_pdf(cut_sheet_content(study, replace(option_of(study), title=name)))
    reader = PdfReader(BytesIO(pdf))
    assert len(reader.pages) <= 3
    assert text_of(pdf).replace(" ", "").count(name.replace(" ", "")) >= 6
    margin = 13.0 / 25.4 * 72.0
    ends = [end for page in reader.pages for end in ends_of_text(page)]
    assert len(ends) > 100
    # A point of slack: the advances used here are of the regular weight, without kerning.
    assert max(ends) < float(reader.pages[0].mediabox.width) - margin + 1.0


def ends_of_text(page) -> list[float]:
    """Right ends of all upright texts, by the font's advances. [pt]"""
    ends = []

    def note(text, matrix, text_matrix, _, size):
        text = text.replace("\u200b", "").strip()
        if text and matrix[1] == 0.0:
            ends.append(matrix[4] + matrix[0] * (text_matrix[4] + advance(text, size, heavy=False)))

    page.extract_text(visitor_text=note)
    return ends


def test_a_sheet_is_set_within_a_second():
    study = replace(study_of(wheel(61)), name="Wheel")
    option = option_of(study)
    times = []
    for _ in range(4):
        start = time.perf_counter()
        cut_sheet_pdf(cut_sheet_content(study, option))
        times.append(time.perf_counter() - start)
    assert min(times) < 1.0


def test_hundreds_of_edges_fill_pages_without_an_error():
    study = replace(study_of(wheel(401)), name="Wheel")
    sheet = cut_sheet_content(study, option_of(study))
    text = text_of(cut_sheet_pdf(sheet))
    for row in sheet.edges.rows:
        assert " ".join(row.cells) in text
