"""Time that each edge takes at each speed of a preview's grid, corners and all."""

from __future__ import annotations

from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.cut_part import Cut, cut_in_thought
from trialcut.planning.money import PieceTime
from trialcut.planning.part_time import piece_time
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance

FloatArray = NDArray[np.float64]

_TIMED: WeakKeyDictionary[Preview, tuple[FloatArray, PieceTime]] = WeakKeyDictionary()
TIMED_SPEEDS = 7
"""Speeds of the grid at which a whole piece is timed; between them the share lost to corners is even."""


def edge_times(preview: Preview) -> tuple[FloatArray, PieceTime]:
    """
    Time each edge at each speed of the grid.

    Parameters
    ----------
    preview : Preview
        Of the study.

    Returns
    -------
    tuple
        Times, shape (E, S) [s], and the time of a whole piece at the middle of the grid. All edges are taken
        upright and at one speed; what a neighbour at another speed changes is left to the forecast.
    """
    if preview in _TIMED:
        return _TIMED[preview]
    prepared = preview.prepared
    rows = np.unique(np.linspace(0, preview.speeds.size - 1, TIMED_SPEEDS).round().astype(int))
    timed = [_uniform(preview, int(row)) for row in rows]
    lengths = np.array([edge.length for edge in prepared.edges])
    slowed = np.array([[time.edges[edge] for edge in prepared.index] for time in timed])
    slowed = slowed * preview.speeds[rows][:, None] / lengths
    known = np.log(preview.speeds[rows])
    over = np.stack([np.interp(np.log(preview.speeds), known, each) for each in slowed.T])
    _TIMED[preview] = over * lengths[:, None] / preview.speeds, timed[len(timed) // 2]
    return _TIMED[preview]


def _uniform(preview: Preview, row: int) -> PieceTime:
    cut = Cut(float(preview.speeds[row]), Stance.UPRIGHT)
    assignment = dict.fromkeys(preview.prepared.index, cut)
    return piece_time(cut_in_thought(preview.prepared, assignment, tables=preview.tables))
