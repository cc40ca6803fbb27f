"""The water jet before any abrasive: density, velocity, flow, power."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.errors import RangeError
from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterCompression:
    """Constants of the density law rho0 (1 + p/L)^n."""

    reference_density: float
    """[kg/m^3]"""
    bulk_pressure: float
    """[Pa]"""
    exponent: float
    """[-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrificeFlow:
    """Constants of the orifice."""

    discharge_coefficient: float
    """[-]"""


WATER_FIT = load(WaterCompression, "water-compression-fit")
WATER_CLASSIC = load(WaterCompression, "water-compression-classic")
ORIFICE_FLOW = load(OrificeFlow, "orifice-flow")


def _refuse_negative_pressure(pressure: Numeric) -> None:
    least = float(np.min(pressure))
    if least < 0.0:
        raise RangeError(
            f"pressure {least:g} Pa is below zero: give the gauge pressure at the orifice", pressure=least
        )


@model(quantity="water_density", source="own-derivation", constants=("water-compression-fit",))
def water_density(*, pressure: Numeric, constants: WaterCompression = WATER_FIT) -> Numeric:
    """
    Density of water at 20 degC under pressure.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure. Usually 380e6. [Pa]
    constants : WaterCompression
        The fit to IAPWS-95 unless the classic pair is asked for.

    Returns
    -------
    float or array, shape S
        Density. [kg/m^3]

    Raises
    ------
    RangeError
        If a pressure is negative.

    Notes
    -----
    rho = rho0 (1 + p/L)^n.

    References
    ----------
    own-derivation; wagner-pruss-2002

    Examples
    --------
    >>> round(water_density(pressure=400e6), 1)
    1129.0
    """
    _refuse_negative_pressure(pressure)
    rho_0, bulk, n = constants.reference_density, constants.bulk_pressure, constants.exponent
    return plain(rho_0 * (1.0 + floats(pressure) / bulk) ** n)


@model(quantity="water_velocity", source="hashish-1989", constants=("water-compression-fit",))
def water_velocity_hashish_1989(*, pressure: Numeric, constants: WaterCompression = WATER_FIT) -> Numeric:
    """
    Velocity of the water jet from a lossless orifice.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure at the orifice. Usually 380e6. [Pa]
    constants : WaterCompression
        The fit to IAPWS-95 unless the classic pair is asked for.

    Returns
    -------
    float or array, shape S
        Velocity. [m/s]

    Raises
    ------
    RangeError
        If a pressure is negative.

    Notes
    -----
    v = sqrt(2 L / (rho0 (1 - n)) [(1 + p/L)^(1 - n) - 1]: Bernoulli with the density law, at constant
    temperature.
    Against the isentropic expansion of IAPWS-95 it is within 0.2 % to 600 MPa with the fit, 0.4 % high
    with the classic pair.

    References
    ----------
    hashish-1989, from memory

    Examples
    --------
    >>> round(water_velocity_hashish_1989(pressure=400e6), 0)
    865.0
    """
    _refuse_negative_pressure(pressure)
    rho_0, bulk, n = constants.reference_density, constants.bulk_pressure, constants.exponent
    head = (1.0 + floats(pressure) / bulk) ** (1.0 - n) - 1.0
    return plain(np.sqrt(2.0 * bulk / (rho_0 * (1.0 - n)) * head))


@model(quantity="water_flow", source="own-derivation", constants=("orifice-flow", "water-compression-fit"))
def orifice_flow(
    *,
    pressure: Numeric,
    orifice: Numeric,
    discharge_coefficient: Numeric = ORIFICE_FLOW.discharge_coefficient,
    constants: WaterCompression = WATER_FIT,
) -> Numeric:
    """
    Volume flow of water through the orifice, at supply density.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure at the orifice. Usually 380e6. [Pa]
    orifice : float or array, shape S
        Orifice bore. Usually 0.33e-3. [m]
    discharge_coefficient : float or array, shape S
        Usually 0.65. [-]
    constants : WaterCompression
        Only its reference density enters.

    Returns
    -------
    float or array, shape S
        Flow. [m^3/s]

    Raises
    ------
    RangeError
        If a pressure is negative.

    Notes
    -----
    Q = C_d (pi/4) d_o^2 sqrt(2 p / rho0).

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(orifice_flow(pressure=413.7e6, orifice=0.3556e-3) * 60e3, 3)
    3.526
    """
    _refuse_negative_pressure(pressure)
    area = np.pi / 4.0 * floats(orifice) ** 2
    return plain(
        floats(discharge_coefficient) * area * np.sqrt(2.0 * floats(pressure) / constants.reference_density)
    )


@model(quantity="jet_power", source="own-derivation")
def jet_power(*, pressure: Numeric, flow: Numeric) -> Numeric:
    """
    Hydraulic power of the jet.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure at the orifice. [Pa]
    flow : float or array, shape S
        Volume flow. [m^3/s]

    Returns
    -------
    float or array, shape S
        Power. [W]

    Notes
    -----
    P = p Q.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(jet_power(pressure=413.7e6, flow=3.526e-3 / 60.0))
    24312
    """
    return plain(floats(pressure) * floats(flow))
