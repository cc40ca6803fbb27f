"""Shape of the kerf wall through the depth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfProfile:
    """Central values of the profile form."""

    profile_exponent: float
    barrel: float


KERF_PROFILE = load(KerfProfile, "kerf-profile")


@model(quantity="kerf_half_width", source="own-form", constants=("kerf-profile",))
def half_width(
    *,
    depth_fraction: Numeric,
    top_half_width: Numeric,
    taper: Numeric,
    profile_exponent: Numeric = KERF_PROFILE.profile_exponent,
    barrel: Numeric = KERF_PROFILE.barrel,
) -> Numeric:
    """
    Half-width of the kerf at a depth.

    Parameters
    ----------
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face, 0 to 1. [-]
    top_half_width : float or array, shape S
        Half-width at the top face. [m]
    taper : float or array, shape S
        Taper per side. [m]
    profile_exponent : float or array, shape S
        One for a straight wall; more, and the taper sits low. [-]
    barrel : float or array, shape S
        Widening at mid depth over the top half-width. [-]

    Returns
    -------
    float or array, shape S
        Half-width, never below zero. [m]

    Notes
    -----
    w(z) = w_t - t (z/h)^p + 4 B (z/h) (1 - z/h), with B the barrel times w_t.

    References
    ----------
    own-form

    Examples
    --------
    >>> w = half_width(depth_fraction=0.5, top_half_width=0.56e-3, taper=0.12e-3)
    >>> round(w * 1e3, 4)
    0.5113
    """
    zeta = floats(depth_fraction)
    w_t = floats(top_half_width)
    sunk = floats(taper) * zeta ** floats(profile_exponent)
    bow = 4.0 * floats(barrel) * zeta * (1.0 - zeta)
    return plain(np.maximum(w_t * (1.0 + bow) - sunk, 0.0))
