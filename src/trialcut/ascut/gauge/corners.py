"""The round that the jet leaves in an inside corner, radii of arcs, and what stands or lacks at a corner."""

from __future__ import annotations

from math import degrees, sin, tan

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.gauge.circles import least_squares_circle
from trialcut.ascut.gauge.faces import Face, FloatArray, face_of
from trialcut.ascut.gauge.fits import FittedLine, least_squares_line
from trialcut.ascut.gauge.missing import where_there_is_a_wall
from trialcut.ascut.gauge.reading import GG, SHOP, GaugeReading, as_value
from trialcut.ascut.types import DeviationField
from trialcut.errors import ComputationError, RangeError

Flags = NDArray[np.bool_]

_ROUNDS = 4
_MEETS_WITHIN = 1.0e-6
_KEPT_ARC = 0.95


@where_there_is_a_wall
def corner_radius(
    field: DeviationField, before: str, after: str, *, depth: float, reach: float = 3.0e-3
) -> GaugeReading:
    """Radius left in an inside corner between two straight edges.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    before, after : str
        Ids of the edge that ends at the corner and of the edge that starts there.
    depth : float
        Fraction of the thickness. [-]
    reach : float
        Length from the corner, at most a third of each edge, within which the round is looked for; the middle
        of each edge gives the line that the round runs into. [m]

    Returns
    -------
    GaugeReading
        Radius of the least-squares circle through the wall between the two places where it leaves the lines.
        Zero for a corner that is as sharp as its samples show.

    Raises
    ------
    RangeError
        If the edges do not meet there, bend, or make an outside corner.
    """
    faces = (
        face_of(field, before, depth=depth),
        face_of(field, after, depth=depth),
    )
    angle = _void_angle(*faces)
    sides = [face.wall if face.draws else face.wall[None] for face in faces]
    found = [_round(faces, (one, other), angle, reach) for one, other in zip(*sides, strict=True)]
    return GaugeReading(
        value=np.array([radius for radius, _ in found]) if faces[0].draws else found[0][0],
        kind="corner radius",
        on=(before, after),
        depth=depth,
        touched=np.empty((0, 2)) if faces[0].draws else found[0][1],
        standard=GG,
        note=f"least-squares circle of the wall in a corner of {degrees(angle):.1f} deg",
    )


@where_there_is_a_wall
def arc_radius(
    field: DeviationField, edge: str, *, depth: float | None, keep_off: float = 0.0
) -> GaugeReading:
    """Radius of the least-squares circle of an arc.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    edge : str
        Id of a curved edge.
    depth : float or None
        Fraction of the thickness; None takes at each sample the proudest height of all layers. [-]
    keep_off : float
        Length left out at each end of the edge. [m]

    Returns
    -------
    GaugeReading
        Short arcs tell their radius badly; the note says how far the arc turns.

    Raises
    ------
    ComputationError
        If the edge does not bend.
    """
    face = face_of(field, edge, depth=depth, keep_off=keep_off)
    fitted = least_squares_circle(face.wall, weights=face.spacing)
    off = face.point - (fitted.centre[0] if face.draws else fitted.centre)
    swept = np.ptp(np.unwrap(np.arctan2(off[:, 1], off[:, 0])))
    return GaugeReading(
        value=np.asarray(fitted.radius) if face.draws else float(fitted.radius),
        kind="least-squares radius",
        on=(edge,),
        depth=depth,
        touched=np.empty((0, 2)),
        standard=GG,
        note=f"of an arc that turns {degrees(swept):.0f} deg",
    )


