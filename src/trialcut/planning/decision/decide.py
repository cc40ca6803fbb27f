"""How to cut every edge so that all demands hold together and the lot costs least."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.as_cut import rejected_edges
from trialcut.planning.decision.choices import ChoiceSolution
from trialcut.planning.decision.found import Decision, evaluated
from trialcut.planning.decision.polish import polished
from trialcut.planning.decision.problem import Decisions, Objective, decisions, ground_of
from trialcut.planning.decision.programme import best_choices, quick_choices
from trialcut.planning.levels import NEARLY_AS_LIKELY
from trialcut.planning.money import PieceTime, lot_cost
from trialcut.planning.part_time import piece_time
from trialcut.planning.preview import Preview
from trialcut.planning.results import Cost

SAME_ERROR = 1.02
"""Errors within this factor count as equal; the faster cut is then taken. [-]"""
STEPS = 6
"""Times that the choice is made anew, stricter, where the exact odds or the part as cut disagree."""


def decide(preview: Preview, *, objective: Objective = Objective.COST, checked: bool = True) -> Decision:
    """
    Decide how to cut every edge of a study.

    Parameters
    ----------
    preview : Preview
        Of the study.
    objective : Objective
        What is made small: money per good piece of the lot, time of a piece, or error of its walls.
    checked : bool
        Cut the part in full and choose anew where it objects, and polish speeds between those of the grid.
        Without it the answer is quick, good for comparing rival set-ups.

    Returns
    -------
    Decision
        Decided both as known now and after a corrected first piece; the better that holds is kept. The
        least error is decided after a corrected first piece alone, and of cuts that err hardly more the
        fastest is taken. Where nothing holds, one of the likeliest.
    """
    asked = preview.prepared.study.asked_odds
    ground = ground_of(preview, objective=objective)
    on = (True,) if objective is Objective.ERROR else (False, True)
    bases = [decisions(ground, corrected=corrected) for corrected in on]
    holding = sorted(
        (start for laid_out in bases if (start := _on_grid(laid_out, asked)) is not None),
        key=lambda start: _price(start.trial, objective),
    )
    if objective is Objective.ERROR:
        return _least_error(preview, bases[0], holding, checked=checked)
    if holding and not checked:
        return holding[0].trial
    best: Decision | None = None
    for start in holding:
        if best is None or _price(best, objective) > _price(start.trial, objective):
            found = _confirmed(start, asked)
            if best is None or _better(found, best, objective):
                best = found
    return best or max(map(_likeliest, bases), key=lambda trial: trial.odds)


def _least_error(preview: Preview, laid_out: Decisions, holding: list[_Start], *, checked: bool) -> Decision:
    """Among cuts whose groups err hardly more than in the least-error choice take the fastest that holds."""
    asked = preview.prepared.study.asked_odds
    if holding:
        gap, picks = holding[0].solution.gap, holding[0].solution.picks
    else:
        gap, picks = np.inf, _likeliest_picks(laid_out)
    keep = tuple(
        cost <= SAME_ERROR * cost[int(pick)] for cost, pick in zip(laid_out.costs, picks, strict=True)
    )
    timed = replace(laid_out, costs=_times(preview, laid_out))
    start = _on_grid(timed, asked, keep=keep) if holding else None
    if start is None:
        return evaluated(preview, laid_out.cuts(picks), first_piece=True, gap=gap)
    found = _confirmed(start, asked, keep=keep, polish=False) if checked else start.trial
    return replace(found, gap=gap)


def _times(preview: Preview, laid_out: Decisions) -> tuple[NDArray[np.float64], ...]:
    """Return the time of each choice. [s]"""
    spent = ground_of(preview, objective=Objective.TIME).spent
    return tuple(
        np.array([times[each.stance][each.row] for each in choices])
        for times, choices in zip(spent, laid_out.choices, strict=True)
    )


def cost_of_decision(decision: Decision, time: PieceTime | None = None) -> Cost:
    """Return what a piece, a good piece and the lot cost under a decision."""
    return lot_cost(
        decision.part.prepared.study,
        time or piece_time(decision.part),
        first_piece=decision.first_piece,
        odds_now=decision.joint,
        odds=decision.odds,
    )


def choose(
    laid_out: Decisions, *, asked: float, keep: tuple[NDArray[np.bool_], ...] | None = None
) -> Decision | None:
    """
    Choose among laid-out cuts so that the exact odds hold, without cutting the part in full.

    Parameters
    ----------
    laid_out : Decisions
        On one basis.
    asked : float
        Joint odds. [-]
    keep : tuple of ndarray of bool, optional
        For each group the choices that are allowed.

    Returns
    -------
    Decision or None
        None where nothing holds.
    """
    start = _on_grid(laid_out, asked, keep=keep)
    return None if start is None else start.trial


@dataclass(frozen=True, kw_only=True)
class _Start:
    """The choice on the grid for one basis, before the part is cut in full."""

    laid_out: Decisions
    trial: Decision
    solution: ChoiceSolution
    strict: float


def _better(one: Decision, other: Decision, objective: Objective) -> bool:
    """Say whether one decision is to be preferred: unobjected, then cheaper."""
    return (_objections(one), _price(one, objective)) < (_objections(other), _price(other, objective))


def _objections(decision: Decision) -> int:
    return len(rejected_edges(decision.part, decision.readings))


def _price(decision: Decision, objective: Objective) -> float:
    """Return what a good piece costs, or how long a piece takes."""
    time = piece_time(decision.part)
    if objective is not Objective.COST:
        return float((time.cutting + time.traverse + time.piercing).mean())
    good = cost_of_decision(decision, time).good
    return np.inf if good is None else good.mean


def _on_grid(
    laid_out: Decisions,
    asked: float,
    *,
    strict: float | None = None,
    keep: tuple[NDArray[np.bool_], ...] | None = None,
) -> _Start | None:
    """Choose on the grid, stricter until the exact odds hold; None where nothing holds."""
    level = asked if strict is None else strict
    draws = laid_out.preview.prepared.study.draws
    for _ in range(STEPS):
        solution = best_choices(laid_out.problem(asked=level, keep=keep))
        if solution is None:
            break
        trial = _exact(laid_out, solution)
        if trial.odds >= asked:
            return _Start(laid_out=laid_out, trial=trial, solution=solution, strict=level)
        level += asked - trial.odds + 1.0 / draws
        if level >= 1.0:
            break
    return None


def _confirmed(
    start: _Start,
    asked: float,
    *,
    keep: tuple[NDArray[np.bool_], ...] | None = None,
    polish: bool = True,
) -> Decision:
    """Cut the part in full, and choose anew, slower, where it objects; give up if it goes on."""
    laid_out, now = start.laid_out, start
    if keep is None:
        keep = tuple(np.ones(cost.size, dtype=bool) for cost in laid_out.costs)
    for _ in range(STEPS):
        objected = rejected_edges(now.trial.part, now.trial.readings)
        if not objected:
            return polished(laid_out, now.trial, asked=asked) if polish else now.trial
        slower = _slower(laid_out, now.solution, keep, objected)
        if slower is None:
            break
        keep = slower
        again = _on_grid(laid_out, asked, strict=now.strict, keep=keep)
        if again is None:
            break
        now = again
    return start.trial


def _exact(laid_out: Decisions, solution: ChoiceSolution) -> Decision:
    cuts = laid_out.cuts(solution.picks)
    return evaluated(
        laid_out.preview, cuts, first_piece=laid_out.corrected, gap=solution.gap, widths=laid_out.widths
    )


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


def _likeliest(laid_out: Decisions) -> Decision:
    """Return the best of the cuts that hold nearly as often as any on the grid."""
    cuts = laid_out.cuts(_likeliest_picks(laid_out))
    return evaluated(laid_out.preview, cuts, first_piece=laid_out.corrected)


def _likeliest_picks(laid_out: Decisions) -> NDArray[np.int64]:
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
        return np.array([int(fails.sum(axis=1).argmin()) for fails in laid_out.fails], dtype=np.int64)
    return found.picks
