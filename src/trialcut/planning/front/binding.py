"""Which demand binds: the one whose small easing lowers the cost most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from trialcut.planning.decision.eased import EasedChoices
from trialcut.planning.decision.fails import on_walls
from trialcut.planning.decision.programme import quick_choices
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.eased_study import can_be_eased, likeness, named
from trialcut.planning.front.look import Look
from trialcut.planning.front.types import Held

EASED = 1.1
"""By how much each demand is eased to see which binds: about one step of the grid of speeds. [-]"""
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


NOTHING = Binding(
    demands=(), words="no demand: the grid of speeds ends there, or the jet no longer cuts through"
)


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
        Demands of one kind with the same text and limits count as one; a size stands alone. Costs before
        and after an easing are both those of a climb, without the programme's proof.
    """
    base = look.bases[0 if held.decision.first_piece else 1]
    now = _price(base, widths, look.asked)
    if now is None:
        return NOTHING
    best: tuple[float, tuple[Demand, ...]] | None = None
    tried = _likeliest(base, held, widths)
    for unit in tried:
        eased = {**widths, **{each.id: EASED * widths.get(each.id, 1.0) for each in unit}}
        price = _price(base, eased, look.asked)
        if price is not None and price < now * (1.0 - FREE) and (best is None or price < best[0]):
            best = (price, unit)
    if best is not None:
        return Binding(demands=tuple(each.id for each in best[1]), words=_title(best[1]))
    if len(tried) > 1:
        together = {
            **widths,
            **{each.id: EASED * widths.get(each.id, 1.0) for unit in tried for each in unit},
        }
        price = _price(base, together, look.asked)
        if price is not None and price < now * (1.0 - FREE):
            ids = tuple(each.id for unit in tried for each in unit)
            return Binding(demands=ids, words="together: " + "; ".join(map(_title, tried)))
    return NOTHING


def _price(base: EasedChoices, widths: Mapping[str, float], asked: float) -> float | None:
    problem = base.scaled(widths).problem(asked=asked)
    found = quick_choices(problem)
    return None if found is None else found.cost + base.laid_out.piece


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
