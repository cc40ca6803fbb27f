"""The as-cut part as a watertight solid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from trialcut.ascut.mending import Mend, mended
from trialcut.ascut.mesh import Mesh
from trialcut.ascut.rings import Ring, rings_of
from trialcut.ascut.types import DeviationField, FloatArray, IntArray
from trialcut.errors import ComputationError
from trialcut.geometry.contours import Part
from trialcut.geometry.findings import Finding, FindingStatus

TOLERANCE = 5.0e-7
"""Columns are left out of a solid where its wall moves by less. [m]"""

FLAT = 1.0e-12
"""A triangle that is less high has its corners on one line. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """The as-cut part.

    Parameters
    ----------
    mesh : Mesh
        Its surface. The vertex of column ``i`` in layer ``l`` of a ring is the ring's first plus ``i L + l``.
    rings : tuple of Ring
        Its walls, outline first.
    depth : ndarray, shape (L,)
        Layers, as fractions of the thickness. [-]
    thickness : float
        [m]
    findings : tuple of Finding
        Where walls had to be moved to make a body.
    """

    mesh: Mesh
    rings: tuple[Ring, ...]
    depth: FloatArray
    thickness: float
    findings: tuple[Finding, ...] = ()


def as_cut_solid(
    part: Part, field: DeviationField, *, draw: int | None = None, tolerance: float = TOLERANCE
) -> Solid:
    """
    The solid that a cut leaves.

    Parameters
    ----------
    part : Part
        As drawn.
    field : DeviationField
        Its as-cut walls: layers from the top face, at zero, to the bottom face, at one.
    draw : int, optional
        Which draw, of a field of draws.
    tolerance : float
        Columns of the wall are left out where it moves by less; none at zero. [m]

    Returns
    -------
    Solid
        Watertight, all faces looking outwards.

    Raises
    ------
    RangeError
        If the field is not of this part, or has draws and none is named.
    ComputationError
        If walls cross in the drawing itself.
    """
    rings = rings_of(part, field, draw=draw)
    unknown = list(_unknown(rings, field))
    if tolerance:
        rings = tuple(ring.thinned(tolerance) for ring in rings)
    mends = mended(rings)
    if mends and tolerance:  # what was laid out anew can be thinned anew
        rings = tuple(ring.thinned(tolerance) for ring in rings)
        mends += mended(rings)
    return Solid(
        mesh=_mesh(rings, field.thickness * (1.0 - field.depth)),
        rings=rings,
        depth=field.depth,
        thickness=field.thickness,
        findings=(*unknown, *_findings(mends, field)),
    )


def _mesh(rings: tuple[Ring, ...], height: FloatArray) -> Mesh:
    layers = height.size
    vertices, faces = [], []
    first = 0
    for ring in rings:
        columns = len(ring.drawn)
        level = np.broadcast_to(height[None, :, None], (columns, layers, 1))
        vertices.append(np.concatenate((ring.position, level), axis=2).reshape(-1, 3))
        faces.append(_wall(columns, layers) + first)
        first += columns * layers
    starts = np.cumsum([0, *(len(ring.drawn) * layers for ring in rings[:-1])])
    for layer, turned in ((0, False), (layers - 1, True)):
        place = np.concatenate(
            [
                start + layer + layers * np.arange(len(ring.drawn))
                for start, ring in zip(starts, rings, strict=True)
            ]
        )
        cap = place[_cap([ring.position[:, layer] for ring in rings])]
        faces.append(cap[:, ::-1] if turned else cap)
    return Mesh(
        vertices=np.concatenate(vertices),
        faces=np.concatenate(faces).astype(np.int64),
        deviation=np.concatenate([ring.deviation.ravel() for ring in rings]),
    )


def _wall(columns: int, layers: int) -> IntArray:
    """Two triangles for each cell of a closed wall; material lies to the left of its columns' order."""
    column, layer = np.meshgrid(np.arange(columns), np.arange(layers - 1), indexing="ij")
    here = (column * layers + layer).ravel()
    beside = ((column + 1) % columns * layers + layer).ravel()
    lower = np.column_stack((here, here + 1, beside + 1))
    upper = np.column_stack((here, beside + 1, beside))
    return np.stack((lower, upper), axis=1).reshape(-1, 3)


