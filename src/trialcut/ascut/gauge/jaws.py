"""Two parallel jaws closing on, or opening between, two faces.

In the frame of the first face ``x`` runs along it and ``y`` out of its material. A jaw of slope ``t`` rests
on the first face where ``y + t x`` is largest, the other on the second face where ``-(y + t x)`` is. The sum
of the two supports ::

    g(t) = max over first (y + t x) + max over second -(y + t x)

is convex in the slope, so the jaws seat where it is least: closed from outside that is the narrowest gap,
opened from inside the widest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_STEPS = 100
_ROUNDING = 4.0 * float(np.finfo(float).eps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """How the jaws seat.

    Parameters
    ----------
    slope : ndarray, shape (...)
        Of the jaws against the first face as drawn. [-]
    gap : ndarray, shape (...)
        The sum of supports there: the gap if closed from outside, less the gap if opened from inside. It is
        taken square to the first face as drawn; square to the jaws it is shorter by half the slope squared.
        [m]
    first, second : ndarray of int, shape (..., 2)
        Places of the points touched, of each face; the two agree where a jaw rests on one point only.
    """

    slope: FloatArray
    gap: FloatArray
    first: IntArray
    second: IntArray


def seat(first: tuple[FloatArray, FloatArray], second: tuple[FloatArray, FloatArray], *, rock: float) -> Seat:
    """Seat two jaws.

    Parameters
    ----------
    first, second : tuple of ndarray
        Of each face ``x``, shape (m,), and ``y``, shape (..., m), in the frame of the first. [m]
    rock : float
        Largest slope of the jaws. [-]

    Returns
    -------
    Seat
        Exact: the slope is narrowed down between two supports on either side of the least; where their lines
        cross is the next slope, until the crossing lies on the sum itself.
    """
    batch = np.broadcast_shapes(first[1].shape[:-1], second[1].shape[:-1])

    def support(slope: FloatArray) -> tuple[FloatArray, FloatArray, IntArray, IntArray]:
        tilted = slope[..., None]
        i = np.argmax(first[1] + tilted * first[0], axis=-1)
        j = np.argmax(-second[1] - tilted * second[0], axis=-1)
        y = np.take_along_axis(first[1], i[..., None], -1)[..., 0]
        y = y - np.take_along_axis(second[1], j[..., None], -1)[..., 0]
        x = first[0][i] - second[0][j]
        return y + slope * x, x, i, j

    low, high = np.full(batch, -rock), np.full(batch, rock)
    (g_low, s_low, *at_low), (g_high, s_high, *at_high) = support(low), support(high)
    # Where the sum rises, or falls, all the way, the jaws lean as far as they may.
    high = np.where(s_low >= 0.0, low, high)
    low = np.where(s_high <= 0.0, np.where(s_low >= 0.0, low, high), low)
    slope = np.where(g_low <= g_high, low, high)
    done = low == high
    for _ in range(_STEPS):
        if done.all():
            break
        rise = np.where(done, 1.0, s_high - s_low)
        crossing = np.where(done, slope, ((g_low - s_low * low) - (g_high - s_high * high)) / rise)
        line = g_low + s_low * (crossing - low)
        value, steep, *at = support(crossing)
        reached = (value <= line + _ROUNDING * np.abs(line)) | (crossing <= low) | (crossing >= high)
        slope = np.where(done, slope, crossing)
        left = ~done & ~reached & (steep < 0.0)
        right = ~done & ~reached & (steep >= 0.0)
        low, g_low, s_low = (
            np.where(left, new, old) for new, old in ((crossing, low), (value, g_low), (steep, s_low))
        )
        high, g_high, s_high = (
            np.where(right, new, old) for new, old in ((crossing, high), (value, g_high), (steep, s_high))
        )
        at_low = [np.where(left, new, old) for new, old in zip(at, at_low, strict=True)]
        at_high = [np.where(right, new, old) for new, old in zip(at, at_high, strict=True)]
        done = done | reached
    value, _, i, j = support(slope)
    ends = low == high
    pairs = [
        np.stack((np.where(ends, k, one), np.where(ends, k, other)), axis=-1)
        for k, one, other in zip((i, j), at_low, at_high, strict=True)
    ]
    return Seat(slope=slope, gap=value, first=pairs[0], second=pairs[1])
