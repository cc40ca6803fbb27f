"""What the kerf forms leave unsaid, as smooth functions of the speed learnt from readings."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from trialcut.physics.numeric import Array, Numeric, floats

KNOTS: Array = np.array([-3.4, -2.5, -1.7, -1.0, -0.4])
"""Logarithms of the speed over the set-up's unfitted separation speed; held outside, linear between."""


def _nothing() -> Array:
    return np.zeros((KNOTS.size, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Discrepancy:
    """Difference between the wall that is cut and the wall that the form gives.

    Parameters
    ----------
    top : array, shape (K, D)
        Added to the half-width at every depth. [m]
    taper : array, shape (K, D)
        Added to the taper per side, linear in the depth. [m]
    barrel : array, shape (K, D)
        Added at mid depth, as a parabola. [m]
    """

    top: Array = field(default_factory=_nothing)
    taper: Array = field(default_factory=_nothing)
    barrel: Array = field(default_factory=_nothing)

    def at(self, log_ratio: Array) -> tuple[Array, Array, Array]:
        """Give top, taper and barrel at S logarithms of the speed ratio, shape (S, D) each. [m]"""
        share = hats(log_ratio)
        return share @ self.top, share @ self.taper, share @ self.barrel


def hats(log_ratio: Array) -> Array:
    """
    Share of each knot at logarithms of the speed ratio.

    Parameters
    ----------
    log_ratio : array, shape (S,)
        Logarithms of the speed over the set-up's unfitted separation speed. [-]

    Returns
    -------
    array, shape (S, K)
        Rows sum to one. [-]
    """
    x = np.clip(np.atleast_1d(log_ratio), KNOTS[0], KNOTS[-1])
    above = np.clip(np.searchsorted(KNOTS, x), 1, KNOTS.size - 1)
    share = (x - KNOTS[above - 1]) / (KNOTS[above] - KNOTS[above - 1])
    rows = np.arange(x.size)
    weights = np.zeros((x.size, KNOTS.size))
    weights[rows, above - 1] = 1.0 - share
    weights[rows, above] = share
    return weights


def added_width(
    *, depth_fraction: Numeric, added_top: Array, added_taper: Array, added_barrel: Array
) -> Array:
    """
    Half-width that a discrepancy adds at a depth.

    Parameters
    ----------
    depth_fraction : float or array, shape S
        Depth over thickness, from the top face. [-]
    added_top, added_taper, added_barrel : array, shape S
        As `Discrepancy.at` gives them. [m]

    Returns
    -------
    array, shape S
        [m]
    """
    zeta = floats(depth_fraction)
    return added_top - added_taper * zeta + 4.0 * added_barrel * zeta * (1.0 - zeta)
