"""Every line of the page about demands is read, and means the kind of demand that it is listed as."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from trialcut.planning.asks import parse_ask
from trialcut.planning.demands import DemandKind, Depth
from trialcut.planning.sentences import parse_sentence

TEXT = (Path(__file__).parents[2] / "docs" / "demands.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| `([^`]+)` \| (.+) \|$", TEXT, re.MULTILINE)
SENTENCES = re.findall(r"^```text\n(.+)\n```$", TEXT, re.MULTILINE)
KINDS = {
    "finish": DemandKind.FINISH,
    "squareness": DemandKind.SQUARENESS,
    "error of the corner": DemandKind.CORNER,
    "left for a later": DemandKind.LATER,
}


@pytest.mark.parametrize("line", [line for line, _ in ROWS])
def test_every_line_of_the_page_can_be_read(line: str) -> None:
    ask = parse_ask(line)
    assert ask.text == line
    assert (ask.depth is Depth.TOP) == line.endswith("at top")
    assert ask.on == ("part",) if ":" not in line or line.startswith("part") else ask.on != ("part",)


@pytest.mark.parametrize(("line", "says"), [row for row in ROWS if row[1].startswith(tuple(KINDS))])
def test_a_line_asks_for_what_the_page_says(line: str, says: str) -> None:
    assert parse_ask(line).kind is next(kind for words, kind in KINDS.items() if says.startswith(words))


def test_the_page_has_a_line_for_every_kind_of_demand() -> None:
    assert {parse_ask(line).kind for line, _ in ROWS} == set(DemandKind)


@pytest.mark.parametrize("sentence", SENTENCES)
def test_every_sentence_of_the_page_states_plate_and_pieces(sentence: str) -> None:
    said = parse_sentence(sentence)
    assert said.thickness
    assert said.material
    assert said.quantity
    assert said.asks


def test_the_page_has_both_sentences() -> None:
    assert len(SENTENCES) == 2
