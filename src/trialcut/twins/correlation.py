"""Published separation speed, written out for twins alone: they start from it and depart."""

from __future__ import annotations

from trialcut.twins.protocol import TwinSetup

REFERENCE_THICKNESS = 20e-3
"""Where a twin's own law of thickness is hung on the correlation. [m]"""


def handbook_separation_speed(setup: TwinSetup, *, thickness: float) -> float:
    """
    Separation speed as a handbook gives it.

    Parameters
    ----------
    setup : TwinSetup
        As believed.
    thickness : float
        Of the plate. [m]

    Returns
    -------
    float
        [m/s]

    Notes
    -----
    u = [f_a N_m p^1.594 d_o^1.374 m_a^0.343 / (788 h d_f^0.618)]^1.15 in mm/min, MPa, mm and g/min.

    References
    ----------
    Zeng, Kim and Wallace (1992), ASME PED-58, 169; Zeng and Kim (1993), 7th American Water Jet Conference,
    175. From memory.

    Examples
    --------
    >>> setup = TwinSetup(
    ...     pressure=413.7e6, orifice=0.3556e-3, tube_bore=1.016e-3, abrasive_rate=7.56e-3,
    ...     abrasive_factor=1.0, grain_size=0.18e-3, machinability=213.0, position_sd=15e-6)
    >>> round(handbook_separation_speed(setup, thickness=25.4e-3) * 60e3, 1)
    726.5
    """
    strength = (
        setup.abrasive_factor
        * setup.machinability
        * (setup.pressure * 1e-6) ** 1.594
        * (setup.orifice * 1e3) ** 1.374
        * (setup.abrasive_rate * 60e3) ** 0.343
    )
    resistance = 788.0 * (thickness * 1e3) * (setup.tube_bore * 1e3) ** 0.618
    return float((strength / resistance) ** 1.15 / 60e3)
