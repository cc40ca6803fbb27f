"""Recognising a plate: two parallel faces, what goes through between them, and what does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from trialcut.errors import DrawingError
from trialcut.geometry.assemble import assemble
from trialcut.geometry.contours import Contour, Part
from trialcut.geometry.gather import Gatherer, in_both, plural
from trialcut.geometry.importers.step_shape import (
    MM,
    Face,
    Vector,
    faces_of,
    heights_of,
    is_square,
    laid_flat,
    section,
)
from trialcut.geometry.outline import flatten_contour, polygon_of_part
from trialcut.geometry.pieces import Piece

if TYPE_CHECKING:
    import shapely

PARALLEL = 1.0e-6
"""Two faces are parallel if the sine of the angle between them is less than this. [-]"""

LEAST_SHARES = (0.1, 0.5)
"""Of a plate's area that its smaller and its larger flat side must have: our own working values. [-]"""

_ASIDE = 1.0e-4
"""Sections are taken so far within a layer, because a plane through a face cuts nothing. [mm]"""

_LAYERS = 200
_FLATTEN = 1.0e-6
_ALIKE = 5.0e-6
"""Two outlines are one if they lie within this of each other on the average. [m]"""


@dataclass(frozen=True, slots=True)
class Plate:
    """What was recognised.

    Parameters
    ----------
    pieces : list of Piece
        Of what goes through from face to face. [m]
    thickness : float
        [m]
    """

    pieces: list[Piece]
    thickness: float


def plate_of(solid: Any, name: str, notes: Gatherer) -> Plate:
    """
    The plate that a solid is.

    Parameters
    ----------
    solid
        Of the kernel.
    name : str
        Of the file, for messages.
    notes : Gatherer
        Takes a finding for everything that is not square through.

    Returns
    -------
    Plate
        Its outline and openings as the jet can cut them: the least that is open through all its depth.

    Raises
    ------
    DrawingError
        If it is no plate.
    """
    up, floor, thickness = _sides(faces_of(solid), name)
    flat = laid_flat(solid, up=up, floor=floor)
    inner = [height for height in heights_of(flat) if 4 * _ASIDE < height < thickness - 4 * _ASIDE]
    levels = [0.0, *inner, thickness]
    levels = [a for a, b in pairwise(levels) if b - a > 4 * _ASIDE] + [thickness]
    if len(levels) > _LAYERS:
        raise _no_plate(name, f"it has steps at {len(levels)} heights")
    sections = [
        _parts(section(flat, height), name)
        for low, high in pairwise(levels)
        for height in (low + _ASIDE, 0.5 * (low + high), high - _ASIDE)
    ]
    faces = faces_of(flat)
    contours = _through(sections, name)
    area = abs(_polygon(contours[0]).area) - sum(abs(_polygon(each).area) for each in contours[1:])
    shares = sorted(_side_area(faces, level, up=level > 0.0) / area for level in (0.0, thickness))
    if any(share < least for share, least in zip(shares, LEAST_SHARES, strict=True)):
        raise _no_plate(name, f"its two flat sides are {shares[0]:.0%} and {shares[1]:.0%} of it only")
    _report(faces, thickness, contours, notes)
    pieces = [
        Piece(tuple(s for edge in contour.edges for s in edge.segments), closed=True) for contour in contours
    ]
    if all(_same(part, sections[0]) for part in sections):
        pieces = section(flat, 0.5 * thickness)
    return Plate(pieces, round(thickness * MM, 9))


def _side_area(faces: Sequence[Face], level: float, *, up: bool) -> float:
    """Area of the flat faces at a level that look up or down. [m^2]"""
    side = 1.0 if up else -1.0
    return MM**2 * sum(
        face.area
        for face in faces
        if face.kind == "plane" and side * face.normal[2] > 0.5 and abs(side * face.offset - level) < _ASIDE
    )


def _sides(faces: Sequence[Face], name: str) -> tuple[Vector, float, float]:
    """Return the direction up, the height of the lower face and the thickness. [mm]"""
    best: tuple[float, Vector, float, float] | None = None
    planes = [face for face in faces if face.kind == "plane"]
    for face in sorted(planes, key=lambda each: -each.area)[:12]:
        n = face.normal
        tops: list[tuple[float, float]] = []
        bottoms: list[tuple[float, float]] = []
        for other in planes:
            along = sum(a * b for a, b in zip(n, other.normal, strict=True))
            if 1.0 - abs(along) < PARALLEL:
                (tops if along > 0.0 else bottoms).append(
                    (other.offset * (1.0 if along > 0.0 else -1.0), other.area)
                )
        if not tops or not bottoms:
            continue
        high, low = max(each for each, _ in tops), min(each for each, _ in bottoms)
        total = sum(area for _, area in (*tops, *bottoms))
        if high - low > 4 * _ASIDE and (best is None or total > best[0] * (1.0 + 1e-9)):
            best = (total, n, low, high)
    if best is None:
        raise _no_plate(name, "no two of its flat faces are parallel and face apart")
    _, n, low, high = best
    if max(n, key=abs) < 0.0:
        n, low, high = (-n[0], -n[1], -n[2]), -high, -low
    return n, low, high - low


