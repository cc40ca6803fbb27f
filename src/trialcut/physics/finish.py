"""Roughness of the edge through the depth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """Central values of the finish form."""

    finish_entry: float
    """[m]"""
    finish_gain: float
    """[m]"""
    finish_speed_exponent: float
    """[-]"""
    finish_depth_exponent: float
    """[-]"""
    rq_over_ra: float
    """[-]"""
    rz_over_ra: float
    """[-]"""
    reference_grain: float
    """[m]"""
    grain_exponent: float
    """[-]"""


FINISH = load(Finish, "finish")


@model(quantity="finish_ra", source="own-form", constants=("finish",))
def roughness_ra(
    *,
    depth_fraction: Numeric,
    speed_ratio: Numeric,
    grain_size: Numeric,
    finish_entry: Numeric = FINISH.finish_entry,
    finish_gain: Numeric = FINISH.finish_gain,
    finish_speed_exponent: Numeric = FINISH.finish_speed_exponent,
    finish_depth_exponent: Numeric = FINISH.finish_depth_exponent,
    constants: Finish = FINISH,
) -> Numeric:
    """
    Arithmetic mean roughness of the edge at a depth.

    Parameters
    ----------
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face. [-]
    speed_ratio : float or array, shape S
        Speed over separation speed; above one counts as one. [-]
    grain_size : float or array, shape S
        Median grain size. Usually 0.18e-3, 80 mesh. [m]
    finish_entry : float or array, shape S
        Ra near the entry with the reference grain. [m]
    finish_gain : float or array, shape S
        Ra added at the exit at separation speed. [m]
    finish_speed_exponent : float or array, shape S
        Growth of the added Ra with the speed ratio. [-]
    finish_depth_exponent : float or array, shape S
        Growth of the added Ra with depth. [-]
    constants : Finish
        Its reference grain and the exponent of the grain size enter.

    Returns
    -------
    float or array, shape S
        Ra. [m]

    Notes
    -----
    Ra = Ra0 (d/d_80)^e + c_s r^q (z/h)^s.

    References
    ----------
    own-form

    Examples
    --------
    >>> ra = roughness_ra(depth_fraction=1.0, speed_ratio=0.1, grain_size=0.18e-3)
    >>> round(ra * 1e6, 3)
    2.67
    """
    grain = (floats(grain_size) / constants.reference_grain) ** constants.grain_exponent
    striation = (
        floats(finish_gain) * np.minimum(floats(speed_ratio), 1.0) ** floats(finish_speed_exponent)
    ) * floats(depth_fraction) ** floats(finish_depth_exponent)
    return plain(floats(finish_entry) * grain + striation)


@model(quantity="finish_rq", source="own-derivation", constants=("finish",))
def roughness_rq(*, finish_ra: Numeric, rq_over_ra: Numeric = FINISH.rq_over_ra) -> Numeric:
    """
    Root mean square roughness, the 'RMS' of older drawings.

    Parameters
    ----------
    finish_ra : float or array, shape S
        Ra. [m]
    rq_over_ra : float or array, shape S
        1.11 for a sine, 1.25 for a Gaussian profile. [-]

    Returns
    -------
    float or array, shape S
        Rq. [m]

    Notes
    -----
    Rq = (Rq/Ra) Ra.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(roughness_rq(finish_ra=2.7e-6) * 1e6, 3)
    3.186
    """
    return plain(floats(finish_ra) * floats(rq_over_ra))


@model(quantity="finish_rz", source="jmmp-2025-80", constants=("finish",))
def roughness_rz(*, finish_ra: Numeric, rz_over_ra: Numeric = FINISH.rz_over_ra) -> Numeric:
    """
    Ten-point height of the profile.

    Parameters
    ----------
    finish_ra : float or array, shape S
        Ra. [m]
    rz_over_ra : float or array, shape S
        10 to 12 on edges cut this way. [-]

    Returns
    -------
    float or array, shape S
        Rz. [m]

    Notes
    -----
    Rz = (Rz/Ra) Ra.

    References
    ----------
    jmmp-2025-80, abstract

    Examples
    --------
    >>> round(roughness_rz(finish_ra=3.0e-6) * 1e6, 1)
    33.0
    """
    return plain(floats(finish_ra) * floats(rz_over_ra))
