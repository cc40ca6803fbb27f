"""Sizes across two straight edges: caliper, two-point, least squares."""

from __future__ import annotations

from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.faces import FloatArray, interpolated, rows_of
from trialcut.ascut.gauge.fits import parallel_lines
from trialcut.ascut.gauge.frames import Facing, facing, stretch, trapezoid
from trialcut.ascut.gauge.jaws import seat
from trialcut.ascut.gauge.missing import where_needed, where_there_is_a_wall
from trialcut.ascut.gauge.reading import GG, GN, GX, LP, SHOP, GaugeReading, as_value
from trialcut.ascut.types import DeviationField

JAW_WIDTH = 6.0e-3
"""Width of the flat of a caliper's jaw; common practice, no source. [m]"""

ROCK = tan(radians(5.0))
"""Largest slope at which jaws are let seat against the drawn edge. [-]"""


def _rows_under_jaws(
    field: DeviationField,
    one: str,
    other: str,
    *,
    depth: float | None,
    jaw_width: float | None = JAW_WIDTH,
    place: float = 0.5,
    keep_off: float = 0.0,
) -> NDArray[np.int64]:
    """Samples of both edges under the jaws, and the next on either side, from which their ends are drawn."""
    pair = facing(field, one, other, depth=depth, keep_off=keep_off)
    low, high = pair.window(place, jaw_width)
    found = []
    for face in pair.faces:
        x = face.point @ pair.along
        order = np.argsort(x, kind="stable")
        first = max(int(np.searchsorted(x[order], low)) - 1, 0)
        last = int(np.searchsorted(x[order], high, side="right"))
        found.append(rows_of(field, face.edge, keep_off=keep_off)[order[first : last + 1]])
    return np.concatenate(found)


@where_needed(_rows_under_jaws)
def caliper(
    field: DeviationField,
    one: str,
    other: str,
    *,
    depth: float | None,
    jaw_width: float | None = JAW_WIDTH,
    place: float = 0.5,
    keep_off: float = 0.0,
) -> GaugeReading:
    """Size across two parallel straight edges between flat jaws that seat on the high points.

    Outside jaws close on material, inside jaws open in a void: which of them, the edges tell.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    one, other : str
        Ids of the edges.
    depth : float or None
        Fraction of the thickness at which the jaws' edge touches; None for jaws that span the plate and stay
        square to the top face. [-]
    jaw_width : float or None
        Flat of the jaws along the edges; None for jaws that reach over all of the edges' overlap. [m]
    place : float
        Where on the overlap the jaws stand: 0 at its start, 1 at its end, along the first edge. [-]
    keep_off : float
        Length at each end of the edges that the jaws stay away from. [m]

    Returns
    -------
    GaugeReading
        The gap, square to the first edge as drawn.

    Raises
    ------
    RangeError
        If an edge bends, the two are not parallel within 2 degrees, or nowhere opposite.

    Notes
    -----
    The jaws rock until they seat: closed from outside that is the narrowest gap, opened from inside the
    widest. Over the whole overlap these are GN and GX of ISO 14405-1 for two opposite planes cut at that
    depth (from memory).
    """
    pair = facing(field, one, other, depth=depth, keep_off=keep_off)
    low, high = pair.window(place, jaw_width)
    first, second = (stretch(x, y, low, high) for x, y in (pair.first, pair.second))
    seated = seat(first, second, rock=ROCK)
    outside = pair.side > 0.0
    return GaugeReading(
        value=as_value(pair.side * seated.gap),
        kind="caliper, outside" if outside else "caliper, inside",
        on=(one, other),
        depth=depth,
        touched=_touched(pair, ((first, seated.first), (second, seated.second))),
        standard=SHOP if (low, high) != pair.overlap else GN if outside else GX,
        note=(
            f"jaws over {1e3 * (high - low):.3g} mm of the edges, seated on the high points"
            + ("" if depth is not None else " of the whole thickness")
        ),
    )


