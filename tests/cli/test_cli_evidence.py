"""``trialcut paper evidence``, before any coupon was read and after.

The cell that fills the form is `simple_cutter`, which has laws of its own.
"""

from __future__ import annotations

import csv
import re
import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader

from simple_cutter import filled
from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.bundled import bundled

ASK = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 200 off")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path / "part.dxf")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TRIALCUT_BOOK", str(tmp_path / "book.db"))
    assert run(("new", "part.dxf", *ASK, "--out", "part.toml")) == 0
    return tmp_path


def text_of(path: Path) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return " ".join(text.replace("\u200b", "").split())


def test_without_a_book_it_is_a_forecast_and_says_so(folder, capsys):
    assert run(("paper", "evidence", "part.toml", "--out", "papers", "--date", "2026-11-25")) == 0
    assert "papers/part-evidence.pdf" in capsys.readouterr().out
    text = text_of(folder / "papers" / "part-evidence.pdf")
    assert "Forecast, no readings: no reading of this machine is in it." in text
    assert "2026-11-25" in text
    assert not re.search(r"Stands on readings", text)


def test_readings_of_a_recorded_trial_are_in_it_by_id_as_they_were_typed(folder):
    trial = ("trial", "design", "part.toml", "--budget", "3", "--coupons", "3", "--out", "trial")
    assert run(trial) == 0
    with open_book() as book:
        form = filled(Path("trial/T1-readings.csv").read_text(encoding="utf-8"), book.trial("T1"))
    Path("filled.csv").write_text(form, encoding="utf-8")
    assert run(("trial", "record", "filled.csv")) == 0
    assert run(("fit",)) == 0
    assert run(("paper", "evidence", "part.toml", "--out", "one")) == 0
    assert run(("paper", "evidence", "part.toml", "--out", "two")) == 0
    for name in ("part-evidence.pdf", "part-evidence.html"):
        assert (folder / "one" / name).read_bytes() == (folder / "two" / name).read_bytes()
    text = text_of(folder / "one" / "part-evidence.pdf")
    sizes = [row for row in csv.DictReader(form.splitlines()) if row["what"] == "size" and row["value"]]
    assert sizes
    for row in sizes:
        assert re.search(rf"R\d+ {row['coupon']} {row['cut']} .{{0,80}}{row['value']}0* ± ", text)
    assert re.search(r"It stands on \d+ readings \(R1–R\d+\) of 3 coupons", text)
    assert "Forecast, no readings" not in text


@pytest.mark.parametrize(
    ("words", "status", "why"),
    [
        (("--date", "tomorrow"), 2, "--date: 'tomorrow' is no date"),
        (("--photo", "none.png=Edge"), 3, "cannot read the photo none.png"),
        (("--photo", "part.dxf"), 3, "photo part.dxf is no PNG, JPEG or SVG picture"),
        (("--photo", "cut.png"), 3, "photo cut.png is a damaged PNG"),
        (("--photo", "large.png"), 3, "photo large.png is larger than 2 MiB"),
        (("--photo", "drawn.svg"), 3, "photo drawn.svg is no PNG or JPEG picture"),
        (("--photo", "a.png") * 7, 2, "7 photos are too many"),
    ],
)
def test_what_cannot_be_is_one_line_and_writes_nothing(folder, capsys, words, status, why):
    Path("cut.png").write_bytes(b"\x89PNG\r\n\x1a\n0000")
    Path("large.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(2 * 2**20))
    Path("drawn.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>')
    assert run(("paper", "evidence", "part.toml", "--out", "papers", *words)) == status
    complaint = capsys.readouterr().err
    assert why in complaint
    assert len(complaint.strip().splitlines()) == 1
    assert not list(folder.glob("papers/*"))
