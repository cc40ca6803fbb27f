"""How to cut every edge so that all demands hold together and the lot costs least."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.as_cut import rejected_edges
from trialcut.planning.decision.choices import ChoiceSolution
from trialcut.planning.decision.found import Decision, evaluated
from trialcut.planning.decision.polish import polished
from trialcut.planning.decision.problem import Decisions, Ground, Objective, decisions, ground_of
from trialcut.planning.decision.programme import best_choices, quick_choices
from trialcut.planning.forecast import forecast_of
from trialcut.planning.preview import Preview

STEPS = 6
"""Times that the choice is made anew, stricter, where the exact odds or the part as cut disagree."""
NEARLY_AS_LIKELY = 0.01
"""Where nothing holds, odds that may be given up for speed. [-]"""


def decide(preview: Preview, *, objective: Objective = Objective.COST) -> Decision:
    """
    Decide how to cut every edge of a study.

    Parameters
    ----------
    preview : Preview
        Of the study.
    objective : Objective
        What is made small: money or time of the lot.

    Returns
    -------
    Decision
        Decided both as known now and after a corrected first piece; the cheaper lot that holds is kept. Where
        nothing holds, one of the likeliest.
    """
    asked = preview.prepared.study.asked_odds
    ground = ground_of(preview, objective=objective)
    found = [_on_basis(ground, corrected=corrected) for corrected in (False, True)]
    holding = [each for each in found if each.odds >= asked]
    if holding:
        return min(holding, key=lambda each: _price(each, objective))
    return max(found, key=lambda each: each.odds)


def _price(decision: Decision, objective: Objective) -> float:
    forecast = forecast_of(decision.part, first_piece=decision.first_piece)
    return forecast.cost.lot.mean if objective is Objective.COST else forecast.time.total.mean


def _on_basis(ground: Ground, *, corrected: bool) -> Decision:
    study = ground.preview.prepared.study
    asked = study.asked_odds
    laid_out = decisions(ground, corrected=corrected)
    keep = tuple(np.ones(cost.size, dtype=bool) for cost in laid_out.costs)
    strict = asked
    best: Decision | None = None
    for _ in range(STEPS):
        solution = best_choices(laid_out.problem(asked=strict, keep=keep))
        if solution is None:
            break
        trial = _exact(laid_out, solution, corrected=corrected)
        if trial.odds < asked:
            strict += asked - trial.odds + 1.0 / study.draws
            if strict >= 1.0:
                break
            continue
        best = trial
        objected = rejected_edges(trial.part, trial.readings)
        if not objected:
            return polished(laid_out, trial, asked=asked)
        slower = _slower(laid_out, solution, keep, objected)
        if slower is None:
            break
        keep = slower
    return best or _likeliest(laid_out, corrected=corrected)


def _exact(laid_out: Decisions, solution: ChoiceSolution, *, corrected: bool) -> Decision:
    return evaluated(laid_out.preview, laid_out.cuts(solution.picks), first_piece=corrected, gap=solution.gap)


def _slower(
    laid_out: Decisions,
    solution: ChoiceSolution,
    keep: tuple[NDArray[np.bool_], ...],
    objected: frozenset[str] | set[str],
) -> tuple[NDArray[np.bool_], ...] | None:
    """Forbid the speed chosen, and all above it, to groups that the part as cut objects to."""
    stricter = []
    for group, choices, allowed, pick in zip(
        laid_out.groups, laid_out.choices, keep, solution.picks, strict=True
    ):
        if not objected & set(group.edges):
            stricter.append(allowed)
            continue
        below = np.array([each.row < choices[int(pick)].row for each in choices]) & allowed
        if not below.any():
            return None
        stricter.append(below)
    return tuple(stricter)


def _likeliest(laid_out: Decisions, *, corrected: bool) -> Decision:
    """Return the fastest of the cuts that hold nearly as often as any on the grid."""
    low, high = 0.0, laid_out.preview.prepared.study.asked_odds
    found = None
    for _ in range(8):
        middle = 0.5 * (low + high)
        solution = quick_choices(laid_out.problem(asked=max(middle - NEARLY_AS_LIKELY, 0.0)))
        if solution is None:
            high = middle
        else:
            low, found = middle, solution
    if found is None:
        picks = np.array([int(fails.sum(axis=1).argmin()) for fails in laid_out.fails], dtype=np.int64)
        return evaluated(laid_out.preview, laid_out.cuts(picks), first_piece=corrected)
    return replace(_exact(laid_out, found, corrected=corrected), gap=np.inf)