def _parts(pieces: list[Piece], name: str) -> tuple[Part, ...]:
    parts = assemble(pieces, Gatherer())
    if not parts:
        raise _no_plate(name, "a section through it does not close")
    return parts


def _through(sections: Sequence[tuple[Part, ...]], name: str) -> list[Contour]:
    """Return outline and openings of what no section has open, each as one of the sections has it."""
    import shapely  # noqa: PLC0415

    shadow = shapely.union_all(
        [polygon_of_part(part, tolerance=_FLATTEN) for parts in sections for part in parts]
    )
    shadow = shadow.buffer(2.0 * _FLATTEN).buffer(-2.0 * _FLATTEN)
    if shadow.geom_type != "Polygon":
        raise _no_plate(name, "it falls into pieces that only touch")
    known = [contour for parts in sections for part in parts for contour in part.contours]
    shapes = [_polygon(contour) for contour in known]
    found = []
    for ring in (shadow.exterior, *shadow.interiors):
        polygon = shapely.Polygon(ring)
        if ring is not shadow.exterior and polygon.area < _ALIKE * ring.length:
            continue
        off = [shape.symmetric_difference(polygon).area for shape in shapes]
        best = min(range(len(off)), key=off.__getitem__)
        if off[best] > _ALIKE * ring.length:
            x, y = polygon.representative_point().coords[0]
            raise _no_plate(
                name,
                f"what is open through it near x {x * 1e3:.4g} y {y * 1e3:.4g} mm has no section of its own",
            )
        found.append(known[best])
    return found


def _polygon(contour: Contour) -> shapely.Polygon:
    import shapely  # noqa: PLC0415

    return shapely.Polygon(flatten_contour(contour, tolerance=_FLATTEN))


def _same(parts: tuple[Part, ...], others: tuple[Part, ...]) -> bool:
    if len(parts) != len(others):
        return False
    return all(
        len(a.openings) == len(b.openings) and abs(a.area - b.area) < _ALIKE * a.length
        for a, b in zip(parts, others, strict=True)
    )


def _report(faces: Sequence[Face], thickness: float, contours: Sequence[Contour], notes: Gatherer) -> None:
    """A finding for each kind of face that a jet square through the plate does not leave."""
    import shapely  # noqa: PLC0415

    openings = [_polygon(contour) for contour in contours[1:]]
    pockets: list[tuple[float, tuple[float, float]]] = []
    stepped: list[tuple[float, tuple[float, float]]] = []
    tapered: list[tuple[float, float]] = []
    others: list[tuple[float, float]] = []
    for face in faces:
        where = _middle(face)
        if face.kind == "plane" and abs(face.normal[2]) > 1.0 - PARALLEL:
            up = face.normal[2] > 0.0
            height = face.offset if up else -face.offset
            depth = thickness - height if up else height
            if _ASIDE < height < thickness - _ASIDE:
                around = any(shapely.Point(where).distance(each) < 1e-6 for each in openings)
                (stepped if around else pockets).append((depth * MM, where))
        elif not is_square(face):
            (tapered if face.kind == "cone" else others).append(where)
    if pockets:
        deepest, where = max(pockets)
        notes.needs_person(
            "pocket-left-out",
            f"{plural(len(pockets), 'pocket or blind hole', 'pockets and blind holes')}, up to "
            f"{in_both(deepest)} deep, not cut",
            remedy="machine them later, or leave them out of the part",
            where=where,
            count=len(pockets),
        )
    if stepped:
        deepest, where = max(stepped)
        notes.needs_person(
            "stepped-opening",
            f"{plural(len(stepped), 'opening')} wider for up to {in_both(deepest)} of the depth cut at the "
            "narrowest only",
            remedy="bore the step later",
            where=where,
            count=len(stepped),
        )
    if tapered:
        notes.needs_person(
            "tapered-wall",
            f"{plural(len(tapered), 'countersink or tapered wall', 'countersinks and tapered walls')} cut "
            "square at the least opening",
            remedy="countersink or machine later, or draw the wall square",
            where=tapered[0],
            count=len(tapered),
        )
    if others:
        notes.needs_person(
            "shaped-wall",
            f"{plural(len(others), 'face')} of threads, roundings, chamfers, slopes or cross holes cut "
            "square or left out",
            remedy="machine them later, or leave them out of the part",
            where=others[0],
            count=len(others),
        )


def _middle(face: Face) -> tuple[float, float]:
    """Centre of gravity of a face, seen from above. [m]"""
    from OCP.BRepGProp import BRepGProp  # noqa: PLC0415
    from OCP.GProp import GProp_GProps  # noqa: PLC0415

    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face.shape, properties)
    centre = properties.CentreOfMass()
    return (centre.X() * MM, centre.Y() * MM)


def _no_plate(name: str, why: str) -> DrawingError:
    return DrawingError(
        f"{name} is no flat plate: {why}; export a flat view of the part as DXF", code="not-a-plate"
    )
