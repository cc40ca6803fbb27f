"""What an inspector will say: a reading with its error, held against limits drawn in by a guard band."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import EdgeKind
from trialcut.planning.conformance import Risks, guard_band
from trialcut.planning.demands import DemandKind
from trialcut.planning.study import Study
from trialcut.trials.gauges.instrument import Measure

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

GUARDED = frozenset({DemandKind.SIZE, DemandKind.SQUARENESS})
"""Demands that the study's gauge reads; a roughness tester's error is not known here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """How one characteristic is accepted.

    Parameters
    ----------
    band : float
        By which each limit is drawn in. [m]
    error : ndarray, shape (D,)
        Of one reading on each drawn piece. [m]
    """

    band: float
    error: FloatArray


def acceptances(study: Study) -> Mapping[str, Acceptance]:
    """
    Draw how an inspector reads each demand.

    Parameters
    ----------
    study : Study
        Its `guard` says with what probability a piece at the acceptance limit must conform; None for no
        thought of the gauge at all.

    Returns
    -------
    mapping
        Demand id to `Acceptance`, for sizes and squareness; empty without a guard.

    References
    ----------
    ISO 14253-1:2017, second-hand: what is accepted conforms with 95 % at least, a band of 1.645 u.
    """
    if study.guard is None:
        return {}
    kinds = {edge.id: edge.kind for edge in study.part.edges}
    found = {}
    for demand in study.demands:
        if demand.kind not in GUARDED:
            continue
        round_opening = any(kinds[edge] is EdgeKind.CIRCLE for edge in demand.edges)
        u = study.gauge.uncertainty(Measure.OPENING if round_opening else Measure.SIZE)
        random = np.random.default_rng([study.seed, crc32(f"accept {demand.id}".encode())])
        found[demand.id] = Acceptance(
            band=guard_band(standard_uncertainty=u, probability=study.guard),
            error=u * random.standard_normal(study.draws),
        )
    return found


def risks(*, conforms: BoolArray, accepted: BoolArray) -> Risks:
    """
    Count how often an inspector would be wrong.

    Parameters
    ----------
    conforms, accepted : ndarray of bool, shape (D,)
        Of each drawn piece.

    References
    ----------
    JCGM 106:2012, 9.5: global consumer's and producer's risk, here by counting draws.
    """
    return Risks(consumer=float((accepted & ~conforms).mean()), producer=float((conforms & ~accepted).mean()))
