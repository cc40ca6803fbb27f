"""The loop by hand: design, form filled, recorded, fitted, planned anew.

The cell that fills the form is `simple_cutter`, which has laws of its own. Whether a fit is right is asked
elsewhere; here the question is whether what was learned reaches the plan, and is said.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from simple_cutter import filled
from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.bundled import bundled

PART = ["--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 200 off", "--out", "part.toml"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path / "part.dxf")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.setenv("TRIALCUT_BOOK", str(tmp_path / "book.db"))
    assert run(["new", "part.dxf", *PART]) == 0
    return tmp_path


class Terminal:
    """Runs commands and keeps what they printed."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def __call__(self, *words: str, status: int = 0) -> str:
        self.capsys.readouterr()
        got = run(words)
        printed = self.capsys.readouterr()
        assert got == status, printed.err
        return printed.out + printed.err


@pytest.fixture
def terminal(capsys: pytest.CaptureFixture[str], folder: Path) -> Terminal:
    assert folder == Path.cwd()
    return Terminal(capsys)


def issue(terminal: Terminal, *, coupons: int = 3) -> str:
    """Design a trial of a few coupons and fill its form."""
    said = terminal(
        "trial", "design", "part.toml", "--budget", str(coupons), "--coupons", str(coupons), "--out", "trial"
    )
    assert "Trial T1, session" in said
    with open_book() as book:
        text = filled(Path("trial/T1-readings.csv").read_text(encoding="utf-8"), book.trial("T1"))
    Path("trial/T1-filled.csv").write_text(text, encoding="utf-8")
    return said


def filled_rows() -> list[dict[str, str]]:
    return list(csv.DictReader(Path("trial/T1-filled.csv").read_text(encoding="utf-8").splitlines()))


def write_rows(name: str, rows: list[dict[str, str]]) -> None:
    with Path(name).open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)


def spreads(document: str) -> Iterator[float]:
    """Standard deviations of every demand at the bottom, relative to what it should come to."""
    for demand in json.loads(document)["options"][1]["demands"]:
        yield demand["bottom"]["sd"] / demand["bottom"]["mean"]


def test_what_is_cut_and_read_sharpens_the_next_plan_and_the_plan_says_so(terminal: Terminal) -> None:
    before = terminal("plan", "part.toml", "--json")
    said = issue(terminal)
    names = sorted(path.name for path in Path("trial").iterdir())
    assert names == sorted(
        ["T1-filled.csv", "T1-coupons.dxf", "T1-sheet.pdf", "T1-sheet.html"]
        + [f"T1-readings.{kind}" for kind in ("csv", "pdf", "xlsx")]
    )
    assert re.search(r"coupons +time +EUR", said)
    recorded = terminal("trial", "record", "trial/T1-filled.csv", "--who", "MK")
    assert re.search(r"Trial T1: \d+ readings entered, R1 to R\d+", recorded)
    fitted = terminal("fit", "--study", "part.toml", "--out", "pictures")
    assert "Good: plans and forecasts on machine north with garnet 80 use it." in fitted
    assert "the plan before and after" in fitted
    pictures = sorted(path.name for path in Path("pictures").iterdir())
    assert pictures == ["F1-part.svg", "F1-readings.svg", "F1-report.json", "F1-residuals.svg"]
    after = terminal("plan", "part.toml", "--json")
    assert all(b < a for a, b in zip(spreads(before), spreads(after), strict=True))
    notes = [note for note in json.loads(after)["options"][1]["notes"] if note["code"] == "fitted"]
    assert len(notes) == 1
    assert re.match(r"Fit F1 of \d+ readings on 3 coupons of machine 'north'", notes[0]["message"])
    assert "No reading of this machine" in before
    assert terminal("plan", "part.toml", "--json", "--no-book") == before


def test_a_trial_that_does_not_pay_is_not_entered_unless_asked_for(terminal: Terminal) -> None:
    said = terminal(
        *("trial", "design", "part.dxf", "--ask", "1 in 6061, sizes ±0.020 in, 2 off"),
        *("--budget", "1", "--out", "trial"),
    )
    assert "No trial pays on a lot of 2" in said
    assert "No trial was entered, for none pays" in said
    assert "no trial is in the book yet" in terminal("trial", "list")


def test_the_design_is_printed_as_its_document(terminal: Terminal) -> None:
    document = json.loads(terminal("trial", "design", "part.toml", "--budget", "2", "--json"))
    schema = Path(__file__).parents[2] / "docs" / "schema" / "trial-design-1.json"
    jsonschema.validate(document, json.loads(schema.read_text(encoding="utf-8")))
    assert [len(step["coupons"]) for step in document["steps"]] == [0, 1, 2]


def test_readings_that_contradict_the_set_up_are_fitted_and_kept_but_not_used(terminal: Terminal) -> None:
    issue(terminal)
    rows = filled_rows()
    for row in rows:
        if row["what"] == "size":
            wider = 0.09 if row["cut"] != "H" else -0.09
            row["value"] = f"{float(row['value']) + wider:.4f}"
    write_rows("bad.csv", rows)
    terminal("trial", "record", "bad.csv")
    fitted = " ".join(terminal("fit").split())
    assert "Intervals refused." in fitted
    assert "check the set-up of the trial" in fitted
    with open_book() as book:
        (kept,) = book.fits()
    assert not kept.good
    plain = json.loads(terminal("plan", "part.toml", "--json", "--no-book"))
    planned = json.loads(terminal("plan", "part.toml", "--json"))
    assert planned["options"] == plain["options"]
    said = [note["message"] for note in planned["study"]["notes"] if note["code"] == "fit-refused"]
    assert len(said) == 1
    assert said[0].startswith("Fit F1 is not used: ")


