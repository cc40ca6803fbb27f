"""The readings of a gauge study: every appraiser reads every part the same number of times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import DataError

FloatArray = NDArray[np.float64]

_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeReading:
    """One reading of a gauge study.

    Parameters
    ----------
    appraiser, part, trial : str
        Who read which part, and which time round.
    value : float
        [m]
    line : int
        Where it stands in its file, counted from 1; zero if it comes from none.
    """

    appraiser: str
    part: str
    trial: str
    value: float
    line: int = 0


@dataclass(frozen=True, kw_only=True)
class GaugeTable:
    """Readings without gaps.

    Parameters
    ----------
    appraisers, parts, trials : tuple of str
        In the order of their first reading; A, P and T of them.
    values : ndarray, shape (A, P, T)
        [m]
    system : str
        ``"inch"`` or ``"metric"``: how they were written.
    """

    appraisers: tuple[str, ...]
    parts: tuple[str, ...]
    trials: tuple[str, ...]
    values: FloatArray
    system: str = "metric"

    @property
    def ranges(self) -> FloatArray:
        """Largest less least of each cell, shape (A, P). [m]"""
        return np.asarray(np.ptp(self.values, axis=2))


def gauge_table(readings: Sequence[GaugeReading], *, system: str = "metric") -> GaugeTable:
    """
    Readings arranged by appraiser, part and trial.

    Parameters
    ----------
    readings : sequence of GaugeReading
        In any order.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    GaugeTable
        With no gap.

    Raises
    ------
    DataError
        If a reading is there twice, one is missing, or there are too few to tell anything: one line that
        says which.
    """
    appraisers, parts, trials = (
        tuple(dict.fromkeys(getattr(reading, name) for reading in readings))
        for name in ("appraiser", "part", "trial")
    )
    found: dict[tuple[str, str, str], GaugeReading] = {}
    for reading in readings:
        key = (reading.appraiser, reading.part, reading.trial)
        if key in found:
            raise DataError(
                f"{_told(key)} is there twice{_lines(found[key], reading)}: "
                "keep one, or give each its own trial",
                code="gauge-study-duplicate",
            )
        found[key] = reading
    missing = [key for key in product(appraisers, parts, trials) if key not in found]
    if missing:
        shown = "; ".join(map(_told, missing[:_SHOWN]))
        more = f" and {len(missing) - _SHOWN} more" if len(missing) > _SHOWN else ""
        raise DataError(
            f"{len(missing)} of {len(found) + len(missing)} readings are missing ({shown}{more}): "
            "every appraiser must read every part the same number of times; read them, "
            "or leave that part or trial out for all",
            code="gauge-study-incomplete",
            missing=tuple(missing),
        )
    if len(parts) < 2 or len(trials) < 2:
        raise DataError(
            f"a study of {len(parts)} part{'s' * (len(parts) != 1)} read {len(trials)} "
            f"time{'s' * (len(trials) != 1)} tells nothing: "
            "two or more parts, each read two or more times, are needed",
            code="gauge-study-too-small",
        )
    values = np.array([[[found[a, p, t].value for t in trials] for p in parts] for a in appraisers])
    return GaugeTable(appraisers=appraisers, parts=parts, trials=trials, values=values, system=system)


def _told(key: tuple[str, str, str]) -> str:
    return f"appraiser {key[0]}, part {key[1]}, trial {key[2]}"


def _lines(first: GaugeReading, second: GaugeReading) -> str:
    return f", in lines {first.line} and {second.line}" if first.line and second.line else ""
