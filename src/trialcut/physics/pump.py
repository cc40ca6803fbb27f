"""Whether the pump can feed the orifice."""

from __future__ import annotations

import numpy as np

from trialcut.errors import RangeError
from trialcut.physics.hydraulics import ORIFICE_FLOW, WATER_FIT, WaterCompression, jet_power, orifice_flow
from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.physics.setup import Pump
from trialcut.physics.wording import both
from trialcut.units import Kind

THOU = 25.4e-6
"""[m]"""

PRESSURE_SLACK = 0.002
"""60 ksi is 413.7 MPa, and often written as 414: not a reason to refuse. [-]"""


@model(
    quantity="orifice_largest", source="own-derivation", constants=("orifice-flow", "water-compression-fit")
)
def largest_orifice(
    *,
    pressure: Numeric,
    power: Numeric,
    discharge_coefficient: Numeric = ORIFICE_FLOW.discharge_coefficient,
    constants: WaterCompression = WATER_FIT,
) -> Numeric:
    """
    Largest orifice that a hydraulic power feeds at a pressure.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure at the orifice. [Pa]
    power : float or array, shape S
        Hydraulic power available at the orifice. [W]
    discharge_coefficient : float or array, shape S
        Usually 0.65. [-]
    constants : WaterCompression
        Only its reference density enters.

    Returns
    -------
    float or array, shape S
        Orifice bore. [m]

    Notes
    -----
    p Q(d_o) = P solved for d_o.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(largest_orifice(pressure=413.7e6, power=24312.0) * 1e3, 4)
    0.3556
    """
    per_area = floats(
        jet_power(pressure=pressure, flow=_flow_per_area(pressure, discharge_coefficient, constants))
    )
    return plain(np.sqrt(4.0 / np.pi * floats(power) / per_area))


def _flow_per_area(pressure: Numeric, discharge_coefficient: Numeric, constants: WaterCompression) -> Numeric:
    unit_area_bore = 2.0 / np.sqrt(np.pi)
    return orifice_flow(
        pressure=pressure,
        orifice=unit_area_bore,
        discharge_coefficient=discharge_coefficient,
        constants=constants,
    )


def refuse_overloaded_pump(
    *,
    pump: Pump,
    pressure: float,
    orifice: float,
    discharge_coefficient: float = ORIFICE_FLOW.discharge_coefficient,
) -> None:
    """
    Refuse a set-up that the pump cannot feed.

    Parameters
    ----------
    pump : Pump
        Its nameplate power times its efficiency is what the orifice may draw.
    pressure : float
        Gauge pressure at the orifice. [Pa]
    orifice : float
        Orifice bore. [m]
    discharge_coefficient : float
        Usually 0.65. [-]

    Raises
    ------
    RangeError
        ``pump-pressure`` if the pressure is above the pump's, ``pump-overloaded`` if the power is; the latter
        names the largest orifice that fits.
    """
    if pressure > pump.pressure_max * (1.0 + PRESSURE_SLACK):
        raise RangeError(
            f"pressure {both(pressure, Kind.PRESSURE)} is more than pump {pump.name!r} gives, "
            f"{both(pump.pressure_max, Kind.PRESSURE)}: lower the pressure or choose another pump",
            code="pump-pressure",
            pressure=pressure,
            pressure_max=pump.pressure_max,
        )
    flow = orifice_flow(pressure=pressure, orifice=orifice, discharge_coefficient=discharge_coefficient)
    needed = float(jet_power(pressure=pressure, flow=flow))
    available = pump.nameplate_power * pump.efficiency
    if needed <= available:
        return
    fits = float(
        largest_orifice(pressure=pressure, power=available, discharge_coefficient=discharge_coefficient)
    )
    raise RangeError(
        f"orifice {both(orifice, Kind.LENGTH)} at {both(pressure, Kind.PRESSURE)} draws "
        f"{both(needed, Kind.POWER)}, and pump {pump.name!r} gives {both(available, Kind.POWER)} at the "
        f"orifice: the largest orifice that fits is {both(_whole_thou(fits), Kind.LENGTH)}",
        code="pump-overloaded",
        power=needed,
        power_available=available,
        largest_orifice=fits,
    )


def _whole_thou(bore: float) -> float:
    """Next smaller bore in whole thousandths of an inch, as orifices are sold."""
    return float(np.floor(bore / THOU + 1e-9)) * THOU
