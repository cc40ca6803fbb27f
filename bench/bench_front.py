"""How long a preview, a proven choice and a whole front take on 60 edges, alike and all different."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from sample_parts import wheel
from sample_studies import study_of
from trialcut.planning.decision.problem import decisions, ground_of
from trialcut.planning.decision.programme import best_choices, quick_choices
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.front.trade_off import trade_off
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.study import Study

Row = tuple[str, float, float | None, float | None, str, bool]
PREVIEW, PROVEN, FRONT = 0.2, 3.0, 10.0
GAP = 0.01


def run(repeats: int = 3) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    rows: list[Row] = []
    for name, different in (("alike", False), ("all different", True)):
        study = study_of(wheel(61), tuple(_demands(different=different)), draws=2000)
        prepared = prepare(study)
        ground = ground_of(Preview(prepared))
        problem = decisions(ground, corrected=True).problem(asked=study.asked_odds)
        quick = _median(lambda prepared=prepared: Preview(prepared), repeats)
        quick += _median(lambda problem=problem: quick_choices(problem), repeats)
        proven = _median(lambda study=study: _proven(study), repeats)
        found = best_choices(problem)
        held = found is not None and found.gap <= GAP
        start = perf_counter()
        trade_off(study, points=20)
        front = perf_counter() - start
        rows += [
            (f"preview, 61 edges {name}", quick, None, None, "<= 0.2 s", quick <= PREVIEW),
            (f"proven to 1 %, 61 edges {name}", proven, None, None, "<= 3 s", held and proven <= PROVEN),
            (f"front of 20 points, 61 edges {name}", front, None, None, "<= 10 s", front <= FRONT),
        ]
    return rows


def _proven(study: Study) -> None:
    ground = ground_of(Preview(prepare(study)))
    for corrected in (False, True):
        best_choices(decisions(ground, corrected=corrected).problem(asked=study.asked_odds))


def _demands(*, different: bool) -> Iterator[Demand]:
    for place, edge in enumerate(wheel(61).edges):
        weights, nominal = ((-2.0,), 0.04) if edge.contour == "B" else ((1.0,), 0.0)
        half = 0.2e-3 + (2e-6 * place if different else 0.0)
        demand = Demand(
            id=f"size-{edge.id}",
            kind=DemandKind.SIZE,
            title=edge.id,
            text="±0.2 mm",
            edges=(edge.id,),
            weights=weights,
            nominal=nominal,
        )
        yield replace(demand, lower=nominal - half, upper=nominal + half)


def _median(call, repeats: int) -> float:
    call()
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
