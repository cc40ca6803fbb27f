"""Every paper as a file to keep: PDF/A-2b (ISO 19005-2), its fonts inside, no clock in it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from sample_papers import PAPERS
from sample_results import bracket_study
from trialcut.papers import cut_sheet_pdf

PDF_A = "{http://www.aiim.org/pdfa/ns/id/}"
FONT_FILES = {"/FontFile", "/FontFile2", "/FontFile3"}


@pytest.fixture(scope="module", params=PAPERS)
def paper(request):
    kind = PAPERS[request.param]
    content = kind.content(bracket_study())
    return kind, content, kind.pdf(content)


def fonts_of(resources, seen=None):
    """Every font of some resources, and of the pictures in them."""
    seen = set() if seen is None else seen
    yield from (font.get_object() for font in resources.get("/Font", {}).values())
    for form in resources.get("/XObject", {}).values():
        inner = form.get_object()
        if id(inner) not in seen and inner["/Subtype"] == "/Form" and "/Resources" in inner:
            seen.add(id(inner))
            yield from fonts_of(inner["/Resources"], seen)


def metadata_of(pdf):
    root = PdfReader(BytesIO(pdf)).trailer["/Root"]
    return ET.fromstring(root["/Metadata"].get_data().decode("utf-8")), root


def test_every_paper_says_that_it_is_pdf_a_2b_and_carries_its_colour_profile(paper):
    metadata, root = metadata_of(paper[2])
    assert [each.text for each in metadata.iter(f"{PDF_A}part")] == ["2"]
    assert [each.text for each in metadata.iter(f"{PDF_A}conformance")] == ["B"]
    intent = root["/OutputIntents"][0].get_object()
    assert intent["/S"] == "/GTS_PDFA1"
    assert intent["/DestOutputProfile"].get_object().get_data()
    assert root["/Lang"] == "en"


def test_what_pdf_a_forbids_is_in_no_paper(paper):
    _, root = metadata_of(paper[2])
    assert "/Encrypt" not in PdfReader(BytesIO(paper[2])).trailer
    assert not {"/JavaScript", "/EmbeddedFiles"} & set(root.get("/Names", {}))
    assert not {"/AA", "/OpenAction"} & set(root)


def test_every_font_of_every_page_is_ours_and_embedded(paper):
    names = set()
    for page in PdfReader(BytesIO(paper[2])).pages:
        for font in fonts_of(page["/Resources"]):
            assert font["/Subtype"] == "/Type0"
            assert "/ToUnicode" in font
            descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            (held,) = FONT_FILES & set(descriptor)
            assert len(descriptor[held].get_object().get_data()) > 100
            names.add(str(font["/BaseFont"]).split("+")[1].split("-Identity")[0])
    assert names == {"Inter-Regular", "Inter-SemiBold"}


def test_the_same_content_gives_the_same_bytes(paper):
    kind, content, pdf = paper
    assert kind.pdf(content) == pdf
    assert kind.html(content) == kind.html(content)


def test_the_day_in_the_file_is_that_of_the_paper_or_the_zero_of_clocks(paper):
    kind, content, pdf = paper
    day = next(fact.value for fact in content.heading if re.fullmatch(r"20\d\d-\d\d-\d\d", fact.value))
    stamp = datetime.fromisoformat(f"{day}T00:00:00+00:00")
    metadata = PdfReader(BytesIO(pdf)).metadata
    assert metadata.creation_date == stamp
    assert metadata.modification_date == stamp
    blank = replace(content, heading=tuple(replace(fact, value="") for fact in content.heading))
    undated = PdfReader(BytesIO(kind.pdf(blank))).metadata
    assert undated.creation_date == datetime.fromisoformat("1970-01-01T00:00:00+00:00")


def test_a_letter_that_no_font_has_makes_a_plain_pdf_and_no_error(paper):
    kind, content, _ = paper
    pdf = kind.pdf(replace(content, title="支架"))
    metadata, _ = metadata_of(pdf)
    assert not list(metadata.iter(f"{PDF_A}part"))
    assert kind.pdf(replace(content, title="支架")) == pdf


def test_a_day_that_is_none_is_printed_and_not_taken_as_the_files_day():
    content = PAPERS["cut sheet"].content(bracket_study())
    heading = tuple(
        replace(fact, value="2026-02-30") if fact.value[:2] == "20" else fact for fact in content.heading
    )
    reader = PdfReader(BytesIO(cut_sheet_pdf(replace(content, heading=heading))))
    assert "2026-02-30" in reader.pages[0].extract_text()
    assert reader.metadata.creation_date.year == 1970
