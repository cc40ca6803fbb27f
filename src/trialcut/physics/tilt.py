"""Leaning the head: tilt towards the scrap, lead along the path, and the path through the plate."""

from __future__ import annotations

import numpy as np

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model


@model(quantity="tilt", source="own-derivation")
def tilt_angle(*, taper: Numeric, thickness: Numeric, travel: Numeric) -> Numeric:
    """
    Lean towards the scrap that brings the bottom of the kept face under its top.

    Parameters
    ----------
    taper : float or array, shape S
        Taper per side; negative asks for a lean towards the part. [m]
    thickness : float or array, shape S
        Plate thickness. [m]
    travel : float or array, shape S
        Largest lean of the head. Usually 0.17. [rad]

    Returns
    -------
    float or array, shape S
        Tilt. [rad]

    Notes
    -----
    tan(beta) = t/h, the chord of the wall; its bow stays.
    The face on the scrap gets the taper twice.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(tilt_angle(taper=0.254e-3, thickness=25.4e-3, travel=0.17), 6)
    0.01
    """
    reach = floats(travel)
    return plain(np.clip(np.arctan(floats(taper) / floats(thickness)), -reach, reach))


@model(quantity="lead", source="own-derivation")
def lead_angle(*, exit_lag: Numeric, thickness: Numeric, tilt: Numeric, travel: Numeric) -> Numeric:
    """
    Lean forward along the path that brings the exit under the entry.

    Parameters
    ----------
    exit_lag : float or array, shape S
        Lag at the bottom face. [m]
    thickness : float or array, shape S
        Plate thickness. [m]
    tilt : float or array, shape S
        Lean already spent sideways. [rad]
    travel : float or array, shape S
        Largest lean of the head in all. [rad]

    Returns
    -------
    float or array, shape S
        Lead. [rad]

    Notes
    -----
    tan(gamma) = l/h, held so that cos(beta) cos(gamma) is at least the cosine of the travel.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(lead_angle(exit_lag=0.508e-3, thickness=25.4e-3, tilt=0.01, travel=0.17), 5)
    0.02
    """
    spare = np.arccos(np.minimum(np.cos(floats(travel)) / np.cos(floats(tilt)), 1.0))
    return plain(np.minimum(np.arctan(floats(exit_lag) / floats(thickness)), spare))


@model(quantity="path_depth", source="own-derivation")
def path_depth(*, thickness: Numeric, tilt: Numeric, lead: Numeric) -> Numeric:
    """
    Length of the jet's way through the plate.

    Parameters
    ----------
    thickness : float or array, shape S
        Plate thickness. [m]
    tilt : float or array, shape S
        Lean towards the scrap. [rad]
    lead : float or array, shape S
        Lean forward. [rad]

    Returns
    -------
    float or array, shape S
        Length. [m]

    Notes
    -----
    h / (cos(beta) cos(gamma)).

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(path_depth(thickness=25.4e-3, tilt=0.1, lead=0.0) * 1e3, 4)
    25.5275
    """
    return plain(floats(thickness) / (np.cos(floats(tilt)) * np.cos(floats(lead))))


@model(quantity="residual_bow", source="own-derivation")
def residual_bow(
    *,
    depth_fraction: Numeric,
    thickness: Numeric,
    half_width: Numeric,
    top_half_width: Numeric,
    tilt: Numeric,
) -> Numeric:
    """
    How far a leaned wall still stands proud of a plumb line through its top.

    Parameters
    ----------
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face. [-]
    thickness : float or array, shape S
        Plate thickness. [m]
    half_width : float or array, shape S
        Half-width of the kerf at that depth. [m]
    top_half_width : float or array, shape S
        Half-width at the top face. [m]
    tilt : float or array, shape S
        Lean towards the scrap. [rad]

    Returns
    -------
    float or array, shape S
        Material left beyond the plumb line; negative where it is undercut. [m]

    Notes
    -----
    w_t - w(z) - z tan(beta).

    References
    ----------
    own-derivation

    Examples
    --------
    >>> bow = residual_bow(depth_fraction=1.0, thickness=25.4e-3, half_width=0.46e-3,
    ...                    top_half_width=0.56e-3, tilt=0.0)
    >>> round(bow * 1e3, 3)
    0.1
    """
    return plain(
        floats(top_half_width)
        - floats(half_width)
        - floats(depth_fraction) * floats(thickness) * np.tan(floats(tilt))
    )
