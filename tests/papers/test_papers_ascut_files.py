"""The files about an as-cut part: which there are, that they are documented, and that they can be written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from sample_fields import field_of, jet_path_of
from sample_parts import bracket
from svg_reading import parse
from trialcut.ascut.playback import playback_document
from trialcut.ascut.solid import as_cut_solid
from trialcut.papers.ascut_files import as_cut_files
from trialcut.services.files import write_files

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "as-cut-files.md").read_text(encoding="utf-8")


def files_of(part, field):
    return as_cut_files(part, field, jet_path_of(part), as_cut_solid(part, field), name="bracket")


@pytest.fixture(scope="module")
def files():
    part = bracket()
    return files_of(part, field_of(part, lambda _e, _f, d: 1e-4 * (d - 0.3)))


def test_the_page_names_every_file_and_no_other(files):
    edges = "|".join(edge.id for edge in bracket().edges)
    written = {re.sub(rf"-section-({edges})\.", "-section-EDGE.", name) for name in files}
    named = set(re.findall(r"^\| `(NAME[^`]*)`", PAGE, re.MULTILINE))
    assert {name.replace("bracket", "NAME") for name in written} == named
    assert sum("-section-" in name for name in files) == len(list(bracket().edges))


def test_the_page_names_every_field_of_the_playback():
    part = bracket()
    document = playback_document(jet_path_of(part), edges=[e.id for e in part.edges], thickness=0.01)
    table = PAGE.partition("## Playback")[2].partition("## From Python")[0]
    named = {
        name
        for row in re.findall(r"^\| (`.*?) \|", table, re.MULTILINE)
        for name in re.findall(r"`(\w+)`", row)
    }
    assert named == set(document)


def test_the_page_names_every_finding_of_the_solid():
    source = Path(__file__).resolve().parents[2] / "src" / "trialcut" / "ascut" / "solid.py"
    codes = set(re.findall(r'code="([a-z-]+)"', source.read_text(encoding="utf-8")))
    assert codes == set(re.findall(r"^\| `(wall[a-z-]+)`", PAGE, re.MULTILINE))


def test_every_picture_is_xml_and_the_stream_is_json(files):
    for name, content in files.items():
        if name.endswith(".svg"):
            assert parse(content).tag.endswith("svg")
    assert json.loads(files["bracket-playback.json"])["schema"] == "trialcut/playback/1"


def test_all_files_are_written_and_come_back_the_same(files, tmp_path):
    written = write_files(tmp_path, files)
    assert {path.name for path in written} == set(files)
    for path in written:
        content = files[path.name]
        assert path.read_bytes() == (content.encode("utf-8") if isinstance(content, str) else content)


def test_an_edge_without_a_wall_has_no_section():
    part = bracket()
    flat = field_of(part, 1e-4)
    deviation = flat.deviation.copy()
    lost = flat.edge == flat.edges.index("A2")
    deviation[np.flatnonzero(lost)[3:-3]] = np.inf
    field = type(flat)(**{name: getattr(flat, name) for name in flat.__slots__} | {"deviation": deviation})
    assert "bracket-section-A2.svg" not in files_of(part, field)
    assert "bracket-section-A1.svg" in files_of(part, field)


def test_the_same_part_gives_the_same_files(files):
    part = bracket()
    assert files_of(part, field_of(part, lambda _e, _f, d: 1e-4 * (d - 0.3))) == files
