"""Which demand binds: the one whose small easing lowers the cost most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from trialcut.planning.decision.eased import EasedChoices
from trialcut.planning.decision.fails import on_walls
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.eased_study import can_be_eased, likeness, named
from trialcut.planning.front.look import Look
from trialcut.planning.front.types import Held

EASED = (1.05, 1.1, 1.2)
"""By how much each demand is eased to see which binds: no more than makes a step of the grid pay. [-]"""
TRIED = 4
"""Demands that are eased at a point: those under which most draws fail, as cut and one step faster."""
FREE = 1e-3
"""Saving, over the cost, below which nothing counts as binding. [-]"""


@dataclass(frozen=True, kw_only=True)
class Binding:
    """What binds.

    Parameters
    ----------
    demands : tuple of str
        Ids; empty where no demand does.
    words : str
        For people.
    """

    demands: tuple[str, ...]
    words: str


NOTHING = Binding(demands=(), words="no demand alone")


def binding_at(look: Look, held: Held, widths: Mapping[str, float]) -> Binding:
    """
    Find which demand binds where some cuts hold.

    Parameters
    ----------
    look : Look
        Every thinkable cut.
    held : Held
        The cheapest that holds.
    widths : mapping
        Demand id to how many times as wide its tolerance is taken. [-]

    Returns
    -------
    Binding
        Demands of one kind with the same text and limits count as one; a size stands alone. It is the one
        whose easing lets a group be cut otherwise for the largest saving, all other groups as they are.
    """
    base = look.bases[0 if held.decision.first_piece else 1]
    now = _best_step(base, held, widths, look.asked)
    tried = _likeliest(base, held, widths)
    for easing in EASED:
        savings = [_best_step(base, held, _eased(widths, unit, easing), look.asked) - now for unit in tried]
        if savings and max(savings) > FREE * held.each.mean:
            best = tried[int(np.argmax(savings))]
            return Binding(demands=tuple(each.id for each in best), words=_title(best))
    every = tuple(demand for unit in tried for demand in unit)
    if len(tried) > 1 and _best_step(base, held, _eased(widths, every, EASED[-1]), look.asked) > now:
        ids = tuple(each.id for each in every)
        return Binding(demands=ids, words="together: " + "; ".join(map(_title, tried)))
    return NOTHING


def _eased(widths: Mapping[str, float], unit: tuple[Demand, ...], easing: float) -> dict[str, float]:
    return {**widths, **{each.id: easing * widths.get(each.id, 1.0) for each in unit}}


def _best_step(base: EasedChoices, held: Held, widths: Mapping[str, float], asked: float) -> float:
    """Return the most that cutting one group otherwise saves while the odds are kept. [currency]"""
    laid_out = base.scaled(widths)
    speeds, cuts = laid_out.preview.speeds, held.decision.part.assignment
    picks = []
    for group, choices in zip(laid_out.groups, laid_out.choices, strict=True):
        cut = cuts[group.edges[0]]
        away = [
            abs(float(speeds[each.row]) - cut.speed) + float(each.stance is not cut.stance)
            for each in choices
        ]
        picks.append(int(np.argmin(away)))
    failed = np.sum([fails[k] for fails, k in zip(laid_out.fails, picks, strict=True)], axis=0, dtype=int)
    budget = int((1.0 - asked) * failed.size + 1e-9)
    best = 0.0
    for fails, cost, pick in zip(laid_out.fails, laid_out.costs, picks, strict=True):
        cheaper = np.flatnonzero(cost < cost[pick] - best)
        if cheaper.size:
            others = failed - fails[pick] > 0
            failing = int(others.sum()) + (fails[cheaper] & ~others).sum(axis=1)
            kept = cheaper[failing <= budget]
            best = max([best, *(cost[pick] - cost[kept]).tolist()])
    return best


def _likeliest(base: EasedChoices, held: Held, widths: Mapping[str, float]) -> list[tuple[Demand, ...]]:
    """Return the demands, those alike together, under which most draws fail as cut and one step faster."""
    speeds = base.laid_out.preview.speeds
    units: dict[tuple[object, ...], tuple[list[Demand], list[float]]] = {}
    for group, choices, needs in zip(base.laid_out.groups, base.laid_out.choices, base.needs, strict=True):
        cut = held.decision.part.assignment[group.edges[0]]
        row = int(np.searchsorted(speeds, cut.speed * (1.0 - 1e-9)))
        own = [
            k for k, each in enumerate(choices) if each.stance is cut.stance and row <= each.row <= row + 1
        ]
        for order, demand in enumerate(on_walls(group)):
            if can_be_eased(demand) and own and np.isfinite(widths.get(demand.id, 1.0)):
                failing = float((needs[own, order] > widths.get(demand.id, 1.0)).sum())
                known = units.setdefault(likeness(demand), ([], []))
                known[0].append(demand)
                known[1].append(failing)
    order_of = sorted(units.values(), key=lambda each: -max(each[1]))
    return [tuple(demands) for demands, failing in order_of[:TRIED] if max(failing) > 0.0]


def _title(unit: tuple[Demand, ...]) -> str:
    if len(unit) == 1:
        return unit[0].title
    what = {
        DemandKind.SIZE: "sizes",
        DemandKind.SQUARENESS: "squareness",
        DemandKind.FINISH: "finish",
    }.get(unit[0].kind, unit[0].kind.value)
    return f"{what} of {named([edge for demand in unit for edge in demand.edges])}"