def two_point_sizes(
    field: DeviationField, one: str, other: str, *, depth: float | None, keep_off: float = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Local sizes along two parallel straight edges, square to the first as drawn.

    Parameters
    ----------
    field : DeviationField
        The as-cut part.
    one, other : str
        Ids of the edges.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    keep_off : float
        Length left out at each end of the edges. [m]

    Returns
    -------
    tuple of ndarray
        Places along the first edge from its first sample, shape (K,); sizes there, shape (K,) or (K, D). [m]
    """
    pair = facing(field, one, other, depth=depth, keep_off=keep_off)
    places, sizes, _, _ = _local_sizes(pair)
    return places - places[0], sizes


@where_there_is_a_wall
def two_point(
    field: DeviationField,
    one: str,
    other: str,
    *,
    depth: float | None,
    largest: bool,
    keep_off: float = 0.0,
) -> GaugeReading:
    """Largest or least two-point size across two parallel straight edges.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    one, other : str
        Ids of the edges.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    largest : bool
        The largest of the local sizes, or the least.
    keep_off : float
        Length left out at each end of the edges. [m]

    Returns
    -------
    GaugeReading
        SX or SN of the local sizes in the words of ISO 14405-1 (from memory).
    """
    pair = facing(field, one, other, depth=depth, keep_off=keep_off)
    places, sizes, above, below = _local_sizes(pair)
    rank = np.argmax(sizes, axis=0) if largest else np.argmin(sizes, axis=0)
    value = np.take_along_axis(sizes, np.asarray(rank)[None, ...], 0)[0]
    touched = np.empty((0, 2))
    if sizes.ndim == 1:
        at = int(rank)
        touched = np.stack((pair.point(places[at], above[at]), pair.point(places[at], below[at])))
    return GaugeReading(
        value=as_value(value),
        kind=f"two-point, {'largest' if largest else 'least'}",
        on=(one, other),
        depth=depth,
        touched=touched,
        standard=f"{LP}, {'SX' if largest else 'SN'}",
        note=f"of {len(places)} places along the edges",
    )


@where_there_is_a_wall
def least_squares_width(
    field: DeviationField, one: str, other: str, *, depth: float | None, keep_off: float = 0.0
) -> GaugeReading:
    """Distance of the least-squares pair of parallel lines through two faces.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    one, other : str
        Ids of the edges.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    keep_off : float
        Length left out at each end of the edges. [m]

    Returns
    -------
    GaugeReading
        Over the overlap of the two, each weighted by length.
    """
    pair = facing(field, one, other, depth=depth, keep_off=keep_off)
    ends = [stretch(x, y, *pair.overlap) for x, y in (pair.first, pair.second)]
    points = [np.stack((np.broadcast_to(x, y.shape), y), axis=-1) for x, y in ends]
    weights = [trapezoid(x) for x, _ in ends]
    distance, _ = parallel_lines(points[0], points[1], one_weights=weights[0], other_weights=weights[1])
    return GaugeReading(
        value=as_value(distance),
        kind="least-squares size",
        on=(one, other),
        depth=depth,
        touched=np.empty((0, 2)),
        standard=GG,
        note="both faces measured all along and fitted together",
    )


def _local_sizes(pair: Facing) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    low, high = pair.overlap
    x = np.union1d(pair.first[0], pair.second[0])
    x = np.concatenate(([low], x[(x > low) & (x < high)], [high])) if high > low else np.array([low])
    above, below = interpolated(*pair.first, x), interpolated(*pair.second, x)
    return x, pair.side * (above - below), above, below


def _touched(
    pair: Facing, seats: tuple[tuple[tuple[FloatArray, FloatArray], NDArray[np.int64]], ...]
) -> FloatArray:
    if any(face.draws for face in pair.faces):
        return np.empty((0, 2))
    points = [pair.point(x[k], y[k]) for (x, y), places in seats for k in dict.fromkeys(places.tolist())]
    return np.array(points)
