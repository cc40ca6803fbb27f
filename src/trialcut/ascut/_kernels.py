"""Compiled search for how far a sweep of discs reaches.

The jet at one depth is a row of discs; between two neighbours it sweeps a tapered capsule, and neighbouring
capsules make a block with a bounding disc. The *reach* at a point is the largest, over all capsules, of
radius less distance: positive inside the sweep, and outside it minus the distance to the sweep.

This module imports numba, so it is itself imported on first use and never at start-up.
"""

# ruff: noqa: PLR0917  compiled functions take no keyword-only arguments

from __future__ import annotations

from collections.abc import Callable
from math import inf, sqrt
from typing import Any, ParamSpec, TypeVar, cast

import numba
import numpy as np
from numpy.typing import NDArray

P = ParamSpec("P")
R = TypeVar("R")
Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

AX, AY, UX, UY, LENGTH, RADIUS, SLOPE, LEAN, FLANK = range(9)
"""Columns of a capsule: first centre, unit axis, length, first radius, growth of the radius along the axis,
that growth over the flank's cosine, the flank's cosine."""

NO_CUT = -1.0e9
"""Radius of a capsule that does not cut. [m]"""

EXACT = 1.0e-8
"""Reach below which a point is on the wall. [m]"""

STEEPEST = 0.25
"""Least cosine between ray and wall's normal that a step is scaled with. [-]"""

CLOSE = 2.0e-6
"""Reach from which the last steps are Newton's. [m]"""

ROUNDS = 2000
"""Steps along a ray before it is given up: one that runs along a rim needs many."""


def released(function: Callable[P, R]) -> Callable[P, R]:
    """Compile to machine code that runs beside other threads; kept on disk where there is a place."""
    options: dict[str, Any] = {
        "nogil": True,
        "error_model": "numpy",
        "fastmath": {"contract", "reassoc", "nsz"},
    }
    try:
        wrapped: Any = numba.njit(cache=True, **options)(function)
    except RuntimeError:  # numba found no folder that it may write to
        wrapped = numba.njit(**options)(function)
    return cast(Callable[P, R], wrapped)


@released
def capsule_reach(capsules: Floats, i: int, x: float, y: float) -> float:
    """Reach of capsule i at a point."""
    px, py = x - capsules[i, AX], y - capsules[i, AY]
    along = px * capsules[i, UX] + py * capsules[i, UY]
    away = abs(px * capsules[i, UY] - py * capsules[i, UX])
    foot = min(max(along + away * capsules[i, LEAN], 0.0), capsules[i, LENGTH])
    along -= foot
    return float(capsules[i, RADIUS] + capsules[i, SLOPE] * foot - sqrt(along * along + away * away))


@released
def fill_capsule(
    capsules: Floats, c: int, ax: float, ay: float, ar: float, bx: float, by: float, br: float
) -> None:
    """Write the capsule between two discs; a disc within the other counts for nothing."""
    length = sqrt((bx - ax) ** 2 + (by - ay) ** 2)
    capsules[c, AX], capsules[c, AY], capsules[c, RADIUS] = ax, ay, ar
    capsules[c, UX], capsules[c, UY] = 1.0, 0.0
    capsules[c, LENGTH] = capsules[c, SLOPE] = capsules[c, LEAN] = 0.0
    capsules[c, FLANK] = 1.0
    if ar <= 0.0 and br <= 0.0:
        capsules[c, RADIUS] = NO_CUT
    elif abs(br - ar) >= length:
        if br > ar:
            capsules[c, AX], capsules[c, AY], capsules[c, RADIUS] = bx, by, br
    else:
        slope = (br - ar) / length
        capsules[c, UX], capsules[c, UY] = (bx - ax) / length, (by - ay) / length
        capsules[c, LENGTH] = length
        capsules[c, SLOPE] = slope
        capsules[c, FLANK] = sqrt(1.0 - slope * slope)
        capsules[c, LEAN] = slope / capsules[c, FLANK]


