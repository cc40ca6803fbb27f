"""Separation speed: the fastest speed that still cuts through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.errors import RangeError
from trialcut.physics.numeric import Array, Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load

MINUTE = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ZengKim1993:
    """Exponents as printed. [-]"""

    pressure_exponent: float
    orifice_exponent: float
    abrasive_exponent: float
    tube_exponent: float
    speed_exponent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitForm:
    """One printed unit form: its coefficient, and its units in SI."""

    coefficient: float
    pressure_unit: float
    length_unit: float
    rate_unit: float


ZENG_KIM_1993 = load(ZengKim1993, "zeng-kim-1993")
METRIC = load(UnitForm, "zeng-kim-1993-metric")
INCH = load(UnitForm, "zeng-kim-1993-inch")


def _jet_term(
    *,
    pressure: Numeric,
    orifice: Numeric,
    abrasive_rate: Numeric,
    tube_bore: Numeric,
    machinability: Numeric,
    abrasive_factor: Numeric,
    constants: ZengKim1993,
    form: UnitForm,
) -> Array:
    """Bracket of the equation without the thickness, in printed units."""
    for name, value, unit in (
        ("pressure", pressure, "Pa"),
        ("orifice", orifice, "m"),
        ("abrasive rate", abrasive_rate, "kg/s"),
        ("tube bore", tube_bore, "m"),
        ("machinability", machinability, "-"),
    ):
        least = float(np.min(value))
        if not least > 0.0:
            raise RangeError(f"{name} {least:g} {unit} must be above zero for a jet that cuts", value=least)
    p = floats(pressure) / form.pressure_unit
    d_o = floats(orifice) / form.length_unit
    d_f = floats(tube_bore) / form.length_unit
    m_a = floats(abrasive_rate) / form.rate_unit
    strength: Array = (
        floats(abrasive_factor)
        * floats(machinability)
        * p**constants.pressure_exponent
        * d_o**constants.orifice_exponent
        * m_a**constants.abrasive_exponent
        / d_f**constants.tube_exponent
    )
    return strength / form.coefficient


@model(
    quantity="separation_speed",
    source="zeng-kim-1993",
    constants=("zeng-kim-1993", "zeng-kim-1993-metric"),
)
def separation_speed_zeng_1993(
    *,
    pressure: Numeric,
    orifice: Numeric,
    abrasive_rate: Numeric,
    tube_bore: Numeric,
    thickness: Numeric,
    machinability: Numeric,
    abrasive_factor: Numeric = 1.0,
    constants: ZengKim1993 = ZENG_KIM_1993,
    form: UnitForm = METRIC,
) -> Numeric:
    """
    Fastest traverse speed at which the jet still cuts through.

    Parameters
    ----------
    pressure : float or array, shape S
        Gauge pressure at the orifice. Usually 380e6. [Pa]
    orifice : float or array, shape S
        Orifice bore. Usually 0.33e-3. [m]
    abrasive_rate : float or array, shape S
        Abrasive mass flow. Usually 7e-3. [kg/s]
    tube_bore : float or array, shape S
        Mixing tube bore as it is today. Usually 1e-3. [m]
    thickness : float or array, shape S
        Plate thickness, or the path through it when the head is leaned. [m]
    machinability : float or array, shape S
        Machinability number, 213 for aluminium 6061-T6. [-]
    abrasive_factor : float or array, shape S
        Cutting power of the abrasive, 1 for garnet. [-]
    constants : ZengKim1993
        Printed exponents unless a fit supplies others.
    form : UnitForm
        Printed unit form to compute in; both give the same speed within the rounding of the coefficient.

    Returns
    -------
    float or array, shape S
        Separation speed. [m/s]

    Raises
    ------
    RangeError
        If any argument is zero or negative.

    Notes
    -----
    As printed: u = [f_a N_m p^1.594 d_o^1.374 m_a^0.343 / (C q h d_f^0.618)]^1.15, with q = 1 at separation
    and C = 788 (mm/min, MPa, mm, g/min) or 163 (in/min, ksi, in, lb/min).
    The metric coefficient converted is 163.33, so the inch form is 0.23 % faster.
    Standoff, grain size, tube wear other than the bore, and saturation with abrasive are not in it.

    References
    ----------
    zeng-kim-wallace-1992; zeng-kim-1993, from memory

    Examples
    --------
    >>> u = separation_speed_zeng_1993(
    ...     pressure=413.7e6, orifice=0.3556e-3, abrasive_rate=7.56e-3, tube_bore=1.016e-3,
    ...     thickness=25.4e-3, machinability=213.0)
    >>> round(u * 60e3, 1)
    726.5
    """
    term = _jet_term(
        pressure=pressure,
        orifice=orifice,
        abrasive_rate=abrasive_rate,
        tube_bore=tube_bore,
        machinability=machinability,
        abrasive_factor=abrasive_factor,
        constants=constants,
        form=form,
    )
    least = float(np.min(thickness))
    if not least > 0.0:
        raise RangeError(f"thickness {least:g} m must be above zero: give the plate thickness", value=least)
    h = floats(thickness) / form.length_unit
    speed = (term / h) ** constants.speed_exponent
    return plain(speed * form.length_unit / MINUTE)


@model(
    quantity="separation_thickness",
    source="zeng-kim-1993",
    constants=("zeng-kim-1993", "zeng-kim-1993-metric"),
)
def separation_thickness_zeng_1993(
    *,
    speed: Numeric,
    pressure: Numeric,
    orifice: Numeric,
    abrasive_rate: Numeric,
    tube_bore: Numeric,
    machinability: Numeric,
    abrasive_factor: Numeric = 1.0,
    constants: ZengKim1993 = ZENG_KIM_1993,
    form: UnitForm = METRIC,
) -> Numeric:
    """
    Greatest thickness that a traverse speed still cuts through.

    Parameters
    ----------
    speed : float or array, shape S
        Traverse speed. [m/s]
    pressure : float or array, shape S
        Gauge pressure at the orifice. Usually 380e6. [Pa]
    orifice : float or array, shape S
        Orifice bore. Usually 0.33e-3. [m]
    abrasive_rate : float or array, shape S
        Abrasive mass flow. Usually 7e-3. [kg/s]
    tube_bore : float or array, shape S
        Mixing tube bore as it is today. Usually 1e-3. [m]
    machinability : float or array, shape S
        Machinability number, 213 for aluminium 6061-T6. [-]
    abrasive_factor : float or array, shape S
        Cutting power of the abrasive, 1 for garnet. [-]
    constants : ZengKim1993
        Printed exponents unless a fit supplies others.
    form : UnitForm
        Printed unit form to compute in.

    Returns
    -------
    float or array, shape S
        Thickness. [m]

    Raises
    ------
    RangeError
        If any argument is zero or negative.

    Notes
    -----
    The separation speed solved for the thickness.

    References
    ----------
    zeng-kim-1993, from memory

    Examples
    --------
    >>> h = separation_thickness_zeng_1993(
    ...     speed=726.5e-3 / 60.0, pressure=413.7e6, orifice=0.3556e-3, abrasive_rate=7.56e-3,
    ...     tube_bore=1.016e-3, machinability=213.0)
    >>> round(h * 1e3, 1)
    25.4
    """
    least = float(np.min(speed))
    if not least > 0.0:
        raise RangeError(f"speed {least:g} m/s must be above zero: give the traverse speed", value=least)
    term = _jet_term(
        pressure=pressure,
        orifice=orifice,
        abrasive_rate=abrasive_rate,
        tube_bore=tube_bore,
        machinability=machinability,
        abrasive_factor=abrasive_factor,
        constants=constants,
        form=form,
    )
    printed_speed = floats(speed) * MINUTE / form.length_unit
    return plain(term / printed_speed ** (1.0 / constants.speed_exponent) * form.length_unit)
