"""The lean that a cut asks for at each speed, and what is left of the wall's error with it and without."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from trialcut.ascut.types import FloatArray
from trialcut.errors import RangeError
from trialcut.physics.cut import cut_table
from trialcut.physics.parameters import CutParameters
from trialcut.physics.setup import Setup

SPEEDS = 384
"""Speeds of a law; between them it is linear."""

SLOWEST = 2.0e-4
"""Slowest tabulated speed over the fastest; below it the law is held. [-]"""

MOST_TRAVEL = np.pi / 3.0
"""Largest travel of a head that the slopes here are meant for. [rad]"""

DEPTHS = np.linspace(0.0, 1.0, 9)
"""Depths at which what is left of the wall's error is judged, as fractions of the thickness. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeanLaw:
    """Lean and walls of one set-up at S speeds and L depths, from the medians.

    Leans are slopes: shift of the jet's centre per depth, the tangent of the angle.

    Parameters
    ----------
    speeds : ndarray, shape (S,)
        Rising. Outside them the law is held. [m/s]
    tilt, lead : ndarray, shape (S,)
        Reached within the head's travel; a negative tilt leans towards the part. [-]
    wanted_tilt, wanted_lead : ndarray, shape (S,)
        For the chord of the wall and for the whole lag, whatever the travel. [-]
    walls, drift : ndarray, shape (2, S, L)
        Upright and leaned: the wall at zero offset [m], and half the square of the lag that the lead leaves,
        by which curvature moves it [m^2].
    thickness : float
        [m]
    travel : float
        Largest lean of the head. [rad]
    """

    speeds: FloatArray
    tilt: FloatArray
    lead: FloatArray
    wanted_tilt: FloatArray
    wanted_lead: FloatArray
    walls: FloatArray
    drift: FloatArray
    thickness: float
    travel: float

    def at(self, speed: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return tilt and lead at speeds of shape (N,). [-]"""
        u = np.asarray(speed, dtype=float)
        return np.interp(u, self.speeds, self.tilt), np.interp(u, self.speeds, self.lead)

    def wanted(self, speed: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the tilt and lead that an unlimited head would take at speeds of shape (N,). [-]"""
        u = np.asarray(speed, dtype=float)
        return np.interp(u, self.speeds, self.wanted_tilt), np.interp(u, self.speeds, self.wanted_lead)

    def reach(self) -> float:
        """Return the largest slope of the head. [-]"""
        return float(np.tan(self.travel))

    def out_of_square(self, speed: float, *, curvature: float, tilted: bool) -> float:
        """Return the width of the zone that the wall fills at one speed.

        Parameters
        ----------
        speed : float
            [m/s]
        curvature : float
            Of the path, positive on a convex edge. [1/m]
        tilted : bool
            With the lean of that speed, or upright.

        Returns
        -------
        float
            Largest less smallest deviation through the depth: bow, whatever taper the travel leaves, and the
            drift of the lag on an arc. [m]
        """
        stance = int(tilted)
        wall = self.walls[stance] + curvature * self.drift[stance]
        row = min(max(int(np.searchsorted(self.speeds, speed)), 1), self.speeds.size - 1)
        low, high = self.speeds[row - 1], self.speeds[row]
        share = min(max((speed - low) / (high - low), 0.0), 1.0)
        at_speed = (1.0 - share) * wall[row - 1] + share * wall[row]
        return float(np.ptp(at_speed))


def lean_law(*, setup: Setup, central: CutParameters, travel: float, fastest: float) -> LeanLaw:
    """
    Tabulate the lean for all speeds up to the fastest.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    central : CutParameters
        Medians.
    travel : float
        Largest lean of the head; zero for one that stays upright. [rad]
    fastest : float
        [m/s]

    Returns
    -------
    LeanLaw
        Speeds in equal ratios.

    Raises
    ------
    RangeError
        If the travel is negative or beyond 60°, or the fastest speed is not above zero.
    """
    if not 0.0 <= travel <= MOST_TRAVEL:
        raise RangeError(
            f"tilt travel {travel:g} rad must be at least zero and at most {MOST_TRAVEL:.2f} (60°): "
            "give the machine's real travel",
            travel=travel,
        )
    if not fastest > 0.0:
        raise RangeError(
            f"fastest speed {fastest:g} m/s must be above zero: give the largest speed along the path",
            fastest=fastest,
        )
    speeds = fastest * np.geomspace(SLOWEST, 1.0, SPEEDS)
    upright, leaned = (
        cut_table(
            setup=setup,
            parameters=central,
            central=central,
            speeds=speeds,
            depths=DEPTHS,
            tilted=tilted,
            tilt_travel=travel,
        )
        for tilted in (False, True)
    )
    return LeanLaw(
        speeds=speeds,
        tilt=np.tan(leaned.tilt),
        lead=np.tan(leaned.lead),
        wanted_tilt=leaned.taper[:, 0] / setup.thickness,
        wanted_lead=leaned.exit_lag[:, 0] / setup.thickness,
        walls=np.stack([-table.kerf_shift[:, :, 0] for table in (upright, leaned)]),
        drift=np.stack([0.5 * table.residual_lag[:, :, 0] ** 2 for table in (upright, leaned)]),
        thickness=setup.thickness,
        travel=travel,
    )
