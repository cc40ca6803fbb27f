"""What comes out of a drawing file before anything is joined: pieces.

A piece is one drawn entity as segments that follow one another, in metres.
"""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.geometry.curves import Segment


@dataclass(slots=True, frozen=True)
class Piece:
    """One drawn entity.

    Parameters
    ----------
    segments : tuple of Segment
        In drawn order; each starts where the one before ends. [m]
    free : bool
        They stand for a spline or an ellipse, so that they are one smooth curve to a person.
    closed : bool
        The last segment ends where the first starts.
    """

    segments: tuple[Segment, ...]
    free: bool = False
    closed: bool = False
