"""How long a forecast and a plan of a 60-edge part take."""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from sample_parts import wheel
from sample_studies import IPM, study_of
from trialcut.planning.cut_part import Cut
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.forecast import forecast
from trialcut.planning.plan import plan
from trialcut.planning.results import Stance

Row = tuple[str, float, float | None, float | None, str, bool]
FORECAST_LIMIT, PLAN_LIMIT = 0.2, 2.0


def run(repeats: int = 5) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    study = study_of(wheel(61), tuple(_demands()), draws=2000)
    cuts = {edge.id: Cut(3.0 * IPM, Stance.TILTED) for edge in study.part.edges}
    one = _median(lambda: forecast(study, assignment=cuts), repeats)
    whole = _median(lambda: plan(study), repeats)
    count = len(list(study.part.edges))
    return [
        (f"forecast, {count} edges, 2000 draws", one, None, None, "<= 0.2 s", one <= FORECAST_LIMIT),
        (f"full plan, {count} edges, 2000 draws", whole, None, None, "<= 2 s", whole <= PLAN_LIMIT),
    ]


def _demands():
    for edge in wheel(61).edges:
        kind = {"weights": (-2.0,), "nominal": 0.04} if edge.contour == "B" else {"weights": (1.0,)}
        nominal = kind.get("nominal", 0.0)
        yield Demand(
            id=f"size-{edge.id}",
            kind=DemandKind.SIZE,
            title=edge.id,
            text="±0.2 mm",
            edges=(edge.id,),
            lower=nominal - 0.2e-3,
            upper=nominal + 0.2e-3,
            **kind,
        )


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
