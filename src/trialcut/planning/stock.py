"""Stock to leave on an edge that a later operation finishes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.finish import roughness_rz
from trialcut.planning.demands import DemandKind
from trialcut.planning.prepared import PreparedStudy

FloatArray = NDArray[np.float64]

RELOCATION = 0.2e-3
"""How far off the piece may sit in the later operation's fixture: common practice, no source. [m]"""
CLEAN_UP_ODDS = 0.99
"""Odds with which the later cut meets material everywhere. [-]"""


def least_stock(lowest: FloatArray, *, odds: float) -> float:
    """Return the least stock with which a later cut meets material everywhere.

    Parameters
    ----------
    lowest : ndarray, shape (..., D)
        Lowest sound point of each wall when it is aimed without stock, relative to where the later operation
        puts it: wall less roughness less how far the piece sits off. [m]
    odds : float
        With which all the walls clean up together. [-]

    Returns
    -------
    float
        Never negative; the same for all the walls. [m]
    """
    worst = np.sort(lowest.reshape(-1, lowest.shape[-1]).min(axis=0))
    spared = min(int(np.floor((1.0 - odds) * worst.size + 1e-9)), worst.size - 1)
    return max(-float(worst[spared]), 0.0)


def clean_up_stock(prepared: PreparedStudy, *, edge: int, bare: FloatArray, finish: FloatArray) -> float:
    """Return the stock of an edge: as demanded, or the least that cleans up.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    edge : int
        Position of the edge.
    bare : ndarray, shape (L, D)
        Its wall at zero offset. [m]
    finish : ndarray, shape (D,)
        Ra where the face is roughest. [m]

    Returns
    -------
    float
        Distance of the aimed wall from the drawn edge. [m]
    """
    name = prepared.edges[edge].id
    for demand in prepared.study.demands:
        if demand.kind is DemandKind.LATER and name in demand.edges and demand.allowance > 0.0:
            return demand.allowance
    centre = float(np.median(0.5 * (bare.max(axis=0) + bare.min(axis=0))))
    lowest = (
        (bare - centre).min(axis=0) + prepared.scatter.wall[edge] - np.asarray(roughness_rz(finish_ra=finish))
    )
    return RELOCATION + max(float(-np.quantile(lowest, 1.0 - CLEAN_UP_ODDS)), 0.0)