@where_there_is_a_wall
def corner_error(
    field: DeviationField, before: str, after: str, *, depth: float, reach: float = 3.0e-3
) -> GaugeReading:
    """Largest departure of the wall near a corner from where its edges would meet.

    Parameters
    ----------
    field : DeviationField
        The as-cut part; with draws, one value for each.
    before, after : str
        Ids of the edge that ends at the corner and of the edge that starts there.
    depth : float
        Fraction of the thickness. [-]
    reach : float
        Length along each edge from the corner, at most a third of the edge, that counts as near. [m]

    Returns
    -------
    GaugeReading
        Largest distance, along the rays, of the wall near the corner from the edge's own line: the drawn edge
        moved by the mean height of its middle. In an inside corner that takes in the round of the jet.
    """
    faces = (face_of(field, before, depth=depth), face_of(field, after, depth=depth))
    offs, points = [], []
    for face, from_end in zip(faces, (True, False), strict=True):
        near, middle = _near_and_middle(face, from_end=from_end, reach=reach)
        weights = face.spacing * middle
        weights = weights if weights.any() else face.spacing
        lift = face.lift.reshape(-1, *(1,) * (face.height.ndim - 1))
        level = (weights / weights.sum()) @ (face.height * lift)
        offs.append((face.height - level / lift)[near])
        points.append(face.wall[near] if not face.draws else face.point[near])
    off = np.concatenate(offs)
    worst = np.argmax(np.abs(off), axis=0)
    note = f"largest departure within {1e3 * reach:.3g} mm of the corner, against the middle of each edge"
    if not faces[0].draws:
        note += ", where material is left" if off[worst] > 0.0 else ", where material is cut away"
    return GaugeReading(
        value=as_value(np.abs(off).max(axis=0)),
        kind="corner error",
        on=(before, after),
        depth=depth,
        touched=np.empty((0, 2)) if faces[0].draws else np.concatenate(points)[[int(worst)]],
        standard=SHOP,
        note=note,
    )


def _near_and_middle(face: Face, *, from_end: bool, reach: float) -> tuple[Flags, Flags]:
    """Which samples of a face lie within reach of its end, or of its start, and which of neither.

    The reach is cut to a third of the edge, so that a middle is left.
    """
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(face.point, axis=0).T))))
    back = along[-1] - along
    limit = min(reach, along[-1] / 3.0)
    near = (back if from_end else along) <= limit
    return np.asarray(near), np.asarray((along > limit) & (back > limit))


def _void_angle(before: Face, after: Face) -> float:
    """Angle of the void in an inside corner, between zero and a half turn. [rad]"""
    if float(np.hypot(*(before.point[-1] - after.point[0]))) > _MEETS_WITHIN:
        raise RangeError(
            f"edge {before.edge} does not end where {after.edge} starts: name two edges that meet",
            code="gauge",
            edges=(before.edge, after.edge),
        )
    one, other = before.straight_normal(), after.straight_normal()
    turn = float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))
    if turn >= 0.0:
        raise RangeError(
            f"{before.edge}-{after.edge} is an outside corner and keeps no round: measure its corner error",
            code="gauge",
            edges=(before.edge, after.edge),
        )
    return float(np.pi + turn)


def _round(
    faces: tuple[Face, Face], walls: tuple[FloatArray, FloatArray], angle: float, reach: float
) -> tuple[float, FloatArray]:
    """Radius of the round between two walls, and the points it was fitted to."""
    parts = [
        _near_and_middle(face, from_end=end, reach=reach)
        for face, end in zip(faces, (True, False), strict=True)
    ]
    lines = [_line(face, wall, middle) for face, wall, (_, middle) in zip(faces, walls, parts, strict=True)]
    apex = _crossing(*lines)
    points = np.concatenate([wall[near] for wall, (near, _) in zip(walls, parts, strict=True)])
    # A round of radius r leaves the corner by r (1 / sin(angle/2) - 1), and each line at r / tan(angle/2).
    away = np.hypot(*(points - apex).T)
    radius = float(away.min()) / (1.0 / sin(0.5 * angle) - 1.0)
    used = points[:0]
    for _ in range(_ROUNDS):
        within = away <= _KEPT_ARC * radius / tan(0.5 * angle)
        if within.sum() < 4:
            break
        used = points[within]
        try:
            fitted = least_squares_circle(used)
        except ComputationError:
            return 0.0, used
        radius = float(fitted.radius)
    return (radius, used) if len(used) else (0.0, points[:0])


def _line(face: Face, wall: FloatArray, middle: Flags) -> FittedLine:
    if middle.sum() < 2:
        normal = face.straight_normal()
        height = face.height_at(0.5)
        centre = 0.5 * (face.point[0] + face.point[-1]) + normal * float(np.mean(height))
        return FittedLine(point=centre, direction=np.array((-normal[1], normal[0])))
    return least_squares_line(wall[middle])


def _crossing(one: FittedLine, other: FittedLine) -> FloatArray:
    d, e = one.direction, other.direction
    off = other.point - one.point
    share = (off[0] * e[1] - off[1] * e[0]) / (d[0] * e[1] - d[1] * e[0])
    apex: FloatArray = one.point + share * d
    return apex
