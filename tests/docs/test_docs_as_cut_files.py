"""The page about the as-cut files names what is written, and its example runs."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from svg_reading import parse

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "as-cut-files.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Files of the page's own example, by name."""
    (example,) = re.findall(r"^```python\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
    names: dict = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path_factory.mktemp("page"))
        exec(example, names)
        return {path.name: path.read_bytes() for path in names["files"]}


def rows(heading: str) -> list[str]:
    """First cells of the table below a heading."""
    text = PAGE.partition(heading)[2]
    return re.findall(r"^\| (`.*?) \|", text.partition("\n## ")[0], re.MULTILINE)


def test_the_page_names_every_file_and_no_other(written):
    kinds = {re.sub(r"-section-[A-Z]+[0-9]+\.", "-section-EDGE.", name) for name in written}
    assert {name.replace("link", "NAME") for name in kinds} == {row.strip("`") for row in rows("# Files")}


def test_the_page_names_every_field_of_the_playback(written):
    named = {name for row in rows("## Playback") for name in re.findall(r"`(\w+)`", row)}
    assert named == set(json.loads(written["link-playback.json"]))


def test_the_page_names_every_finding_of_the_solid():
    source = (ROOT / "src" / "trialcut" / "ascut" / "solid.py").read_text(encoding="utf-8")
    codes = set(re.findall(r'code="([a-z-]+)"', source))
    assert codes == {row.strip("`") for row in rows("## The solid")}


def test_every_picture_that_is_written_is_xml(written):
    pictures = [content for name, content in written.items() if name.endswith(".svg")]
    assert len(pictures) > 5
    for content in pictures:
        assert parse(content.decode()).tag.endswith("svg")
