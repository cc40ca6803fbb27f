"""Circles that decide by contact: maximum inscribed, and the concentric pair of minimum zone.

The size of the former is GX in ISO 14405-1, the width of the latter the roundness of ISO 1101 (both from
memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.circles import (
    FittedCircle,
    FloatArray,
    IntArray,
    least_squares_circle,
    minimum_circumscribed_circle,
    no_circle,
)
from trialcut.errors import ComputationError

_ROUNDING = 4.0 * float(np.finfo(float).eps)
_STEPS = 200
_FAR = 4.0
_STARTS, _AT_ONCE, _APART = 3, 32, 1e-9
_CUT = 1.0e-10


@dataclass(frozen=True, slots=True, kw_only=True)
class Annulus:
    """Two concentric circles: centre [m], radii [m], and the places of the points they rest on."""

    centre: FloatArray
    inner: float
    outer: float
    touched: IntArray

    @property
    def width(self) -> float:
        """Outer less inner radius. [m]"""
        return self.outer - self.inner


def maximum_inscribed_circle(
    points: FloatArray,
    *,
    outline: FloatArray | None = None,
    start: FloatArray | None = None,
    chords: tuple[FloatArray, FloatArray] | None = None,
) -> FittedCircle:
    """Largest circle inside an opening that no point enters.

    Parameters
    ----------
    points : ndarray, shape (M, 2)
        Of the wall, all depths that count, in any order. [m]
    outline : ndarray, shape (N, 2), optional
        The opening as a closed polygon, in order; the points themselves unless given. [m]
    start : ndarray, shape (2,), optional
        A centre to begin with. Without it the search is global. [m]
    chords : tuple of ndarray, shape (K, 2), optional
        Both ends of straight stretches of the wall, which the circle keeps off as well. [m]

    Returns
    -------
    FittedCircle
        Rests on three points, or on two across a parallel stretch; `touched` counts the points given, and
        leaves out where it rests on a chord.

    Notes
    -----
    Centres to begin with are the corners of the Voronoi diagram inside the outline, the largest few of them.
    From each, steps that are optimal for the distances linearised there: a distance is convex in the centre,
    so its tangent lies below it, no step can lose, and the steps end in a local optimum.
    """
    polygon = points if outline is None else outline
    starts = _voronoi_corners(polygon) if start is None else start[None, :]
    return max(
        (_climb_off_chords(points, begin, chords) for begin in starts),
        key=lambda circle: float(circle.radius),
    )


def minimum_zone_circles(points: FloatArray) -> Annulus:
    """Concentric circles of least difference in radius that hold all points between them.

    Parameters
    ----------
    points : ndarray, shape (M, 2)
        Around the centre. [m]

    Returns
    -------
    Annulus
        The best of the optima reached from the centres of the least-squares, the circumscribed and the
        inscribed circle.

    Notes
    -----
    Each step solves the linear programme of the distances linearised at the centre reached so far.
    """
    starts = [least_squares_circle(points).centre, minimum_circumscribed_circle(points).centre]
    starts.append(_climb(points, starts[0]).centre)
    return min((_narrow(points, begin) for begin in starts), key=lambda annulus: annulus.width)


def _voronoi_corners(polygon: FloatArray) -> FloatArray:
    """Centres inside the polygon from which the nearest point is farthest: the three best."""
    from scipy.spatial import Delaunay, QhullError  # noqa: PLC0415

    middle = polygon.mean(axis=0)
    try:
        corners = polygon[Delaunay(polygon - middle).simplices]
    except QhullError as error:
        raise no_circle() from error
    b, c = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    flat = twice == 0.0
    twice[flat] = 1.0
    bb, cc = (b * b).sum(axis=1), (c * c).sum(axis=1)
    shift = np.stack((c[:, 1] * bb - b[:, 1] * cc, b[:, 0] * cc - c[:, 0] * bb), axis=1) / twice[:, None]
    radius = np.hypot(shift[:, 0], shift[:, 1])
    centres = (corners[:, 0] + shift)[~flat]
    order = np.argsort(-radius[~flat])
    best: list[FloatArray] = []
    for first in range(0, len(order), _AT_ONCE):
        some = centres[order[first : first + _AT_ONCE]]
        for centre in some[_inside(some, polygon)]:
            if all(float(np.hypot(*(centre - other))) > _APART for other in best):
                best.append(centre)
        if len(best) >= _STARTS:
            break
    return np.array(best[:_STARTS] or [middle])


def _inside(places: FloatArray, polygon: FloatArray) -> NDArray[np.bool_]:
    """Whether places lie inside a closed polygon, by crossings of a ray."""
    ax, ay = polygon[:, 0], polygon[:, 1]
    bx, by = np.roll(ax, -1), np.roll(ay, -1)
    x, y = places[:, :1], places[:, 1:]
    spans = (ay <= y) != (by <= y)
    rise = np.where(by == ay, 1.0, by - ay)
    crossed = spans & (x < ax + (y - ay) / rise * (bx - ax))
    return np.asarray(crossed.sum(axis=1) % 2 == 1)


def _climb_off_chords(
    points: FloatArray, centre: FloatArray, chords: tuple[FloatArray, FloatArray] | None
) -> FittedCircle:
    """Climb; let the places of chords that the circle cuts into join the points; climb on from there."""
    circle = _climb(points, centre)
    if chords is None or not len(chords[0]):
        return circle
    begin, span = chords[0], chords[1] - chords[0]
    square = np.maximum((span * span).sum(axis=1), np.finfo(float).tiny)
    count = len(points)
    for _ in range(_STEPS):
        share = np.clip(((circle.centre - begin) * span).sum(axis=1) / square, 0.0, 1.0)
        feet = begin + share[:, None] * span
        cut = np.hypot(*(feet - circle.centre).T) < float(circle.radius) - _CUT
        if not cut.any():
            break
        points = np.concatenate((points, feet[cut]))
        circle = _climb(points, circle.centre)
    return replace(circle, touched=circle.touched[circle.touched < count])


def _climb(points: FloatArray, centre: FloatArray) -> FittedCircle:
    """Local maximum of the distance to the nearest point."""
    best, touched = -1.0, np.empty(0, dtype=np.int64)
    for _ in range(_STEPS):
        off = points - centre
        distance = np.hypot(off[:, 0], off[:, 1])
        radius = float(distance.min())
        if radius <= 0.0:
            return FittedCircle(centre=centre, radius=np.array(0.0), touched=touched)
        if radius <= best * (1.0 + _ROUNDING):
            break
        best, kept = radius, centre
        step, touched = _best_step(off / distance[:, None], distance)
        if len(touched) < 2:
            raise ComputationError(
                "the wall does not close round a circle: name all edges of the opening", code="gauge"
            )
        centre = centre + step
    return FittedCircle(centre=kept, radius=np.array(best), touched=touched)


def _best_step(toward: FloatArray, distance: FloatArray) -> tuple[FloatArray, IntArray]:
    """Step ``d`` that maximises the least of ``distance - toward . d``, and the points that hold it.

    Three far walls stand in where the points leave a direction open. The programme is solved for a few
    points, and the point that its answer violates most joins them, until none is violated.
    """
    angles = 0.7 + np.arange(3) * (2.0 * np.pi / 3.0)
    u = np.concatenate((np.stack((np.cos(angles), np.sin(angles)), axis=1), toward))
    rho = np.concatenate((np.full(3, _FAR * distance.min()), distance))
    slack_allowed = 1e-13 * float(rho[0])
    chosen = [0, 1, 2, *(3 + _nearest_by_sector(toward, distance)).tolist()]
    for _ in range(_STEPS):
        step, value, held = _best_corner(u[chosen], rho[chosen], slack_allowed)
        worst = int(np.argmin(rho - u @ step))
        if rho[worst] - u[worst] @ step >= value - slack_allowed or worst in chosen:
            break
        chosen.append(worst)
    return step, np.array([chosen[k] - 3 for k in held if chosen[k] >= 3], dtype=np.int64)


def _nearest_by_sector(toward: FloatArray, distance: FloatArray) -> IntArray:
    """Nearest point in each sixth of the full turn."""
    sector = np.floor(np.arctan2(toward[:, 1], toward[:, 0]) * (3.0 / np.pi)).astype(np.int64)
    order = np.argsort(distance, kind="stable")
    return order[np.unique(sector[order], return_index=True)[1]]


@lru_cache(maxsize=64)
def _triples(count: int) -> IntArray:
    return np.array(list(combinations(range(count), 3)), dtype=np.int64)


def _best_corner(
    u: FloatArray, rho: FloatArray, slack_allowed: float
) -> tuple[FloatArray, float, tuple[int, ...]]:
    """Feasible corner of the programme with the highest value, of all corners."""
    triples = _triples(len(rho))
    a, b, c = triples.T
    ab, ac = u[b] - u[a], u[c] - u[a]
    area = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    usable = np.abs(area) > 1e-12
    a, b, c, ab, ac, area = a[usable], b[usable], c[usable], ab[usable], ac[usable], area[usable]
    rb, rc = rho[b] - rho[a], rho[c] - rho[a]
    steps = np.stack((rb * ac[:, 1] - rc * ab[:, 1], rc * ab[:, 0] - rb * ac[:, 0]), axis=1) / area[:, None]
    values = rho[a] - (u[a] * steps).sum(axis=1)
    feasible = (rho - steps @ u.T).min(axis=1) >= values - slack_allowed
    best = int(np.argmax(np.where(feasible, values, -np.inf)))
    return steps[best], float(values[best]), (int(a[best]), int(b[best]), int(c[best]))


def _narrow(points: FloatArray, centre: FloatArray) -> Annulus:
    """Local minimum of the difference between the farthest and the nearest point."""
    from scipy.optimize import linprog  # noqa: PLC0415

    best: Annulus | None = None
    for _ in range(_STEPS):
        off = points - centre
        distance = np.hypot(off[:, 0], off[:, 1])
        near, far = float(distance.min()), float(distance.max())
        ends = np.array((int(np.argmin(distance)), int(np.argmax(distance))), dtype=np.int64)
        if best is not None and far - near >= best.width * (1.0 - 1e-12):
            break
        best = Annulus(centre=centre, inner=near, outer=far, touched=ends)
        width = far - near
        if width <= _ROUNDING * far:
            break
        toward = off / distance[:, None]
        height = (distance - near) / width
        one = np.ones((len(points), 1))
        none = np.zeros_like(one)
        rows = np.concatenate((np.hstack((-toward, -one, none)), np.hstack((toward, none, one))))
        limits = np.concatenate((-height, height))
        found = linprog((0.0, 0.0, 1.0, -1.0), A_ub=rows, b_ub=limits, bounds=(-_FAR, _FAR), method="highs")
        if found.slack is None or found.x is None:
            break
        at_rest = np.flatnonzero(np.asarray(found.slack) <= 1e-7) % len(points)
        best = Annulus(
            centre=centre, inner=near, outer=far, touched=np.unique(at_rest) if len(at_rest) else ends
        )
        centre = centre + width * np.asarray(found.x)[:2]
    if best is None:
        raise no_circle()
    return best
