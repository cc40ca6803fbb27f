"""The commands in this process: what they print, and the one line they say when something is wrong."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import ezdxf
import pytest

from trialcut import __version__
from trialcut.cli.entry import run
from trialcut.errors import ComputationError
from trialcut.services.bundled import bundled

ASK = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


class Ran:
    """A command that was run: its status, what it printed, what it complained of."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *words: str) -> None:
        capsys.readouterr()
        self.status = run(words)
        self.out, self.err = capsys.readouterr()

    @property
    def complaint(self) -> str:
        """The one line on standard error, after seeing that there is one and nothing was printed."""
        assert self.out == ""
        assert self.err.count("\n") == 1
        assert "Traceback" not in self.err
        return self.err.rstrip("\n")


@pytest.mark.usefixtures("folder")
def test_plan_prints_three_options_the_demands_and_the_edges(capsys: pytest.CaptureFixture[str]) -> None:
    ran = Ran(capsys, "plan", "link.dxf", *ASK)
    assert (ran.status, ran.err) == (0, "")
    for words in (
        "link: 1 in aluminium 6061-T6, 50 off",
        "accurate",
        "cheapest",
        "blank",
        "Odds now",
        "after first piece",
        "Cost of the lot",
        "width between A1",
        "finish of",
        "Edge by edge",
        "B1",
        "Notes",
    ):
        assert words in ran.out, words


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.usefixtures("folder")
def test_a_plan_in_a_pipe_is_plain_text_within_the_width(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, width: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    ran = Ran(capsys, "plan", "link.dxf", *ASK)
    assert max(len(line.rstrip()) for line in ran.out.splitlines()) <= width
    assert "\x1b" not in ran.out
    assert not set("─│┌┐└┘━┃╭╮╰╯…") & set(ran.out)


@pytest.mark.usefixtures("folder")
def test_inches_and_millimetres_are_both_printed_on_demand(capsys: pytest.CaptureFixture[str]) -> None:
    assert "in/min" in Ran(capsys, "plan", "link.dxf", *ASK).out
    metric = Ran(capsys, "plan", "link.dxf", *ASK, "--print-in", "mm").out
    assert "mm/min" in metric
    assert "in/min" not in metric


def test_papers_and_document_are_written_and_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = Ran(capsys, "plan", "link.dxf", *ASK, "--out", "papers", "--option", "accurate")
    names = {path.name for path in (folder / "papers").iterdir()}
    assert names == {"link-accurate.pdf", "link-accurate.html", "link-accurate.svg", "link-plan.json"}
    for name in names:
        assert f"papers/{name}" in ran.out


@pytest.mark.usefixtures("folder")
def test_the_printed_document_is_json_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    plan = json.loads(Ran(capsys, "plan", "link.dxf", *ASK, "--json").out)
    assert plan["schema"] == "trialcut/plan/1"
    assert [option["name"] for option in plan["options"]] == ["accurate", "cheapest", "blank"]
    words = ("forecast", "link.dxf", *ASK, "--speed", "6 ipm", "--stance", "tilted", "--json")
    forecast = json.loads(Ran(capsys, *words).out)
    assert forecast["schema"] == "trialcut/forecast/1"
    assert {edge["stance"] for edge in forecast["edges"]} == {"tilted"}


@pytest.mark.usefixtures("folder")
def test_the_same_command_prints_the_same_document(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("forecast", "link.dxf", *ASK, "--speed", "150 mm/min", "--json")
    assert Ran(capsys, *words).out == Ran(capsys, *words).out


def test_a_new_study_can_be_planned_and_is_not_overwritten(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "edit it, then: trialcut plan link.toml" in Ran(capsys, "new", "link.dxf", *ASK).out
    assert Ran(capsys, "forecast", "link.toml", "--speed", "6 ipm").status == 0
    (folder / "link.toml").write_text("mine", encoding="utf-8")
    again = Ran(capsys, "new", "link.dxf", *ASK)
    assert again.status == 3
    assert "link.toml exists and is not overwritten" in again.complaint
    assert (folder / "link.toml").read_text(encoding="utf-8") == "mine"


@pytest.mark.usefixtures("folder")
def test_sheet_issues_the_cut_sheet_alone(capsys: pytest.CaptureFixture[str]) -> None:
    ran = Ran(capsys, "sheet", "link.dxf", *ASK, "--option", "blank", "--out", "papers")
    assert "papers/link-blank.pdf" in ran.out
    assert "Options" not in ran.out


def test_paper_sheet_and_sheet_write_the_same_files(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("link.dxf", *ASK, "--option", "cheapest")
    assert "one/link-cheapest.pdf" in Ran(capsys, "paper", "sheet", *words, "--out", "one").out
    assert "two/link-cheapest.pdf" in Ran(capsys, "sheet", *words, "--out", "two").out
    one, two = (
        {path.name: path.read_bytes() for path in (folder / name).iterdir()} for name in ("one", "two")
    )
    assert one == two
    assert sorted(one) == ["link-cheapest.html", "link-cheapest.pdf", "link-cheapest.svg"]


@pytest.mark.usefixtures("folder")
def test_show_lists_edges_and_findings(capsys: pytest.CaptureFixture[str]) -> None:
    ran = Ran(capsys, "show", "link.dxf")
    assert "Part 1: 5 edges, 1 opening, 6.3772 in of cut" in ran.out
    assert "B1    opening  circle" in ran.out


def test_an_open_contour_needs_a_person_and_is_told_before_anything_else(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing = ezdxf.new("R2010", units=4)
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (50, 0), (50, 30), (0, 30)], close=True)
    space.add_line((10, 10), (20, 10))
    drawing.saveas(folder / "open.dxf")
    out = Ran(capsys, "plan", "open.dxf", "--ask", "12 mm 304, sizes ±0.5 mm").out
    assert 0 < out.index("Needs a person") < out.index("Options, asked")


@pytest.mark.usefixtures("folder")
def test_shop_new_writes_a_shop_that_shop_check_finds_valid(capsys: pytest.CaptureFixture[str]) -> None:
    assert "trialcut shop check shop.toml" in Ran(capsys, "shop", "new").out
    assert "shop.toml is valid" in Ran(capsys, "shop", "check", "shop.toml").out
    assert Ran(capsys, "plan", "link.dxf", *ASK, "--shop", "shop.toml").status == 0


def test_version_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert Ran(capsys, "version").out == f"trialcut {__version__}\n"


def test_serve_starts_the_window_with_the_shop(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[dict[str, object]] = []
    monkeypatch.setattr("trialcut.app.serve", lambda **given: started.append(given))
    assert Ran(capsys, "serve", "--port", "0", "--shop", str(folder / "shop.toml")).status == 0
    (given,) = started
    assert (given["host"], given["port"], given["shop"]) == ("127.0.0.1", 0, folder / "shop.toml")
    assert not given["open_browser"]


@pytest.mark.parametrize(
    ("words", "status", "complaint"),
    [
        (("plan",), 2, "Missing argument"),
        (("plan", "link.dxf", "--thicknes", "1 in"), 2, "--thickness"),
        (("plam", "link.dxf"), 2, "Did you mean 'plan'?"),
        (("plan", "link.dxf"), 2, "--thickness is missing"),
        (("plan", "link.dxf", "--thickness", "0.5", "--material", "6061"), 2, "write '0.5 in' or '0.5 mm'"),
        (("plan", "link.dxf", *ASK, "--quantity", "0"), 2, "--quantity"),
        (("plan", "link.dxf", *ASK, "--option", "best"), 2, "--option"),
        (("forecast", "link.dxf", *ASK, "--speed", "6"), 2, "--speed: '6' has no unit"),
        (("plan", "none.dxf", *ASK), 3, "none.dxf"),
        (("plan", "none.toml"), 3, "no study file at none.toml"),
        (("plan", ".", *ASK), 3, "folder"),
        (("plan", "link.dxf", *ASK, "--material", "6o61"), 3, "did you mean 'aluminium 6061-T6'?"),
        (("plan", "link.dxf", *ASK, "--shop", "none.toml"), 3, "no shop file at none.toml"),
        (("plan", "link.dxf", *ASK, "--demand", "Z: 10 H11"), 3, "Z"),
        (("plan", "link.dxf", *ASK, "--part", "9"), 3, "has no part '9'"),
        (("plan", "link.dxf", *ASK, "--pressure", "90 ksi"), 4, "lower the pressure"),
        (("plan", "link.dxf", *ASK, "--tube-bore", "0.03 in"), 4, "smaller than three grains"),
        (("forecast", "link.dxf", *ASK, "--speed", "900 ipm"), 4, "more than machine 'north'"),
        (
            ("forecast", "link.dxf", *ASK, "--speed", "6 ipm", "--stance", "tilted", "--machine", "south"),
            4,
            "no tilting head",
        ),
    ],
)
@pytest.mark.usefixtures("folder")
def test_what_is_wrong_is_told_in_one_line_with_its_status(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], status: int, complaint: str
) -> None:
    ran = Ran(capsys, *words)
    assert complaint in ran.complaint
    assert ran.status == status


@pytest.mark.usefixtures("folder")
def test_thickness_beyond_the_evidence_is_a_note_and_no_error(capsys: pytest.CaptureFixture[str]) -> None:
    ran = Ran(capsys, "plan", "link.dxf", "--ask", "4 in 6061")
    assert ran.status == 0
    notes = " ".join(ran.out[ran.out.index("\nNotes\n") :].split())
    assert "beyond the 50.8 mm tested" in notes


def test_options_beside_a_study_file_are_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Ran(capsys, "new", "link.dxf", *ASK)
    ran = Ran(capsys, "plan", "link.toml", "--thickness", "2 in", "--demand", "B: 10 H11")
    assert ran.status == 2
    assert "leave out --demand, --thickness" in ran.complaint
    assert folder.joinpath("link.toml").exists()


def test_every_problem_of_a_file_is_told_first_line_first(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "bad.toml").write_text(
        'quantity = 0\nodds = 2\n[drawing]\nfile = "link.dxf"\n', encoding="utf-8"
    )
    ran = Ran(capsys, "plan", "bad.toml")
    lines = ran.err.splitlines()
    assert ran.status == 3
    assert lines[0].startswith("trialcut: bad.toml line 1: quantity: ")
    assert [line.startswith("also: bad.toml") for line in lines[1:]] == [True, True]


def test_a_folder_that_cannot_be_written_is_told_before_the_work(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "papers").write_text("a file", encoding="utf-8")
    monkeypatch.setattr("trialcut.services.plan_study", lambda *_, **__: pytest.fail("work was started"))
    ran = Ran(capsys, "plan", "link.dxf", *ASK, "--out", "papers")
    assert ran.status == 3
    assert "papers is a file: name a folder" in ran.complaint
    ran = Ran(capsys, "plan", "link.dxf", *ASK, "--out", "papers/below")
    assert ran.status == 3
    assert "cannot write in papers/below" in ran.complaint


def test_a_paper_that_fails_leaves_no_file_behind(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_sheet: object) -> bytes:
        raise ComputationError("the sheet cannot be set: report it")

    monkeypatch.setattr("trialcut.services.issue.cut_sheet_html", refuse)
    ran = Ran(capsys, "plan", "link.dxf", *ASK, "--out", "papers")
    assert ran.status == 4
    assert list((folder / "papers").iterdir()) == []


def test_a_disk_that_fills_up_leaves_no_file_behind(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    write = Path.write_bytes

    def full(path: Path, data: bytes) -> int:
        if path.name.endswith(".json.part"):
            raise OSError(28, "No space left on device")
        return write(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    ran = Ran(capsys, "plan", "link.dxf", *ASK, "--out", "papers")
    assert ran.status == 3
    assert "No space left on device" in ran.complaint
    assert list((folder / "papers").iterdir()) == []


@pytest.mark.usefixtures("folder")
def test_ctrl_c_ends_cleanly(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("trialcut.services.plan_study", interrupted)
    ran = Ran(capsys, "plan", "link.dxf", *ASK)
    assert ran.status == 130
    assert ran.complaint == "trialcut: stopped"


@pytest.mark.usefixtures("folder")
def test_a_fault_of_our_own_is_one_line_that_says_how_to_report_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("division\nby zero")

    monkeypatch.setattr("trialcut.services.plan_study", broken)
    ran = Ran(capsys, "plan", "link.dxf", *ASK)
    assert ran.status == 1
    assert "ZeroDivisionError" in ran.complaint
    assert "TRIALCUT_TRACEBACK=1" in ran.complaint
    monkeypatch.setitem(os.environ, "TRIALCUT_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        run(["plan", "link.dxf", *ASK])


@pytest.mark.usefixtures("folder")
def test_a_forecast_keeps_the_top_of_a_size_while_the_speed_moves_its_bottom(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # Common practice, no source: in 1 in aluminium the top is the same at 2.5-3 and 6-6.5 in/min within
    # 0.001 in, the bottom 0.008-0.010 and 0.018-0.020 in over it. The priors are centred on these tapers.
    words = (
        "--thickness",
        "1 in",
        "--material",
        "6061",
        "--abrasive-rate",
        "0.95 lb/min",
        "--size",
        "±0.01 in",
    )
    found = {}
    for ipm in ("2.75", "6.25"):
        ran = Ran(capsys, "forecast", "link.dxf", *words, "--speed", f"{ipm} ipm", "--json")
        demand = json.loads(ran.out)["demands"][0]
        found[ipm] = (demand["top"]["mean"] / 0.0254, demand["bottom"]["mean"] / 0.0254)
    assert demand["id"] == "size-A1-A3"
    assert abs(found["2.75"][0] - found["6.25"][0]) <= 0.001
    assert 0.008 <= found["2.75"][1] - found["2.75"][0] <= 0.010
    assert 0.018 <= found["6.25"][1] - found["6.25"][0] <= 0.020


@pytest.mark.usefixtures("folder")
def test_a_centred_forecast_has_better_odds_than_one_with_the_offset_of_the_top(
    capsys: pytest.CaptureFixture[str],
) -> None:
    words = ("--thickness", "1 in", "--material", "6061", "--size", "±0.01 in", "--speed", "2.75 ipm")
    top = json.loads(Ran(capsys, "forecast", "link.dxf", *words, "--json").out)
    centred = json.loads(Ran(capsys, "forecast", "link.dxf", *words, "--offset", "centred", "--json").out)
    assert centred["demands"][0]["odds"] > top["demands"][0]["odds"] + 0.1
    assert centred["demands"][0]["odds_corrected"] == top["demands"][0]["odds_corrected"]
