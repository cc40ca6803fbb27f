"""Lines through points: least squares, minimum zone, and pairs of parallel lines.

Points have shape (..., M, 2); leading axes (layers, draws) run side by side where a closed form allows it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_HALF_RIGHT_ANGLE = float(np.cos(np.pi / 4.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedLine:
    """A least-squares line: a point on it [m] and its unit direction [-], shape (..., 2) each."""

    point: FloatArray
    direction: FloatArray

    def heights(self, points: FloatArray) -> FloatArray:
        """Return signed distances of points, shape (..., M), positive to the left of the direction. [m]"""
        off = points - self.point[..., None, :]
        across = self.direction[..., None, :]
        return np.asarray(across[..., 0] * off[..., 1] - across[..., 1] * off[..., 0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A minimum zone: its width [m], unit direction [-], and the places of the points it rests on."""

    width: float
    direction: FloatArray
    touched: IntArray


def least_squares_line(points: FloatArray, *, weights: FloatArray | None = None) -> FittedLine:
    """Line of least squared distances.

    Parameters
    ----------
    points : ndarray, shape (..., M, 2)
        [m]
    weights : ndarray, shape (M,), optional
        Share of the length that each point stands for; equal unless given. [-]

    Returns
    -------
    FittedLine
        Through the mean point, along the major axis of the scatter.
    """
    share = _shares(points.shape[-2], weights)
    mean = np.einsum("m,...mk->...k", share, points)
    x, y = np.moveaxis(points - mean[..., None, :], -1, 0)
    angle = 0.5 * np.arctan2(2.0 * (x * y) @ share, (x * x) @ share - (y * y) @ share)
    return FittedLine(point=mean, direction=np.stack((np.cos(angle), np.sin(angle)), axis=-1))


def minimum_zone_line(points: FloatArray, *, along: FloatArray | None = None) -> Zone:
    """Narrowest strip between two parallel lines that holds all points.

    Parameters
    ----------
    points : ndarray, shape (M, 2)
        [m]
    along : ndarray, shape (2,), optional
        Direction of the line as drawn; strips that stand more than 45 degrees to it are left out. [-]

    Returns
    -------
    Zone
        Exact: one of the two lines lies along a side of the convex hull, so every side is tried.
    """
    corners = convex_hull(points)
    hull = points[corners]
    sides = np.roll(hull, -1, axis=0) - hull
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    usable = lengths > 0.0
    if along is not None:
        usable &= np.abs(sides @ along) >= _HALF_RIGHT_ANGLE * lengths * float(np.hypot(*along))
    if not usable.any():
        return _strip_along(points, corners, along)
    places = np.flatnonzero(usable)
    direction = sides[places] / lengths[places, None]
    off = hull[None, :, :] - hull[places, None, :]
    heights = direction[:, None, 0] * off[..., 1] - direction[:, None, 1] * off[..., 0]
    widths = heights.max(axis=1)
    best = int(np.argmin(widths))
    side = int(places[best])
    touched = corners[[side, (side + 1) % len(hull), int(np.argmax(heights[best]))]]
    return Zone(width=float(widths[best]), direction=direction[best], touched=touched)


def parallel_lines(
    one: FloatArray,
    other: FloatArray,
    *,
    one_weights: FloatArray | None = None,
    other_weights: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Least-squares pair of parallel lines, one through each set of points.

    Parameters
    ----------
    one, other : ndarray, shape (..., M, 2)
        Points of the two faces. [m]
    one_weights, other_weights : ndarray, shape (M,), optional
        Share of the length that each point stands for. [-]

    Returns
    -------
    tuple of ndarray
        Distance of the lines, shape (...) [m]; their common direction, shape (..., 2) [-].
    """
    scatter = np.zeros((3, *one.shape[:-2]))
    means = []
    for points, weights in ((one, one_weights), (other, other_weights)):
        share = _shares(points.shape[-2], weights)
        mean = np.einsum("m,...mk->...k", share, points)
        x, y = np.moveaxis(points - mean[..., None, :], -1, 0)
        scatter = scatter + np.stack(((x * x) @ share, (y * y) @ share, (x * y) @ share))
        means.append(mean)
    angle = 0.5 * np.arctan2(2.0 * scatter[2], scatter[0] - scatter[1])
    direction = np.stack((np.cos(angle), np.sin(angle)), axis=-1)
    apart = means[1] - means[0]
    distance = np.abs(direction[..., 0] * apart[..., 1] - direction[..., 1] * apart[..., 0])
    return distance, direction


def convex_hull(points: FloatArray) -> IntArray:
    """Places of the corners of the convex hull, counter-clockwise; two for points on a line.

    Parameters
    ----------
    points : ndarray, shape (M, 2)
        [m]

    Returns
    -------
    ndarray of int
        By the monotone chain.

    References
    ----------
    A. M. Andrew, Information Processing Letters 9 (1979) 216 (from memory).
    """
    order = np.lexsort((points[:, 1], points[:, 0])).tolist()
    xs, ys = points[:, 0].tolist(), points[:, 1].tolist()

    def chain(places: list[int]) -> list[int]:
        kept: list[int] = []
        for place in places:
            x, y = xs[place], ys[place]
            while len(kept) > 1:
                a, b = kept[-2], kept[-1]
                turn = (xs[b] - xs[a]) * (y - ys[a]) - (ys[b] - ys[a]) * (x - xs[a])
                if turn > 0.0:
                    break
                kept.pop()
            kept.append(place)
        return kept

    lower, upper = chain(order), chain(order[::-1])
    return np.array(lower[:-1] + upper[:-1] or lower, dtype=np.int64)


def _shares(count: int, weights: FloatArray | None) -> FloatArray:
    shares: FloatArray = np.ones(count) if weights is None else weights
    return shares / float(shares.sum())


def _strip_along(points: FloatArray, corners: IntArray, along: FloatArray | None) -> Zone:
    direction = np.array((1.0, 0.0)) if along is None else along / np.hypot(*along)
    hull = points[corners]
    heights = direction[0] * hull[:, 1] - direction[1] * hull[:, 0]
    ends = corners[[int(np.argmin(heights)), int(np.argmax(heights))]]
    return Zone(width=float(np.ptp(heights)), direction=direction, touched=ends)
