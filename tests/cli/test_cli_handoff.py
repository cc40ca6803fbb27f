"""``trialcut handoff`` on the command line."""

from __future__ import annotations

import shutil

import pytest

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled


@pytest.fixture
def study(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(bundled("link.dxf"), tmp_path / "link.dxf")
    (tmp_path / "link.toml").write_text(
        'demands = ["sizes ±0.010 in"]\n[drawing]\nfile = "link.dxf"\n[stock]\nmaterial = "6061"\n'
        'thickness = "1/2 in"\n[draws]\nnumber = 64\n',
        encoding="utf-8",
    )
    return tmp_path


def test_a_plan_is_handed_off_as_drawing_table_and_document(study, capsys):
    assert run(["handoff", "link.toml", "--out", "files", "--no-book"]) == 0
    names = {path.name for path in (study / "files").iterdir()}
    assert names == {f"link-cheapest-edges.{suffix}" for suffix in ("dxf", "csv", "json")}
    assert "link-cheapest-edges.dxf" in capsys.readouterr().out


def test_a_program_comes_on_request_with_the_reminder(study, capsys):
    arguments = ["handoff", "link.toml", "--out", "files", "--form", "program", "--option", "accurate"]
    assert run([*arguments, "--no-book"]) == 0
    assert [path.name for path in (study / "files").iterdir()] == ["link-accurate.nc"]
    assert "dry run" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "status", "message"),
    [
        (["link.dxf", "--out", "files"], 2, "study"),
        (["none.toml", "--out", "files"], 3, "none.toml"),
        (["link.toml", "--out", "files", "--form", "gcode"], 2, "--form"),
    ],
)
def test_what_cannot_be_handed_off_is_one_line(study, capsys, arguments, status, message):
    assert run(["handoff", *arguments]) == status
    error = capsys.readouterr().err
    assert message in error
    assert len(error.splitlines()) == 1
    assert not (study / "files").exists()


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ('axes = ["B +x"]', "two axes"),
        ('axes = ["B +x", "A +x"]', "one along x and one along y"),
        ('axes = ["Z up", "A +x"]', "an axis is a letter"),
        ("jet_on = []", "needs one line or more"),
        ('template = "nowhere.j2"', "nowhere.j2 cannot be read"),
        ("decimals = 3", "is not a known key"),
    ],
)
def test_a_wrong_program_table_is_told_with_line_and_key(study, capsys, table, message):
    text = bundled("demo_shop.toml").read_text(encoding="utf-8").split("[program]")[0]
    (study / "shop.toml").write_text(f"{text}[program]\n{table}\n", encoding="utf-8")
    assert run(["shop", "check", "shop.toml"]) == 3
    error = capsys.readouterr().err
    assert message in error
    assert "[program]" in error
