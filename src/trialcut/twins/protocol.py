"""What a twin shop's physics must answer. Anybody may write another one and run the bench on it.

A twin stands for a real cell. Nothing in it knows how forecasts are made: it is asked only what a jet, a
plate and a machine would answer, one session at a time. All values are SI.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
FloatOrArray = float | FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class TwinSetup:
    """What the shop believes is on the machine; a twin decides how far that is true.

    Parameters
    ----------
    pressure : float
        At the orifice. [Pa]
    orifice : float
        Orifice bore. [m]
    tube_bore : float
        Mixing tube bore, as believed at the start of the trial. [m]
    abrasive_rate : float
        [kg/s]
    abrasive_factor : float
        Cutting power of the abrasive, 1 for garnet. [-]
    grain_size : float
        Median. [m]
    machinability : float
        Handbook number of the material. [-]
    position_sd : float
        Position of the path on the plate, an edge at a time, as the shop states it. [m]
    """

    pressure: float
    orifice: float
    tube_bore: float
    abrasive_rate: float
    abrasive_factor: float
    grain_size: float
    machinability: float
    position_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How a pass of the jet is made: floats, or arrays that broadcast to one shape S.

    Parameters
    ----------
    speed : float or array, shape S
        Commanded along the path. [m/s]
    thickness : float or array, shape S
        Of the plate. [m]
    tilt, lead : float or array, shape S
        Lean of the head towards the scrap, and against the travel. [rad]
    """

    speed: FloatOrArray
    thickness: FloatOrArray
    tilt: FloatOrArray = 0.0
    lead: FloatOrArray = 0.0


class TwinSession(Protocol):
    """One day at a twin: one setting of the machine, and a tube that wears while the jet runs."""

    def run(self, *, jet_time: float) -> None:
        """Let the jet run for a time, so that the tube wears. [s]"""

    def kerf_half_width(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Half-width of the kerf across the jet's own axis, without scatter, shape (*S, L). [m]

        `depths` are fractions of the thickness from the top face, shape (L,). Zero where the jet does not
        reach.
        """

    def lag(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Distance by which the front trails the entry, before any lead, shape (*S, L). [m]"""

    def roughness(self, cut: Conditions, depths: FloatArray) -> FloatArray:
        """Ra of the wall, without scatter, shape (*S, L). [m]"""

    def cuts_through(self, cut: Conditions) -> BoolArray:
        """Whether the jet comes out at the bottom, shape S."""

    def pierce_time(self, *, thickness: float) -> float:
        """Time of the next stationary pierce, its chance included. [s]"""

    def cycle_time(self, *, steady: float, slow: float, fixed: float, pierces: float) -> float:
        """Time of a program, its chance included. [s]

        Parameters
        ----------
        steady, slow, fixed : float
            As the controller's program has it: length over speed, what corners and acceleration add,
            traverses with lifts and switching. [s]
        pierces : float
            Sum of its piercing times. [s]
        """

    def wall_scatter(self, *, edges: int) -> FloatArray:
        """Chance in where the walls of the next piece stand, shape (E,), positive where material stays. [m]

        Every call is one more piece: what all its edges share, and each edge's own.
        """

    def roughness_scatter(self, *, edges: int) -> FloatArray:
        """Chance factors on the roughness of the edges of a piece, shape (E,). [-]"""


class TwinPhysics(Protocol):
    """A twin's cell: machine, tube, lot and material for good."""

    def session(self, *, start: float, seed: int) -> TwinSession:
        """Start a day.

        Parameters
        ----------
        start : float
            Jet-on time since the trial began, which has worn the tube. [s]
        seed : int
            Of the day's luck; the same seed gives the same day.

        Returns
        -------
        TwinSession
            With the tube as worn at `start`.
        """


MakeTwin = Callable[[TwinSetup, int], TwinPhysics]
"""A plug-in of the bench: from what a shop believes and a seed to a twin. It must be picklable: a function
or a class at the top of a module."""
