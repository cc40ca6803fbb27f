"""Where the kept wall of each edge comes to stand, depth by depth and draw by draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.cut import CutTable
from trialcut.physics.lag import arc_shift
from trialcut.planning.demands import Depth
from trialcut.planning.prepared import BOTTOM, DEPTHS, TOP, PreparedStudy
from trialcut.planning.results import Stance

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class EdgeWall:
    """The wall of one edge.

    Parameters
    ----------
    now, corrected : ndarray, shape (L, D)
        Deviation from the drawn edge, positive where material is left: as known now, and once a first piece
        has been measured and the offset (and the tilt, if tilted) corrected. Scatter is in. [m]
    systematic : ndarray, shape (L, D)
        As known now, without scatter. [m]
    offset : float
        From the drawn edge to the path. [m]
    """

    now: FloatArray
    corrected: FloatArray
    systematic: FloatArray
    offset: float


def bare_walls(table: CutTable, curvature: float) -> FloatArray:
    """Return walls at zero offset, for every speed of a table.

    The kept wall stands one kerf shift inside the path. On an arc the trailing exit is carried outwards by
    the lag, towards the scrap on a convex edge and into the material in an opening.

    Parameters
    ----------
    table : CutTable
        The cut in one stance.
    curvature : float
        Of the path, positive on a convex edge. [1/m]

    Returns
    -------
    ndarray, shape (S, L, D)
        Deviation at zero offset. [m]
    """
    walls = -table.kerf_shift
    if curvature:
        outwards = arc_shift(radius=1.0 / abs(curvature), lag=np.abs(table.residual_lag))
        walls = walls + np.sign(curvature) * np.asarray(outwards)
    return walls


def centre_line(wall: FloatArray, depth: Depth) -> FloatArray:
    """Return the one position that stands for a wall: midway between its extremes, or a face.

    `wall` has shape (..., L, D), the result (..., D).
    """
    high, low = extremes(wall, depth)
    centre: FloatArray = 0.5 * (high + low)
    return centre


def extremes(wall: FloatArray, depth: Depth) -> tuple[FloatArray, FloatArray]:
    """Return the highest and the lowest point of a wall over the depths that count, shape (..., D) each."""
    if depth is Depth.TOP:
        return wall[..., TOP, :], wall[..., TOP, :]
    if depth is Depth.BOTTOM:
        return wall[..., BOTTOM, :], wall[..., BOTTOM, :]
    return wall.max(axis=-2), wall.min(axis=-2)


def first_piece_reading(top: FloatArray, bottom: FloatArray, *, stance: Stance, depth: Depth) -> FloatArray:
    """Return by how much a wall is reset after reading it at both faces.

    A tilted wall is reset in offset and lean, an upright one in offset alone.

    Parameters
    ----------
    top, bottom : ndarray, shape (..., D)
        Readings at the faces. [m]
    stance : Stance
        Whether the lean can be reset.
    depth : Depth
        Face that counts, if only one does.

    Returns
    -------
    ndarray, shape (..., L, D), or (..., 1, D) where only the offset can be reset
        The reset. [m]
    """
    if stance is Stance.TILTED:
        down = DEPTHS[:, None]
        reading: FloatArray = (1.0 - down) * top[..., None, :] + down * bottom[..., None, :]
        return reading
    if depth is Depth.TOP:
        return top[..., None, :]
    if depth is Depth.BOTTOM:
        return bottom[..., None, :]
    return 0.5 * (top + bottom)[..., None, :]


def reset_wall(wall: FloatArray, *, stance: Stance, depth: Depth) -> FloatArray:
    """Return a wall, shape (..., L, D), less what a faultless reading of it would take away. [m]"""
    return wall - first_piece_reading(wall[..., TOP, :], wall[..., BOTTOM, :], stance=stance, depth=depth)


def edge_wall(
    prepared: PreparedStudy,
    *,
    edge: int,
    bare: FloatArray,
    stance: Stance,
    stock: float = 0.0,
) -> EdgeWall:
    """Place one wall: offset it to its target and add the chance of a piece.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    edge : int
        Position of the edge.
    bare : ndarray, shape (L, D)
        Its wall at zero offset. [m]
    stance : Stance
        Upright walls can only be corrected in offset, tilted ones in lean as well.
    stock : float
        Left on purpose. [m]

    Returns
    -------
    EdgeWall
        Now and corrected.
    """
    placed = placed_wall(
        bare,
        aim=float(prepared.targets[edge]) + stock,
        stance=stance,
        depth=prepared.depth[edge],
        offset_depth=prepared.offset_depth[edge],
    )
    return with_chance(prepared, placed, edge=edge, stance=stance)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedWall:
    """A wall on its aim, without the chance of a piece: alike for all edges that look alike.

    Parameters
    ----------
    systematic, reset : ndarray, shape (L, D)
        As known now, and after a faultless first piece. [m]
    offset : float
        From the drawn edge to the path. [m]
    """

    systematic: FloatArray
    reset: FloatArray
    offset: float


def placed_wall(
    bare: FloatArray, *, aim: float, stance: Stance, depth: Depth, offset_depth: Depth
) -> PlacedWall:
    """Offset a wall to its aim.

    Parameters
    ----------
    bare : ndarray, shape (L, D)
        At zero offset. [m]
    aim : float
        Where its median shall stand. [m]
    stance : Stance
        Whether the lean can be reset.
    depth, offset_depth : Depth
        Where a correction, and where the first offset, centres it.

    Returns
    -------
    PlacedWall
        Without chance.
    """
    offset = aim - float(np.median(centre_line(bare, offset_depth)))
    systematic = bare + offset
    reset = reset_wall(systematic, stance=stance, depth=depth)
    reset += aim - float(np.median(centre_line(reset, depth)))
    return PlacedWall(systematic=systematic, reset=reset, offset=offset)


def with_chance(prepared: PreparedStudy, placed: PlacedWall, *, edge: int, stance: Stance) -> EdgeWall:
    """Add the chance of a piece to a placed wall, at the position of an edge."""
    depth, scatter = prepared.depth[edge], prepared.scatter
    misread = first_piece_reading(
        scatter.first_top[edge], scatter.first_bottom[edge], stance=stance, depth=depth
    )
    return EdgeWall(
        now=placed.systematic + scatter.wall[edge],
        corrected=placed.reset - misread + scatter.wall[edge],
        systematic=placed.systematic,
        offset=placed.offset,
    )
