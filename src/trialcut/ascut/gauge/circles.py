"""Circles through points: least squares, and minimum circumscribed.

ISO 14405-1 names their sizes GG and GN (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import ComputationError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_ROUNDING = 4.0 * float(np.finfo(float).eps)
_STEPS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedCircle:
    """A circle: centre, shape (..., 2), and radius, shape (...) [m]; places of the points it rests on."""

    centre: FloatArray
    radius: FloatArray
    touched: IntArray


def least_squares_circle(points: FloatArray, *, weights: FloatArray | None = None) -> FittedCircle:
    """Circle of least squared distances.

    Parameters
    ----------
    points : ndarray, shape (..., M, 2)
        At least three, not on a line. Leading axes run side by side. [m]
    weights : ndarray, shape (M,), optional
        Share of the length that each point stands for; equal unless given. [-]

    Returns
    -------
    FittedCircle
        Rests on no point in particular.

    Raises
    ------
    ComputationError
        If the points do not bend, so that no circle fits best.

    Notes
    -----
    Starts from the circle of least squared *powers*, which is linear, and goes on by damped Gauss-Newton
    steps on the distances themselves.
    """
    count = points.shape[-2]
    share = np.full(count, 1.0 / count) if weights is None else weights / weights.sum()
    mean = np.einsum("m,...mk->...k", share, points)
    local = points - mean[..., None, :]
    size = np.sqrt(np.einsum("m,...mk,...mk->...", share, local, local))
    if np.any(size <= 0.0):
        raise no_circle()
    local = local / size[..., None, None]
    centre = _power_centre(local, share)
    damping = np.zeros(centre.shape[:-1])
    radius, error, gradient, curvature = _distances(local, centre, share)
    for _ in range(_STEPS):
        step = _solve(curvature + damping[..., None, None] * np.eye(2), gradient)
        trial = _distances(local, centre + step, share)
        better = trial[1] <= error * (1.0 + _ROUNDING)
        length = np.hypot(step[..., 0], step[..., 1])
        centre = np.where(better[..., None], centre + step, centre)
        radius = np.where(better, trial[0], radius)
        error = np.where(better, trial[1], error)
        gradient = np.where(better[..., None], trial[2], gradient)
        curvature = np.where(better[..., None, None], trial[3], curvature)
        damping = np.where(better, 0.1 * damping, np.maximum(10.0 * damping, 1e-3))
        if np.all(length <= 1e-14 * (1.0 + radius)):
            break
    return FittedCircle(
        centre=mean + size[..., None] * centre, radius=size * radius, touched=np.empty(0, dtype=np.int64)
    )


def minimum_circumscribed_circle(points: FloatArray) -> FittedCircle:
    """Smallest circle that holds all points.

    Parameters
    ----------
    points : ndarray, shape (M, 2)
        [m]

    Returns
    -------
    FittedCircle
        Rests on two or three points.

    Notes
    -----
    The farthest point outside joins the two or three that the circle rests on, and the smallest circle of
    those is taken; the radius grows at every step, so the search ends, and its end is exact.

    References
    ----------
    Elzinga & Hearn, Transportation Science 6 (1972) 379 (from memory).
    """
    far = int(np.argmax(np.hypot(*(points - points[0]).T)))
    support: tuple[int, ...] = tuple(dict.fromkeys((0, far)))
    for _ in range(_STEPS):
        centre, square, support = _smallest_of(points, support)
        off = points - centre
        squares = off[:, 0] ** 2 + off[:, 1] ** 2
        worst = int(np.argmax(squares))
        if squares[worst] <= square * (1.0 + _ROUNDING) or worst in support:
            return FittedCircle(
                centre=centre, radius=np.sqrt(squares[worst]), touched=np.array(support, dtype=np.int64)
            )
        support = (*support, worst)
    raise ComputationError(
        "the smallest circle round the wall was not found: sample the wall more coarsely", code="gauge"
    )


def no_circle() -> ComputationError:
    """Return the error of a wall that no circle fits."""
    return ComputationError(
        "no circle fits a straight or single-point wall: name a curved edge", code="gauge"
    )


def _power_centre(local: FloatArray, share: FloatArray) -> FloatArray:
    x, y = local[..., 0], local[..., 1]
    square = x * x + y * y
    matrix = np.einsum("m,...mi,...mj->...ij", share, local, local)
    right = 0.5 * np.stack(((x * square) @ share, (y * square) @ share), axis=-1)
    determinant = matrix[..., 0, 0] * matrix[..., 1, 1] - matrix[..., 0, 1] ** 2
    if np.any(determinant <= 1e-15):
        raise no_circle()
    return _solve(matrix, right)


def _solve(matrix: FloatArray, right: FloatArray) -> FloatArray:
    a, b, c = matrix[..., 0, 0], matrix[..., 0, 1], matrix[..., 1, 1]
    determinant = a * c - b * b
    x = (c * right[..., 0] - b * right[..., 1]) / determinant
    y = (a * right[..., 1] - b * right[..., 0]) / determinant
    return np.stack((x, y), axis=-1)


def _distances(
    local: FloatArray, centre: FloatArray, share: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Best radius at a centre, mean squared error, and the Gauss-Newton gradient and matrix."""
    off = local - centre[..., None, :]
    distance = np.sqrt(off[..., 0] ** 2 + off[..., 1] ** 2)
    radius = distance @ share
    rest = distance - radius[..., None]
    slope = off / distance[..., None]
    slope = slope - np.einsum("m,...mk->...k", share, slope)[..., None, :]
    gradient = np.einsum("m,...m,...mk->...k", share, rest, slope)
    matrix = np.einsum("m,...mi,...mj->...ij", share, slope, slope)
    return radius, (rest * rest) @ share, gradient, matrix


def _smallest_of(points: FloatArray, support: tuple[int, ...]) -> tuple[FloatArray, float, tuple[int, ...]]:
    """Smallest circle of two to four points: centre, squared radius, and those it rests on."""
    some = points[list(support)]
    best: tuple[FloatArray, float, tuple[int, ...]] | None = None
    for count in (1, 2, 3):
        for chosen in combinations(range(len(support)), count):
            centre = _centre_through(some[list(chosen)])
            if centre is None:
                continue
            squares = ((some - centre) ** 2).sum(axis=1)
            square = float(squares[list(chosen)].max())
            holds = float(squares.max()) <= square * (1.0 + _ROUNDING)
            if holds and (best is None or square < best[1]):
                best = (centre, square, tuple(support[k] for k in chosen))
    if best is None:
        raise no_circle()
    return best


def _centre_through(some: FloatArray) -> FloatArray | None:
    """Centre of the smallest circle through one, two or three points; None for three on a line."""
    if len(some) < 3:
        return np.asarray(some.mean(axis=0))
    b, c = some[1] - some[0], some[2] - some[0]
    twice = 2.0 * (b[0] * c[1] - b[1] * c[0])
    if twice == 0.0:
        return None
    bb, cc = b @ b, c @ c
    return np.asarray(some[0] + np.array((c[1] * bb - b[1] * cc, b[0] * cc - c[0] * bb)) / twice)
