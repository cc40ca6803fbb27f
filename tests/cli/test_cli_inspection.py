"""``trialcut paper inspection``: issued, filled, recorded, fitted; and fills that are wrong.

The cell that fills the form is `simple_cutter`, which has laws of its own. Whether a fit is right is asked
elsewhere; here the question is whether what an inspector reads reaches the book and the next fit.
"""

from __future__ import annotations

import csv
import re
import shutil
from pathlib import Path

import pytest
from numpy.testing import assert_allclose
from pypdf import PdfReader

from simple_cutter import filled
from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.bundled import bundled
from trialcut.trials.types import FeatureKind, ReadingKind

LINK = ("link.dxf", "--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 5 off")
PLATE = ("plate.dxf", "--ask", "12 mm 304, sizes ±0.3 mm, 60 off", "--aql", "4 %")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("link.dxf", "plate.dxf"):
        shutil.copy(bundled(name), tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.setenv("TRIALCUT_BOOK", str(tmp_path / "book.db"))
    return tmp_path


def inspect(*words: str) -> int:
    return run(("paper", "inspection", *words, "--out", "papers"))


def rows_of(path: Path) -> list[dict[str, str]]:
    lines = path.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def write(path: Path, rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)


def fill(form: Path) -> list[dict[str, str]]:
    """Fill the form of trial T1, and return its rows."""
    with open_book() as book:
        text = filled(form.read_text(encoding="utf-8"), book.trial("T1"))
    form.write_text(text, encoding="utf-8")
    return rows_of(form)


def text_of(path: Path) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return " ".join(text.replace("\u200b", "").split())


def test_a_filled_sheet_becomes_readings_and_counts_in_the_next_fit(folder, capsys):
    assert inspect(*LINK, "--date", "2026-11-25") == 0
    printed = capsys.readouterr().out
    assert "in the book as trial T1" in printed
    form = folder / "papers" / "link-inspection.csv"
    rows = fill(form)
    # Five pieces; a width and an opening, at three depths and with the finish at the bottom each.
    assert len(rows) == 5 * 2 * 4
    assert run(("trial", "record", str(form), "--who", "ann")) == 0
    assert "40 readings entered" in capsys.readouterr().out
    with open_book() as book:
        readings = book.readings(trial="T1")
        trial = book.trial("T1")
    assert len(readings) == 40
    for row, reading in zip(rows, readings, strict=True):
        assert (reading.coupon, reading.cut, reading.who) == (row["coupon"], row["cut"], "ann")
        assert reading.text == f"{row['value']} {row['unit']}"
    assert {each.kind for each in readings} == {ReadingKind.SIZE, ReadingKind.RA}
    assert {cut.feature for cut in trial.coupons[0].cuts} == {FeatureKind.WIDTH, FeatureKind.OPENING}
    assert run(("trial", "record", str(form), "--who", "ann")) == 0
    assert "were not entered a second time" in " ".join(capsys.readouterr().out.split())

    assert run(("fit", "north")) == 0
    assert "40 readings on 5 coupons of machine north" in capsys.readouterr().out


def test_pieces_of_a_metric_sample_are_read_back_too(folder, capsys):
    # Lot of 60 at 4 %: code letter E, 13 pieces, one accepted (ISO 2859-1, from memory).
    assert inspect(*PLATE) == 0
    form = folder / "papers" / "plate-inspection.csv"
    rows = fill(form)
    pieces = list(dict.fromkeys(row["coupon"] for row in rows))
    assert len(pieces) == 13
    text = text_of(folder / "papers" / "plate-inspection.pdf")
    for piece in pieces:
        assert piece in text
    assert "13 of 60 pieces: code letter E" in text
    assert "Up to 1 nonconforming among them: accept the lot. 2 or more" in text
    assert {row["unit"] for row in rows} == {"mm"}
    capsys.readouterr()
    assert run(("trial", "record", str(form), "--who", "ben")) == 0
    assert f"{len(rows)} readings entered" in capsys.readouterr().out


@pytest.mark.usefixtures("folder")
def test_a_correction_of_the_offsets_is_what_the_readings_are_held_against():
    assert inspect(*LINK) == 0
    assert inspect(*LINK, "--corrected", "0.002 in") == 0
    with open_book() as book:
        first, second = book.trial("T1"), book.trial("T2")
    for planned, made in zip(first.coupons[0].cuts, second.coupons[0].cuts, strict=True):
        assert_allclose(made.offset - planned.offset, 0.002 * 0.0254, rtol=0.0, atol=1e-12)
        assert made.nominal == planned.nominal
    # By hand: an opening of 0.625 in, and the offset of its path inside it.
    hole = second.coupons[0].cuts[1]
    assert_allclose(hole.curvature, -1.0 / (0.5 * 0.625 * 0.0254 - hole.offset), rtol=1e-9)


def test_without_a_book_there_is_no_form_and_the_paper_says_so(folder, capsys):
    assert inspect(*LINK, "--no-book") == 0
    assert "trial record" not in capsys.readouterr().out
    assert sorted(path.suffix for path in (folder / "papers").iterdir()) == [".html", ".pdf"]
    assert "not in the shop's book" in text_of(folder / "papers" / "link-inspection.pdf")
    assert not (folder / "book.db").exists()


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        ({"value": "0.9", "unit": ""}, "has no unit"),
        ({"value": "wide"}, "wide"),
        ({"cut": "N9"}, "N9"),
        ({"coupon": "T1-99"}, "T1-99"),
        ({"gauge": "ruler of somebody"}, "ruler of somebody"),
        ({"depth": "sideways"}, "sideways"),
    ],
)
def test_a_fill_that_cannot_be_read_is_refused_whole(folder, capsys, spoil, why):
    assert inspect(*LINK) == 0
    form = folder / "papers" / "link-inspection.csv"
    rows = fill(form)
    rows[4] |= spoil
    write(form, rows)
    capsys.readouterr()
    assert run(("trial", "record", str(form), "--who", "ann")) == 3
    complaint = capsys.readouterr().err
    assert why in complaint
    assert "Traceback" not in complaint
    with open_book() as book:
        assert book.readings(trial="T1") == ()


def test_empty_fields_are_left_out_and_a_slip_is_told(folder, capsys):
    assert inspect(*LINK) == 0
    form = folder / "papers" / "link-inspection.csv"
    rows = fill(form)
    for row in rows[8:]:
        row["value"] = ""
    rows[0]["value"] = f"{10.0 * float(rows[0]['value']):.3f}"
    write(form, rows)
    capsys.readouterr()
    assert run(("trial", "record", str(form), "--who", "ann")) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "8 readings entered" in printed
    assert re.search(r"R1, T1-1 N1 size, top: 9\.\d+ in", printed)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--aql", "3 %"), "--aql: 3 % is not in the tables of ISO 2859-1: use one of 0.065 %"),
        (("--aql", "some"), "--aql: 'some' is no number"),
        (("--aql", "1 %", "--every"), "--aql asks for a sample and --every for every piece"),
        (("--corrected", "0.02"), "--corrected: '0.02' has no unit"),
        (("--corrected", "3 mm"), "--corrected: 3 mm is no correction of an offset"),
        (("--date", "tomorrow"), "--date: 'tomorrow' is no date"),
    ],
)
def test_what_cannot_be_is_one_line_and_writes_nothing(folder, capsys, words, why):
    assert inspect(*LINK, *words) == 2
    complaint = capsys.readouterr().err
    assert why in complaint
    assert len(complaint.strip().splitlines()) == 1
    assert not list(folder.glob("papers/*"))