@released
def sweep_at_depth(
    position: Floats,
    direction: Floats,
    lean: Floats,
    row: Integers,
    share: Floats,
    half_width: Floats,
    lag: Floats,
    depth: float,
    cuts: Flags,
    ends: Integers,
    centres: Floats,
    capsules: Floats,
    blocks: Floats,
) -> float:
    """Discs, capsules and the bounding discs of blocks at one depth, for one draw.

    Returns how far the jet can reach from its way at the top face, and so behind a drawn wall.

    `row` and `share` place the speed of each sample in the law's speeds; ``capsules[i]`` lies between samples
    i and i + 1 if ``cuts[i]``; block b holds capsules ``ends[b]`` to ``ends[b + 1]``.
    """
    farthest = 0.0
    for i in range(position.shape[0]):
        k, t = row[i], share[i]
        behind = lag[k] + t * (lag[k + 1] - lag[k])
        x = depth * lean[i, 0] - behind * direction[i, 0]
        y = depth * lean[i, 1] - behind * direction[i, 1]
        centres[i, 0], centres[i, 1] = position[i, 0] + x, position[i, 1] + y
        centres[i, 2] = half_width[k] + t * (half_width[k + 1] - half_width[k])
        farthest = max(farthest, sqrt(x * x + y * y) + centres[i, 2])
    for i in range(cuts.shape[0]):
        if cuts[i]:
            fill_capsule(
                capsules,
                i,
                centres[i, 0],
                centres[i, 1],
                centres[i, 2],
                centres[i + 1, 0],
                centres[i + 1, 1],
                centres[i + 1, 2],
            )
        else:
            fill_capsule(capsules, i, centres[i, 0], centres[i, 1], 0.0, 0.0, 0.0, 0.0)
    for b in range(blocks.shape[0]):
        fill_block(blocks, b, centres, ends[b], ends[b + 1])
    return farthest


@released
def fill_block(blocks: Floats, b: int, centres: Floats, first: int, last: int) -> None:
    """Write the disc and the capsule that hold the discs `first` to `last`."""
    chord_x, chord_y = centres[last, 0] - centres[first, 0], centres[last, 1] - centres[first, 1]
    chord = sqrt(chord_x * chord_x + chord_y * chord_y)
    ux, uy = 1.0, 0.0
    if chord > 0.0:
        ux, uy = chord_x / chord, chord_y / chord
    x = 0.5 * (centres[first, 0] + centres[last, 0])
    y = 0.5 * (centres[first, 1] + centres[last, 1])
    radius = fat = NO_CUT
    for i in range(first, last + 1):
        px, py = centres[i, 0] - x, centres[i, 1] - y
        along = max(abs(px * ux + py * uy) - 0.5 * chord, 0.0)
        radius = max(radius, sqrt(px * px + py * py) + centres[i, 2])
        across = px * uy - py * ux
        fat = max(fat, sqrt(along * along + across * across) + centres[i, 2])
    blocks[b, 0], blocks[b, 1], blocks[b, 2] = x, y, radius
    blocks[b, 3], blocks[b, 4], blocks[b, 5], blocks[b, 6] = ux, uy, 0.5 * chord, fat


@released
def reach(
    x: float,
    y: float,
    capsules: Floats,
    blocks: Floats,
    ends: Integers,
    near: Integers,
    first: int,
    last: int,
    guess: int,
) -> tuple[float, int]:
    """Reach at a point over the near blocks, ``near[first:last]``, and the capsule that has it."""
    best = -inf
    which = guess
    if guess >= 0:
        best = capsule_reach(capsules, guess, x, y)
        for side in range(2):
            step = 1 - 2 * side
            i = guess + step
            while 0 <= i < capsules.shape[0]:
                value = capsule_reach(capsules, i, x, y)
                if value <= best:
                    break
                best = value
                which = i
                i += step
            if which != guess:
                break
    for n in range(first, last):
        b = near[n]
        bx, by = x - blocks[b, 0], y - blocks[b, 1]
        room = blocks[b, 2] - best
        if room <= 0.0 or bx * bx + by * by >= room * room:
            continue
        along = max(abs(bx * blocks[b, 3] + by * blocks[b, 4]) - blocks[b, 5], 0.0)
        across = bx * blocks[b, 4] - by * blocks[b, 3]
        room = blocks[b, 6] - best
        if room <= 0.0 or along * along + across * across >= room * room:
            continue
        for i in range(ends[b], ends[b + 1]):
            value = capsule_reach(capsules, i, x, y)
            if value > best:
                best = value
                which = i
    return best, which


