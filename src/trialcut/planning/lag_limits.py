"""Speeds at which the lag stays inside what an arc or a corner allows."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Corner
from trialcut.motion.prepared import SMOOTH_TURN
from trialcut.physics.lag import exit_lag, lag_budget_on_arc, speed_at_lag
from trialcut.planning.demands import DemandKind
from trialcut.planning.prepared import PreparedStudy
from trialcut.planning.results import Stance

FloatArray = NDArray[np.float64]

DEFAULT_LAG_BUDGET = 0.5e-3
"""Error from lag that is let pass where nothing is demanded: our own working value. [m]"""
MISSED_CORNERS = 0.2
"""Share of the odds of failure that one demanded corner may use: our own working value. [-]"""
MIDDLE_LAG = 0.25
"""Lag left at mid-depth by a lead that brings the exit under the entry, over the exit lag. [-]"""


def speed_at_lag_with_odds(prepared: PreparedStudy, lag: float, odds: float) -> float:
    """Return the fastest speed whose lag stays below a limit with the given odds. [m/s]"""
    draws = prepared.parameters
    speeds = speed_at_lag(
        lag=lag,
        thickness=prepared.study.setup.thickness,
        separation_speed=prepared.separation_speed,
        lag_limit_angle=draws.lag_limit_angle,
        lag_exponent=draws.lag_exponent,
    )
    return float(np.quantile(speeds, 1.0 - odds))


def arc_speed_limits(prepared: PreparedStudy, stance: Stance) -> FloatArray:
    """Return the lag-limited speed of every edge, shape (E,), ``inf`` on straights. [m/s]

    An arc's exit is carried outwards by ``l^2 / (2 R)``, which may be half a millimetre; what that does to
    a size on the arc is left to the odds of the size. A lead angle leaves a quarter of the lag, at mid-depth.
    """
    limits = np.full(len(prepared.edges), np.inf)
    for bend in np.flatnonzero(prepared.path_curvature).tolist():
        radius = 1.0 / abs(prepared.path_curvature[bend])
        lag = float(lag_budget_on_arc(radius=radius, edge_error=DEFAULT_LAG_BUDGET))
        if stance is Stance.TILTED:
            lag /= MIDDLE_LAG
        limits[bend] = speed_at_lag_with_odds(prepared, lag, 0.5)
    return limits


def corner_budgets(prepared: PreparedStudy) -> dict[tuple[str, str], tuple[float, float]]:
    """Return lag budget [m] and the odds it is kept with, for every corner that really turns."""
    asked = {
        (demand.edges[0], demand.edges[1]): demand.upper
        for demand in prepared.study.demands
        if demand.kind is DemandKind.CORNER
    }
    budgets: dict[tuple[str, str], tuple[float, float]] = {}
    for corner in _corners(prepared):
        limit = asked.get((corner.before, corner.after))
        if limit is None:
            budgets[corner.before, corner.after] = (DEFAULT_LAG_BUDGET, 0.5)
        else:
            budgets[corner.before, corner.after] = (
                limit,
                1.0 - MISSED_CORNERS * (1.0 - prepared.study.asked_odds),
            )
    return budgets


def corner_zones(prepared: PreparedStudy) -> dict[tuple[str, str], tuple[tuple[float, float], ...]]:
    """Return the staircase of speed limits on both sides of every corner.

    A distance ``d`` from the corner the lag may be the budget plus ``d``: that much of the trail has not
    reached the corner, or has left it. Each step holds the limit of its inner end.

    Returns
    -------
    dict
        Edges before and after to pairs of distance [m] and speed limit [m/s].
    """
    top_speed = prepared.study.machine.cut_speed_max
    thickness = prepared.study.setup.thickness
    known: dict[tuple[float, float], tuple[tuple[float, float], ...]] = {}
    zones = {}
    for key, (budget, odds) in corner_budgets(prepared).items():
        if (budget, odds) not in known:
            distances = budget * (1.5 ** np.arange(24) - 1.0)
            steps: list[tuple[float, float]] = []
            for inner, outer in pairwise(distances):
                limit = speed_at_lag_with_odds(prepared, budget + inner, odds)
                if limit >= top_speed or inner > thickness:
                    break
                steps.append((float(outer), limit))
            known[budget, odds] = tuple(steps)
        zones[key] = known[budget, odds]
    return zones


def corner_lags(
    prepared: PreparedStudy,
    zones: dict[tuple[str, str], tuple[tuple[float, float], ...]],
    speed: dict[str, float],
) -> dict[tuple[str, str], FloatArray]:
    """Return the lag left at every corner, shape (D,), at the speed the jet really has there. [m]"""
    draws = prepared.parameters
    lags: dict[tuple[str, str], FloatArray] = {}
    for (before, after), steps in zones.items():
        there = min(speed[before], speed[after], *(limit for _, limit in steps[:1]))
        lags[before, after] = np.asarray(
            exit_lag(
                speed_ratio=there / prepared.separation_speed,
                thickness=prepared.study.setup.thickness,
                lag_limit_angle=draws.lag_limit_angle,
                lag_exponent=draws.lag_exponent,
            )
        )
    return lags


def _corners(prepared: PreparedStudy) -> list[Corner]:
    return [
        corner
        for contour in prepared.study.part.contours
        for corner in contour.corners
        if abs(corner.turn) > SMOOTH_TURN
    ]
