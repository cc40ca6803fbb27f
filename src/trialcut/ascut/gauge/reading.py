"""What a gauge reads on the forecast part, and what a real one would report."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import RangeError

FloatArray = NDArray[np.float64]

LP = "ISO 14405-1 LP, two-point size (from memory)"
GG = "ISO 14405-1 GG, least-squares size (from memory)"
GN = "ISO 14405-1 GN, minimum circumscribed size (from memory)"
GX = "ISO 14405-1 GX, maximum inscribed size (from memory)"
STRAIGHTNESS = "ISO 1101 straightness, minimum zone (from memory)"
ROUNDNESS = "ISO 1101 roundness, minimum zone (from memory)"
PERPENDICULARITY = "ISO 1101 perpendicularity to the top face (from memory)"
POSITION = "ISO 1101 position, drawing as datum; the zone's diameter is twice the value (from memory)"
SHOP = "shop practice, no standard"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GaugeReading:
    """One reading of a faultless gauge.

    Parameters
    ----------
    value : float or ndarray, shape (D,)
        What it reads; one value for each draw if the field holds draws. [m]
    kind : str
        Gauge and quantity: ``"caliper, outside"``.
    on : tuple of str
        Ids of the edges measured.
    depth : float or None
        Fraction of the thickness; None if the gauge spans the whole thickness. [-]
    touched : ndarray, shape (K, 2)
        Points of the wall that decide the value; empty if the field holds draws. [m]
    standard : str
        Meaning of the quantity.
    note : str
        How it was measured.
    characteristic : str
        Id of the characteristic it was taken for, if any.
    """

    value: float | FloatArray
    kind: str
    on: tuple[str, ...]
    depth: float | None
    touched: FloatArray
    standard: str
    note: str = ""
    characteristic: str = ""

    def reported(
        self,
        *,
        standard_uncertainty: float,
        resolution: float = 0.0,
        rng: np.random.Generator,
        draws: int | None = None,
    ) -> FloatArray:
        """Return what a real gauge would report, see `reported`. [m]"""
        return reported(
            self.value,
            standard_uncertainty=standard_uncertainty,
            resolution=resolution,
            rng=rng,
            draws=draws,
        )


def reported(
    value: float | FloatArray,
    *,
    standard_uncertainty: float,
    resolution: float = 0.0,
    rng: np.random.Generator,
    draws: int | None = None,
) -> FloatArray:
    """Readings of a gauge that errs and rounds.

    Parameters
    ----------
    value : float or ndarray, shape (D,)
        What a faultless gauge reads. [m]
    standard_uncertainty : float
        Of the gauge, before its display rounds. [m]
    resolution : float
        Step of the display; zero if it shows every digit. [m]
    rng : numpy.random.Generator
        Source of the errors.
    draws : int, optional
        Number of readings of each value; one unless given.

    Returns
    -------
    ndarray, shape () or (D,), or (draws,) or (D, draws)
        Readings, each a multiple of the resolution. [m]

    Raises
    ------
    RangeError
        If the uncertainty or the resolution is negative or not finite.
    """
    _check(standard_uncertainty, resolution)
    true = np.asarray(value, dtype=float)
    shape = true.shape if draws is None else (*true.shape, draws)
    if draws is not None:
        true = true[..., None]
    shown = true + standard_uncertainty * rng.standard_normal(shape)
    if resolution > 0.0:
        shown = np.floor(shown / resolution + 0.5) * resolution
    return np.asarray(shown)


def reported_uncertainty(*, standard_uncertainty: float, resolution: float = 0.0) -> float:
    """Standard uncertainty of one reported reading.

    Parameters
    ----------
    standard_uncertainty : float
        Of the gauge, before its display rounds. [m]
    resolution : float
        Step of the display. [m]

    Returns
    -------
    float
        ``sqrt(u^2 + resolution^2 / 12)``. [m]

    References
    ----------
    JCGM 100:2008, F.2.2.1 (from memory): a display that rounds adds a rectangular error of its own step.

    Examples
    --------
    >>> round(reported_uncertainty(standard_uncertainty=5e-6, resolution=10e-6) * 1e6, 3)
    5.774
    """
    _check(standard_uncertainty, resolution)
    return sqrt(standard_uncertainty**2 + resolution**2 / 12.0)


def as_value(value: FloatArray | np.float64) -> float | FloatArray:
    """Return a plain float for one value, an array for one of each draw."""
    array = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array


def _check(standard_uncertainty: float, resolution: float) -> None:
    for name, given in (("standard uncertainty", standard_uncertainty), ("resolution", resolution)):
        if not (isfinite(given) and given >= 0.0):
            raise RangeError(
                f"{name} of the gauge is {given:g} m; it must be zero or more: state it as a length",
                code="gauge",
                value=given,
            )
