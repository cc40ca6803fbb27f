"""The corpus of dirty drawings through the command line: one clear line, right status, nothing left."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from corpus.make_drawings import DRAWINGS
from trialcut.cli.entry import run

MANIFEST = tomllib.loads((Path(__file__).parents[1] / "corpus" / "manifest.toml").read_text(encoding="utf-8"))
REFUSED = sorted(name for name, line in MANIFEST.items() if "error" in line)
READABLE = sorted(set(MANIFEST) - set(REFUSED))


def units(name: str) -> list[str]:
    return ["--units", MANIFEST[name]["unit"]] if "unit" in MANIFEST[name] else []


@pytest.mark.parametrize("name", REFUSED)
def test_a_drawing_that_cannot_be_used_ends_in_one_line_and_no_paper(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    DRAWINGS[name](Path(f"{name}.dxf"))
    status = run(["plan", f"{name}.dxf", "--ask", "12 mm 304", "--out", "papers", *units(name)])
    out, err = capsys.readouterr()
    assert (status, out) == (3, "")
    assert err.count("\n") == 1
    assert err.startswith("trialcut: ")
    assert not Path("papers").exists() or not list(Path("papers").iterdir())


@pytest.mark.parametrize("name", READABLE)
def test_a_drawing_that_can_be_used_is_shown(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    DRAWINGS[name](Path(f"{name}.dxf"))
    status = run(["show", f"{name}.dxf", *units(name)])
    out, err = capsys.readouterr()
    assert (status, err) == (0, "")
    assert "Part 1: " in out