def _cap(lines: list[FloatArray]) -> IntArray:
    """Triangles between an outline and its openings, counter-clockwise, by place in the joined points."""
    import shapely  # noqa: PLC0415

    body = shapely.polygons(lines[0], [shapely.linearrings(line) for line in lines[1:]] or None)
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(body))
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    points = np.concatenate(lines)
    keys = points.copy().view(complex).ravel()
    order = np.argsort(keys)
    found = np.searchsorted(
        keys, np.ascontiguousarray(corners).reshape(-1, 2).view(complex).ravel(), sorter=order
    )
    place = order[np.minimum(found, order.size - 1)].reshape(-1, 3)
    if len(place) != len(points) + 2 * len(lines) - 4:
        raise ComputationError(
            f"a face of {len(points)} corners could not be filled with triangles: sample the wall coarser"
        )
    return _without_flat(np.where((_turn(points, place) > 0.0)[:, None], place, place[:, ::-1]), points)


def _turn(points: FloatArray, faces: IntArray) -> FloatArray:
    """Twice the area of plane triangles, positive counter-clockwise. [m^2]"""
    first, second, third = (points[faces[:, k]] for k in range(3))
    (ax, ay), (bx, by) = (second - first).T, (third - first).T
    return np.asarray(ax * by - ay * bx)


def _without_flat(faces: IntArray, points: FloatArray) -> IntArray:
    """Give each triangle with its corners on one line the far corner of its neighbour at the longest side."""
    for _ in range(len(faces)):
        corners = points[faces]
        sides = np.linalg.norm(corners[:, [1, 2, 0]] - corners, axis=2)
        flat = np.flatnonzero(_turn(points, faces) <= FLAT * sides.max(axis=1))
        if not flat.size:
            break
        place = int(flat[sides[flat].max(axis=1).argmax()])
        longest = int(sides[place].argmax())
        start, end, between = np.roll(faces[place], -longest)
        beside = np.flatnonzero((faces == end).any(axis=1) & (faces == start).any(axis=1))
        if beside.size < 2:
            break  # a side of the face itself runs back over its neighbour: there is nothing to give
        (other,) = beside[beside != place]
        far = faces[other][(faces[other] != start) & (faces[other] != end)][0]
        faces[place], faces[other] = (start, far, between), (far, end, between)
    return faces


def _unknown(rings: Iterable[Ring], field: DeviationField) -> Iterable[Finding]:
    """One finding for each contour parts of whose wall the field does not know."""
    for ring in rings:
        columns = np.flatnonzero(~ring.known.all(axis=1))
        if columns.size:
            top = float(field.depth[np.flatnonzero(~ring.known.all(axis=0))[0]])
            edges = ", ".join(field.edges[edge] for edge in np.unique(ring.edge[columns]))
            yield Finding(
                code="wall-unknown",
                status=FindingStatus.NOT_FIXED,
                message=f"the wall of {edges} is not cut free, or is cut away, in places from "
                f"{100.0 * top:.0f} % of the depth; the solid bridges them",
                remedy="cut slower there, or widen the opening",
                where=(float(ring.drawn[columns[0], 0]), float(ring.drawn[columns[0], 1])),
                subjects=(ring.contour,),
                count=int(columns.size),
            )


def _findings(mends: Iterable[Mend], field: DeviationField) -> Iterable[Finding]:
    """One finding for each contour and kind, at its worst."""
    worst: dict[tuple[str, bool], list[Mend]] = {}
    for mend in mends:
        worst.setdefault((mend.contour, mend.folded), []).append(mend)
    for (contour, folded), same in worst.items():
        most = max(same, key=lambda mend: mend.moved)
        depth = f"{100.0 * field.depth[most.layer]:.0f} % of the depth"
        moved = f"{1e3 * most.moved:.3f} mm"
        if folded:
            yield Finding(
                code="wall-folded",
                status=FindingStatus.FIXED,
                message=f"the as-cut wall of {contour} folded over itself and was laid out anew, "
                f"moved along it by up to {moved}, most at {depth}",
                where=most.where,
                subjects=(contour,),
                count=len(same),
            )
        else:
            yield Finding(
                code="walls-cross",
                status=FindingStatus.NOT_FIXED,
                message=f"the as-cut wall of {contour} runs into another, so that a web or an opening is "
                f"lost; the solid shows it standing, up to {moved} off the forecast, most at {depth}",
                remedy="widen the web or the opening; trust the outlines there, not the solid",
                where=most.where,
                subjects=(contour,),
                count=len(same),
            )
