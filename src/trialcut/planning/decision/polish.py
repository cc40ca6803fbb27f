"""From the grid to speeds and aims in between, while all demands still hold together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.as_cut import rejected_edges
from trialcut.planning.cut_part import Cut
from trialcut.planning.decision.found import Decision, evaluated
from trialcut.planning.decision.groups import EdgeGroup
from trialcut.planning.decision.problem import Decisions
from trialcut.planning.demands import DemandKind

BoolArray = NDArray[np.bool_]

HALVINGS = 4
"""Steps between two speeds of the grid; a sixteenth of the way is nearer than an operator types."""
FIGURES = 3
"""Of a polished speed, in the unit the study is written in."""
AIMS = (-1.0, 1.0)
"""Shifts of the aim that are tried, over `AIM_STEP`."""
AIM_STEP = 10e-6
"""[m]"""
AIMED = frozenset({DemandKind.SIZE})
"""Demands that a shift of the aim may help."""


def polished(laid_out: Decisions, chosen: Decision, *, asked: float) -> Decision:
    """
    Raise speeds between the steps of the grid, and shift aims, while the odds stay.

    Parameters
    ----------
    laid_out : Decisions
        Groups and how they fail.
    chosen : Decision
        On the grid; it holds.
    asked : float
        Joint odds to keep. [-]

    Returns
    -------
    Decision
        The polished one if it holds exactly and the part as cut objects to no more; otherwise `chosen`.
    """
    draws = laid_out.preview.prepared.study.draws
    budget = int(np.floor((1.0 - asked) * draws + 1e-9))
    cuts = {group.edges: chosen.part.assignment[group.edges[0]] for group in laid_out.groups}
    fails = {group.edges: _fails(laid_out, group, cuts[group.edges]) for group in laid_out.groups}
    failed = np.sum([each.astype(np.int64) for each in fails.values()], axis=0)
    order = np.argsort([-float(cost.max(initial=0.0)) for cost in laid_out.costs])
    for place in order.tolist():
        group = laid_out.groups[place]
        if len({(cut.speed, cut.stance) for cut in (chosen.part.assignment[e] for e in group.edges)}) > 1:
            continue  # the lag on arcs, or the head, slowed some of them already
        others = failed - fails[group.edges] > 0
        cut, own = _aimed(laid_out, place, cuts[group.edges], fails[group.edges], others)
        cut, own = _faster(laid_out, place, cut, own, others, budget=budget)
        failed = failed - fails[group.edges] + own
        cuts[group.edges], fails[group.edges] = cut, own
    found = {edge: cut for edges, cut in cuts.items() for edge in edges}
    trial = evaluated(
        laid_out.preview,
        {edge: found[edge] for edge in laid_out.preview.prepared.index},
        first_piece=chosen.first_piece,
        gap=chosen.gap,
    )
    if trial.odds < asked or _rejected(trial) - _rejected(chosen):
        return chosen
    return trial


def _fails(laid_out: Decisions, group: EdgeGroup, cut: Cut) -> BoolArray:
    return laid_out.finder.of_cut(group, cut).on(corrected=laid_out.corrected)


def _rejected(decision: Decision) -> frozenset[str]:
    return frozenset(rejected_edges(decision.part, decision.readings))


def _aimed(
    laid_out: Decisions, place: int, cut: Cut, own: BoolArray, others: BoolArray
) -> tuple[Cut, BoolArray]:
    """Return the aim under which the fewest draws fail."""
    group = laid_out.groups[place]
    if not any(demand.kind in AIMED for demand in group.demands):
        return cut, own
    best, least, fails = cut, int((own & ~others).sum()), own
    for aim in AIMS:
        trial = Cut(cut.speed, cut.stance, aim * AIM_STEP)
        failing = _fails(laid_out, group, trial)
        if int((failing & ~others).sum()) < least:
            best, least, fails = trial, int((failing & ~others).sum()), failing
    return best, fails


def _faster(
    laid_out: Decisions, place: int, cut: Cut, own: BoolArray, others: BoolArray, *, budget: int
) -> tuple[Cut, BoolArray]:
    """Return the fastest cut below the next speed of the grid that keeps the budget."""
    preview, group = laid_out.preview, laid_out.groups[place]
    above = preview.speeds[preview.speeds > cut.speed * (1.0 + 1e-9)]
    positions = [preview.prepared.index[edge] for edge in group.edges]
    ceiling = min(
        [float(above[0]) if above.size else cut.speed]
        + [float(preview.limits[cut.stance][position]) for position in positions]
    )
    best, fails = cut, own
    low, high = cut.speed, ceiling
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        typed = _typed(middle, preview.prepared.study.system)
        if not best.speed < typed < ceiling:
            break
        trial = Cut(typed, cut.stance, cut.shift)
        failing = _fails(laid_out, group, trial)
        if int((failing | others).sum()) <= budget:
            low, best, fails = middle, trial, failing
        else:
            high = middle
    return best, fails


def _typed(speed: float, system: str) -> float:
    """Return a speed with few figures, never above the given one."""
    unit = 0.0254 / 60.0 if system == "inch" else 1e-3 / 60.0
    value = speed / unit
    step = 10.0 ** (np.floor(np.log10(value)) - (FIGURES - 1))
    return float(unit * np.round(np.floor(value / step * (1.0 + 1e-12)) * step, 9))
