"""Contours as points, for display, export and questions that need no exactness."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Contour, Edge, Part
from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.table import SegmentTable

if TYPE_CHECKING:
    import shapely

Floats = NDArray[np.float64]

Box = tuple[float, float, float, float]
"""Left, bottom, right, top. [m]"""

DISPLAY = 1.0e-5
"""Usual flattening tolerance for display and export. [m]"""


def flatten_segments(segments: Sequence[Segment], *, tolerance: float = DISPLAY) -> Floats:
    """Return points along connected segments.

    Parameters
    ----------
    segments : sequence of Segment
        Each starts where the one before ends. [m]
    tolerance : float
        Largest distance between an arc and its chords. [m]

    Returns
    -------
    array, shape (n, 2)
        First to last point, both included. [m]
    """
    points, _ = SegmentTable.of([segments]).flattened(tolerance=tolerance)
    return np.vstack((points, segments[-1].end))


def polygons_of_loops(table: SegmentTable, *, tolerance: float = DISPLAY) -> NDArray[np.object_]:
    """Return the polygon within each loop of a table, shape (m,), within a flattening tolerance. [m]"""
    import shapely  # noqa: PLC0415

    points, counts = table.flattened(tolerance=tolerance)
    sizes = np.add.reduceat(counts, table.offsets[:-1])
    first = np.cumsum(sizes) - sizes
    # A ring needs three points and its first one again.
    extra = np.maximum(4 - sizes, 1)
    loop = np.repeat(np.arange(len(sizes)), sizes + extra)
    place = np.arange(len(loop)) - np.repeat(np.cumsum(sizes + extra) - sizes - extra, sizes + extra)
    rows = first[loop] + np.where(place < sizes[loop], place, 0)
    return np.asarray(shapely.polygons(shapely.linearrings(points[rows], indices=loop)))


def flatten_edge(edge: Edge, *, tolerance: float = DISPLAY) -> Floats:
    """Return points along an edge, both ends included, shape (n, 2). [m]"""
    return flatten_segments(edge.segments, tolerance=tolerance)


def flatten_contour(contour: Contour, *, tolerance: float = DISPLAY) -> Floats:
    """Return points round a contour, the first repeated at the end, shape (n, 2). [m]"""
    segments = [segment for edge in contour.edges for segment in edge.segments]
    points = flatten_segments(segments, tolerance=tolerance)
    points[-1] = points[0]
    return points


def box_of_segments(segments: Iterable[Segment]) -> Box:
    """Return left, bottom, right and top of segments, exactly. [m]"""
    left, bottom, right, top = SegmentTable.of([list(segments)]).loop_boxes()[0].tolist()
    return left, bottom, right, top


def box_of_part(part: Part) -> Box:
    """Return left, bottom, right and top of a part, exactly. [m]"""
    return box_of_segments(segment for edge in part.outline.edges for segment in edge.segments)


def box_of_parts(parts: Iterable[Part]) -> Box:
    """Return left, bottom, right and top of several parts together. [m]"""
    boxes = np.array([box_of_part(part) for part in parts])
    left, bottom = boxes[:, :2].min(axis=0).tolist()
    right, top = boxes[:, 2:].max(axis=0).tolist()
    return left, bottom, right, top


def polygon_of_part(part: Part, *, tolerance: float = DISPLAY) -> shapely.Polygon:
    """Return the part as a polygon with holes, within a flattening tolerance. [m]"""
    import shapely  # noqa: PLC0415

    return shapely.Polygon(
        flatten_contour(part.outline, tolerance=tolerance),
        [flatten_contour(opening, tolerance=tolerance) for opening in part.openings],
    )


def hull_area(segments: Sequence[Segment], *, tolerance: float = DISPLAY) -> float:
    """Return the area of the convex hull of segments, within the flattening tolerance. [m^2]"""
    import shapely  # noqa: PLC0415

    return float(shapely.MultiPoint(flatten_segments(segments, tolerance=tolerance)).convex_hull.area)


def contains(part: Part, point: Point, *, tolerance: float = DISPLAY) -> bool:
    """Whether a point lies in the material of the part, within the flattening tolerance."""
    import shapely  # noqa: PLC0415

    return bool(shapely.contains_xy(polygon_of_part(part, tolerance=tolerance), point[0], point[1]))
