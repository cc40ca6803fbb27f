"""From water jet to abrasive jet: loading, grain velocity and power, and how much abrasive pays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.hydraulics import WATER_FIT, WaterCompression
from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.physics.separation import ZENG_KIM_1993, ZengKim1993
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class AbrasiveJet:
    """Constants of mixing and the trade's limits on it. [-]"""

    momentum_transfer: float
    loading_low: float
    loading_cap: float
    bore_ratio_low: float
    bore_ratio_high: float
    grains_across: float


ABRASIVE_JET = load(AbrasiveJet, "abrasive-jet")


@model(quantity="loading", source="own-derivation", constants=("water-compression-fit",))
def abrasive_loading(
    *, abrasive_rate: Numeric, flow: Numeric, constants: WaterCompression = WATER_FIT
) -> Numeric:
    """
    Abrasive mass flow over water mass flow.

    Parameters
    ----------
    abrasive_rate : float or array, shape S
        Abrasive mass flow. Usually 7e-3. [kg/s]
    flow : float or array, shape S
        Volume flow of water at supply density. Usually 6e-5. [m^3/s]
    constants : WaterCompression
        Only its reference density enters.

    Returns
    -------
    float or array, shape S
        Loading. [-]

    Notes
    -----
    R = m_a / m_w.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(abrasive_loading(abrasive_rate=7.182e-3, flow=5.8763e-5), 4)
    0.1224
    """
    return plain(floats(abrasive_rate) / (constants.reference_density * floats(flow)))


@model(quantity="abrasive_velocity", source="momber-kovacevic-1998", constants=("abrasive-jet",))
def abrasive_velocity_momber_1998(
    *, velocity: Numeric, loading: Numeric, momentum_transfer: Numeric = ABRASIVE_JET.momentum_transfer
) -> Numeric:
    """
    Velocity of the grains at the tube exit.

    Parameters
    ----------
    velocity : float or array, shape S
        Velocity of the water jet. Usually 850. [m/s]
    loading : float or array, shape S
        Abrasive mass flow over water mass flow. Usually 0.13. [-]
    momentum_transfer : float or array, shape S
        Share of the ideal exchange of momentum that is reached, 0.65 to 0.85. [-]

    Returns
    -------
    float or array, shape S
        Velocity. [m/s]

    Notes
    -----
    v_a = eta v / (1 + R).

    References
    ----------
    momber-kovacevic-1998, from memory

    Examples
    --------
    >>> round(abrasive_velocity_momber_1998(velocity=880.0, loading=0.1), 1)
    584.0
    """
    return plain(floats(momentum_transfer) * floats(velocity) / (1.0 + floats(loading)))


@model(quantity="grain_power", source="own-derivation")
def grain_power(*, abrasive_rate: Numeric, abrasive_velocity: Numeric) -> Numeric:
    """
    Kinetic power carried by the grains.

    Parameters
    ----------
    abrasive_rate : float or array, shape S
        Abrasive mass flow. [kg/s]
    abrasive_velocity : float or array, shape S
        Velocity of the grains at the tube exit. [m/s]

    Returns
    -------
    float or array, shape S
        Power. [W]

    Notes
    -----
    P_a = m_a v_a^2 / 2.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(grain_power(abrasive_rate=7.0e-3, abrasive_velocity=600.0), 1)
    1260.0
    """
    return plain(0.5 * floats(abrasive_rate) * floats(abrasive_velocity) ** 2)


@model(
    quantity="abrasive_rate_useful",
    source="common-practice",
    constants=("abrasive-jet", "water-compression-fit"),
)
def useful_abrasive_rate(
    *,
    flow: Numeric,
    loading_cap: Numeric = ABRASIVE_JET.loading_cap,
    constants: WaterCompression = WATER_FIT,
) -> Numeric:
    """
    Abrasive rate past which more hardly cuts faster.

    Parameters
    ----------
    flow : float or array, shape S
        Volume flow of water at supply density. Usually 6e-5. [m^3/s]
    loading_cap : float or array, shape S
        Loading at which the benefit ends. Usually 0.25. [-]
    constants : WaterCompression
        Only its reference density enters.

    Returns
    -------
    float or array, shape S
        Abrasive mass flow. [kg/s]

    Notes
    -----
    m_a = R_cap m_w.

    References
    ----------
    common-practice

    Examples
    --------
    >>> round(useful_abrasive_rate(flow=5.8763e-5) * 1e3, 3)
    14.664
    """
    return plain(floats(loading_cap) * constants.reference_density * floats(flow))


@model(quantity="abrasive_rate_least_cost", source="own-derivation", constants=("zeng-kim-1993",))
def abrasive_rate_of_least_cost(
    *,
    other_cost: Numeric,
    abrasive_price: Numeric,
    flow: Numeric,
    constants: ZengKim1993 = ZENG_KIM_1993,
) -> Numeric:
    """
    Abrasive rate at which a length of cut costs least, within the useful loading.

    Parameters
    ----------
    other_cost : float or array, shape S
        All cost of jet-on time apart from abrasive. [1/s]
    abrasive_price : float or array, shape S
        With disposal. [1/kg]
    flow : float or array, shape S
        Volume flow of water at supply density, which caps the rate by the useful loading. [m^3/s]
    constants : ZengKim1993
        Exponents of abrasive and speed enter.

    Returns
    -------
    float or array, shape S
        Abrasive mass flow. [kg/s]

    Notes
    -----
    Speed grows as m_a^e with e = 0.343 x 1.15 = 0.394, so (C0 + c_a m_a) / m_a^e is least at
    m_a = e / (1 - e) C0 / c_a = 0.651 C0 / c_a.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> rate = abrasive_rate_of_least_cost(
    ...     other_cost=1.0 / 60, abrasive_price=1.0, flow=5.8763e-5)
    >>> round(rate * 1e3, 3)
    10.857
    """
    e = constants.abrasive_exponent * constants.speed_exponent
    best = e / (1.0 - e) * floats(other_cost) / floats(abrasive_price)
    return plain(np.minimum(best, floats(useful_abrasive_rate(flow=flow))))
