"""The cut as a compact stream of data that a browser can play back."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trialcut.ascut.thinning import kept_samples
from trialcut.ascut.types import FloatArray, JetPath
from trialcut.errors import RangeError

SCHEMA = "trialcut/playback/1"
"""Name and version of the stream's form."""

POSITION = 1.0e-5
"""Largest error of an interpolated position, in x and in y. [m]"""

ANGLE = 5.0e-4
"""The same of tilt and lead. [rad]"""

SPEED = 5.0e-3
"""The same of speed, over the fastest. [-]"""

_PLACES = {"time": 4, "x": 7, "y": 7, "tilt": 5, "lead": 5, "speed": 7}
"""Decimals that are written."""


def tilt_and_lead(jet: JetPath) -> tuple[FloatArray, FloatArray]:
    """Return tilt and lead of the head, shape (N,) each. [rad]

    A head tilted towards the scrap, positive, sends the jet under the part: to the left of travel. One that
    leads sends it forward.
    """
    forward = (jet.lean * jet.direction).sum(axis=1)
    leftward = jet.direction[:, 0] * jet.lean[:, 1] - jet.direction[:, 1] * jet.lean[:, 0]
    return np.arctan(leftward), np.arctan(forward)


def playback_document(
    jet: JetPath,
    *,
    edges: Sequence[str],
    thickness: float,
    position: float = POSITION,
    angle: float = ANGLE,
    speed: float = SPEED,
) -> dict[str, object]:
    """
    A jet's path as columns for playback, samples left out where interpolation stands in for them.

    Parameters
    ----------
    jet : JetPath
        In order of travel.
    edges : sequence of str
        Ids in the part's order, which the path's edge numbers mean.
    thickness : float
        Of the plate. [m]
    position, angle, speed : float
        Largest error of what is interpolated linearly over time: of x and y [m], of tilt and lead [rad], and
        of speed over the fastest [-].

    Returns
    -------
    dict
        Numbers, texts and lists alone: ready for JSON. Between two samples of one run the jet cuts; between
        runs it is off, and the head lifts, travels and pierces.

    Raises
    ------
    RangeError
        If the path has no samples, or a tolerance is not above zero.
    """
    if jet.time.size == 0:
        raise RangeError("the jet path has no samples: give at least one")
    for name, value in (("position", position), ("angle", angle), ("speed", speed)):
        if not value > 0.0:
            raise RangeError(f"{name} tolerance {value:g} must be above zero", name=name, value=value)
    tilt, lead = tilt_and_lead(jet)
    values = np.column_stack((jet.position, tilt, lead, jet.speed))
    fastest = float(jet.speed.max()) or 1.0
    kept = kept_samples(jet.time, values, (position, position, angle, angle, speed * fastest))
    for column in (jet.edge, jet.run):
        change = column[1:] != column[:-1]
        kept[1:] |= change
        kept[:-1] |= change
    columns = dict(zip(_PLACES, (jet.time, *jet.position.T, tilt, lead, jet.speed), strict=True))
    return {
        "schema": SCHEMA,
        "thickness": thickness,
        "edges": list(edges),
        "tolerance": {"position": position, "angle": angle, "speed": speed * fastest},
        "samples": int(kept.sum()),
    } | {
        **{name: (np.round(columns[name][kept], places) + 0.0).tolist() for name, places in _PLACES.items()},
        "edge": jet.edge[kept].tolist(),
        "run": jet.run[kept].tolist(),
    }
