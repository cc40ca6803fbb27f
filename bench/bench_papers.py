"""How long each paper of a study takes once its plan is there, all together, and of a part of 400 edges."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from sample_papers import PAPERS, STUDIES
from trialcut import services
from trialcut.planning.results import Option
from trialcut.planning.study import Study

Row = tuple[str, float, float | None, float | None, str, bool]
ONE, ALL, LONG = 1.0, 3.0, 5.0


def run(repeats: int = 3) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    shop = services.load_shop()
    study = services.demo_study()
    option = services.plan_study(study).options[0]
    issues: dict[str, Callable[[str], object]] = {
        "cut sheet": lambda folder: services.issue_cut_sheet(study, option, folder),
        "evidence report": lambda folder: services.issue_evidence(study, option, folder),
        "offer, 4 lots planned": lambda folder: services.issue_offer(study, option, folder),
        "inspection sheet": lambda folder: services.issue_inspection(study, option, folder, shop=shop),
        "hand-off, tables and drawing": lambda folder: services.issue_handoff(study, option, folder),
    }
    rows = [_row(f"{name} of the demo", issue, ONE, repeats) for name, issue in issues.items()]
    rows.append(_row("all papers of the demo", _all(study, option), ALL, repeats))
    trial = ("trial sheet", "reading form", "capability sheet")
    usual = STUDIES["bracket"]()
    rows += [_row(name, partial(_page, PAPERS[name], usual), ONE, repeats) for name in trial]
    long = replace(STUDIES["400 edges"](), demands=())
    for name, kind in PAPERS.items():
        if name not in ("trial sheet", "reading form", "capability sheet"):
            rows.append(_row(f"{name}, 400 edges", partial(_page, kind, long), LONG, repeats))
    return rows


def _all(study: Study, option: Option) -> Callable[[str], object]:
    shop = services.load_shop()
    return lambda folder: services.issue_all(study, option, folder, shop=shop)


def _page(kind, study: Study, _: str) -> None:
    content = kind.content(study)
    kind.pdf(content)
    kind.html(content)


def _row(name: str, issue: Callable[[str], object], limit: float, repeats: int) -> Row:
    times = []
    for _ in range(repeats):
        with tempfile.TemporaryDirectory() as folder:
            start = perf_counter()
            issue(folder)
            times.append(perf_counter() - start)
    took = median(times)
    return (name, took, None, None, f"<= {limit:g} s", took <= limit)


if __name__ == "__main__":
    for row in run():
        print(row)
