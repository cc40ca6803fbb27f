"""How upright and how straight one edge came out, and where it stands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.faces import FloatArray, at_depth, face_of, interpolated, rows_of
from trialcut.ascut.gauge.fits import minimum_zone_line
from trialcut.ascut.gauge.missing import where_there_is_a_wall
from trialcut.ascut.gauge.reading import GG, PERPENDICULARITY, SHOP, STRAIGHTNESS, GaugeReading, as_value
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError


@where_there_is_a_wall
def light_gap(
    field: DeviationField,
    edge: str,
    *,
    place: float | None = None,
    trim: float = 0.0,
    keep_off: float = 0.0,
) -> GaugeReading:
    """Squareness with a square laid on the top face: the widest light under its knife edge.

    The blade hangs down square to the top face and is pushed against the wall until it touches. The gap is
    widest where the wall stands back most.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edge : str
        Id, of a straight or a curved edge.
    place : float, optional
        Fraction of the edge's length where the blade stands; the worst of all samples unless given. [-]
    trim : float
        Depth left out under the top face and above the bottom face. [m]
    keep_off : float
        Length left out at each end of the edge, where no place is given. [m]

    Returns
    -------
    GaugeReading
        Between the proudest and the lowest point of the wall over the depth, square to the edge.
        With a trim it is the distance of two parallel lines, square to the plate, that hold the profile: what
        the perpendicularity of a cut face means in ISO 9013 (from memory; for jet cuts only by agreement).

    Raises
    ------
    RangeError
        If the trim leaves no depth, or the field has a single layer.
    """
    depths, profile, rows, lift = _profiles(field, edge, trim, keep_off)
    if place is not None:
        profile = _profile_at(field, edge, place, trim)[None]
        rows = rows[:1]
    high, low = profile.max(axis=1), profile.min(axis=1)
    gap = high - low
    worst = np.argmax(gap, axis=0)
    value = np.take_along_axis(gap, np.asarray(worst)[None], 0)[0]
    touched, note = np.empty((0, 2)), f"at {len(gap)} places along the edge"
    if gap.ndim == 1:
        at = int(worst)
        rest, light = int(np.argmax(profile[at])), int(np.argmin(profile[at]))
        where = float(field.fraction[rows[at]]) if place is None else place
        if place is None:
            height = float(profile[at, rest] / lift[at])
            touched = (field.point[rows[at]] + height * field.normal[rows[at]])[None]
        note = (
            f"at {100.0 * where:.0f} % of the edge the blade rests at {100.0 * depths[rest]:.0f} % of the "
            f"depth and the light is widest at {100.0 * depths[light]:.0f} %"
        )
    return GaugeReading(
        value=as_value(value),
        kind="square on the top face",
        on=(edge,),
        depth=None,
        touched=touched,
        standard=SHOP if trim == 0.0 else "ISO 9013 perpendicularity, by agreement (from memory)",
        note=note,
    )


@where_there_is_a_wall
def perpendicularity(field: DeviationField, edge: str, *, keep_off: float = 0.0) -> GaugeReading:
    """Width of the perpendicularity zone of a straight edge's face.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edge : str
        Id of a straight edge.
    keep_off : float
        Length left out at each end of the edge. [m]

    Returns
    -------
    GaugeReading
        Least distance of two parallel planes, square to the top face, that hold the whole wall. It takes in
        how far the wall is out of straight along the edge.

    Raises
    ------
    RangeError
        If the edge bends.
    """
    face = face_of(field, edge, keep_off=keep_off)
    normal = face.straight_normal()
    along = np.array((-normal[1], normal[0]))
    rows = rows_of(field, edge, keep_off=keep_off)
    walls = _walls(field, rows)
    zones = [minimum_zone_line(points, along=along) for points in walls]
    return _zone_reading(
        field,
        edge,
        values=np.array([zone.width for zone in zones]),
        touched=walls[0][zones[0].touched],
        depth=None,
        kind="perpendicularity zone",
        standard=PERPENDICULARITY,
        note="two planes square to the top face, over the whole wall",
    )


@where_there_is_a_wall
def straightness(
    field: DeviationField, edge: str, *, depth: float | None, keep_off: float = 0.0
) -> GaugeReading:
    """Straightness of a straight edge at one depth.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edge : str
        Id of a straight edge.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    keep_off : float
        Length left out at each end of the edge. [m]

    Returns
    -------
    GaugeReading
        Least distance of two parallel lines that hold the wall.

    Raises
    ------
    RangeError
        If the edge bends.
    """
    face = face_of(field, edge, depth=depth, keep_off=keep_off)
    normal = face.straight_normal()
    along = np.array((-normal[1], normal[0]))
    walls = face.wall if face.draws else face.wall[None]
    zones = [minimum_zone_line(points, along=along) for points in walls]
    return _zone_reading(
        field,
        edge,
        values=np.array([zone.width for zone in zones]),
        touched=walls[0][zones[0].touched],
        depth=depth,
        kind="straightness zone",
        standard=STRAIGHTNESS,
        note="two parallel lines at this depth",
    )


@where_there_is_a_wall
def edge_position(
    field: DeviationField, edge: str, *, depth: float | None, keep_off: float = 0.0
) -> GaugeReading:
    """Mean distance of an edge's wall from the drawn edge, positive where material stands proud.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edge : str
        Id.
    depth : float or None
        Fraction of the thickness; None takes the proudest height of all layers. [-]
    keep_off : float
        Length left out at each end of the edge. [m]

    Returns
    -------
    GaugeReading
        Mean over the length, as a coordinate machine that scans the edge gives it in the drawing's frame.
    """
    face = face_of(field, edge, depth=depth, keep_off=keep_off)
    weights = face.spacing / face.spacing.sum()
    square = face.height.T * face.lift
    return GaugeReading(
        value=as_value(square @ weights),
        kind="position of an edge",
        on=(edge,),
        depth=depth,
        touched=np.empty((0, 2)),
        standard=GG,
        note="mean over the length, drawing as datum",
    )


def _profiles(
    field: DeviationField, edge: str, trim: float, keep_off: float
) -> tuple[FloatArray, FloatArray, NDArray[np.int64], FloatArray]:
    """Depths that count, heights there square to the edge, shape (m, K) or (m, K, D), rows and cosines."""
    share = trim / field.thickness
    top, bottom = max(float(field.depth[0]), share), min(float(field.depth[-1]), 1.0 - share)
    if not bottom > top:
        raise RangeError(
            f"a trim of {1e3 * trim:.3g} mm at each face leaves nothing of {1e3 * field.thickness:.3g} mm in "
            f"{len(field.depth)} layers: trim less, or forecast more layers",
            code="gauge",
            trim=trim,
        )
    face = face_of(field, edge, keep_off=keep_off)
    rows = rows_of(field, edge, keep_off=keep_off)
    profile = field.deviation[rows]
    lift = face.lift
    profile = profile * lift.reshape(-1, *(1,) * (profile.ndim - 1))
    inner = (field.depth > top) & (field.depth < bottom)
    depths = np.concatenate(([top], field.depth[inner], [bottom]))
    ends = [at_depth(field, profile, depth)[:, None] for depth in (top, bottom)]
    return depths, np.concatenate((ends[0], profile[:, inner], ends[1]), axis=1), rows, lift


def _profile_at(field: DeviationField, edge: str, place: float, trim: float) -> FloatArray:
    _, profile, rows, _ = _profiles(field, edge, trim, 0.0)
    return np.asarray(interpolated(field.fraction[rows], profile, np.array([place]))[0])


def _walls(field: DeviationField, rows: NDArray[np.int64]) -> list[FloatArray]:
    """Both ends of the wall along each ray in plan, one array of shape (2 m, 2) for each draw. [m]

    All depths of a ray lie on a line between them, so no hull needs the others.
    """
    profile = field.deviation[rows]
    ends = np.concatenate((profile.min(axis=1), profile.max(axis=1)))
    ends = ends[:, None] if ends.ndim == 1 else ends
    point, normal = np.tile(field.point[rows], (2, 1)), np.tile(field.normal[rows], (2, 1))
    return [point + ends[:, draw, None] * normal for draw in range(ends.shape[1])]


def _zone_reading(
    field: DeviationField,
    edge: str,
    *,
    values: FloatArray,
    touched: FloatArray,
    depth: float | None,
    kind: str,
    standard: str,
    note: str,
) -> GaugeReading:
    draws = field.deviation.ndim == 3
    return GaugeReading(
        value=values if draws else float(values[0]),
        kind=kind,
        on=(edge,),
        depth=depth,
        touched=np.empty((0, 2)) if draws else touched,
        standard=standard,
        note=note,
    )
