"""How the mixing tube grows, what that costs in speed, and when to change it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trialcut.physics.numeric import Array, Numeric, floats, plain
from trialcut.physics.registry import model
from trialcut.physics.separation import ZENG_KIM_1993, ZengKim1993
from trialcut.sources import load


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeWear:
    """Central values of tube and orifice wear."""

    tube_growth: float
    """[m/s]"""
    tube_life: float
    """[s]"""
    orifice_life_ruby: float
    """[s]"""
    orifice_life_diamond: float
    """[s]"""


TUBE_WEAR = load(TubeWear, "tube-wear")

BISECTIONS = 80


@model(quantity="tube_bore", source="common-practice", constants=("tube-wear",))
def tube_bore_after(
    *, tube_bore: Numeric, jet_time: Numeric, tube_growth: Numeric = TUBE_WEAR.tube_growth
) -> Numeric:
    """
    Mixing tube bore after some jet-on time; the kerf grows with it about one to one.

    Parameters
    ----------
    tube_bore : float or array, shape S
        Bore when new. [m]
    jet_time : float or array, shape S
        Jet-on time since. [s]
    tube_growth : float or array, shape S
        Usually 7e-10, 0.02 mm in 8 h. [m/s]

    Returns
    -------
    float or array, shape S
        Bore. [m]

    Notes
    -----
    D(t) = D0 + g t.

    References
    ----------
    common-practice, from memory

    Examples
    --------
    >>> round(tube_bore_after(tube_bore=1.0e-3, jet_time=8 * 3600.0) * 1e3, 3)
    1.02
    """
    return plain(floats(tube_bore) + floats(tube_growth) * floats(jet_time))


@model(quantity="worn_speed_share", source="own-derivation", constants=("zeng-kim-1993",))
def worn_speed_share(
    *, tube_bore_new: Numeric, tube_bore: Numeric, constants: ZengKim1993 = ZENG_KIM_1993
) -> Numeric:
    """
    Separation speed with a worn tube over that with the new one.

    Parameters
    ----------
    tube_bore_new : float or array, shape S
        Bore when new. [m]
    tube_bore : float or array, shape S
        Bore now. [m]
    constants : ZengKim1993
        Exponents of tube and speed enter.

    Returns
    -------
    float or array, shape S
        Share. [-]

    Notes
    -----
    (D/D0)^-0.711, from the exponents 0.618 x 1.15.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> round(worn_speed_share(tube_bore_new=1.0e-3, tube_bore=1.2e-3), 4)
    0.8785
    """
    exponent = constants.tube_exponent * constants.speed_exponent
    return plain((floats(tube_bore) / floats(tube_bore_new)) ** -exponent)


@model(quantity="tube_change_time", source="own-derivation", constants=("zeng-kim-1993", "tube-wear"))
def tube_change_of_least_cost(
    *,
    tube_bore: Numeric,
    hour_cost: Numeric,
    tube_price: Numeric,
    change_time: Numeric,
    tube_growth: Numeric = TUBE_WEAR.tube_growth,
    constants: ZengKim1993 = ZENG_KIM_1993,
) -> Numeric:
    """
    Jet-on time after which a new tube makes the length cut cheapest.

    Parameters
    ----------
    tube_bore : float or array, shape S
        Bore when new. [m]
    hour_cost : float or array, shape S
        All cost of machine time, per second. [1/s]
    tube_price : float or array, shape S
        Of one tube, in the same currency. [-]
    change_time : float or array, shape S
        Machine time lost by a change. [s]
    tube_growth : float or array, shape S
        Usually 7e-10, 0.02 mm in 8 h. [m/s]
    constants : ZengKim1993
        Exponents of tube and speed enter.

    Returns
    -------
    float or array, shape S
        Jet-on time. [s]

    Notes
    -----
    Minimises [C T + c_f + C t_change] / L(T) with L(T) the integral of u(D0 + g t) over T.
    There u(T) (C T + c_f + C t_change) = C L(T), and their difference grows with T, so that
    bisection finds the one root.

    References
    ----------
    own-derivation

    Examples
    --------
    >>> t = tube_change_of_least_cost(
    ...     tube_bore=1.016e-3, hour_cost=90.0 / 3600, tube_price=110.0, change_time=600.0)
    >>> round(t / 3600.0, 1)
    40.5
    """
    n = constants.tube_exponent * constants.speed_exponent
    rate = floats(tube_growth) / floats(tube_bore)
    fixed = floats(tube_price) / floats(hour_cost) + floats(change_time)
    rate, fixed = np.broadcast_arrays(rate, fixed)

    def excess(spell: Array) -> Array:
        size = 1.0 + rate * spell
        length = (size ** (1.0 - n) - 1.0) / (rate * (1.0 - n))
        return np.asarray(length - size**-n * (spell + fixed), dtype=np.float64)

    low: Array = np.zeros(rate.shape)
    high: Array = np.full(rate.shape, 1.0) * (fixed + 1.0 / rate)
    while np.any(excess(high) < 0.0):
        high = np.where(excess(high) < 0.0, 2.0 * high, high)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        short = excess(middle) < 0.0
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return plain(0.5 * (low + high))
