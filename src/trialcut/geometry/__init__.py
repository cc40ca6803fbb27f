"""The part: curves, contours, edges and features, and the drawings they are read from.

The material lies to the left of travel: outlines run counter-clockwise, openings clockwise. Lengths are
metres. Reading a file is in `trialcut.geometry.importers`.
"""

from trialcut.geometry.contours import (
    Contour,
    ContourRole,
    Corner,
    Drawing,
    Edge,
    EdgeKind,
    Feature,
    FeatureKind,
    Part,
)
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.findings import Finding, FindingStatus

__all__ = [
    "Arc",
    "Contour",
    "ContourRole",
    "Corner",
    "Drawing",
    "Edge",
    "EdgeKind",
    "Feature",
    "FeatureKind",
    "Finding",
    "FindingStatus",
    "Line",
    "Part",
    "Point",
    "Segment",
]
