"""Layers in which as-cut walls cross themselves or each other, mended so that they bound a body.

A deviation is measured along a ray from the drawn wall. Where rays cross before they reach the as-cut wall,
as in an inside round tighter than the jet, the wall folds back on itself: it is laid out again, in order,
along the outline that is left when the folds are taken out. Where walls of two contours cross, a web has
vanished or an opening has closed; a solid of one piece cannot show that, and the walls are drawn back towards
the drawing until they part. Either is told, with how far walls were moved.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.rings import Ring
from trialcut.ascut.types import FloatArray
from trialcut.errors import ComputationError

APART = 1.0e-6
"""Least distance between columns of a wall that was laid out again. [m]"""

GRID = 1.0e-9
"""Folds narrower than this are no room. [m]"""

ROUNDS = 40
"""Halvings of a deviation before walls count as crossing in the drawing itself."""

BESIDE = 1.0e-4
"""How far beside a crossing walls are drawn back. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A wall that was moved: its contour and layer, whether folded or crossing, how far, and where. [m]"""

    contour: str
    layer: int
    folded: bool
    moved: float
    where: tuple[float, float]


def mended(rings: tuple[Ring, ...]) -> tuple[Mend, ...]:
    """
    Move the walls of rings, in place, until they bound a body in every layer.

    Parameters
    ----------
    rings : tuple of Ring
        Outline first.

    Returns
    -------
    tuple of Mend
        What was moved; empty where nothing crossed.

    Raises
    ------
    ComputationError
        If walls cross even in the drawing.
    """
    mends: list[Mend] = []
    for layer in range(rings[0].position.shape[1]):
        before = [ring.position[:, layer].copy() for ring in rings]
        folded = [unfold(ring, layer) for ring in rings]
        crossing = _part_walls(rings, layer)
        for ring, was, fold, crossed in zip(rings, before, folded, crossing, strict=True):
            if fold or crossed:
                off = np.hypot(*(ring.position[:, layer] - was).T)
                worst = int(off.argmax())
                mends.append(
                    Mend(
                        contour=ring.contour,
                        layer=layer,
                        folded=not crossed,
                        moved=float(off[worst]),
                        where=(float(ring.drawn[worst, 0]), float(ring.drawn[worst, 1])),
                    )
                )
    return tuple(mends)


def unfold(ring: Ring, layer: int) -> bool:
    """Lay a wall that crosses itself, in place, along its outline without folds; return whether it did."""
    import shapely  # noqa: PLC0415
    from scipy.spatial import cKDTree  # noqa: PLC0415

    points = ring.position[:, layer]
    if shapely.is_simple(shapely.linearrings(points)):
        return False
    found = _outline(points)
    if found is None or _turned(ring, layer):
        return False
    closed = np.concatenate((found, found[:1]))
    outline = shapely.linestrings(closed)
    length = float(shapely.length(outline))
    corners = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))))[:-1]
    off, _ = cKDTree(points).query(found)
    new = off > 2.0 * GRID
    along = _in_order(np.asarray(shapely.line_locate_point(outline, shapely.points(points))), length)
    along = _through(along, corners[new], length)
    laid = shapely.line_interpolate_point(outline, np.mod(along, length))
    ring.position[:, layer] = shapely.get_coordinates(laid)
    return True


def _outline(points: FloatArray) -> FloatArray | None:
    """The largest body within a line that crosses itself, run round in the line's own sense."""
    import shapely  # noqa: PLC0415

    body = shapely.set_precision(shapely.make_valid(shapely.polygons(points)), GRID)
    pieces = shapely.get_parts(shapely.get_parts(body))
    areas = shapely.area(pieces)
    if not areas.size or areas.max() <= 0.0:
        return None
    found = shapely.get_coordinates(shapely.get_exterior_ring(pieces[int(areas.argmax())]))[:-1]
    same_sense = (_area(found) > 0.0) == (_area(points) > 0.0)
    return np.ascontiguousarray(found if same_sense else found[::-1])


