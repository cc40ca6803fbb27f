"""What jet-on time uses up; prices live with planning."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.physics.hydraulics import ORIFICE_FLOW, jet_power, orifice_flow
from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.setup import Setup


@dataclass(frozen=True, slots=True, kw_only=True)
class JetUse:
    """What a spell of jet-on time uses up.

    Parameters
    ----------
    water : float or array
        At supply density. [m^3]
    abrasive : float or array
        [kg]
    energy : float or array
        At the motor. [J]
    orifice_share, tube_share : float or array
        Of one orifice's and one mixing tube's life. [-]
    """

    water: Numeric
    abrasive: Numeric
    energy: Numeric
    orifice_share: Numeric
    tube_share: Numeric


def jet_use(
    *,
    setup: Setup,
    jet_time: Numeric,
    orifice_life: float,
    tube_life: float,
    discharge_coefficient: Numeric = ORIFICE_FLOW.discharge_coefficient,
) -> JetUse:
    """
    Give what a spell of jet-on time uses up.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    jet_time : float or array, shape S
        Cutting and piercing. [s]
    orifice_life, tube_life : float
        Jet-on time. [s]
    discharge_coefficient : float or array, shape S
        Of the orifice. Usually 0.65. [-]

    Returns
    -------
    JetUse
        Of the shape of the broadcast arguments.

    Notes
    -----
    Energy is hydraulic power over the pump's efficiency.
    Abrasive flows while the jet is on.
    """
    flow = orifice_flow(
        pressure=setup.pressure, orifice=setup.orifice, discharge_coefficient=discharge_coefficient
    )
    motor = floats(jet_power(pressure=setup.pressure, flow=flow)) / setup.pump.efficiency
    spell = floats(jet_time)
    return JetUse(
        water=plain(floats(flow) * spell),
        abrasive=plain(setup.abrasive_rate * spell),
        energy=plain(motor * spell),
        orifice_share=plain(spell / orifice_life),
        tube_share=plain(spell / tube_life),
    )
