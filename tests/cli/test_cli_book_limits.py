"""What the book refuses on the command line, and a copy made while it is written. Made-up readings."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from sample_records import sample_reading, sample_trial
from trialcut.cli.entry import run
from trialcut.records import open_book

WRITER = """
import sys
from trialcut.records import open_book
with open_book(sys.argv[1]) as book:
    book.log_tube_hours("A", 60.0, "MK")
    print("writing", flush=True)
    for _ in range(300):
        book.log_tube_hours("A", 60.0, "MK")
"""


@pytest.fixture
def filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "book.db"
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRIALCUT_BOOK", str(place))
    with open_book(place) as book:
        book.add_trial(sample_trial("T1"))
        book.add_readings([sample_reading("T1-1")])
    return place


def complaint(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """The one line on standard error of a command that is refused."""
    capsys.readouterr()
    status = run(["book", *words])
    out, err = capsys.readouterr()
    assert (status, out) == (3, "")
    assert len(err.splitlines()) == 1
    return err


def test_an_import_into_a_book_with_rows_is_refused(capsys: pytest.CaptureFixture[str], filled: Path) -> None:
    assert run(["book", "export", "book.zip"]) == 0
    assert "is not empty" in complaint(capsys, "import", "book.zip")
    with open_book(filled) as book:
        assert len(book.readings()) == 1


def test_a_newer_book_is_refused_in_one_line_and_left_alone(
    capsys: pytest.CaptureFixture[str], filled: Path
) -> None:
    with closing(sqlite3.connect(filled)) as book:
        book.execute("UPDATE book_revision SET version_num = '0099'")
        book.commit()
    kept = shutil.copy(filled, filled.with_name("kept.db"))
    assert "newer" in complaint(capsys, "info")
    assert filled.read_bytes() == Path(kept).read_bytes()


def test_a_copy_made_while_another_process_writes_is_whole(filled: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, str(filled)], stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "writing\n"
        assert run(["book", "backup", "copy.db"]) == 0
        assert writer.poll() is None
        assert writer.wait(timeout=60) == 0
    with open_book("copy.db", make=False) as copy, open_book(filled) as book:
        assert copy.check() == ()
        assert 1 <= len(copy.tube_log("A")) < len(book.tube_log("A")) == 301
