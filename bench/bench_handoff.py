"""How long the hand-off of a part of 400 edges takes, once its plan is there: program and replay too."""

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

from parts import plate_with_openings
from trialcut.papers.program.form import ProgramForm, TiltAxis
from trialcut.planning.results import Option
from trialcut.planning.study import Study
from trialcut.services import demo_study, forecast_study, issue_handoff, load_shop

Row = tuple[str, float, float | None, float | None, str, bool]
AXES = (TiltAxis(name="B", leans="+x"), TiltAxis(name="A", leans="-y"))
OPENINGS = 396


def run(repeats: int = 3) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    rows: list[Row] = []
    for stance in ("upright", "tilted"):
        study = replace(demo_study(metric=True), part=plate_with_openings(OPENINGS), demands=(), draws=256)
        study = replace(study, machine=load_shop().machine("north"))
        found = forecast_study(study, speed=2.5e-3, stance=stance, offset="centred")
        option = Option(name="b", title="", summary="", forecast=found, first_piece=False, holds=True)
        tables = _median(partial(_issue, study, option, ("dxf", "csv", "json")), repeats)
        program = _median(partial(_issue, study, option, ("program",)), 1)
        edges = len(found.edges)
        rows.append((f"drawing, tables, {edges} edges {stance}", tables, None, None, "< 1 s", tables < 1.0))
        rows.append((f"checked program, {edges} edges {stance}", program, None, None, "< 5 s", program < 5.0))
    return rows


def _issue(study: Study, option: Option, forms: tuple[str, ...]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        issue_handoff(study, option, folder, forms=forms, program=ProgramForm(axes=AXES))


def _median(work: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
