"""What the jet does at a depth and a speed: half-width and lag, tabulated."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from trialcut.ascut.types import FloatArray, JetPath
from trialcut.errors import RangeError
from trialcut.physics.cut import CutTable, cut_table
from trialcut.physics.lag import lag_at_depth
from trialcut.physics.parameters import CutParameters
from trialcut.physics.separation import ZENG_KIM_1993
from trialcut.physics.setup import Setup

SPEEDS = 64
"""Speeds of a law that is made for a range of them: linear interpolation is then good to 0.3 µm."""

SLOWEST = 1.0e-3
"""Slowest tabulated speed over the fastest; below it the law is held. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class JetLaw:
    """Half-width and lag of an upright jet at S speeds, L depths and, where it is uncertain, D draws.

    Parameters
    ----------
    speeds : ndarray, shape (S,)
        Rising. Below the first the law is held; between them it is linear. [m/s]
    depths : ndarray, shape (L,)
        Rising, as fractions of the thickness. [-]
    half_width : ndarray, shape (S, L) or (S, L, D)
        Zero where the jet does not cut through. [m]
    lag : ndarray, shape (S, L) or (S, L, D)
        Of the front behind the jet at the top face, before any lead. [m]
    speed_exponent : float
        A leaned jet has a longer way through the plate, and cuts as an upright one does at its speed times
        that stretch to this power; zero for a table that holds the lean already. [-]
    """

    speeds: FloatArray
    depths: FloatArray
    half_width: FloatArray
    lag: FloatArray
    speed_exponent: float = ZENG_KIM_1993.speed_exponent

    def __post_init__(self) -> None:
        shape = (self.speeds.size, self.depths.size)
        if self.half_width.shape[:2] != shape or self.lag.shape != self.half_width.shape:
            raise RangeError(
                f"half-widths of shape {self.half_width.shape} and lags of shape {self.lag.shape} do not fit "
                f"{shape[0]} speeds and {shape[1]} depths: give one of each for every speed and depth"
            )
        for name, values in (("speeds", self.speeds), ("depths", self.depths)):
            if values.size > 1 and not np.all(np.diff(values) > 0.0):
                raise RangeError(f"{name} of a jet law must rise from one to the next: sort them")

    @property
    def draws(self) -> int | None:
        """Number of draws, None for one certain law."""
        return None if self.half_width.ndim == 2 else self.half_width.shape[2]

    def of_draws(self, draws: Sequence[int] | slice) -> JetLaw:
        """Return the law of some of the draws."""
        return replace(self, half_width=self.half_width[:, :, draws], lag=self.lag[:, :, draws])

    def at_depths(self, depths: ArrayLike) -> JetLaw:
        """Return the law at other depths, linear between those it is tabulated at.

        Raises
        ------
        RangeError
            If a depth lies outside the table.
        """
        wanted = np.atleast_1d(np.asarray(depths, dtype=float))
        if wanted.shape == self.depths.shape and np.array_equal(wanted, self.depths):
            return self
        low, high = float(self.depths[0]), float(self.depths[-1])
        for depth in (float(wanted.min()), float(wanted.max())):
            if not low - 1e-12 <= depth <= high + 1e-12:
                raise RangeError(
                    f"depth {depth:g} of the thickness is outside the jet law's {low:g} to {high:g}: "
                    "tabulate the law over the depths wanted",
                    depth=depth,
                )
        return replace(
            self,
            depths=wanted,
            half_width=_between(self.depths, self.half_width, wanted),
            lag=_between(self.depths, self.lag, wanted),
        )

    def upright_speed(self, jet: JetPath) -> FloatArray:
        """Return the speed at which an upright jet would cut as this one does at each sample. [m/s]

        Raises
        ------
        RangeError
            If one is beyond the fastest of the table.
        """
        forward = (jet.lean * jet.direction).sum(axis=1)
        across = jet.lean[:, 0] * jet.direction[:, 1] - jet.lean[:, 1] * jet.direction[:, 0]
        stretch = np.sqrt((1.0 + forward**2) * (1.0 + across**2))
        speed = np.asarray(jet.speed * stretch**self.speed_exponent)
        fastest = float(self.speeds[-1])
        if speed.size and speed.max() > fastest * (1.0 + 1e-9):
            raise RangeError(
                f"speed {speed.max():g} m/s is beyond the jet law's {fastest:g} m/s: tabulate it further",
                speed=float(speed.max()),
            )
        return speed


def _between(depths: FloatArray, values: FloatArray, wanted: FloatArray) -> FloatArray:
    if depths.size == 1:
        return np.repeat(values, wanted.size, axis=1)
    below = np.clip(np.searchsorted(depths, wanted, side="right") - 1, 0, depths.size - 2)
    share = (wanted - depths[below]) / (depths[below + 1] - depths[below])
    share = share.reshape((1, -1) + (1,) * (values.ndim - 2))
    return np.asarray(values[:, below] * (1.0 - share) + values[:, below + 1] * share)


def law_of_table(table: CutTable, *, draw: int | None = None) -> JetLaw:
    """Return the jet law of a cut table with rising speeds.

    Parameters
    ----------
    table : CutTable
        Of an upright jet, or of a leaned one, whose longer way is then in the table.
    draw : int, optional
        One draw for a certain law; all of them otherwise.

    Returns
    -------
    JetLaw
        Half-width and lag; the lead of a leaned table is not in the lag, since the path's lean holds it.
    """
    lag = np.asarray(
        lag_at_depth(depth_fraction=table.depths[:, np.newaxis], exit_lag=table.exit_lag[:, np.newaxis, :])
    )
    leaned = bool(np.any(table.tilt) or np.any(table.lead))
    pick = slice(None) if draw is None else draw
    return JetLaw(
        speeds=table.speeds,
        depths=table.depths,
        half_width=table.half_width[:, :, pick],
        lag=lag[:, :, pick],
        speed_exponent=0.0 if leaned else ZENG_KIM_1993.speed_exponent,
    )


def jet_law(
    *,
    setup: Setup,
    parameters: CutParameters,
    central: CutParameters,
    depths: ArrayLike,
    fastest: float,
    speeds: int = SPEEDS,
) -> JetLaw:
    """Tabulate the jet law of a set-up for all speeds up to the fastest.

    Parameters
    ----------
    setup : Setup
        What is on the machine.
    parameters : CutParameters
        Draws for a law of D draws; medians for one certain law.
    central : CutParameters
        Medians.
    depths : array, shape (L,)
        Fractions of the thickness. [-]
    fastest : float
        Largest speed, the stretch of a leaned jet's way included. [m/s]
    speeds : int
        How many speeds are tabulated, in equal ratios.

    Returns
    -------
    JetLaw
        Of the upright jet.
    """
    table = cut_table(
        setup=setup,
        parameters=parameters,
        central=central,
        speeds=fastest * np.geomspace(SLOWEST, 1.0, speeds),
        depths=depths,
    )
    return law_of_table(table, draw=0 if table.separation_speed.size == 1 else None)
