"""``trialcut paper offer`` on a part of the demo."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from trialcut import services
from trialcut.cli.entry import run
from trialcut.services.bundled import bundled

ASK = ("--ask", "1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off", "--no-book")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(bundled("link.dxf"), tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def offer(*more: str) -> int:
    return run(("paper", "offer", "link.dxf", *ASK, *more))


def text_of(path: Path) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    return " ".join(text.replace("\u200b", "").split())


def test_prices_are_those_of_the_plans_and_larger_lots_are_not_dearer(folder, capsys):
    wishes = ("--margin", "25 %", "--date", "2026-11-25", "--hours-per-day", "8", "--start", "2026-11-27")
    assert offer(*wishes, "--out", "one", "--quantities", "5,50,400") == 0
    assert "one/link-offer.pdf" in capsys.readouterr().out
    text = text_of(folder / "one" / "link-offer.pdf")
    rows = re.findall(r"\b(\d+) (\d+\.\d\d) (\d+\.\d\d) (\d+) (2026-\d\d-\d\d)", text)
    assert [int(row[0]) for row in rows] == [5, 50, 400]
    each = [float(row[1]) for row in rows]
    assert each[0] > each[1] > each[2]
    study = services.demo_study()
    for (count, price, lot, *_), quantity in zip(rows, (5, 50, 400), strict=True):
        plan = services.plan_study(replace(study, quantity=quantity), rivals=False, find_conflicts=False)
        good = plan.option("cheapest").forecast.cost.good
        assert good is not None
        # A price may be lower by another quantity's way of cutting, by no more than the proven gap.
        lowest = (1.0 - plan.option("cheapest").gap) * good.mean / 0.75
        assert lowest - 0.005 <= float(price) <= good.mean / 0.75 + 0.005
        assert f"{float(price) * int(count):.2f}" == lot
    assert "2026-12-25" in text

    assert offer(*wishes, "--out", "two", "--quantities", "400,5,50") == 0
    for name in ("link-offer.pdf", "link-offer.html"):
        assert (folder / "one" / name).read_bytes() == (folder / "two" / name).read_bytes()


def test_savings_and_routes_are_told_on_request(folder):
    assert offer("--out", "papers", "--savings", "--routes", "--quantities", "50") == 0
    text = text_of(folder / "papers" / "link-offer.pdf")
    assert "What would make it cheaper" in text
    assert len(re.findall(r"eased to [^:]+: about \d+ % less a piece", text)) == 3


def test_another_option_is_cut_alike_in_every_quantity(folder):
    assert offer("--out", "papers", "--option", "blank", "--quantities", "1,100", "--print-in", "mm") == 0
    text = text_of(folder / "papers" / "link-offer.pdf")
    assert "Fastest square blank" in text
    assert "All edges are left with stock" in text


@pytest.mark.parametrize(
    ("words", "status", "why"),
    [
        (("--quantities", "ten"), 2, "--quantities: 'ten' is no number of pieces"),
        (("--date", "tomorrow"), 2, "--date: 'tomorrow' is no date"),
        (("--margin", "120 %"), 2, "--margin: '120 %' is no share of a price"),
        (("--start", "2026-11-27"), 2, "--start needs --hours-per-day"),
        (("--terms", "none.txt"), 3, "cannot read the terms none.txt"),
        (("--option", "blank", "--savings"), 3, "known of the option 'cheapest' alone"),
    ],
)
def test_what_cannot_be_is_one_line_and_writes_nothing(folder, capsys, words, status, why):
    assert offer("--out", "papers", *words) == status
    complaint = capsys.readouterr().err
    assert why in complaint
    assert len(complaint.strip().splitlines()) == 1
    assert not list(folder.glob("papers/*"))
