"""Which contour lies in which, and in what order contours are named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.geometry.outline import polygons_of_loops
from trialcut.geometry.table import Floats, Ints, SegmentTable
from trialcut.geometry.tolerances import SAME_POINT

_FLATTENING = 1.0e-5
"""Enough for the question which contour lies in which. [m]"""

_ROW = 10.0 * SAME_POINT
"""Contours whose centres are level within this stand in one row. [m]"""


@dataclass(slots=True)
class Nesting:
    """How m loops lie in each other.

    Parameters
    ----------
    depth : array, shape (m,)
        In how many others each lies.
    parent : array, shape (m,)
        The smallest of those, -1 for none.
    areas : array, shape (m,)
        Positive. [m^2]
    """

    depth: Ints
    parent: Ints
    areas: Floats


def nest(table: SegmentTable) -> Nesting:
    """Find for every loop the loops that it lies in."""
    import shapely  # noqa: PLC0415

    signed, _ = table.areas_and_centroids()
    areas, boxes = np.abs(signed), table.loop_boxes()
    depth = np.zeros(len(areas), dtype=np.int64)
    parent = np.full(len(areas), -1, dtype=np.int64)
    outer, inner = _box_in_box(boxes, areas)
    if len(outer):
        polygons = polygons_of_loops(table, tolerance=_FLATTENING)
        points = np.array([table.centre[k] for k in table.offsets[:-1].tolist()])
        many = np.diff(table.offsets) > 1
        surface = shapely.point_on_surface(polygons[many])
        points[many] = np.column_stack((shapely.get_x(surface), shapely.get_y(surface)))
        shapely.prepare(polygons[np.unique(outer)])
        within = shapely.contains_xy(polygons[outer], points[inner, 0], points[inner, 1])
        outer, inner = outer[within], inner[within]
        np.add.at(depth, inner, 1)
        order = np.argsort(-areas[outer], kind="stable")
        parent[inner[order]] = outer[order]
    return Nesting(depth, parent, areas)


def _box_in_box(boxes: Floats, areas: Floats) -> tuple[Ints, Ints]:
    import shapely  # noqa: PLC0415

    shapes = shapely.box(*boxes.T)
    outer, inner = shapely.STRtree(shapes).query(shapes)
    larger = areas[outer] > areas[inner]
    outer, inner = outer[larger], inner[larger]
    keep = (
        (boxes[outer, 0] <= boxes[inner, 0] + SAME_POINT)
        & (boxes[outer, 1] <= boxes[inner, 1] + SAME_POINT)
        & (boxes[outer, 2] >= boxes[inner, 2] - SAME_POINT)
        & (boxes[outer, 3] >= boxes[inner, 3] - SAME_POINT)
    )
    return outer[keep], inner[keep]


def by_position(members: Sequence[int], centroids: Floats, areas: Floats) -> list[int]:
    """Order loops row by row from below, each row from the left, concentric ones from the largest."""
    upward = sorted(members, key=lambda k: centroids[k, 1])
    ordered: list[int] = []
    row: list[int] = []
    for k in upward:
        if row and centroids[k, 1] - centroids[row[-1], 1] > _ROW:
            ordered.extend(_along_row(row, centroids, areas))
            row = []
        row.append(k)
    return ordered + _along_row(row, centroids, areas)


def _along_row(row: Sequence[int], centroids: Floats, areas: Floats) -> list[int]:
    across = sorted(row, key=lambda k: centroids[k, 0])
    ordered: list[int] = []
    stack: list[int] = []
    for k in across:
        if stack and centroids[k, 0] - centroids[stack[-1], 0] > _ROW:
            ordered.extend(sorted(stack, key=lambda n: -areas[n]))
            stack = []
        stack.append(k)
    return ordered + sorted(stack, key=lambda n: -areas[n])
