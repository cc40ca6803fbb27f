"""Leaving out samples of the jet that its neighbours stand in for exactly."""

from __future__ import annotations

import numpy as np

from trialcut.ascut.types import JetPath

SAME_DIRECTION = 1.0e-7
"""Directions whose difference is smaller are one. [-]"""

SAME_SPEED = 1.0e-9
"""Speeds whose difference is smaller are one. [m/s]"""

SAME_LEAN = 1.0e-9
"""Leans whose difference is smaller are one. [-]"""


def without_idle_samples(jet: JetPath) -> JetPath:
    """Return the jet path without samples on straights at constant speed where the lean does not bend."""
    same = np.ones(max(jet.time.size - 2, 0), dtype=bool)
    for label in (jet.edge, jet.run):
        same &= (label[:-2] == label[1:-1]) & (label[1:-1] == label[2:])
    for value, close in ((jet.direction, SAME_DIRECTION), (jet.speed[:, None], SAME_SPEED)):
        same &= np.abs(np.diff(value, axis=0)).max(axis=1)[:-1] <= close
        same &= np.abs(np.diff(value, axis=0)).max(axis=1)[1:] <= close
    step = np.diff(jet.time)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (step[:-1] / (step[:-1] + step[1:]))[:, None]
    between = jet.lean[:-2] + share * (jet.lean[2:] - jet.lean[:-2])
    same &= np.abs(between - jet.lean[1:-1]).max(axis=1, initial=0.0) <= SAME_LEAN
    keep = np.concatenate(([True], ~same, [True]))[: jet.time.size]
    return JetPath(
        **{name: getattr(jet, name)[keep] for name in ("position", "direction", "lean", "speed", "time")},
        edge=jet.edge[keep],
        run=jet.run[keep],
    )
