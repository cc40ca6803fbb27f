"""Batches from the command line: what they print and leave, Ctrl-C, and two at once."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from batch_drawings import write_drawings
from trialcut.cli.entry import run
from trialcut.services.batch_journal import Journal

ASK = ("--ask", "1/2 in 6061, sizes ±0.010 in, 50 off")
COMMAND = (sys.executable, "-c", "from trialcut.cli import main; main()")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def test_findings_come_without_plans_where_nothing_else_is_asked(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_drawings(folder / "in", 3)
    assert run(["batch", "in", *ASK, "--out", "offers.csv", "--findings", "--workers", "1"]) == 0
    printed, complaint = capsys.readouterr()
    assert complaint == ""
    for words in ("6 parts", "not planned", "ready", "bad-open.dxf", "offers.journal"):
        assert words in printed
    assert max(len(line) for line in printed.splitlines()) <= 80
    head = (folder / "offers.csv").read_text(encoding="utf-8").splitlines()[0]
    assert head == (
        "part,file,status,findings,edges,pierces,cut length [in],pieces,best option,holds,odds,"
        "time each [min],cost each [EUR],cost lot [EUR],binding demand,note"
    )


@pytest.mark.parametrize(
    ("words", "status", "complaint"),
    [
        (("batch", "nowhere", *ASK, "--out", "o.csv"), 3, "there is no folder nowhere"),
        (("batch", "in", "--out", "o.csv"), 2, "--thickness is missing"),
        (("batch", "in", *ASK, "--out", "o.txt"), 2, "ends in .csv"),
        (("batch", "in", *ASK, "--out", "o.csv", "--timeout", "5"), 2, "--timeout: "),
        (("batch", "in", *ASK, "--out", "o.csv", "--table", "no.csv"), 3, "cannot read no.csv"),
    ],
)
def test_what_is_put_wrongly_is_said_in_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], status: int, complaint: str
) -> None:
    write_drawings(folder / "in", 1, bad=False)
    assert run(words) == status
    printed, said = capsys.readouterr()
    assert printed == ""
    assert said.count("\n") == 1
    assert complaint in said


def test_a_second_run_at_the_same_journal_is_refused_in_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_drawings(folder / "in", 1, bad=False)
    with Journal(folder / "o.journal"):
        assert run(["batch", "in", *ASK, "--out", "o.csv"]) == 3
    assert "o.journal is in use by another run: wait for its end" in capsys.readouterr().err


def test_ctrl_c_keeps_what_is_done_and_says_how_to_go_on(folder: Path) -> None:
    write_drawings(folder / "in", 12, bad=False)
    words = ("batch", "in", *ASK, "--out", "o.csv", "--workers", "1")
    journal, give_up = folder / "o.journal", time.monotonic() + 100.0
    with subprocess.Popen([*COMMAND, *words], stderr=subprocess.PIPE, encoding="utf-8") as process:
        while not journal.exists() or b'"stage":"plan"' not in journal.read_bytes():
            assert process.poll() is None
            assert time.monotonic() < give_up
            time.sleep(0.05)
        process.send_signal(signal.SIGINT)
        assert process.stderr is not None
        complaint = process.stderr.read()
        status = process.wait(timeout=60)
    assert status == 130
    assert complaint.count("\n") == 1
    assert "of 12 parts" in complaint
    assert "run the same command again to go on" in complaint
    assert "to do" in (folder / "o.csv").read_text(encoding="utf-8")