@released
def rise(capsules: Floats, i: int, x: float, y: float, nx: float, ny: float) -> float:
    """Growth of the reach of capsule i along a unit direction at a point."""
    px, py = x - capsules[i, AX], y - capsules[i, AY]
    along = px * capsules[i, UX] + py * capsules[i, UY]
    away = abs(px * capsules[i, UY] - py * capsules[i, UX])
    foot = min(max(along + away * capsules[i, LEAN], 0.0), capsules[i, LENGTH])
    cx, cy = foot * capsules[i, UX] - px, foot * capsules[i, UY] - py
    distance = sqrt(cx * cx + cy * cy)
    if distance < EXACT:
        return 0.0
    return float((cx * nx + cy * ny) / distance)


@released
def wall_deviation(
    px: float,
    py: float,
    nx: float,
    ny: float,
    capsules: Floats,
    blocks: Floats,
    ends: Integers,
    near: Integers,
    first: int,
    last: int,
    guess: int,
    behind: float,
    highest: float,
) -> tuple[float, int]:
    """Distance along a ray from the drawn wall to the as-cut one, and the capsule that makes it there.

    The wall is where the ray, coming from `behind` the drawn wall in the material, first meets the cut: what
    lies beyond a cut has come off. Steps are as long as the reach, which pass over nothing; the last are
    Newton's. ``inf`` where there is no cut up to `highest`, ``-inf`` where there is no material behind.
    """
    e = -behind
    material, cut = -inf, inf
    which = guess
    for _ in range(ROUNDS):
        value, which = reach(px + e * nx, py + e * ny, capsules, blocks, ends, near, first, last, which)
        if value < e - highest:
            return inf, -1
        if value >= EXACT and material == -inf:
            # Still in a cut that reached behind the wall: out of it, as far as the drawn wall.
            if e >= 0.0:
                return -inf, -1
            e = min(e + value, 0.0)
            continue
        close = abs(value) < CLOSE
        slope = rise(capsules, which, px + e * nx, py + e * ny, nx, ny) if close else 1.0
        if close and slope <= 0.0:
            # Just out of a cut that lies behind.
            e += CLOSE
            continue
        if abs(value) < EXACT:
            return e, which
        if value < 0.0:
            material = e
        else:
            cut = e
        e -= value / max(slope, STEEPEST) if close else value
        e = min(e, highest)
        if not material < e < cut:
            e = 0.5 * (material + cut)
        if cut - material < EXACT:
            return e, which
    return e, which


@released
def deviations(
    points: Floats,
    normals: Floats,
    room: Floats,
    near_start: Integers,
    near: Integers,
    position: Floats,
    direction: Floats,
    lean: Floats,
    row: Integers,
    share: Floats,
    half_width: Floats,
    lag: Floats,
    depths: Floats,
    cuts: Flags,
    ends: Integers,
    deepest: float,
    highest: float,
    begin: int,
    end: int,
    out: Floats,
) -> None:
    """Deviations of M wall samples in the slabs `begin` to `end`, into ``out`` of shape (slabs, M).

    Each ray starts at most `room` and `deepest` behind the drawn wall.

    A slab is one depth of one draw: slab ``k`` has depth ``depths[k]`` [m] and the columns ``half_width[k]``
    and ``lag[k]`` over the law's speeds.
    """
    n = position.shape[0]
    centres = np.empty((n, 3))
    capsules = np.empty((cuts.shape[0], 9))
    blocks = np.empty((ends.shape[0] - 1, 7))
    for slab in range(begin, end):
        farthest = sweep_at_depth(
            position,
            direction,
            lean,
            row,
            share,
            half_width[slab],
            lag[slab],
            depths[slab],
            cuts,
            ends,
            centres,
            capsules,
            blocks,
        )
        which = -1
        for m in range(points.shape[0]):
            e, which = wall_deviation(
                points[m, 0],
                points[m, 1],
                normals[m, 0],
                normals[m, 1],
                capsules,
                blocks,
                ends,
                near,
                near_start[m],
                near_start[m + 1],
                which,
                min(room[m], farthest, deepest),
                highest,
            )
            out[slab, m] = e
