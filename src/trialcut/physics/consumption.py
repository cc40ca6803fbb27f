"""What jet-on time uses up; prices live with planning."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.physics.hydraulics import ORIFICE_FLOW, WATER_FIT, jet_power, orifice_flow
from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.setup import Setup


@dataclass(frozen=True, slots=True, kw_only=True)
class ConsumptionRates:
    """What a second of jet-on time uses up.

    Parameters
    ----------
    water : float or array
        At supply density. [m^3/s]
    water_mass : float or array
        [kg/s]
    abrasive : float
        [kg/s]
    power : float or array
        At the motor. [W]
    """

    water: Numeric
    water_mass: Numeric
    abrasive: float
    power: Numeric


def consumption_rates(
    *, setup: Setup, discharge_coefficient: Numeric = ORIFICE_FLOW.discharge_coefficient
) -> ConsumptionRates:
    """
    Give what a second of jet-on time uses up.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    discharge_coefficient : float or array, shape S
        Of the orifice. Usually 0.65. [-]

    Returns
    -------
    ConsumptionRates
        Floats, or arrays of shape S.

    Notes
    -----
    Motor power is hydraulic power over the pump's efficiency.
    Abrasive flows while the jet is on.
    """
    water = orifice_flow(
        pressure=setup.pressure, orifice=setup.orifice, discharge_coefficient=discharge_coefficient
    )
    hydraulic = jet_power(pressure=setup.pressure, flow=water)
    return ConsumptionRates(
        water=water,
        water_mass=plain(WATER_FIT.reference_density * floats(water)),
        abrasive=setup.abrasive_rate,
        power=plain(floats(hydraulic) / setup.pump.efficiency),
    )
