"""Kerf width at the top, taper per side, and two rival laws for the taper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.physics.separation import ZENG_KIM_1993
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class KerfTaper:
    """Central values of the kerf and taper form; the spreads are with them in the source file."""

    kerf_gain: float
    kerf_standoff: float
    taper_exponent: float
    taper_thickness_exponent: float
    taper_neutral: float
    exponent_neutral_correlation: float
    reference_thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerTaper:
    """Central values of the power law; the spreads are with them in the source file."""

    power_taper: float
    """[m]"""
    power_thickness_exponent: float
    power_speed_exponent: float
    power_neutral: float
    power_exponent_neutral_correlation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseKerf:
    """Central values of the dose law; the spreads are with them in the source file. [-]"""

    dose_spread: float
    dose_thickness_exponent: float
    dose_depth_exponent: float


KERF_TAPER = load(KerfTaper, "kerf-taper")
POWER = load(PowerTaper, "kerf-power")
DOSE = load(DoseKerf, "kerf-dose")


@model(quantity="kerf_half_width_top", source="own-form", constants=("kerf-taper",))
def top_half_width(
    *,
    tube_bore: Numeric,
    standoff: Numeric,
    kerf_gain: Numeric = KERF_TAPER.kerf_gain,
    kerf_standoff: Numeric = KERF_TAPER.kerf_standoff,
) -> Numeric:
    """
    Half-width of the kerf at the top face.

    Parameters
    ----------
    tube_bore : float or array, shape S
        Mixing tube bore as it is today. Usually 1e-3. [m]
    standoff : float or array, shape S
        Tube exit to plate. Usually 2.5e-3. [m]
    kerf_gain : float or array, shape S
        Top kerf over tube bore, less one. [-]
    kerf_standoff : float or array, shape S
        Half-width gained per standoff. [-]

    Returns
    -------
    float or array, shape S
        Half-width. [m]

    Notes
    -----
    w_t = d_f (1 + k_t) / 2 + k_s standoff.

    References
    ----------
    own-form

    Examples
    --------
    >>> round(top_half_width(tube_bore=1.016e-3, standoff=2.5e-3) * 1e3, 4)
    0.5688
    """
    return plain(
        0.5 * floats(tube_bore) * (1.0 + floats(kerf_gain)) + floats(kerf_standoff) * floats(standoff)
    )


@model(quantity="taper_exponent", source="own-form", constants=("kerf-taper",))
def taper_exponent_at(
    *,
    thickness: Numeric,
    taper_exponent: Numeric = KERF_TAPER.taper_exponent,
    taper_thickness_exponent: Numeric = KERF_TAPER.taper_thickness_exponent,
    constants: KerfTaper = KERF_TAPER,
) -> Numeric:
    """
    Exponent of the speed ratio in the taper at a thickness.

    Parameters
    ----------
    thickness : float or array, shape S
        Plate thickness. [m]
    taper_exponent : float or array, shape S
        Its value at the reference thickness. [-]
    taper_thickness_exponent : float or array, shape S
        How fast it falls with thickness. [-]
    constants : KerfTaper
        Only its reference thickness enters.

    Returns
    -------
    float or array, shape S
        Exponent. [-]

    Notes
    -----
    b = b0 (25.4 mm / h)^c.

    References
    ----------
    own-form

    Examples
    --------
    >>> round(taper_exponent_at(thickness=6e-3), 4)
    0.7657
    """
    ratio = constants.reference_thickness / floats(thickness)
    return plain(floats(taper_exponent) * ratio ** floats(taper_thickness_exponent))


@model(quantity="taper_per_side", source="own-form", constants=("kerf-taper",))
def taper_per_side(
    *,
    speed_ratio: Numeric,
    thickness: Numeric,
    top_half_width: Numeric,
    taper_exponent: Numeric = KERF_TAPER.taper_exponent,
    taper_thickness_exponent: Numeric = KERF_TAPER.taper_thickness_exponent,
    taper_neutral: Numeric = KERF_TAPER.taper_neutral,
    constants: KerfTaper = KERF_TAPER,
) -> Numeric:
    """
    Half-width at the top less half-width at the bottom.

    Parameters
    ----------
    speed_ratio : float or array, shape S
        Speed over separation speed; above one counts as one, where the bottom has just closed. [-]
    thickness : float or array, shape S
        Plate thickness. [m]
    top_half_width : float or array, shape S
        Half-width of the kerf at the top face. [m]
    taper_exponent : float or array, shape S
        Exponent of the speed ratio at the reference thickness. [-]
    taper_thickness_exponent : float or array, shape S
        How fast that exponent falls with thickness. [-]
    taper_neutral : float or array, shape S
        Power of the speed ratio at which the taper vanishes. [-]
    constants : KerfTaper
        Only its reference thickness enters.

    Returns
    -------
    float or array, shape S
        Taper per side, negative where the bottom is wider. [m]

    Notes
    -----
    t = w_t (r^b - s0) / (1 - s0): zero at r = s0^(1/b), and w_t at separation, where the bottom closes.

    References
    ----------
    own-form

    Examples
    --------
    >>> t = taper_per_side(speed_ratio=0.1, thickness=25.4e-3, top_half_width=0.5688e-3)
    >>> round(t * 1e3, 4)
    0.1242
    """
    exponent = floats(
        taper_exponent_at(
            thickness=thickness,
            taper_exponent=taper_exponent,
            taper_thickness_exponent=taper_thickness_exponent,
            constants=constants,
        )
    )
    s_0 = floats(taper_neutral)
    share = (np.minimum(floats(speed_ratio), 1.0) ** exponent - s_0) / (1.0 - s_0)
    return plain(floats(top_half_width) * share)


@model(quantity="taper_per_side", source="own-form")
def taper_per_side_power_law(
    *,
    speed_ratio: Numeric,
    thickness: Numeric,
    scale: Numeric,
    thickness_exponent: Numeric,
    speed_exponent: Numeric,
    neutral: Numeric,
) -> Numeric:
    """
    Taper per side by a power law, a rival that a fit tries on the same readings.

    Parameters
    ----------
    speed_ratio : float or array, shape S
        Speed over separation speed. [-]
    thickness : float or array, shape S
        Plate thickness. [m]
    scale : float or array, shape S
        Taper of a plate of one metre, at one, before `neutral` is taken off. [m]
    thickness_exponent : float or array, shape S
        Of the thickness in metres. [-]
    speed_exponent : float or array, shape S
        Of the speed ratio. [-]
    neutral : float or array, shape S
        Power of the speed ratio at which the taper vanishes. [-]

    Returns
    -------
    float or array, shape S
        Taper per side. [m]

    Notes
    -----
    t = A h^a (r^m - s0).

    References
    ----------
    own-form

    Examples
    --------
    >>> t = taper_per_side_power_law(
    ...     speed_ratio=0.25, thickness=0.04, scale=2e-3, thickness_exponent=0.5, speed_exponent=0.5,
    ...     neutral=0.25)
    >>> round(t * 1e3, 4)
    0.1
    """
    size = floats(scale) * floats(thickness) ** floats(thickness_exponent)
    return plain(size * (floats(speed_ratio) ** floats(speed_exponent) - floats(neutral)))


@model(quantity="kerf_half_width", source="own-form", constants=("zeng-kim-1993",))
def half_width_dose_law(
    *,
    speed_ratio: Numeric,
    depth_fraction: Numeric,
    beam_spread: Numeric,
    top_half_width: Numeric,
    depth_exponent: Numeric = ZENG_KIM_1993.speed_exponent,
) -> Numeric:
    """
    Half-width where a bell-shaped jet has just given each depth its dose, the second rival.

    Parameters
    ----------
    speed_ratio : float or array, shape S
        Speed over the separation speed of the whole thickness. [-]
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face. [-]
    beam_spread : float or array, shape S
        Standard deviation of the jet's cutting power across the path, at that depth. [m]
    top_half_width : float or array, shape S
        Half-width at the top face, which no depth exceeds. [m]
    depth_exponent : float or array, shape S
        Fall of separation speed with depth; the correlation's unless a fit supplies another. [-]

    Returns
    -------
    float or array, shape S
        Half-width; zero below the depth that the jet reaches. [m]

    Notes
    -----
    w(z) = sigma(z) sqrt(2 ln(u_s(z)/u)), clipped at w_t, with u_s(z) = u_s(h) (h/z)^1.15.

    References
    ----------
    own-form

    Examples
    --------
    >>> w = half_width_dose_law(
    ...     speed_ratio=0.2, depth_fraction=1.0, beam_spread=0.25e-3, top_half_width=0.56e-3)
    >>> round(w * 1e3, 4)
    0.4485
    """
    zeta = np.maximum(floats(depth_fraction), 1e-12)
    dose = -np.log(floats(speed_ratio)) - floats(depth_exponent) * np.log(zeta)
    width = floats(beam_spread) * np.sqrt(2.0 * np.maximum(dose, 0.0))
    return plain(np.minimum(width, floats(top_half_width)))
