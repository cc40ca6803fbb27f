"""Compiled search for the blocks of a path that lie near points, by a grid of cells.

This module imports numba, so it is itself imported on first use and never at start-up.
"""

# ruff: noqa: PLR0917  compiled functions take no keyword-only arguments

from __future__ import annotations

import numpy as np

from trialcut.ascut._kernels import Flags, Floats, Integers, released

TOUCH = 1.0e-6
"""A straight that a ray meets nearer than this is the one it starts on. [m]"""


@released
def block_ends(step: Floats, cuts: Flags, longest: float, most: int) -> Integers:
    """First capsule of each block, and the number of capsules.

    A block is closed after so much length, so many capsules, or where the jet goes on or off.
    """
    ends = np.zeros(step.size + 1, np.int64)
    count = 1
    first = 0
    length = 0.0
    for i in range(1, step.size):
        length += step[i - 1]
        if i - first >= most or length + step[i] > longest or not cuts[i] or not cuts[i - 1]:
            ends[count] = i
            count += 1
            first = i
            length = 0.0
    ends[count] = step.size
    return ends[: count + 1].copy()


@released
def near_blocks(
    points: Floats, centre: Floats, extent: Floats, cell: float, wide: float
) -> tuple[Integers, Integers]:
    """Blocks whose bounding disc, widened, reaches each point: starts per point, and the blocks.

    `cell` is at least the largest extent plus `wide`. A block of negative extent is left out.
    """
    left = min(points[:, 0].min(), centre[:, 0].min())
    bottom = min(points[:, 1].min(), centre[:, 1].min())
    right = max(points[:, 0].max(), centre[:, 0].max())
    top = max(points[:, 1].max(), centre[:, 1].max())
    columns = int((right - left) / cell) + 1
    rows = int((top - bottom) / cell) + 1
    while columns * rows > 4 * (points.shape[0] + centre.shape[0]) + 64:
        cell *= 2.0
        columns = int((right - left) / cell) + 1
        rows = int((top - bottom) / cell) + 1
    count = np.zeros(columns * rows + 1, np.int64)
    where = np.empty(centre.shape[0], np.int64)
    for b in range(centre.shape[0]):
        if extent[b] < 0.0:
            continue
        where[b] = int((centre[b, 1] - bottom) / cell) * columns + int((centre[b, 0] - left) / cell)
        count[where[b] + 1] += 1
    start = np.cumsum(count)
    place = start.copy()
    order = np.empty(centre.shape[0], np.int64)
    for b in range(centre.shape[0]):
        if extent[b] < 0.0:
            continue
        order[place[where[b]]] = b
        place[where[b]] += 1
    starts = np.zeros(points.shape[0] + 1, np.int64)
    blocks = np.empty(16 * points.shape[0] + 16, np.int64)
    filled = 0
    for m in range(points.shape[0]):
        column = int((points[m, 0] - left) / cell)
        line = int((points[m, 1] - bottom) / cell)
        for j in range(max(line - 1, 0), min(line + 2, rows)):
            for i in range(max(column - 1, 0), min(column + 2, columns)):
                for n in range(start[j * columns + i], start[j * columns + i + 1]):
                    b = order[n]
                    reach_out = extent[b] + wide
                    dx, dy = points[m, 0] - centre[b, 0], points[m, 1] - centre[b, 1]
                    if dx * dx + dy * dy > reach_out * reach_out:
                        continue
                    if filled == blocks.shape[0]:
                        more = np.empty(2 * filled, np.int64)
                        more[:filled] = blocks
                        blocks = more
                    blocks[filled] = b
                    filled += 1
        starts[m + 1] = filled
    return starts, blocks[:filled].copy()


@released
def free_behind(
    points: Floats,
    normals: Floats,
    first: Floats,
    second: Floats,
    starts: Integers,
    near: Integers,
    most: float,
) -> Floats:
    """Distance from each point against its normal to the first of its near straights, at most so much. [m]"""
    free = np.full(points.shape[0], most)
    for m in range(points.shape[0]):
        nx, ny = -normals[m, 0], -normals[m, 1]
        for n in range(starts[m], starts[m + 1]):
            s = near[n]
            ax, ay = first[s, 0] - points[m, 0], first[s, 1] - points[m, 1]
            bx, by = second[s, 0] - points[m, 0], second[s, 1] - points[m, 1]
            left, right = nx * ay - ny * ax, nx * by - ny * bx
            if left * right > 0.0 or left == right:
                continue
            share = left / (left - right)
            along = nx * (ax + share * (bx - ax)) + ny * (ay + share * (by - ay))
            if TOUCH < along < free[m]:
                free[m] = along
    return free
