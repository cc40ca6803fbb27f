"""``trialcut options``: its document against its schema, its chart, and what it refuses."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest
from numpy.testing import assert_allclose

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

SCHEMA = Path(__file__).parents[2] / "docs" / "schema" / "options-1.json"
ASKED = ["--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off", "--no-book", "--points", "4"]


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    folder = tmp_path_factory.mktemp("options")
    assert run(["options", str(bundled("link.dxf")), *ASKED, "--out", str(folder)]) == 0
    return folder


@pytest.fixture(scope="module")
def document(issued):
    return json.loads((issued / "link-options.json").read_text(encoding="utf-8"))


def test_the_document_keeps_to_its_schema(document):
    jsonschema.validate(document, json.loads(SCHEMA.read_text(encoding="utf-8")))
    assert document["schema"] == "trialcut/options/1"


def test_the_drawings_own_tolerance_is_told_as_it_is_written(document):
    drawing = [each for each in document["series"][0]["points"] if each["drawing"]]
    assert [each["tolerance"] for each in drawing] == ["±0.010 in"]
    assert_allclose(drawing[0]["tightest"], 0.010 * 0.0254, rtol=1e-12)


def test_the_chart_has_a_mark_for_every_point_and_words_for_who_cannot_see_it(issued, document):
    root = ET.fromstring((issued / "link-options.svg").read_text(encoding="utf-8"))
    space = {"s": "http://www.w3.org/2000/svg"}
    count = sum(len(series["points"]) for series in document["series"])
    marks = [each for each in root.iter() if each.get("class") == "tc-point"]
    signs = len(document["series"])
    assert len(marks) == count + signs
    assert root.find("s:title", space).text == "link: what accuracy costs"
    assert root.find("s:desc", space).text == " ".join(document["sentences"])


def test_a_point_that_is_not_there_is_refused(capsys):
    assert run(["options", str(bundled("link.dxf")), *ASKED, "--pick", "99"]) == 2
    assert "no point has the number 99: pick one of 1 to" in capsys.readouterr().err


def test_too_few_points_are_refused(capsys):
    assert run(["options", str(bundled("link.dxf")), *ASKED[:-1], "2"]) == 2
    assert "3 to 200 points, not 2" in capsys.readouterr().err
