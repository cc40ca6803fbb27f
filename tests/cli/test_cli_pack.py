"""``pack`` and ``unpack`` on the command line: what is said, and with which status."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from trialcut import services
from trialcut.cli.entry import run
from trialcut.services.bundled import bundled


@pytest.fixture
def study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copy(bundled("link.dxf"), tmp_path)
    text = services.new_study_file(
        "link.dxf",
        services.StudyOptions(ask="1/2 in 6061, sizes ±0.010 in"),
        shop=services.load_shop(),
        folder=".",
    )
    Path("link.toml").write_text(text + "\n[draws]\nnumber = 64\n", encoding="utf-8")
    return Path("link.toml")


def test_a_study_is_packed_unpacked_and_planned_to_the_same_document(study, capsys):
    assert run(["pack", str(study)]) == 0
    assert capsys.readouterr().out.splitlines()[0] == "link.trialcut.zip"
    assert run(["unpack", "link.trialcut.zip", "there"]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[-1] == "plan it with: trialcut plan there/link.toml"
    assert "there/shop/demo_shop.toml" in out
    assert run(["plan", "there/link.toml", "--json"]) == 0
    assert capsys.readouterr().out == Path("there/plan.json").read_text(encoding="utf-8")


def test_another_version_is_said(study, capsys, monkeypatch):
    assert run(["pack", str(study), "--out", "sent"]) == 0
    monkeypatch.setattr("trialcut.__version__", "99.1")
    capsys.readouterr()
    assert run(["unpack", "sent.trialcut.zip", "there"]) == 0
    assert "opened by 99.1: numbers may differ from plan.json" in capsys.readouterr().out


def test_what_cannot_be_done_is_one_line(study, capsys):
    assert run(["pack", str(study), "--no-book"]) == 0
    assert run(["unpack", "link.trialcut.zip", "there"]) == 0
    cases = [
        (["plan", "there/link.toml", "--no-book"], 2, "leave out --book and --no-book"),
        (["pack", "there/link.toml", "--book", "other.db"], 2, "leave out --book and --no-book"),
        (["unpack", "link.trialcut.zip", "there"], 3, "holds files already"),
        (["unpack", "link.toml", "new"], 3, "is no zip archive"),
        (["pack", "link.dxf"], 2, "is no study file"),
        (["pack", "none.toml"], 3, "no study file at none.toml"),
        (["pack", str(study), "--papers", "nowhere"], 3, "there is no folder nowhere"),
    ]
    for words, status, said in cases:
        capsys.readouterr()
        assert run(words) == status, words
        err = capsys.readouterr().err
        assert said in err
        assert len(err.splitlines()) == 1
