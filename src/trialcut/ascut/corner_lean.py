"""How the head leans at a corner, where two edges ask for two leans.

A lean is a complex number here: forward along the path plus i times sideways, towards the part. Turning the
frame of the edge before by ``turn`` gives that of the edge after.

outside corner
    The jet runs past the wall before to where the tangents cross, and back to the wall after. The head stands
    as for the wall before until the crossing, and swings behind it: ahead of it the lag would be pulled into
    the corner's point. If the way back is too short for that, the lead is drawn in before and let out after:
    along a straight that leaves the wall alone, while tilt does not. What is then still too fast is slowed.
inside corner
    The jet touches both walls at once and the swing must be over. There is one lean that suits both, the
    *mitre*: it has the tilt of either in its own frame, as the bottom of the kerf then turns the corner on
    its own mitred offset. To it comes the lead of the edge after, since it is behind the corner that the lag
    would cut into the wall before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.types import FloatArray

ComplexArray = NDArray[np.complex128]

GOUGE_WEIGHT = 3.0
"""How much worse a cut into the wall is than material left, which the jet's round may still take: our own
working value. [-]"""

LEAD_SHARES = (1.0, 0.75, 0.5, 0.25, 0.0)
"""Shares of the lag that are tried as lead at an inside corner. [-]"""

SWING_WEIGHT = 1.0e-3
"""Of the swing beside the error, to choose the shorter of two that are as good. [-]"""

NO_MITRE = 1.0e-6
"""Sine of a turn below which two edges have no mitre. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerLeans:
    """Leans at K corners.

    Parameters
    ----------
    before, after : ndarray of complex, shape (K,)
        Where the jet leaves the wall before, and where it meets the wall after, each in the frame of its own
        edge. [-]
    cap : ndarray, shape (K,)
        Speed between the two; ``inf`` where none is needed. [m/s]
    gouge, standing : ndarray, shape (K,)
        Largest error per depth: cut into a wall, left on it. [-]
    """

    before: ComplexArray
    after: ComplexArray
    cap: FloatArray
    gouge: FloatArray
    standing: FloatArray


def mitre_lean(*, turn: FloatArray, tilt_before: FloatArray, tilt_after: FloatArray) -> ComplexArray:
    """
    Lean that has the tilt of both edges of a corner.

    Parameters
    ----------
    turn : ndarray, shape (K,)
        Positive at an outside corner. [rad]
    tilt_before, tilt_after : ndarray, shape (K,)
        [-]

    Returns
    -------
    ndarray of complex, shape (K,)
        In the frame of the edge before; far out where the edges are parallel. [-]

    Notes
    -----
    Im(c) = b1 and Im(c exp(-i turn)) = b2 give Re(c) = (b1 cos(turn) - b2) / sin(turn).
    """
    sine = np.sin(turn)
    sine = np.where(np.abs(sine) < NO_MITRE, np.copysign(NO_MITRE, sine), sine)
    return np.asarray((tilt_before * np.cos(turn) - tilt_after) / sine + 1j * tilt_before)


def corner_leans(
    *,
    turn: FloatArray,
    lean_before: ComplexArray,
    lean_after: ComplexArray,
    lag: FloatArray,
    gap: FloatArray,
    speed: FloatArray,
    rate: float,
    reach: float,
    blend: FloatArray,
) -> CornerLeans:
    """
    Leans on both sides of corners, and the speed at which the head can swing between them.

    Parameters
    ----------
    turn : ndarray, shape (K,)
        Positive at an outside corner. [rad]
    lean_before, lean_after : ndarray of complex, shape (K,)
        What each edge asks for at the speed of the corner, in its own frame. [-]
    lag : ndarray, shape (K,)
        Of the exit per depth, at the speed of the corner. [-]
    gap : ndarray, shape (K,)
        From the crossing of the tangents to the wall after; zero at an inside corner. [m]
    speed : ndarray, shape (K,)
        Largest in the gap. [m/s]
    rate : float
        Largest change of the lean in time. [1/s]
    reach : float
        Largest lean. [-]
    blend : ndarray, shape (K,)
        Error per depth that is left on a wall by a tilt that is off at an inside corner, over its square: the
        square of speed over the rate of the tilt, over the width of the kerf and the thickness. [-]

    Returns
    -------
    CornerLeans
        See there.
    """
    before, after, cap = _outside(
        turn=turn, before=lean_before, after=lean_after, gap=gap, speed=speed, rate=rate
    )
    inside, gouge, standing = _inside(
        turn=turn, before=lean_before, after=lean_after * np.exp(1j * turn), lag=lag, blend=blend, reach=reach
    )
    outside = gap > 0.0
    return CornerLeans(
        before=np.where(outside, before, inside),
        after=np.where(outside, after, inside * np.exp(-1j * turn)),
        cap=np.where(outside, cap, np.inf),
        gouge=np.where(outside, 0.0, gouge),
        standing=np.where(outside, 0.0, standing),
    )


