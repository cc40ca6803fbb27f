"""The as-cut part from the command line."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import ezdxf
import pytest

from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

PLATE = ("--thickness", "1 in", "--material", "6061", "--size", "±0.010 in")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


def block_with_openings(path: Path) -> None:
    """A block of 40 mm by 20 mm with an opening of 6 mm, and one of 1 mm that a 1.1 mm kerf cannot make."""
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True)
    space.add_circle((25, 10), 3)
    space.add_circle((10, 10), 0.5)
    drawing.saveas(path)


def readings(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_speed_gives_gauge_readings_pictures_and_solid(folder, capsys):
    status = run(("ascut", "link.dxf", *PLATE, "--speed", "6.25 ipm", "--stance", "tilted", "--out", "cut"))
    printed = capsys.readouterr()
    assert (status, printed.err) == (0, "")
    assert "caliper, outside" in printed.out
    assert "width between A1 and A3" in printed.out
    names = {path.name.removeprefix("link-as-cut-tilted") for path in (folder / "cut").iterdir()}
    assert {".stl", ".3mf", "-gauge.csv", "-path.svg", "-solid.svg", "-playback.json"} <= names
    assert {"-outline-top.svg", "-outline-middle.svg", "-outline-bottom.svg", "-section-A1.svg"} <= names
    playback = json.loads((folder / "cut" / "link-as-cut-tilted-playback.json").read_text("utf-8"))
    assert playback["schema"] == "trialcut/playback/1"


def test_upright_the_caliper_reads_more_at_the_bottom_by_twice_the_taper_and_tilted_it_does_not(folder):
    # Common practice, no source: 0.018 to 0.020 in at 6 to 6.5 in/min upright; within 0.001 in tilted. The
    # priors are centred on these tapers, so the check confirms the geometry of the cut and not the law.
    over = {}
    for stance in ("upright", "tilted"):
        words = ("ascut", "link.dxf", *PLATE, "--speed", "6.25 ipm", "--stance", stance, "--out", "cut")
        assert run(words) == 0
        at = {
            row["where"]: float(row["value"].replace("−", "-"))
            for row in readings(folder / "cut" / f"link-as-cut-{stance}-gauge.csv")
            if row["characteristic"] == "size-A1-A3" and row["gauge"] == "caliper, outside"
        }
        over[stance] = at["bottom"] - at["top"]
    assert 0.018 <= over["upright"] <= 0.020
    assert abs(over["tilted"]) <= 0.001


def test_an_opening_that_the_jet_cannot_make_is_named_with_the_smallest_that_it_can(folder, capsys):
    block_with_openings(folder / "block.dxf")
    words = ("--thickness", "12 mm", "--material", "304", "--size", "±0.25 mm", "--speed", "100 mm/min")
    status = run(("ascut", "block.dxf", *words, "--out", "cut"))
    printed = " ".join(capsys.readouterr().out.split())
    assert status == 0
    assert "the jet does not fit into; the smallest that this set-up can make is 1.1" in printed
    assert "no wall" in printed
    names = {path.suffix for path in (folder / "cut").iterdir()}
    assert ".csv" in names
    assert ".stl" not in names


@pytest.mark.parametrize(
    ("words", "status", "complaint"),
    [
        (("--speed", "6"), 2, "'6' has no unit"),
        (("--speed", "nan ipm"), 2, "nan"),
        (("--speed", "6 ipm", "--stance", "tilted", "--machine", "south"), 4, "no tilting head"),
        (("--speed", "6 ipm", "--out", "link.dxf"), 3, "link.dxf"),
    ],
)
@pytest.mark.usefixtures("folder")
def test_what_cannot_be_done_is_one_line(capsys, words, status, complaint):
    assert run(("ascut", "link.dxf", *PLATE, *words)) == status
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert complaint in printed.err
