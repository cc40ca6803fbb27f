"""The cheapest ways under one idea of a route, and the whole comparison's raw material."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.as_cut import cut_in_full, measured, rejected_edges
from trialcut.planning.decision.choices import ChoiceSolution
from trialcut.planning.decision.programme import best_choices
from trialcut.planning.routes.exact import ExactRoute, exact_route
from trialcut.planning.routes.layout import RouteChoice, RouteGroup, RouteLayout

Allowed = Callable[[RouteGroup, RouteChoice], bool]

STEPS = 4
"""Times that ways are chosen anew, stricter, where the exact odds or the part as cut disagree."""


@dataclass(frozen=True, kw_only=True)
class Solved:
    """A route that holds.

    Parameters
    ----------
    exact : ExactRoute
        With its odds and price.
    gap : float
        Of the choice on the grid, proven. [-]
    objected : bool
        The part as cut does not hold something that its edges do.
    """

    exact: ExactRoute
    gap: float
    objected: bool


def solve_route(layouts: tuple[RouteLayout, ...], allowed: Allowed, *, asked: float) -> Solved | None:
    """
    Choose the cheapest ways that an idea of a route allows.

    Parameters
    ----------
    layouts : tuple of RouteLayout
        One for each basis.
    allowed : callable
        Says which ways the idea allows.
    asked : float
        Joint odds. [-]

    Returns
    -------
    Solved or None
        The cheaper good piece of the bases; None where nothing holds. An operation that clamps on an outline
        wants it square: each limit that an operation of the shop states is tried, with those operations alone
        that it suffices, and with pieces that do not keep it counted as failing.
    """
    best: Solved | None = None
    for layout in layouts:
        found = _on_basis(layout, allowed, asked=asked)
        if found is not None and (best is None or found.exact.price < best.exact.price):
            best = found
    return best


def _on_basis(layout: RouteLayout, allowed: Allowed, *, asked: float) -> Solved | None:
    below: dict[tuple[str, ...], int] = {}

    def still(group: RouteGroup, choice: RouteChoice) -> bool:
        slow = choice.jet is None or choice.jet.row < below.get(group.group.edges, choice.jet.row + 1)
        return slow and allowed(group, choice)

    level, best = asked, None
    for _ in range(STEPS):
        solution = _best(layout, still, asked=level)
        if solution is None:
            break
        exact = exact_route(layout, solution.picks)
        if exact.odds < asked:
            level += asked - exact.odds + 1.0 / layout.ground.preview.prepared.study.draws
            if level >= 1.0:
                break
            continue
        objected = _objected(exact)
        found = Solved(exact=exact, gap=solution.gap, objected=bool(objected))
        if best is None or (best.objected and not found.objected):
            best = found
        if not objected:
            return found
        below |= _slower(layout, solution.picks, objected)
    return best


def _objected(exact: ExactRoute) -> frozenset[str]:
    if exact.part is None:
        return frozenset()
    return frozenset(rejected_edges(exact.part, measured(exact.part, cut_in_full(exact.part))))


def _slower(
    layout: RouteLayout, picks: NDArray[np.int64], objected: frozenset[str]
) -> dict[tuple[str, ...], int]:
    """Return the speed chosen for each group that the part as cut objects to: it must be slower."""
    chosen = {
        group.group.edges: group.choices[int(pick)].jet
        for group, pick in zip(layout.groups, picks, strict=True)
        if objected & set(group.group.edges)
    }
    return {edges: jet.row for edges, jet in chosen.items() if jet is not None}


def _best(layout: RouteLayout, allowed: Allowed, *, asked: float) -> ChoiceSolution | None:
    """Return the cheapest choice over all limits of squareness that operations clamp on."""
    operations = layout.ground.preview.prepared.study.operations
    limits = sorted({each.clamp_squareness for each in operations if each.clamp_squareness is not None})
    best: ChoiceSolution | None = None
    for limit in (*limits, inf):
        problem = layout.problem(_clampable(allowed, limit), asked=asked, clamp=limit)
        solution = None if problem is None else best_choices(problem)
        if solution is not None and (best is None or solution.cost < best.cost):
            best = solution if best is None else replace(solution, bound=min(solution.bound, best.bound))
    return best


def _clampable(allowed: Allowed, limit: float) -> Allowed:
    """Return what is allowed where operations are content with outlines that are square to a limit."""

    def within(group: RouteGroup, choice: RouteChoice) -> bool:
        wanted = [each.clamp_squareness for each in choice.chain.operations]
        content = all(want is None or want >= limit for want in wanted)
        return content and allowed(group, choice)

    return within