def _outside(
    *,
    turn: FloatArray,
    before: ComplexArray,
    after: ComplexArray,
    gap: FloatArray,
    speed: FloatArray,
    rate: float,
) -> tuple[ComplexArray, ComplexArray, FloatArray]:
    """Leans on both sides of outside corners, with the lead that there is time to swing, and the cap."""
    with np.errstate(divide="ignore", invalid="ignore"):
        most = rate * gap / speed
    back = np.exp(-1j * turn)
    swing_of_tilt = 1j * (before.imag * back - after.imag)
    swing = before * back - after
    share = _share_within(swing_of_tilt, swing, most)
    before = share * before.real + 1j * before.imag
    after = share * after.real + 1j * after.imag
    left = np.abs(before * back - after)
    with np.errstate(divide="ignore", invalid="ignore"):
        cap = np.where(left > most * (1.0 + 1e-9), rate * gap / left, np.inf)
    return before, after, cap


def _share_within(begin: ComplexArray, end: ComplexArray, reach: FloatArray) -> FloatArray:
    """Largest share of the way from one lean to another that keeps within a reach."""
    way = end - begin
    square = np.abs(way) ** 2
    along = (begin.conjugate() * way).real
    spare = np.maximum(reach**2 - np.abs(begin) ** 2, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (np.sqrt(along**2 + square * spare) - along) / square
    inside = (np.abs(end) <= reach) | (square == 0.0)
    return np.asarray(np.where(inside, 1.0, np.clip(share, 0.0, 1.0)))


def _inside(
    *,
    turn: FloatArray,
    before: ComplexArray,
    after: ComplexArray,
    lag: FloatArray,
    blend: FloatArray,
    reach: float,
) -> tuple[ComplexArray, FloatArray, FloatArray]:
    """Lean at inside corners, all in the frame before: the best of a few, and its errors per depth.

    A tilt that is off by x at the corner is off all along its blend, whose length is in proportion; of the
    material that leaves, the round of the jet takes all but `blend` times x squared.
    """
    round_ = np.exp(1j * turn)
    tilt_before, tilt_after = before.imag, (after / round_).imag
    mitre = mitre_lean(turn=turn, tilt_before=tilt_before, tilt_after=tilt_after)
    candidates = _held(
        np.stack(
            [
                *(mitre + share * lag * round_ for share in LEAD_SHARES),
                before,
                after,
                0.5 * (before + after),
            ]
        ),
        reach,
    )
    # What each wall feels of lean and lag just before the corner, and just behind it.
    first_ahead, first_behind = candidates.imag - tilt_before, (candidates - lag * round_).imag - tilt_before
    second_ahead = ((candidates - lag) / round_).imag - tilt_after
    second_behind = (candidates / round_).imag - tilt_after
    first, second = np.maximum(first_ahead, first_behind), np.maximum(second_ahead, second_behind)
    gouge = np.maximum(np.maximum(first, second), 0.0)
    standing = np.maximum(-np.minimum(first, second), 0.0)
    for off in (first_ahead, second_behind):
        left = np.maximum(-off, 0.0)
        standing = np.maximum(standing, np.minimum(left, blend * left**2))
    cost = np.maximum(GOUGE_WEIGHT * gouge, standing) + SWING_WEIGHT * (
        np.abs(candidates - before) + np.abs(candidates - after)
    )
    best = np.argmin(cost, axis=0)
    pick = (best, np.arange(best.size))
    return candidates[pick], gouge[pick], standing[pick]


def _held(lean: ComplexArray, reach: float) -> ComplexArray:
    """Return the lean within the reach that is nearest."""
    size = np.abs(lean)
    return np.asarray(lean * np.where(size > reach, reach / np.maximum(size, 1e-300), 1.0))
