"""Round and closed contours: pins, bore gauges, rings, calipers, fitted diameters, roundness and position."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.circles import FittedCircle, least_squares_circle, minimum_circumscribed_circle
from trialcut.ascut.gauge.faces import STRAIGHT_WITHIN, FloatArray, rows_of
from trialcut.ascut.gauge.fits import convex_hull, minimum_zone_line
from trialcut.ascut.gauge.inscribed import maximum_inscribed_circle, minimum_zone_circles
from trialcut.ascut.gauge.missing import where_there_is_a_wall
from trialcut.ascut.gauge.reading import GG, GN, GX, LP, POSITION, ROUNDNESS, SHOP, GaugeReading
from trialcut.ascut.gauge.rings import Ring, ring_of
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError


@where_there_is_a_wall
def pin(field: DeviationField, edges: Sequence[str], *, depth: float | None) -> GaugeReading:
    """Largest pin that enters an opening.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edges : sequence of str
        Ids of all edges of the opening, in the order of travel.
    depth : float or None
        Fraction of the thickness; None for a straight pin, upright, through the whole plate. [-]

    Returns
    -------
    GaugeReading
        Diameter of the largest circle that the wall leaves free: at that depth, or at every layer at once.

    Raises
    ------
    RangeError
        If the edges bound material.

    Notes
    -----
    The circle keeps off the samples of the wall, and on straight edges off the chords between them. Where it
    rests on a curved wall between two samples it is too large by a part of how far the wall bends away from
    its chord there.
    """
    ring = _opening(field, edges, depth, "pin")
    layers = ring.walls[:, :, None]
    if depth is None:
        rows = np.concatenate([rows_of(field, edge) for edge in edges])
        every = field.deviation[rows]
        every = every[..., None] if every.ndim == 2 else every
        walls = field.point[rows][:, None, None] + every[..., None] * field.normal[rows][:, None, None]
        layers = np.moveaxis(walls, 2, 0)
    stacks = [wall.reshape(-1, 2) for wall in layers]
    circles = [
        maximum_inscribed_circle(
            wall.reshape(-1, 2),
            outline=outline,
            chords=(wall[ring.chords].reshape(-1, 2), wall[ring.chords + 1].reshape(-1, 2)),
        )
        for wall, outline in zip(layers, ring.walls, strict=True)
    ]
    return _diameter_reading(
        ring,
        circles,
        stacks,
        depth=depth,
        kind="pin",
        standard=GX,
        note="largest straight pin, upright" if depth is None else "largest pin at this depth",
    )


@where_there_is_a_wall
def least_squares_diameter(
    field: DeviationField, edges: Sequence[str], *, depth: float | None
) -> GaugeReading:
    """Diameter of the least-squares circle of a closed contour; arguments as `pin`, of opening or outline."""
    ring = ring_of(field, edges, depth=depth)
    fitted = least_squares_circle(ring.walls, weights=ring.weights)
    return GaugeReading(
        value=2.0 * fitted.radius if ring.draws else 2.0 * float(fitted.radius[0]),
        kind="least-squares diameter",
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)),
        standard=GG,
        note="all round, weighted by length",
    )


@where_there_is_a_wall
def circumscribed_diameter(
    field: DeviationField, edges: Sequence[str], *, depth: float | None
) -> GaugeReading:
    """Diameter of the smallest circle round a closed contour; arguments as `pin`, of opening or outline.

    Of a round outline that is the smallest ring that goes over it.
    """
    ring = ring_of(field, edges, depth=depth)
    circles = [minimum_circumscribed_circle(points) for points in ring.walls]
    return _diameter_reading(
        ring,
        circles,
        list(ring.walls),
        depth=depth,
        kind="circumscribed diameter" if ring.inside_out else "ring gauge",
        standard=GN,
        note="smallest circle that holds the wall",
    )


@where_there_is_a_wall
def bore_gauge(
    field: DeviationField, edges: Sequence[str], *, depth: float | None, largest: bool
) -> GaugeReading:
    """Largest or least diameter of a two-point bore gauge turned in an opening.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edges : sequence of str
        Ids of all edges of the opening, in the order of travel.
    depth : float or None
        Fraction of the thickness; None takes at each sample the proudest height of all layers. [-]
    largest : bool
        The largest over all directions, or the least.

    Returns
    -------
    GaugeReading
        Between opposite points through the centre of the least-squares circle.

    Raises
    ------
    RangeError
        If the edges bound material.
    """
    ring = _opening(field, edges, depth, "bore gauge")
    centres = least_squares_circle(ring.walls, weights=ring.weights).centre
    found = [_across(points, centre, largest) for points, centre in zip(ring.walls, centres, strict=True)]
    return GaugeReading(
        value=np.array([size for size, _ in found]) if ring.draws else found[0][0],
        kind=f"two-point bore gauge, {'largest' if largest else 'least'}",
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)) if ring.draws else found[0][1],
        standard=f"{LP}, {'SX' if largest else 'SN'}",
        note=f"of {len(ring.drawn)} directions through the least-squares centre",
    )


@where_there_is_a_wall
def round_caliper(
    field: DeviationField, edges: Sequence[str], *, depth: float | None, largest: bool
) -> GaugeReading:
    """Largest or least size of a closed outline between long parallel jaws in any direction.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edges : sequence of str
        Ids of all edges of the outline, in the order of travel.
    depth : float or None
        Fraction of the thickness; None takes at each sample the proudest height of all layers. [-]
    largest : bool
        The largest over all directions, or the least.

    Returns
    -------
    GaugeReading
        Exact: the least lies square to a side of the convex hull, the largest between two of its corners.

    Raises
    ------
    RangeError
        If the edges bound a void.
    """
    ring = ring_of(field, edges, depth=depth)
    if ring.inside_out:
        raise RangeError(
            f"{'-'.join(edges)} is an opening, which no outside jaws reach: use a pin or a bore gauge",
            code="gauge",
            edges=tuple(edges),
        )
    find: Callable[[FloatArray], tuple[float, FloatArray]] = _farthest if largest else _narrowest
    found = [find(points) for points in ring.walls]
    return GaugeReading(
        value=np.array([size for size, _ in found]) if ring.draws else found[0][0],
        kind=f"caliper, {'largest' if largest else 'least'}",
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)) if ring.draws else found[0][1],
        standard=SHOP,
        note="long parallel jaws, turned all round",
    )


@where_there_is_a_wall
def roundness(field: DeviationField, edges: Sequence[str], *, depth: float | None) -> GaugeReading:
    """Roundness of a closed contour at one depth; arguments as `pin`, of opening or outline.

    The difference in radius of two concentric circles of least difference that hold the wall between them.
    """
    ring = ring_of(field, edges, depth=depth)
    zones = [minimum_zone_circles(points) for points in ring.walls]
    return GaugeReading(
        value=np.array([zone.width for zone in zones]) if ring.draws else zones[0].width,
        kind="roundness zone",
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)) if ring.draws else ring.walls[0][zones[0].touched],
        standard=ROUNDNESS,
        note="two concentric circles at this depth",
    )


@where_there_is_a_wall
def position(field: DeviationField, edges: Sequence[str], *, depth: float | None) -> GaugeReading:
    """Distance of a contour's centre from where it is drawn.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edges : sequence of str
        Ids of all edges of the contour, in the order of travel.
    depth : float or None
        Fraction of the thickness; None takes at each sample the proudest height of all layers. [-]

    Returns
    -------
    GaugeReading
        Of a round contour the centre of the least-squares circle, of any other the centroid of its area.
    """
    ring = ring_of(field, edges, depth=depth)
    shift = _centres(ring) - _drawn_centre(ring)
    value = np.hypot(shift[:, 0], shift[:, 1])
    return GaugeReading(
        value=value if ring.draws else float(value[0]),
        kind="position of a contour",
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)),
        standard=POSITION,
        note=(
            "centre against the drawing"
            if ring.draws
            else f"centre off by {1e6 * shift[0, 0]:.1f} µm in x and {1e6 * shift[0, 1]:.1f} µm in y"
        ),
    )


@where_there_is_a_wall
def axis_lean(field: DeviationField, edges: Sequence[str]) -> GaugeReading:
    """Perpendicularity of the axis of a round contour to the top face.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edges : sequence of str
        Ids of all edges of the contour, in the order of travel.

    Returns
    -------
    GaugeReading
        Diameter of the smallest upright cylinder that holds the centres of all layers.
    """
    rings = [ring_of(field, edges, depth=float(depth)) for depth in field.depth]
    centres = np.stack([_centres(ring) for ring in rings], axis=1)
    circles = [minimum_circumscribed_circle(points) for points in centres]
    value = np.array([2.0 * float(circle.radius) for circle in circles])
    return GaugeReading(
        value=value if rings[0].draws else float(value[0]),
        kind="perpendicularity of the axis",
        on=tuple(edges),
        depth=None,
        touched=np.empty((0, 2)),
        standard="ISO 1101 perpendicularity of an axis, cylindrical zone (from memory)",
        note="centres of the layers in an upright cylinder",
    )


def _opening(field: DeviationField, edges: Sequence[str], depth: float | None, gauge: str) -> Ring:
    ring = ring_of(field, edges, depth=depth)
    if not ring.inside_out:
        raise RangeError(
            f"{'-'.join(edges)} bounds material, which no {gauge} enters: use a caliper or a ring gauge",
            code="gauge",
            edges=tuple(edges),
        )
    return ring


def _diameter_reading(
    ring: Ring,
    circles: Sequence[FittedCircle],
    stacks: Sequence[FloatArray],
    *,
    depth: float | None,
    kind: str,
    standard: str,
    note: str,
) -> GaugeReading:
    return GaugeReading(
        value=(
            np.array([2.0 * float(circle.radius) for circle in circles])
            if ring.draws
            else 2.0 * float(circles[0].radius)
        ),
        kind=kind,
        on=ring.edges,
        depth=depth,
        touched=np.empty((0, 2)) if ring.draws else stacks[0][circles[0].touched],
        standard=standard,
        note=note,
    )


def _across(points: FloatArray, centre: FloatArray, largest: bool) -> tuple[float, FloatArray]:
    """Largest or least distance of opposite points through a centre, and the two points."""
    off = points - centre
    angle, radius = np.arctan2(off[:, 1], off[:, 0]), np.hypot(off[:, 0], off[:, 1])
    order = np.argsort(angle)
    opposite = np.interp(angle + np.pi, angle[order], radius[order], period=2.0 * np.pi)
    sizes = radius + opposite
    at = int(np.argmax(sizes) if largest else np.argmin(sizes))
    toward = off[at] / radius[at]
    return float(sizes[at]), np.stack((points[at], centre - opposite[at] * toward))


def _narrowest(points: FloatArray) -> tuple[float, FloatArray]:
    zone = minimum_zone_line(points)
    return zone.width, points[zone.touched]


def _farthest(points: FloatArray) -> tuple[float, FloatArray]:
    hull = points[convex_hull(points)]
    apart = np.hypot(*np.moveaxis(hull[:, None] - hull[None], -1, 0))
    i, j = np.unravel_index(int(np.argmax(apart)), apart.shape)
    return float(apart[i, j]), hull[[i, j]]


def _centres(ring: Ring) -> FloatArray:
    if _is_round(ring):
        return least_squares_circle(ring.walls, weights=ring.weights).centre
    return np.array([_centroid(points) for points in ring.walls])


def _drawn_centre(ring: Ring) -> FloatArray:
    if _is_round(ring):
        return least_squares_circle(ring.drawn, weights=ring.weights).centre
    return _centroid(ring.drawn)


def _is_round(ring: Ring) -> bool:
    fitted = least_squares_circle(ring.drawn, weights=ring.weights)
    off = ring.drawn - fitted.centre
    return float(np.abs(np.hypot(off[:, 0], off[:, 1]) - fitted.radius).max()) <= STRAIGHT_WITHIN


def _centroid(points: FloatArray) -> NDArray[np.float64]:
    """Centroid of the area of a closed polygon. [m]"""
    start = points[0]
    here = points - start
    there = np.roll(here, -1, axis=0)
    cross = here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0]
    return np.asarray(start + (here + there).T @ cross / (3.0 * cross.sum()))
