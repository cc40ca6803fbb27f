"""Arcs under a leaned head: the lean turns with the path, and the head's rate must keep up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.ascut.lean_law import LeanLaw
from trialcut.geometry.contours import Part
from trialcut.motion.prepared import PreparedPath
from trialcut.physics.wording import both
from trialcut.sources import Note
from trialcut.units import Kind

FORWARD_SHARE, SIDEWAYS_SHARE = 0.8, 0.6
"""Of the rate that the head has left, to change lead and tilt at once; their squares make one. [-]"""

TURNING_SHARE = 0.95
"""Of the rate, for turning with an arc; the rest lets tilt and lead follow the speed meanwhile. [-]"""

FINER = 256
"""Speeds tried between two tabulated ones."""


@dataclass(frozen=True, slots=True)
class ArcChoice:
    """Whether an arc is leaned, at what speed, and a word on it if that is not as asked."""

    tilted: bool
    speed: float
    note: Note | None = None


def path_curvature(part: Part, prepared: PreparedPath) -> dict[str, float]:
    """Signed curvature of the path beside each edge where it is tightest, positive on a convex edge. [1/m]"""
    tightest = np.zeros(len(prepared.edge_ids))
    on = prepared.piece_edge >= 0
    np.maximum.at(tightest, prepared.piece_edge[on], 1.0 / prepared.piece_radius[on])
    return {
        edge_id: float(np.copysign(bend, part.edge(edge_id).curvature))
        for edge_id, bend in zip(prepared.edge_ids, tightest, strict=True)
    }


def fastest_turning(law: LeanLaw, *, speed: float, curvature: float, rate: float) -> float:
    """
    Fastest speed up to a given one at which the head can turn with an arc.

    Parameters
    ----------
    law : LeanLaw
        Lean at each speed.
    speed : float
        [m/s]
    curvature : float
        Of the path, of either sign. [1/m]
    rate : float
        Of the head. [rad/s]

    Returns
    -------
    float
        Zero if it cannot at any tabulated speed. [m/s]

    Notes
    -----
    The lean, constant beside the path, turns with it: |lean| |curvature| u <= rate.
    """

    def fits(at: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
        tilt, lead = law.at(at)
        good = at[at * np.hypot(tilt, lead) * abs(curvature) <= TURNING_SHARE * rate]
        return float(good.max()) if good.size else 0.0

    grid = np.append(law.speeds[law.speeds < speed], speed)
    rough = fits(grid)
    if rough in {0.0, speed}:
        return rough
    above = float(grid[grid > rough].min())
    return max(rough, fits(np.linspace(rough, above, FINER)))


def tilted_or_upright(law: LeanLaw, *, speed: float, curvature: float, rate: float) -> ArcChoice:
    """
    Lean an arc at the speed asked if the head can turn with it; else slow it or leave it upright.

    Parameters
    ----------
    law : LeanLaw
        Lean and walls at each speed.
    speed : float
        Asked for. [m/s]
    curvature : float
        Of the path, positive on a convex edge. [1/m]
    rate : float
        Of the head. [rad/s]

    Returns
    -------
    ArcChoice
        Whichever wall is the squarer: the slowed leaned one or the upright one at the speed asked.
    """
    slow = fastest_turning(law, speed=speed, curvature=curvature, rate=rate)
    if slow >= speed:
        return ArcChoice(True, speed)
    upright = law.out_of_square(speed, curvature=curvature, tilted=False)
    slowed = law.out_of_square(slow, curvature=curvature, tilted=True) if slow > 0.0 else np.inf
    radius = both(1.0 / abs(curvature), Kind.LENGTH)
    if slowed <= upright:
        return ArcChoice(
            True,
            slow,
            Note(
                "arc-slowed-for-tilt-rate",
                f"slowed from {both(speed, Kind.SPEED)} to {both(slow, Kind.SPEED)} so that the head can "
                f"turn with a path radius of {radius}: {both(slowed, Kind.LENGTH)} out of square, upright "
                f"{both(upright, Kind.LENGTH)}",
            ),
        )
    leaned = both(float(slowed), Kind.LENGTH) if slow > 0.0 else "not to be had at any speed"
    return ArcChoice(
        False,
        speed,
        Note(
            "arc-left-upright",
            f"left upright at {both(speed, Kind.SPEED)}: the head cannot turn with a path radius of {radius} "
            f"so fast, and upright is {both(upright, Kind.LENGTH)} out of square, leaned and slowed "
            f"{leaned}",
        ),
    )