def test_a_form_recorded_twice_is_noticed_and_counts_once(terminal: Terminal) -> None:
    issue(terminal, coupons=1)
    first = terminal("trial", "record", "trial/T1-filled.csv", "--who", "MK")
    count = int(re.search(r"(\d+) readings entered", first)[1])
    again = terminal("trial", "record", "trial/T1-filled.csv", "--who", "MK")
    assert f"all of the {count} readings are duplicates of R1 to R{count}" in " ".join(again.split())
    with open_book() as book:
        assert len(book.readings()) == count
    terminal("trial", "record", "trial/T1-filled.csv", "--who", "MK", "--repeat")
    with open_book() as book:
        assert len(book.readings()) == 2 * count


def test_the_rest_of_a_form_is_entered_when_it_is_recorded_again(terminal: Terminal) -> None:
    issue(terminal, coupons=1)
    lines = Path("trial/T1-filled.csv").read_text(encoding="utf-8").splitlines()
    Path("half.csv").write_text("\n".join(lines[:5]) + "\n", encoding="utf-8")
    terminal("trial", "record", "half.csv", "--who", "MK")
    said = terminal("trial", "record", "trial/T1-filled.csv", "--who", "MK")
    assert f"{len(lines) - 5} readings entered" in said
    assert f"4 of the {len(lines) - 1} readings are duplicates" in " ".join(said.split())


def test_slips_of_the_pen_are_told_with_their_cause_and_entered_all_the_same(terminal: Terminal) -> None:
    issue(terminal, coupons=2)
    rows = filled_rows()
    sizes = [row for row in rows if row["what"] == "size"]
    slipped = sizes[0]["value"], sizes[3]["value"]
    sizes[0]["value"] = f"{float(slipped[0]) * 10:.3f}"
    sizes[3]["unit"] = "mm"
    write_rows("slips.csv", rows)
    said = " ".join(terminal("trial", "record", "slips.csv").split())
    assert "the decimal mark is set wrong" in said
    assert "read in inch and written as mm" in said
    assert f"look again; if so, correct it to {slipped[0]} in" in said
    with open_book() as book:
        assert len(book.readings()) == len(rows)


def test_a_reading_is_corrected_and_withdrawn_with_its_reason(terminal: Terminal) -> None:
    issue(terminal, coupons=1)
    terminal("trial", "record", "--one", "T1-1 X top 1.5013 in", "--one", "T1-1 X bottom 15.02 in")
    said = terminal("trial", "correct", "R2", "1.502 in", "--reason", "decimal mark")
    assert said == "R3 supersedes R2: 1.502 in in place of 15.02 in\n"
    terminal("trial", "withdraw", "R1", "--reason", "burr under the jaw")
    with open_book() as book:
        (left,) = book.readings()
        assert (left.id, left.text) == ("R3", "1.502 in")
    shown = terminal("trial", "show", "T1")
    assert "Readings: 1" in shown
    assert "1.502 in" in shown
    assert "15.02 in" not in shown


def test_single_readings_take_the_gauge_that_can_read_them(terminal: Terminal) -> None:
    issue(terminal, coupons=1)
    for text in ("T1-1 X top 1.5013 in", "T1-1 H bottom 12.68 mm", "t1-1 y Ra bottom 140 uin"):
        terminal("trial", "record", "--one", text)
    terminal("trial", "record", "--one", "T1-1 cycle time 1:32")
    with open_book() as book:
        gauges = [(each.cut, each.kind.value, each.gauge) for each in book.readings()]
    assert gauges == [
        ("X", "size", "micrometer"),
        ("H", "size", "bore gauge"),
        ("Y", "Ra", "roughness tester"),
        ("", "cycle time", ""),
    ]


def test_a_filled_workbook_is_taken(terminal: Terminal) -> None:
    issue(terminal, coupons=1)
    values = [row["value"] for row in filled_rows()]
    book = openpyxl.load_workbook("trial/T1-readings.xlsx")
    sheet = book.active
    head = next(row for row in sheet.iter_rows() if row[0].value == "coupon")
    column = next(cell.column for cell in head if cell.value == "value")
    for row, value in enumerate(values, start=head[0].row + 1):
        sheet.cell(row, column).value = float(value)
    book.save("filled.xlsx")
    assert f"{len(values)} readings entered" in terminal("trial", "record", "filled.xlsx")


@pytest.mark.parametrize(
    ("words", "status", "told"),
    [
        (["trial", "record", "nothing.csv"], 3, "cannot read nothing.csv"),
        (["trial", "record"], 2, "give a filled form, or single readings with --one"),
        (["trial", "record", "--one", "T9-1 X top 1 in"], 3, "no coupon of the book is named"),
        (["trial", "show", "T9"], 3, "T9"),
        (["fit"], 3, "no reading is in the book"),
        (["fit", "west"], 3, "no reading is in the book"),
        (["plan", "part.toml", "--book", "b.db", "--no-book"], 2, "exclude each other"),
        (["plan", "part.toml", "--book", "elsewhere.db"], 3, "elsewhere.db"),
    ],
)
def test_what_cannot_be_done_is_one_line_that_says_why(
    terminal: Terminal, words: list[str], status: int, told: str
) -> None:
    open_book().close()
    said = terminal(*words, status=status)
    assert told in said
    assert said.count("\n") == 1


def test_without_a_book_trials_are_listed_as_none_and_nothing_is_made(
    terminal: Terminal, folder: Path
) -> None:
    assert "no trial is in the book yet" in terminal("trial", "list")
    terminal("plan", "part.toml", "--json")
    terminal("trial", "design", "part.toml", "--budget", "1")
    assert "there is no book" in terminal("fit", status=3)
    assert not (folder / "book.db").exists()
