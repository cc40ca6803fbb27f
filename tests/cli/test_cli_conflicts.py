"""What `plan` says where nothing holds: what is in conflict, in words and as a document."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

TIGHT = ("--ask", "1 in 6061, sizes ±0.007 in, finish 160 uin, 50 off")
EASY = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off")


def _printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    capsys.readouterr()
    assert run(words) == 0
    return capsys.readouterr().out


@pytest.fixture
def drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")
    return "link.dxf"


def test_a_conflict_is_told_the_same_in_words_and_in_the_document(
    drawing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = _printed(capsys, "plan", drawing, *TIGHT)
    assert "What is in conflict" in out
    found = json.loads(_printed(capsys, "plan", drawing, *TIGHT, "--json"))["conflicts"]
    assert not found["alone"]
    assert len(found["demands"]) > 1
    assert all(sentence in out for sentence in found["sentences"])
    eased = [each["easing"] for each in found["demands"] if each["easing"]]
    assert all(each["width"] > 1.0 and each["good"] > 0.0 for each in [*eased, *found["asks"]])
    assert eased


def test_a_plan_that_holds_has_no_conflict_but_words_a_gap_and_the_price_of_a_good_piece(
    drawing: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = _printed(capsys, "plan", drawing, *EASY)
    assert "What is in conflict" not in out
    plan = json.loads(_printed(capsys, "plan", drawing, *EASY, "--json"))
    assert plan["conflicts"] is None
    option = plan["options"][1]
    assert all(sentence in out for sentence in option["told"])
    assert 0.0 <= option["gap"] <= 0.01
    assert option["cost"]["good"]["mean"] > option["cost"]["each"]["mean"]
    assert "of a good one" in out
    assert "of the best" in out


def test_what_holds_in_words_is_metric_where_asked(drawing: str, capsys: pytest.CaptureFixture[str]) -> None:
    out = _printed(capsys, "plan", drawing, *EASY, "--print-in", "mm")
    told = out[out.index("In words") : out.index("What is asked")]
    assert "mm/min" in told
    assert "in/min" not in told.replace("mm/min", "")
