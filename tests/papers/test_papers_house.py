"""The house style of a shop on its papers: what stands over and under them, money, paper, language, logo.

Files of pictures are made by Pillow, which is not Trialcut's.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader

from sample_results import bracket_study, option_of, plate_study
from trialcut import __version__
from trialcut.errors import DataError
from trialcut.papers import cut_sheet_content, cut_sheet_html, cut_sheet_pdf, words
from trialcut.papers.house import House, money, money_spread, said
from trialcut.papers.logo import LARGEST_LOGO, read_logo
from trialcut.papers.words import catalogue, languages, say, speaking
from trialcut.planning.house import Logo

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><rect width="40" height="20"/></svg>'


def picture(form: str, size=(60, 20)) -> bytes:
    file = BytesIO()
    Image.effect_noise(size, 60.0).convert("RGB").save(file, form)
    return file.getvalue()


def logo_of(content: bytes) -> Logo:
    logo, wrong = read_logo(content)
    assert not wrong
    assert logo is not None
    return logo


HOUSE = House(
    name="Fen Lane Waterjet",
    address=("1 Fen Lane", "Lower Marsh"),
    contact=("floor@fenlane.example", "ext. 12"),
    logo=logo_of(SVG),
)


def sheet_with(house: House, study=None):
    study = replace(study or bracket_study(), house=house)
    return cut_sheet_content(study, option_of(study))


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_name_address_and_contact_stand_over_the_paper_on_either_size(paper):
    sheet = sheet_with(replace(HOUSE, paper=paper))
    pdf, page = cut_sheet_pdf(sheet), cut_sheet_html(sheet)
    first = " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())
    for line in (HOUSE.name, *HOUSE.address, *HOUSE.contact):
        assert line in first
        assert line in page
    # ISO 216 A4 is 210 mm wide; US letter is 8.5 in. Points, 72 to the inch.
    width = {"A4": 210.0 / 25.4 * 72.0, "letter": 8.5 * 72.0}[paper]
    assert abs(float(PdfReader(BytesIO(pdf)).pages[0].mediabox.width) - width) < 0.01


def test_the_paper_of_the_house_comes_before_that_of_the_unit_system():
    assert sheet_with(House()).paper == "us-letter"
    assert sheet_with(House(paper="A4")).paper == "a4"
    assert sheet_with(House(paper="letter"), plate_study()).paper == "us-letter"


def test_every_page_says_its_number_the_version_and_the_id_of_the_paper():
    sheet = sheet_with(HOUSE)
    pages = PdfReader(BytesIO(cut_sheet_pdf(sheet))).pages
    assert len(pages) > 1
    name = said(sheet)["id"]
    assert re.fullmatch(r"[0-9a-f]{5}-[0-9a-f]{5}", name)
    for number, page in enumerate(pages, start=1):
        text = " ".join(page.extract_text().split())
        assert f"Page {number} of {len(pages)}" in text
        assert f"Made by Trialcut {__version__}, paper {name}" in text
    assert f"paper {name}" in cut_sheet_html(sheet)


def test_a_paper_that_says_something_else_has_another_id():
    sheet = sheet_with(HOUSE)
    assert said(sheet)["id"] == said(sheet_with(HOUSE))["id"]
    assert said(replace(sheet, title="Bracket 4712"))["id"] != said(sheet)["id"]


def test_without_a_house_nothing_stands_over_the_paper():
    page = cut_sheet_html(sheet_with(House()))
    assert 'class="house"' not in page
    assert 'class="house"' in cut_sheet_html(sheet_with(House(name="Fen Lane Waterjet")))


@pytest.mark.parametrize("content", [SVG, picture("PNG"), picture("JPEG")], ids=["svg", "png", "jpg"])
def test_a_logo_is_in_the_pdf_and_inside_the_page(content):
    house = replace(HOUSE, logo=logo_of(content))
    with_logo, without = sheet_with(house), sheet_with(replace(HOUSE, logo=None))
    pdf = cut_sheet_pdf(with_logo)
    assert pdf == cut_sheet_pdf(with_logo)
    assert len(pdf) > len(cut_sheet_pdf(without))
    page = cut_sheet_html(with_logo)
    assert page.count("<img ") == 1
    assert 'src="data:image/' in page
    assert "<img " not in cut_sheet_html(without)


def test_a_logo_of_any_shape_leaves_room_for_the_name():
    for size in ((900, 20), (20, 900)):
        sheet = sheet_with(replace(HOUSE, logo=logo_of(picture("PNG", size))))
        reader = PdfReader(BytesIO(cut_sheet_pdf(sheet)))
        assert HOUSE.name in reader.pages[0].extract_text()


BROKEN = bytearray(picture("PNG"))
BROKEN[60] ^= 1


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is no PNG, JPEG or SVG picture"),
        (b"GIF89a", "is no PNG, JPEG or SVG picture"),
        (picture("PNG")[:-20], "is a damaged PNG"),
        (bytes(BROKEN), "is a damaged PNG"),
        (picture("JPEG")[:200], "is a damaged JPEG"),
        (SVG[:-9], "is a damaged SVG"),
        (SVG.replace(b'viewBox="0 0 40 20"', b""), "is an SVG without a size"),
        (b'<!DOCTYPE svg [<!ENTITY a "b">]>' + SVG, "document type"),
        (SVG.replace(b"<rect", b'<image href="http://example.org/x.png"/><rect'), "needs other files"),
        (SVG + b" " * LARGEST_LOGO, "at most 256 KiB"),
    ],
)
def test_a_logo_that_cannot_be_used_is_refused_with_the_reason(content, why):
    logo, wrong = read_logo(content)
    assert logo is None
    assert why in wrong
    assert "\n" not in wrong


def test_amounts_carry_the_code_or_the_symbol_of_the_currency():
    symbol = House(currency="symbol")
    assert money(House(), 11.84, "USD") == "11.84 USD"
    assert money(symbol, 11.84, "USD") == "$11.84"
    assert money(symbol, -11.84, "EUR") == "−€11.84"
    assert money(symbol, 11.84, "CHF") == "11.84 CHF"
    assert money_spread(symbol, 11.84, 0.42, "GBP") == "£11.84 ± 0.42"
    sheet = sheet_with(symbol)
    assert "$11.84" in [fact.value for fact in sheet.headline]
    assert sheet.cost.columns[-1].title == "$"
    assert "$11.84" in text_of(cut_sheet_pdf(sheet))


# ---- language

DATA = {
    "title",
    "subtitle",
    "summary",
    "drawing",
    "drawing_for_page",
    "picture",
    "letterhead",
    "paper",
    "findings",
}
"""Fields of a cut sheet that come from the study and its plan, or are looked at by themselves below."""
MARK = "¤"


@pytest.fixture
def marked(tmp_path, monkeypatch):
    """A second language on the fly, as a file of its own: English, with a mark before every sentence."""
    lines = []
    for table, sentences in catalogue("en").items():
        lines.append(f"[{table}]")
        for key, text in sentences.items():
            quoted = text.replace("\\", "\\\\").replace('"', '\\"')
            lines.append(f'{key} = "{MARK}{quoted}"')
    (tmp_path / "xx.toml").write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "en.toml").write_text((words.HOME / "en.toml").read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.setattr(words, "HOME", tmp_path)
    catalogue.cache_clear()
    yield "xx"
    catalogue.cache_clear()


def titles(value) -> list[str]:
    """Heads of tables and sections, names of facts, and all their sentences that the catalogue says."""
    found: list[str] = []
    if is_dataclass(value):
        for field in fields(value):
            inner = getattr(value, field.name)
            if field.name in ("title", "name", "remark") and isinstance(inner, str):
                found.append(inner)
            elif field.name in ("columns", "rows") or not isinstance(inner, str):
                found += titles(inner)
            elif field.name == "kind":
                found.append(inner)
    elif isinstance(value, tuple):
        for inner in value:
            found += titles(inner)
    return [text for text in found if text]


def test_every_word_of_the_cut_sheet_comes_from_the_catalogue_of_the_language(marked):
    study = replace(bracket_study(), house=House(name="Fen", language=marked))
    sheet = cut_sheet_content(study, option_of(study))
    step = sheet.corrections.columns[2].title
    heads = [
        text
        for field in fields(sheet)
        if field.name not in DATA
        for text in titles(getattr(sheet, field.name))
        # Columns of the correction table are headed by numbers, and the length of an edge is the plan's.
        if not re.fullmatch(r"\+[\d.]+", text)
    ]
    assert re.fullmatch(r"\+[\d.]+", step)
    assert len(heads) > 60
    assert [text for text in heads if MARK not in text] == []
    whole = (sheet.kind, sheet.verdict, sheet.approval, sheet.made_by, sheet.findings_title)
    lines = [
        *sheet.plate.lines,
        *sheet.checks.lines,
        *sheet.cautions.lines,
        *sheet.first_piece.lines,
    ]
    names = [
        row.cells[0]
        for table in (sheet.setup, sheet.time, sheet.consumption, sheet.corrections)
        for row in table.rows
    ]
    stances = [row.cells[3] for row in sheet.edges.rows]
    for text in (*whole, *lines, *names, *stances, *(f.status for f in sheet.findings)):
        assert MARK in text
    shown = re.findall(r"<text[^>]*tc-key[^>]*>([^<]+)</text>", sheet.drawing)
    assert len(shown) > 3
    assert [text for text in shown if text[0].isalpha()] == []


def test_page_and_pdf_carry_the_language(marked):
    study = replace(bracket_study(), house=House(name="Fen", language=marked))
    sheet = cut_sheet_content(study, option_of(study))
    page = cut_sheet_html(sheet)
    assert '<html lang="xx">' in page
    assert f"{MARK}Edges" in page
    assert f"{MARK}Page 1 of" in text_of(cut_sheet_pdf(sheet)).replace("¤ ", MARK)


def test_the_language_is_spoken_for_one_paper_alone(marked):
    with speaking(marked):
        assert say("edges.title") == f"{MARK}Edges"
    assert say("edges.title") == "Edges"


@pytest.mark.usefixtures("marked")
def test_a_sentence_that_a_language_lacks_is_said_in_english():
    (words.HOME / "yy.toml").write_text('[edges]\ntitle = "Kanten"\n', encoding="utf-8")
    assert languages() == ("en", "xx", "yy")
    with speaking("yy"):
        assert (say("edges.title"), say("edges.speed")) == ("Kanten", "Speed")


def test_a_language_that_does_not_exist_is_one_line_that_names_those_that_do():
    with pytest.raises(DataError, match=r"no words in 'tlh': choose one of en") as caught:
        catalogue("tlh")
    assert "\n" not in caught.value.message
