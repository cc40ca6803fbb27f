"""Order of the openings of a part: short traverses that keep off the slugs of openings already cut.

A slug is the loose piece inside a cut opening; it can stand up and catch the head. Passing over one counts
as much as a detour by the part's diagonal.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EXACT_LIMIT = 8
"""Openings up to which every order is weighed."""

REPAIRS = 40
"""Moves tried to get a larger route off the slugs."""


class Route:
    """The choice of an order: points, slugs and what a leg costs.

    Parameters
    ----------
    pierces, exits : array, shape (N, 2)
        Where the jet goes in and comes off, opening by opening. [m]
    begin, goal : array, shape (2,)
        Where the head is before the first opening, and the pierce of the outline. [m]
    slugs : sequence of shapely.Polygon
        The openings. [m]
    detour : float
        Length that passing over one slug is worth. [m]
    """

    def __init__(
        self,
        *,
        pierces: Floats,
        exits: Floats,
        begin: Floats,
        goal: Floats,
        slugs: Sequence[shapely.Polygon],
        detour: float,
    ) -> None:
        self.count = len(pierces)
        self.leave = np.vstack([exits, begin])
        self.reach = np.vstack([pierces, goal])
        self.detour = detour
        self.tree = shapely.STRtree(list(slugs))
        gap = self.leave[:, None, :] - self.reach[None, :, :]
        self.lengths: Floats = np.hypot(gap[..., 0], gap[..., 1])
        """From exit i to pierce j; the last row is the beginning, the last column the goal. [m]"""

    def legs(self, order: Sequence[int]) -> tuple[list[int], list[int]]:
        """Indices of exits and pierces, leg by leg."""
        return [self.count, *order], [*order, self.count]

    def crossings(self, order: Sequence[int]) -> list[tuple[int, int]]:
        """Legs that pass over a cut opening: number of the leg, and the opening."""
        i, j = self.legs(order)
        lines = shapely.linestrings(np.stack([self.leave[i], self.reach[j]], axis=1))
        leg, slug = self.tree.query(lines, predicate="intersects")
        place = np.empty(self.count, dtype=np.int64)
        place[list(order)] = np.arange(self.count)
        over = place[slug] < leg - 1
        return list(zip(leg[over].tolist(), slug[over].tolist(), strict=True))

    def cost(self, order: Sequence[int]) -> float:
        """Length of the traverses with detours for slugs. [m]"""
        i, j = self.legs(order)
        return float(self.lengths[i, j].sum()) + self.detour * len(self.crossings(order))


def best_order(route: Route) -> list[int]:
    """
    Order in which to cut the openings.

    Parameters
    ----------
    route : Route
        The openings, N of them.

    Returns
    -------
    list of int
        The best of all orders up to `EXACT_LIMIT` openings; beyond, a nearest-neighbour order improved by
        reversals and moves, and never costlier than the order given.
    """
    if route.count == 0:
        return []
    if route.count <= EXACT_LIMIT:
        return _exact(route)
    from trialcut.motion import _routes  # noqa: PLC0415  numba is slow to import

    by_length = [int(i) for i in _routes.short_route(route.lengths)]
    candidates = [list(range(route.count)), by_length]
    best = min(candidates, key=route.cost)
    return _off_the_slugs(route, best)


def _exact(route: Route) -> list[int]:
    """Dynamic programme over the set of openings already cut."""
    n = route.count
    ends = [(i, j) for i in range(n + 1) for j in range(n + 1)]
    lines = shapely.linestrings(np.array([(route.leave[i], route.reach[j]) for i, j in ends]))
    over = [[0] * (n + 1) for _ in range(n + 1)]
    for leg, slug in route.tree.query(lines, predicate="intersects").T.tolist():
        i, j = ends[leg]
        if slug not in (i, j):
            over[i][j] |= 1 << slug
    length, detour = route.lengths.tolist(), route.detour
    best: dict[tuple[int, int], tuple[float, int]] = {(1 << j, j): (length[n][j], -1) for j in range(n)}
    for done in range(1, 1 << n):
        for last in range(n):
            if (done, last) not in best:
                continue
            so_far = best[done, last][0]
            for j in range(n):
                if done >> j & 1:
                    continue
                cost = so_far + length[last][j] + detour * (over[last][j] & done).bit_count()
                key = (done | 1 << j, j)
                if key not in best or cost < best[key][0]:
                    best[key] = (cost, last)
    full = (1 << n) - 1
    last = min(
        range(n),
        key=lambda i: best[full, i][0] + length[i][n] + detour * (over[i][n] & full).bit_count(),
    )
    order = []
    done = full
    while last >= 0:
        order.append(last)
        previous = best[done, last][1]
        done &= ~(1 << last)
        last = previous
    return order[::-1]


def _off_the_slugs(route: Route, order: list[int]) -> list[int]:
    """Cut an opening only after the last leg that passes over it, where that saves more than it costs."""
    cost = route.cost(order)
    tried: set[int] = set()
    for _ in range(REPAIRS):
        pending = [(leg, slug) for leg, slug in route.crossings(order) if slug not in tried]
        if not pending:
            break
        slug = pending[0][1]
        last_leg = max(leg for leg, other in pending if other == slug)
        tried.add(slug)
        for at in (last_leg, last_leg - 1):
            changed = [i for i in order if i != slug]
            changed.insert(at, slug)
            if (changed_cost := route.cost(changed)) < cost:
                order, cost = changed, changed_cost
                tried.clear()
                break
    return order
