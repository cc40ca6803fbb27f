"""Time to get through the plate at the start of a contour."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.physics.numeric import Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class Piercing:
    """Central values of the piercing form."""

    pierce_time: float
    """[s]"""
    pierce_exponent: float
    """[-]"""
    reference_thickness: float
    """[m]"""
    reference_machinability: float
    """[-]"""
    moving_share: float
    """[-]"""


PIERCING = load(Piercing, "piercing")


@model(quantity="piercing_time", source="own-form", constants=("piercing",))
def piercing_time(
    *,
    thickness: Numeric,
    machinability: Numeric,
    pierce_time: Numeric = PIERCING.pierce_time,
    pierce_exponent: Numeric = PIERCING.pierce_exponent,
    share: Numeric = 1.0,
    constants: Piercing = PIERCING,
) -> Numeric:
    """
    Time to pierce the plate.

    Parameters
    ----------
    thickness : float or array, shape S
        Plate thickness. [m]
    machinability : float or array, shape S
        Machinability number, 213 for aluminium 6061-T6. [-]
    pierce_time : float or array, shape S
        Stationary, through the reference plate. Usually 12. [s]
    pierce_exponent : float or array, shape S
        Growth with thickness. [-]
    share : float or array, shape S
        Of the stationary time: 1 standing, `PIERCING.moving_share` on a small circle or line. [-]
    constants : Piercing
        Reference thickness and machinability enter.

    Returns
    -------
    float or array, shape S
        Time. [s]

    Notes
    -----
    t_p = K (h / 25.4 mm)^m (213 / N_m).

    References
    ----------
    own-form

    Examples
    --------
    >>> round(piercing_time(thickness=12.7e-3, machinability=87.0), 2)
    10.39
    """
    growth = (floats(thickness) / constants.reference_thickness) ** floats(pierce_exponent)
    hardness = constants.reference_machinability / floats(machinability)
    return plain(floats(share) * floats(pierce_time) * growth * hardness)
