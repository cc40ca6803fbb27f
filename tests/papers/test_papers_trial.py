"""The trial sheet and the reading form: what they say, read back by programs that did not write them."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO

import pytest
from numpy.testing import assert_allclose
from pypdf import PdfReader

from sample_coupons import filled, sample_lines, sample_trial
from trialcut.papers.coupon_svg import depth_svg, gauge_svg, plate_svg
from trialcut.papers.reading_form import reading_form
from trialcut.papers.trial_papers import trial_html, trial_pdf
from trialcut.papers.trial_sheet import NOT_ASKED, trial_sheet
from trialcut.trials.coupon_shapes import coupon_drawing
from trialcut.trials.intake.form import depth_word
from trialcut.trials.types import ReadingKind

SVG = "{http://www.w3.org/2000/svg}"


def papers_of(trial, system, **given):
    lines = sample_lines(trial)
    return (
        trial_sheet(trial, lines, system=system, **given),
        reading_form(trial, lines, system=system, **given),
    )


def text_of(pdf):
    pages = PdfReader(BytesIO(pdf)).pages
    text = " ".join(page.extract_text() for page in pages).replace("\u200b", "").replace("\u00a0", " ")
    return " ".join(text.split())


class Words(HTMLParser):
    """Text of a page, and the elements that may load something."""

    def __init__(self):
        super().__init__()
        self.text, self.loads = [], []

    def handle_data(self, data):
        self.text.append(data)

    def handle_starttag(self, tag, attrs):
        self.loads += [
            (tag, name) for name, value in attrs if name in {"src", "href"} and not value.startswith("#")
        ]
        if tag in {"script", "link", "iframe", "object"}:
            self.loads.append((tag, ""))


def page_of(html):
    words = Words()
    words.feed(html)
    return " ".join(" ".join(words.text).replace("\u00a0", " ").split()), words.loads


def sentences_of(paper):
    wanted = [paper.title, paper.subtitle, *(fact.value for fact in paper.heading if fact.value)]
    for block in paper.blocks:
        match block.form:
            case "pictures":
                wanted += [block.title, *(picture.caption for picture in block.pictures)]
            case "ticks":
                wanted += [block.title, *block.lines, *(fact.value for fact in block.facts)]
            case "table":
                wanted += [block.table.title, block.table.remark]
                wanted += [" ".join(cell for cell in row.cells if cell) for row in block.table.rows]
            case _:
                wanted += [block.section.title, *block.section.lines]
    return [" ".join(each.replace("\u00a0", " ").split()) for each in wanted]


@pytest.fixture(scope="module", params=["metric", "inch"])
def case(request):
    system = request.param
    trial = sample_trial(system=system, blocks=3)
    return system, trial, papers_of(trial, system)


def test_everything_can_be_read_in_the_pdf_and_in_the_page(case):
    _, _, papers = case
    for paper in papers:
        printed, (page, loads) = text_of(trial_pdf(paper)), page_of(trial_html(paper))
        wanted = sentences_of(paper)
        assert len(wanted) > 20
        for sentence in wanted:
            assert sentence in printed
            assert sentence in page
        assert paper.kind.upper() in printed
        assert paper.kind in page
        assert loads == []


def test_papers_are_on_the_paper_of_their_unit_system(case):
    system, _, papers = case
    width = {"metric": 595.28, "inch": 612.0}[system]
    for paper in papers:
        page = PdfReader(BytesIO(trial_pdf(paper))).pages[0]
        assert_allclose(float(page.mediabox.width), width, rtol=0, atol=0.01)


def test_the_same_content_gives_the_same_bytes(case):
    for paper in case[2]:
        assert trial_pdf(paper) == trial_pdf(paper)
        assert trial_html(paper) == trial_html(paper)


def test_the_form_has_every_line_in_order_with_room_to_write(case):
    _, trial, (_, form) = case
    (block,) = [block for block in form.blocks if block.form == "table"]
    lines = sample_lines(trial)
    assert [row.cells[:4] for row in block.table.rows] == [
        (line.coupon, line.cut, line.kind.value, depth_word(line.depth)) for line in lines
    ]
    assert {row.cells[5] for row in block.table.rows} == {""}
    assert {row.cells[7] for row in block.table.rows} == {""}


def test_the_sheet_has_room_for_the_times_that_are_asked_for_and_no_others(case):
    _, trial, (sheet, _) = case
    (block,) = [block for block in sheet.blocks if block.form == "table"]
    rows = {}
    coupon = ""
    for row in block.table.rows:
        coupon = row.cells[1] or coupon
        rows[coupon, row.cells[2]] = row.cells
    lines = sample_lines(trial)
    pierces = {(line.coupon, line.cut) for line in lines if line.kind is ReadingKind.PIERCE_TIME}
    cycles = {line.coupon for line in lines if line.kind is ReadingKind.CYCLE_TIME}
    assert {key for key, cells in rows.items() if cells[9] != NOT_ASKED} == pierces
    assert {key[0] for key, cells in rows.items() if cells[10] != NOT_ASKED} == cycles
    assert len(rows) == sum(len(each.cuts) for each in trial.coupons)


def test_speeds_and_angles_are_printed_in_the_unit_of_the_sheet(case):
    system, trial, (sheet, _) = case
    (block,) = [block for block in sheet.blocks if block.form == "table"]
    per_minute = {"metric": 60_000.0, "inch": 60.0 / 0.0254}[system]
    cuts = [cut for coupon in trial.coupons for cut in coupon.cuts]
    for row, cut in zip(block.table.rows, cuts, strict=True):
        assert_allclose(float(row.cells[4]), cut.speed * per_minute, rtol=0, atol=0.051)
    leaned = replace(trial.coupons[0].cuts[0], tilt=0.0123)
    coupon = replace(trial.coupons[0], cuts=(leaned, *trial.coupons[0].cuts[1:]))
    tilted = trial_sheet(replace(trial, coupons=(coupon,)), (), system=system)
    (block,) = [block for block in tilted.blocks if block.form == "table"]
    assert block.table.rows[0].cells[5:7] == ("tilted", "0.70")
    assert block.table.rows[1].cells[5:7] == ("upright", "0.00")


def test_plates_are_named_where_there_are_several():
    trial = sample_trial()
    thick = replace(trial.coupons[1], thickness=0.75 * 0.0254)
    several = replace(trial, coupons=(trial.coupons[0], thick, *trial.coupons[2:]))
    (block,) = [block for block in trial_sheet(several, (), system="inch").blocks if block.form == "table"]
    assert [column.title for column in block.table.columns][2] == "Plate"
    assert [row.cells[2] for row in block.table.rows if row.cells[0]] == [
        "0.5000",
        "0.7500",
        "0.5000",
        "0.5000",
    ]
    (block,) = [block for block in trial_sheet(trial, (), system="inch").blocks if block.form == "table"]
    assert "Plate" not in [column.title for column in block.table.columns]


def test_markup_in_names_stays_text():
    trial = replace(sample_trial(), id="<b>T7</b> #strong[x]", machine="<script>alert(1)</script>", lot="$x$")
    for paper in papers_of(trial, "metric"):
        page, loads = page_of(trial_html(paper))
        assert loads == []
        assert "<b>T7</b> #strong[x]" in page
        assert "<b>T7</b> #strong[x]" in text_of(trial_pdf(paper))


def test_a_date_is_printed_as_given_and_left_to_write_otherwise():
    trial = sample_trial()
    for paper in papers_of(trial, "metric", date="2026-03-02"):
        assert "2026-03-02" in text_of(trial_pdf(paper))
    for paper in papers_of(trial, "metric"):
        assert paper.heading[-1].value == ""


def test_pictures_are_well_formed_and_name_what_is_read(case):
    system, trial, _ = case
    for theme in ("paper", "page"):
        root = ET.fromstring(plate_svg(coupon_drawing(trial.coupons, system=system), theme=theme))
        orders = [text.text for text in root.iter(f"{SVG}text")]
        assert orders == [str(k) for k in range(1, len(trial.coupons) + 1)]
        for coupon in trial.coupons:
            read = [(line.cut, line.kind) for line in sample_lines(trial) if line.coupon == coupon.id]
            drawn = ET.fromstring(gauge_svg(coupon, read, system=system, theme=theme))
            names = [text.text for text in drawn.iter(f"{SVG}text")]
            assert {cut.id for cut in coupon.cuts} <= set(names)
        depths = ET.fromstring(depth_svg((0.0, 0.5, 1.0), theme=theme))
        assert {"top", "middle", "bottom"} <= {text.text for text in depths.iter(f"{SVG}text")}


def test_no_arrow_points_where_nothing_is_read():
    block = sample_trial().coupons[0]
    both = gauge_svg(block, [("X", ReadingKind.SIZE), ("Y", ReadingKind.SIZE)], system="metric")
    one = gauge_svg(block, [("X", ReadingKind.SIZE)], system="metric")
    assert ">Y<" in both
    assert ">Y<" not in one
    assert ">X<" in one


def test_coupons_that_look_alike_share_a_picture():
    trial = sample_trial(blocks=3)
    _, form = papers_of(trial, "metric")
    captions = [picture.caption for picture in form.blocks[0].pictures]
    assert captions == ["Block: T7-1, T7-2, T7-3", "Ladder: T7-4", "Slots: T7-5", "Depths, from the side"]
    assert len(filled(trial)) == len(sample_lines(trial))


def test_advice_is_given_only_on_what_is_read():
    trial = sample_trial()
    ladder = [line for line in sample_lines(trial) if line.kind is ReadingKind.THROUGH]
    form = reading_form(trial, ladder, system="metric")
    (steps,) = [block for block in form.blocks if block.form == "steps"]
    assert any("light" in line for line in steps.section.lines)
    assert not any("jaws" in line for line in steps.section.lines)


def test_a_lot_that_is_not_known_is_left_to_write():
    (ticks,) = [
        block
        for block in trial_sheet(replace(sample_trial(), lot=""), (), system="metric").blocks
        if block.form == "ticks"
    ]
    assert ticks.facts[-1].name == "Material lot"
    assert set(ticks.facts[-1].value) == {"."}
