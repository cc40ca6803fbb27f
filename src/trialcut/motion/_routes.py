"""Compiled search for a short route through many openings; imports numba, so imported on first use."""

from __future__ import annotations

import numpy as np

from trialcut.motion._kernels import Floats, Integers, compiled


@compiled
def reverse(route: Integers, first: int, last: int) -> None:
    """Turn the places from `first` to `last`, both included, the other way round."""
    while first < last:
        route[first], route[last] = route[last], route[first]
        first += 1
        last -= 1


@compiled
def exchange(route: Integers, begin: int, middle: int, end: int) -> None:
    """Let the places up to `middle` and those from it on, up to `end`, change sides."""
    reverse(route, begin, middle - 1)
    reverse(route, middle, end - 1)
    reverse(route, begin, end - 1)


@compiled
def short_route(lengths: Floats) -> Integers:
    """Nearest-neighbour order, then reversals and moves of up to three openings until none helps.

    `lengths`, shape (N + 1, N + 1), is from exit i to pierce j; its last row is the beginning, its last
    column the goal.
    """
    n = lengths.shape[0] - 1
    route = np.empty(n + 2, np.int64)  # with the beginning before and the goal after, both called n
    route[0] = route[n + 1] = n
    waiting = np.ones(n, np.bool_)
    for place in range(1, n + 1):
        nearest, best = -1, np.inf
        for j in range(n):
            if waiting[j] and lengths[route[place - 1], j] < best:
                nearest, best = j, lengths[route[place - 1], j]
        route[place] = nearest
        waiting[nearest] = False
    forward, backward = np.zeros(n + 2), np.zeros(n + 2)
    for _ in range(100 * n):
        for k in range(2, n + 1):
            forward[k] = forward[k - 1] + lengths[route[k - 1], route[k]]
            backward[k] = backward[k - 1] + lengths[route[k], route[k - 1]]
        gain, move, first, last, target = 1e-12, 0, 0, 0, 0
        for i in range(1, n + 1):
            for k in range(i, n + 1):
                before, after = route[i - 1], route[k + 1]
                saved = lengths[before, route[i]] + lengths[route[k], after]
                turned = (
                    saved
                    + forward[k]
                    - forward[i]
                    - lengths[before, route[k]]
                    - lengths[route[i], after]
                    - backward[k]
                    + backward[i]
                )
                if turned > gain:
                    gain, move, first, last = turned, 1, i, k
                if k > i + 2:
                    continue
                saved -= lengths[before, after]
                for t in range(n + 1):  # between places t and t + 1
                    if i - 1 <= t <= k:
                        continue
                    shifted = (
                        saved
                        + lengths[route[t], route[t + 1]]
                        - lengths[route[t], route[i]]
                        - lengths[route[k], route[t + 1]]
                    )
                    if shifted > gain:
                        gain, move, first, last, target = shifted, 2, i, k, t
        if move == 0:
            break
        if move == 1:
            reverse(route, first, last)
        elif target < first:
            exchange(route, target + 1, first, last + 1)
        else:
            exchange(route, first, last + 1, target + 1)
    return route[1 : n + 1]
