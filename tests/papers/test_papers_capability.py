"""The capability sheet: both forms read back by programs that did not write them."""

from __future__ import annotations

import math
import re
import time
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from numpy.testing import assert_allclose
from pypdf import PdfReader

from sample_capability import DATED, golden_capabilities, plates_of, sample_capability
from trialcut.papers.capability import capability_content, figures
from trialcut.papers.capability_pages import capability_html, capability_pdf
from trialcut.papers.capability_svg import capability_svg
from trialcut.planning.results import Stance
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

GOLDEN = Path(__file__).parent / "golden"
UNITS = {"inch": (0.0254, 0.0254 / 60.0, 25.4e-9), "metric": (1e-3, 1e-3 / 60.0, 1e-6)}


def text_of(pdf: bytes) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return " ".join(text.replace("\u200b", "").split())


def sheet_of(system: str, *, fitted: bool = True):
    return capability_content(sample_capability(system, fitted=fitted), dated=DATED)


def two(value: float, *, up: bool) -> float:
    """Two figures by logarithm, away from what `figures` does by decimals."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return (math.ceil(value / step - 1e-6) if up else math.floor(value / step + 1e-6)) * step


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_the_tables_of_the_pdf_are_the_numbers_of_the_model(system):
    text = text_of(capability_pdf(sheet_of(system)))
    length, speed, roughness = UNITS[system]
    triple = r"([\d.]+) ?/ ?([\d.]+) ?/ ?([\d.]+)"
    rows = re.findall(rf"([\d.]+)\*? (\d+) {triple} {triple} {triple} {triple} {triple}", text)
    plates = plates_of(system, fitted=True)
    told = [(stance, plate) for stance in (Stance.UPRIGHT, Stance.TILTED) for plate in plates]
    assert len(rows) == len(told)
    for row, (stance, plate) in zip(rows, told, strict=True):
        held = plate.stances[stance]
        numbers = [float(each) for each in row]
        assert_allclose(numbers[0], plate.thickness / length, rtol=1e-9)
        expected = [
            *(two(value / speed, up=False) for value in plate.speeds),
            *(two(value / length, up=True) for one in (held.width, held.opening) for value in one.most),
            *(two(value / length, up=True) for value in held.square.most),
            *(two(value / roughness, up=True) for value in held.finish.most),
        ]
        assert_allclose(numbers[2:], expected, rtol=1e-9)


def test_readings_behind_each_thickness_are_printed():
    text = text_of(capability_pdf(sheet_of("inch")))
    total = sum(each.total for each in sample_capability("inch").materials[0].counts)
    assert f"with {total} readings" in text
    page = sheet_of("inch").materials[0]
    behind = {row.cells[0]: row.cells[1] for row in page.tables[0].rows}
    counts = {
        round(e.thickness / 0.0254, 3): str(e.total) for e in sample_capability("inch").materials[0].counts
    }
    assert behind["0.5"] == counts[0.5]
    assert behind["1"] == counts[1.0]
    assert {behind[key] for key in behind if key not in ("0.5", "1")} == {"0"}


def test_without_a_reading_it_says_that_nothing_is_proved():
    for form in (text_of(capability_pdf(sheet_of("metric", fitted=False))),):
        assert "No reading of this machine is in these numbers" in form
        assert "Nothing is proved on this machine in aluminium" in form
        assert "Fit none" in form
    assert "Nothing is proved" not in text_of(capability_pdf(sheet_of("metric")))


def test_charts_mark_the_plates_that_were_read():
    def dots(*, fitted: bool) -> list[bool]:
        shown = sample_capability("inch", fitted=fitted).materials[0]
        tree = ElementTree.fromstring(capability_svg(shown, system="inch"))
        found = [each for each in tree.iter() if each.get("class") == "tc-dot"]
        keys = 2
        return [each.get("fill") == each.get("stroke") for each in found][keys:]

    assert len(dots(fitted=True)) == 9 * 10
    # Half an inch and an inch in every chart, but passes of a ladder in half an inch alone.
    assert sum(dots(fitted=True)) == 8 * 2 + 1
    assert sum(dots(fitted=False)) == 0


def test_limits_are_rounded_up_and_speeds_down():
    mm = printed_unit(Kind.LENGTH, "metric")
    assert figures(0.1201e-3, mm, up=True) == "0.13"
    assert figures(0.1299e-3, mm, up=False) == "0.12"
    assert figures(0.12e-3, mm, up=True) == "0.12"
    assert figures(2119.6e-3, mm, up=False) == "2100"
    assert figures(9.91e-3, mm, up=True) == "10"
    assert figures(math.inf, mm, up=True) == "–"


def test_a_limit_that_is_never_held_is_a_dash_and_a_line_that_ends():
    found = sample_capability("metric")
    material = found.materials[0]
    plates = list(material.plates)
    held = plates[-1].stances[Stance.UPRIGHT]
    none = replace(held.width, most=held.width.most + math.inf, half=held.width.half + math.inf)
    plates[-1] = replace(plates[-1], stances=plates[-1].stances | {Stance.UPRIGHT: replace(held, width=none)})
    torn = replace(found, materials=(replace(material, plates=tuple(plates)),))
    content = capability_content(torn)
    assert content.materials[0].tables[0].rows[-1].cells[3].split("\u00a0/\u00a0") == ["–"] * 3
    assert "nan" not in content.materials[0].drawing
    assert "inf" not in content.materials[0].drawing


def test_a_long_name_breaks_no_page_and_what_comes_in_is_not_markup():
    name = "a machine with a name of sixty letters <b>&amp; #strong[x]</b>"
    content = replace(sheet_of("inch"), title=name)
    assert "#strong[x]" in text_of(capability_pdf(content))
    assert "<b>&amp;" not in capability_html(content)


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_the_same_machine_gives_the_same_bytes_within_a_second(system):
    found = sample_capability(system)
    start = time.perf_counter()
    one = capability_pdf(capability_content(found, dated=DATED))
    html = capability_html(capability_content(found, dated=DATED))
    assert time.perf_counter() - start < 3.0  # a second, and room for a busy machine
    assert capability_pdf(capability_content(found, dated=DATED)) == one
    assert capability_html(capability_content(found, dated=DATED)) == html
    assert "://" not in html.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize("name", sorted(golden_capabilities()))
def test_pages_are_as_they_were_looked_at(name):
    assert golden_capabilities()[name] == (GOLDEN / name).read_text(encoding="utf-8")
