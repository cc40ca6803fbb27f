"""Jet lag: how far the exit trails the entry, what that does to arcs and corners, what speed it allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class JetLag:
    """Central values of the lag form."""

    lag_limit_angle: float
    """[rad]"""
    lag_exponent: float
    """[-]"""


JET_LAG = load(JetLag, "jet-lag")


@model(quantity="exit_angle", source="own-form", constants=("jet-lag",))
def exit_angle(
    *,
    speed_ratio: Numeric,
    lag_limit_angle: Numeric = JET_LAG.lag_limit_angle,
    lag_exponent: Numeric = JET_LAG.lag_exponent,
) -> Numeric:
    """
    Angle of the cutting front at the exit, from upright.

    Parameters
    ----------
    speed_ratio : float or array, shape S
        Speed over separation speed; above one counts as one. [-]
    lag_limit_angle : float or array, shape S
        The angle at separation. Usually 0.79. [rad]
    lag_exponent : float or array, shape S
        Growth with the speed ratio. [-]

    Returns
    -------
    float or array, shape S
        Angle. [rad]

    Notes
    -----
    theta = theta_lim r^k.

    References
    ----------
    own-form

    Examples
    --------
    >>> round(exit_angle(speed_ratio=0.1), 5)
    0.04417
    """
    return plain(floats(lag_limit_angle) * np.minimum(floats(speed_ratio), 1.0) ** floats(lag_exponent))


@model(quantity="exit_lag", source="own-derivation", constants=("jet-lag",))
def exit_lag(
    *,
    thickness: Numeric,
    speed_ratio: Numeric,
    lag_limit_angle: Numeric = JET_LAG.lag_limit_angle,
    lag_exponent: Numeric = JET_LAG.lag_exponent,
) -> Numeric:
    """
    Distance by which the jet's exit trails its entry.

    Parameters
    ----------
    thickness : float or array, shape S
        Plate thickness. [m]
    speed_ratio : float or array, shape S
        Speed over separation speed; above one counts as one. [-]
    lag_limit_angle : float or array, shape S
        Exit angle at separation. Usually 0.79. [rad]
    lag_exponent : float or array, shape S
        Growth of the exit angle with the speed ratio. [-]

    Returns
    -------
    float or array, shape S
        Lag at the bottom face. [m]

    Notes
    -----
    A parabolic front x = l (z/h)^2 leaves at tan(theta) = 2 l / h.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(exit_lag(thickness=25.4e-3, speed_ratio=0.1) * 1e3, 3)
    0.561
    """
    theta = exit_angle(speed_ratio=speed_ratio, lag_limit_angle=lag_limit_angle, lag_exponent=lag_exponent)
    return plain(0.5 * floats(thickness) * np.tan(floats(theta)))


@model(quantity="lag", source="own-derivation")
def lag_at_depth(*, depth_fraction: Numeric, exit_lag: Numeric) -> Numeric:
    """
    Distance by which the front at a depth trails the entry.

    Parameters
    ----------
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face. [-]
    exit_lag : float or array, shape S
        Lag at the bottom face. [m]

    Returns
    -------
    float or array, shape S
        Lag. [m]

    Notes
    -----
    x(z) = l (z/h)^2.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> lag_at_depth(depth_fraction=0.5, exit_lag=1e-3)
    0.00025
    """
    return plain(floats(exit_lag) * floats(depth_fraction) ** 2)


@model(quantity="arc_shift", source="own-derivation")
def arc_shift(*, radius: Numeric, lag: Numeric) -> Numeric:
    """
    Outward shift of a depth that trails along the tangent of an arc.

    Parameters
    ----------
    radius : float or array, shape S
        Radius of the path. [m]
    lag : float or array, shape S
        Lag at that depth. [m]

    Returns
    -------
    float or array, shape S
        Shift away from the centre. [m]

    Notes
    -----
    sqrt(R^2 + l^2) - R, about l^2/(2R); as l^2/(sqrt(R^2 + l^2) + R) it stays exact for small lag.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(arc_shift(radius=4e-3, lag=3e-3), 6)
    0.001
    """
    ell = floats(lag)
    r = floats(radius)
    return plain(ell**2 / (np.hypot(r, ell) + r))


@model(quantity="lag_budget", source="own-derivation")
def lag_budget_on_arc(*, radius: Numeric, edge_error: Numeric) -> Numeric:
    """
    Lag at which an arc has drifted outward by a given error.

    Parameters
    ----------
    radius : float or array, shape S
        Radius of the path. [m]
    edge_error : float or array, shape S
        Outward shift that is still allowed. [m]

    Returns
    -------
    float or array, shape S
        Lag. [m]

    Notes
    -----
    The arc shift solved for the lag: l = sqrt(e (2R + e)), about sqrt(2 R e).

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(lag_budget_on_arc(radius=4e-3, edge_error=1e-3), 6)
    0.003
    """
    e = floats(edge_error)
    return plain(np.sqrt(e * (2.0 * floats(radius) + e)))


@model(quantity="speed_cap", source="own-derivation", constants=("jet-lag",))
def speed_at_lag(
    *,
    lag: Numeric,
    thickness: Numeric,
    separation_speed: Numeric,
    lag_limit_angle: Numeric = JET_LAG.lag_limit_angle,
    lag_exponent: Numeric = JET_LAG.lag_exponent,
) -> Numeric:
    """
    Speed at which the exit trails by a given lag.

    Parameters
    ----------
    lag : float or array, shape S
        Lag at the bottom face. [m]
    thickness : float or array, shape S
        Plate thickness. [m]
    separation_speed : float or array, shape S
        Fastest speed that still cuts through; no cap exceeds it. [m/s]
    lag_limit_angle : float or array, shape S
        Exit angle at separation. Usually 0.79. [rad]
    lag_exponent : float or array, shape S
        Growth of the exit angle with the speed ratio. [-]

    Returns
    -------
    float or array, shape S
        Speed. [m/s]

    Notes
    -----
    u = u_s (atan(2 l / h) / theta_lim)^(1/k).

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(speed_at_lag(lag=0.561e-3, thickness=25.4e-3, separation_speed=0.012), 5)
    0.0012
    """
    theta = np.arctan(2.0 * floats(lag) / floats(thickness))
    ratio = (theta / floats(lag_limit_angle)) ** (1.0 / floats(lag_exponent))
    return plain(floats(separation_speed) * np.minimum(ratio, 1.0))
