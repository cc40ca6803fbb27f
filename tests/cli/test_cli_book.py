"""The book on the command line. Made-up readings; compared with nothing outside."""

from __future__ import annotations

import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from sample_records import WHEN, sample_reading, sample_trial
from trialcut.cli.entry import run
from trialcut.records import open_book


class Said:
    """Runs a command; its status, and what it said on either stream, with runs of spaces as one."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def __call__(self, *words: str) -> tuple[int, str, str]:
        self.capsys.readouterr()
        status = run(["book", *words])
        out, err = self.capsys.readouterr()
        return status, "\n".join(" ".join(line.split()) for line in out.splitlines()), err


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Said:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")
    monkeypatch.setenv("TRIALCUT_BOOK", str(tmp_path / "book.db"))
    return Said(capsys)


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    place = tmp_path / "book.db"
    with open_book(place) as book:
        for trial in ("T1", "T2"):
            book.add_trial(sample_trial(trial), cut_at=WHEN)
            book.add_readings([replace(sample_reading(f"{trial}-1"), remark="")])
        book.correct_reading("R1", value=0.038, text="38.00 mm", reason="typo", who="PL")
        book.withdraw_reading("R3", reason="the piece fell", who="MK")
    return place


@pytest.mark.parametrize("words", [["info"], ["check"], ["readings"], ["history", "R1"], ["tube", "A"]])
def test_a_book_that_is_not_there_is_told_and_not_made(said: Said, tmp_path: Path, words: list[str]) -> None:
    status, out, err = said(*words)
    assert (status, out) == (3, "")
    assert "there is no book" in err
    assert len(err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_info_counts_what_is_there(said: Said, filled: Path) -> None:
    status, out, err = said("info")
    assert (status, err) == (0, "")
    assert f"{filled}: SQLite, form 0004" in out
    assert "machines north" in out
    assert "readings, with corrections 3" in out
    assert "readings set aside 1" in out


@pytest.mark.usefixtures("filled")
def test_only_readings_that_count_are_listed(said: Said) -> None:
    status, out, _ = said("readings")
    assert status == 0
    assert "Readings that count: 1" in out
    assert "R2 T2-1 X size, middle 1.4986 in caliper MK" in out
    assert "Readings that count: 0" in said("readings", "--trial", "T1")[1]
    assert said("readings", "--trial", "T9")[0] == 3


@pytest.mark.usefixtures("filled")
def test_a_history_has_every_entry_with_its_reason(said: Said) -> None:
    status, out, _ = said("history", "R1")
    assert status == 0
    lines = out.splitlines()
    assert lines[2].startswith("R1 1.4986 in MK")
    assert lines[3].startswith("R3 38.00 mm PL")
    assert lines[3].endswith("typo")
    assert lines[4] == "set aside MK the piece fell"


def test_the_hours_of_a_tube_are_entered_and_shown(said: Said) -> None:
    assert said("tube", "A", "--hours", "3.5 h", "--bore", "1.02 mm", "--who", "MK")[0] == 0
    status, out, err = said("tube", "A", "--hours", "-30 min", "--remark", "counted twice", "--who", "PL")
    assert (status, err) == (0, "")
    assert "Mixing tube A: 3 h of use" in out
    assert "3.5 h 0.0402 in (1.02 mm) MK" in out
    assert "-0.5 h PL counted twice" in out
    assert said("tube", "A")[1] == out


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        (["--hours", "3.5"], 2, "unit"),
        (["--hours", "-1 h"], 3, "need a remark"),
        (["--hours", "1 h", "--bore", "0 mm"], 2, "must be above zero"),
        (["--bore", "1 mm"], 2, "go with --hours"),
    ],
)
def test_tube_hours_that_cannot_be_are_told(
    said: Said, filled: Path, words: list[str], status: int, message: str
) -> None:
    assert filled.exists()
    got, _, err = said("tube", "A", *words)
    assert got == status
    assert message in err
    assert len(err.splitlines()) == 1


def test_a_book_goes_through_an_export_and_is_whole(said: Said, filled: Path, tmp_path: Path) -> None:
    assert said("export", "book.zip") == (0, "exported to book.zip", "")
    status, out, _ = said("import", "book.zip", "--book", "other.db")
    assert (status, out.splitlines()[0]) == (0, "other.db: SQLite, form 0004")
    assert said("check", "--book", "other.db")[1].startswith("other.db is whole")
    with open_book(filled) as old, open_book(tmp_path / "other.db") as new:
        assert new.readings() == old.readings()


def test_a_backup_is_a_book(said: Said, filled: Path) -> None:
    assert filled.exists()
    assert said("backup", "copy.db") == (0, "copied to copy.db", "")
    assert said("readings", "--book", "copy.db") == said("readings")
    assert said("backup", "copy.db")[0] == 3


def test_a_damaged_export_is_refused_before_a_book_is_made(said: Said, filled: Path, tmp_path: Path) -> None:
    assert filled.exists()
    said("export", "book.zip")
    with zipfile.ZipFile("book.zip") as archive, zipfile.ZipFile("bad.zip", "w", zipfile.ZIP_DEFLATED) as bad:
        for name in archive.namelist():
            bad.writestr(name, archive.read(name).replace(b"38.00", b"83.00"))
    status, _, err = said("import", "bad.zip", "--book", "other.db")
    assert status == 3
    assert "tables/readings.jsonl does not fit" in err
    assert len(err.splitlines()) == 1
    assert not (tmp_path / "other.db").exists()


def test_check_tells_every_problem(said: Said, filled: Path) -> None:
    with closing(sqlite3.connect(filled)) as book:
        book.execute("DROP TRIGGER keep_readings_update")
        book.execute("DROP TRIGGER keep_fits_delete")
        book.commit()
    status, out, err = said("check")
    assert (status, out) == (3, "")
    assert len(err.splitlines()) == 2
    assert "readings: nothing keeps its rows from update" in err
    assert "fits: nothing keeps its rows from delete" in err
