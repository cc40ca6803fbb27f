"""``trialcut paper capability`` and ``trialcut paper all`` on the demo shop and a part of the demo."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader

from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.bundled import bundled

ASK = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def text_of(path: Path) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return " ".join(text.replace("\u200b", "").split())


def test_a_capability_sheet_needs_no_study_and_no_book(folder, capsys):
    choices = ("--no-book", "--material", "6061", "--material", "304", "--system", "inch")
    assert run(("paper", "capability", *choices, "--date", "2026-11-25", "--out", "one")) == 0
    assert "one/north-capability.pdf" in capsys.readouterr().out
    text = text_of(folder / "one" / "north-capability.pdf")
    for said in ("aluminium 6061-T6", "stainless 304", "No reading of this machine", "2026-11-25", "µin"):
        assert said in text
    assert run(("paper", "capability", *choices, "--date", "2026-11-25", "--out", "two")) == 0
    for name in ("north-capability.pdf", "north-capability.html"):
        assert (folder / "one" / name).read_bytes() == (folder / "two" / name).read_bytes()


def test_metric_plates_are_the_usual_ones_where_no_reading_says_otherwise(folder):
    assert run(("paper", "capability", "--no-book")) == 0
    assert "mm/min" in text_of(folder / "north-capability.pdf")


def test_a_material_that_the_shop_has_not_is_refused_with_the_nearest(folder, capsys):
    assert run(("paper", "capability", "--no-book", "--material", "stainles 304")) == 3
    assert "stainless 304" in capsys.readouterr().err
    assert not list(folder.glob("*.pdf"))


def test_all_papers_come_from_one_plan_and_the_pieces_to_inspect_are_in_the_book(folder, capsys):
    assert run(("paper", "all", "link.dxf", *ASK, "--book", "shop.db", "--out", "papers")) == 0
    out = capsys.readouterr().out
    names = {path.name for path in (folder / "papers").iterdir()}
    assert names == {
        *(f"link-cheapest.{end}" for end in ("pdf", "html", "svg")),
        *(f"link-{kind}.{end}" for kind in ("evidence", "offer", "inspection") for end in ("pdf", "html")),
        "link-inspection.csv",
    }
    for name in names:
        assert f"papers/{name}" in out
    with open_book("shop.db") as book:
        assert [trial.id for trial in book.trials()] == ["T1"]


def test_all_papers_or_none(folder, capsys):
    (folder / "papers").mkdir()
    (folder / "papers" / "link-offer.pdf").mkdir()  # in the way of one of them
    assert run(("paper", "all", "link.dxf", *ASK, "--no-book", "--out", "papers")) == 3
    assert "link-offer.pdf" in capsys.readouterr().err
    assert [path.name for path in (folder / "papers").iterdir()] == ["link-offer.pdf"]
