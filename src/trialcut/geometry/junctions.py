"""What to do where more than two loose ends meet.

::

      |            a line that ends nowhere is set aside first; strands that come back to the same point
    --+--          are loops of their own; of the rest, ends are paired so that the runs go on as straight
      |            as they can, and never fold back on themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos

_FOLD = 100.0
"""Cost of a pair that folds back, against at most 2 for any other."""

_EXHAUSTIVE = 8
"""Up to so many ends, all pairings are tried."""


def pair_ends(headings: Sequence[float]) -> list[tuple[int, int]]:
    """Pair ends that leave one point.

    Parameters
    ----------
    headings : sequence of float
        Direction in which each end's piece leaves the point. [rad]

    Returns
    -------
    list of tuple of int
        Pairs of indices; with an odd number, one end is left over.
    """
    n = len(headings)
    costs = {(a, b): _cost(headings[a] - headings[b]) for a in range(n) for b in range(a + 1, n)}
    if n <= _EXHAUSTIVE:
        return _best(tuple(range(n)), costs)[1]
    left = set(range(n))
    pairs = []
    for (a, b), _ in sorted(costs.items(), key=lambda item: item[1]):
        if a in left and b in left:
            pairs.append((a, b))
            left -= {a, b}
    return pairs


def _cost(angle: float) -> float:
    cosine = cos(angle)
    return _FOLD if cosine > 1.0 - 1.0e-6 else 1.0 + cosine


def _best(ends: tuple[int, ...], costs: dict[tuple[int, int], float]) -> tuple[float, list[tuple[int, int]]]:
    """Cheapest pairing of a few ends; one is left over where their number is odd."""
    if len(ends) < 2:
        return 0.0, []
    first, rest = ends[0], ends[1:]
    options = []
    for k, other in enumerate(rest):
        cost, pairs = _best(rest[:k] + rest[k + 1 :], costs)
        options.append((cost + costs[first, other], [(first, other), *pairs]))
    if len(ends) % 2:
        options.append(_best(rest, costs))
    return min(options, key=lambda option: option[0])
