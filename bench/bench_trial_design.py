"""How long it takes to design a trial of up to eight coupons, its worth simulated."""

from __future__ import annotations

from statistics import median
from time import perf_counter

from trialcut.planning.trial_plan import design_trial
from trialcut.services.demo import demo_study

Row = tuple[str, float, float | None, float | None, str, bool]
LIMIT = 3.0


def run(repeats: int = 3) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    return [
        _row("trial design with worth, link, 8 coupons", metric=False, repeats=repeats),
        _row("trial design with worth, plate, 8 coupons", metric=True, repeats=repeats),
    ]


def _row(name: str, *, metric: bool, repeats: int) -> Row:
    study = demo_study(metric=metric)
    design_trial(study, budget=1, finish_gauge="stylus")
    times = []
    for _ in range(repeats):
        start = perf_counter()
        design_trial(study, budget=8, finish_gauge="stylus")
        times.append(perf_counter() - start)
    seconds = median(times)
    return name, seconds, None, None, "<= 3 s", seconds <= LIMIT


if __name__ == "__main__":
    for row in run():
        print(row)