def _in_order(along: FloatArray, length: float) -> FloatArray:
    """Places along a closed line of a length, moved as little as lets them rise, and a little apart."""
    step = np.diff(along, append=along[:1])
    step -= length * np.round(step / length)
    once = along[0] + np.concatenate(([0.0], np.cumsum(step[:-1])))
    thrice = np.concatenate([once + turn * length for turn in (0.0, 1.0, 2.0)])
    rising = np.maximum.accumulate(thrice)
    falling = np.minimum.accumulate(thrice[::-1])[::-1]
    apart = APART * np.arange(thrice.size)
    ordered = np.maximum.accumulate((rising + falling) / 2 - apart) + apart
    return np.asarray(ordered[once.size : 2 * once.size])


def _through(along: FloatArray, corners: FloatArray, length: float) -> FloatArray:
    """The same places, the nearest of them moved onto each corner that folds left behind."""
    for corner in corners:
        target = corner + length * np.ceil((along[0] - corner) / length)
        place = int(np.abs(along - target).argmin())
        low = along[place - 1] if place else along[-1] - length
        high = along[place + 1] if place + 1 < along.size else along[0] + length
        if low + APART <= target <= high - APART:
            along[place] = target
    return along


def _part_walls(rings: tuple[Ring, ...], layer: int) -> list[bool]:
    """Draw walls that cross back towards the drawing until they part; which rings were."""
    touched = [False] * len(rings)
    for _ in range(ROUNDS):
        bad = _crossing(rings, layer)
        if bad is None:
            return touched
        for place, (ring, columns) in enumerate(zip(rings, bad, strict=True)):
            if columns.any():
                touched[place] = True
                here = ring.position[columns, layer]
                ring.position[columns, layer] = ring.drawn[columns] + (here - ring.drawn[columns]) / 2
    raise ComputationError(
        f"walls of contours {', '.join(ring.contour for ring in rings)} cross in the drawing itself, "
        "so no solid can be made of them: mend the drawing"
    )


def _crossing(rings: tuple[Ring, ...], layer: int) -> list[NDArray[np.bool_]] | None:
    """Columns at walls that cross, ring by ring; None if the layer is a body."""
    import shapely  # noqa: PLC0415

    lines = [shapely.linearrings(ring.position[:, layer]) for ring in rings]
    turned = [_turned(ring, layer) for ring in rings]
    if not any(turned) and shapely.is_valid(shapely.polygons(lines[0], lines[1:] or None)):
        return None
    points = np.concatenate([ring.position[:, layer] for ring in rings])
    owner = np.repeat(np.arange(len(rings)), [len(ring.drawn) for ring in rings])
    bad = _near_crossings(points, owner) | np.array(turned)[owner]
    bodies = shapely.make_valid(shapely.polygons(lines))
    spots = shapely.points(points)
    for place, body in enumerate(bodies):
        inside = np.asarray(shapely.contains(body, spots))
        bad |= (owner != place) & (inside if place else ~inside)
    if not bad.any():
        bad[:] = True
    return [bad[owner == place] for place in range(len(rings))]


def _turned(ring: Ring, layer: int) -> bool:
    """Whether a wall runs against its drawn wall, as that of an opening closed beyond its middle does."""
    drawn, cut = (np.roll(line, -1, axis=0) - line for line in (ring.drawn, ring.position[:, layer]))
    return bool((drawn * cut).sum() <= 0.0)


def _near_crossings(points: FloatArray, owner: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Columns beside a segment that meets another than its neighbours."""
    import shapely  # noqa: PLC0415

    count = points.shape[0]
    first = np.searchsorted(owner, owner, side="left")
    last = np.searchsorted(owner, owner, side="right") - 1
    place = np.arange(count)
    after = np.where(place == last, first, place + 1)
    segments = shapely.linestrings(np.stack((points, points[after]), axis=1))
    tree = shapely.STRtree(segments)
    one, other = tree.query(segments, predicate="intersects")
    meet = (one < other) & (after[one] != other) & (after[other] != one)
    bad = np.zeros(count, dtype=bool)
    hit = np.unique(np.concatenate((one[meet], other[meet])))
    bad[hit] = True
    bad[after[hit]] = True
    if hit.size:
        from scipy.spatial import cKDTree  # noqa: PLC0415

        off, _ = cKDTree(points[bad]).query(points, distance_upper_bound=BESIDE)
        bad |= np.isfinite(off)
    return bad


def _area(points: FloatArray) -> float:
    """Signed area of a closed polygon: positive counter-clockwise. [m^2]"""
    x, y = (points - points[0]).T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2.0)
