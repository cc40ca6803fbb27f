"""Drawn entities to pieces.

Everything is one of three shapes on its way through blocks and coordinate systems, because an affine map
keeps each of them: a straight between two points, a conic ``c + u cos t + v sin t``, and a rational
spline by its control points. A conic whose axes come out equal and square is an arc, exactly; any other is
an ellipse, and is replaced by tangent arcs like the splines.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, isfinite, radians, sin, tau
from typing import Any

import numpy as np
from ezdxf.math import OCS, Matrix44, Vec3

from trialcut.errors import DrawingError
from trialcut.geometry.biarcs import Floats
from trialcut.geometry.curves import Line, Point, Segment
from trialcut.geometry.importers.shapes import (
    NotFlatError,
    bulge_segment,
    conic_segments,
    is_sound_spline,
    spline_segments,
)
from trialcut.geometry.pieces import Piece
from trialcut.geometry.tolerances import SAME_POINT

TEXTS = frozenset(
    (
        *("TEXT", "MTEXT", "ATTRIB", "ATTDEF", "RTEXT", "ARCALIGNEDTEXT", "ACAD_TABLE", "TOLERANCE"),
        *("DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION", "LEADER", "MLEADER", "MULTILEADER"),
    )
)
"""Entity types that say something about the part."""

SOLIDS = frozenset(
    (
        *("3DFACE", "3DSOLID", "BODY", "REGION", "MESH", "HELIX", "POLYMESH", "POLYFACE", "SURFACE"),
        *(
            "EXTRUDEDSURFACE",
            "LOFTEDSURFACE",
            "REVOLVEDSURFACE",
            "SWEPTSURFACE",
            "PLANESURFACE",
            "NURBSURFACE",
        ),
    )
)
"""Entity types that are not lines on a plane."""

FAR = 1.0e4
"""A coordinate or radius beyond this is an error of the file, not a place on a plate. [m]"""

_BULGE_LIMIT = 1.0e6
_DEPTH_LIMIT = 16
_PIECE_LIMIT = 2_000_000


@dataclass(slots=True)
class Harvest:
    """What was taken from the file, and what was left out of it, counted.

    Parameters
    ----------
    pieces : list of Piece
        In the order of the file. [m]
    left_out : Counter
        Entity types that carry nothing to cut.
    layers_left_out : Counter
        Names of layers that are off, frozen or named for construction, with the entities on them.
    heights : Counter
        Rounded height above the drawing plane of what was taken. [m]
    not_flat, broken : Counter
        Types of entities that leave the plane, and of those that could not be understood.
    missing_blocks : Counter
        Names of blocks that are inserted but not in the file.
    not_numbers, empty : int
        Entities with a coordinate that cannot be used, and entities without length.
    """

    pieces: list[Piece] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    layers_left_out: Counter[str] = field(default_factory=Counter)
    heights: Counter[float] = field(default_factory=Counter)
    not_flat: Counter[str] = field(default_factory=Counter)
    not_numbers: int = 0
    empty: int = 0
    broken: Counter[str] = field(default_factory=Counter)
    missing_blocks: Counter[str] = field(default_factory=Counter)


class _NotNumbersError(Exception):
    """A coordinate is not a finite number."""


def _flat(points: Iterable[Vec3], harvest: Harvest) -> list[Point]:
    """Drop points to the plane; they must be finite and of one height."""
    flat: list[Point] = []
    low = high = None
    for point in points:
        x, y, z = point.x, point.y, point.z
        if not (abs(x) < FAR and abs(y) < FAR and abs(z) < FAR):
            raise _NotNumbersError
        flat.append((x, y))
        if low is None or z < low:
            low = z
        if high is None or z > high:
            high = z
    if low is None or high is None:
        return []
    if high - low > SAME_POINT:
        raise NotFlatError
    harvest.heights[round(low, 6)] += 1
    return flat


class EntityReader:
    """Takes entities of one document into a `Harvest`.

    Parameters
    ----------
    blocks
        The document's block table.
    scale : float
        Length of one drawing unit. [m]
    skip_layer : callable
        Says whether a layer, by name, is left out.
    """

    def __init__(self, blocks: Any, *, scale: float, skip_layer: Callable[[str], bool]) -> None:
        self.blocks = blocks
        self.scale = scale
        self.skip_layer = skip_layer
        self.harvest = Harvest()
        self._readers: dict[str, Callable[[Any, Matrix44 | None], None]] = {
            "LINE": self._line,
            "ARC": self._arc,
            "CIRCLE": self._circle,
            "ELLIPSE": self._ellipse,
            "SPLINE": self._spline,
            "LWPOLYLINE": self._lwpolyline,
            "POLYLINE": self._polyline,
        }

    def read(
        self, entities: Iterable[Any], *, into: Matrix44 | None = None, depth: int = 0, layer: str = "0"
    ) -> None:
        """Read entities, through the map `into` from their block to the world where they stand in one."""
        harvest = self.harvest
        readers = self._readers
        for entity in entities:
            kind = entity.dxftype()
            attributes = entity.dxf.__dict__
            own = attributes.get("layer", "0")
            if own == "0":
                own = layer
            if self.skip_layer(own) or attributes.get("invisible", 0):
                harvest.layers_left_out[own] += 1
                continue
            if kind == "INSERT":
                self._insert(entity, into, depth, own)
                continue
            reader = readers.get(kind)
            if reader is None:
                harvest.left_out[kind] += 1
                continue
            try:
                reader(entity, into)
            except NotFlatError:
                harvest.not_flat[kind] += 1
            except _NotNumbersError:
                harvest.not_numbers += 1
            except DrawingError as error:
                if error.case != "not-a-number":
                    raise
                harvest.not_numbers += 1
            except (ValueError, TypeError, ArithmeticError, LookupError, AttributeError):
                harvest.broken[kind] += 1
            if len(harvest.pieces) > _PIECE_LIMIT:
                raise DrawingError(
                    f"the drawing holds more than {_PIECE_LIMIT:,} pieces; split it", code="too-many-pieces"
                )

    # -- blocks ----------------------------------------------------------------------------------

    def _insert(self, insert: Any, into: Matrix44 | None, depth: int, layer: str) -> None:
        name = insert.dxf.name
        block = self.blocks.get(name)
        if block is None:
            self.harvest.missing_blocks[name] += 1
            return
        if depth >= _DEPTH_LIMIT:
            raise DrawingError(
                f"block {name!r} is nested over {_DEPTH_LIMIT} deep or holds itself; explode the blocks",
                code="blocks-too-deep",
            )
        self.harvest.left_out["ATTRIB"] += len(insert.attribs)
        if not self.harvest.left_out["ATTRIB"]:
            del self.harvest.left_out["ATTRIB"]
        copies = insert.multi_insert() if insert.mcount > 1 else (insert,)
        for copy in copies:
            matrix = copy.matrix44()
            if into is not None:
                matrix = matrix @ into
            self.read(block, into=matrix, depth=depth + 1, layer=layer)

    # -- helpers ---------------------------------------------------------------------------------

    def _world(self, points: Iterable[Vec3], into: Matrix44 | None) -> list[Vec3]:
        if into is not None:
            points = into.transform_vertices(points)
        scale = self.scale
        return [point * scale for point in points]

    def _take(self, segments: Iterable[Segment], *, free: bool = False, closed: bool = False) -> None:
        kept = tuple(s for s in segments if s.length > 0.0)
        if not kept:
            self.harvest.empty += 1
            return
        self.harvest.pieces.append(Piece(kept, free, closed))

    # -- straight --------------------------------------------------------------------------------

    def _line(self, entity: Any, into: Matrix44 | None) -> None:
        attributes = entity.dxf.__dict__
        start, end = attributes["start"], attributes["end"]
        if into is not None:
            start, end = into.transform_vertices((start, end))
        scale = self.scale
        x0, y0, z0 = start.x * scale, start.y * scale, start.z * scale
        x1, y1, z1 = end.x * scale, end.y * scale, end.z * scale
        if not (abs(x0) < FAR and abs(y0) < FAR and abs(x1) < FAR and abs(y1) < FAR and abs(z0 + z1) < FAR):
            raise _NotNumbersError
        if abs(z1 - z0) > SAME_POINT:
            raise NotFlatError
        self.harvest.heights[round(z0, 6)] += 1
        if x0 == x1 and y0 == y1:
            self.harvest.empty += 1
            return
        self.harvest.pieces.append(Piece((Line((x0, y0), (x1, y1)),)))

    # -- conics ----------------------------------------------------------------------------------

    def _conic(
        self, frame: Sequence[Vec3], start: float, end: float, into: Matrix44 | None, *, closed: bool
    ) -> None:
        """Take ``c + u cos t + v sin t``, the frame being c, u, v in the coordinates of the block."""
        segments, free = self._mapped_conic(frame, start, end, into)
        self._take(segments, free=free, closed=closed)

    def _mapped_conic(
        self, frame: Sequence[Vec3], start: float, end: float, into: Matrix44 | None
    ) -> tuple[tuple[Segment, ...], bool]:
        centre, u, v = frame
        if into is not None:
            centre = into.transform(centre)
            u, v = into.transform_direction(u), into.transform_direction(v)
        scale = self.scale
        centre, u, v = centre * scale, u * scale, v * scale
        (middle,) = _flat((centre,), self.harvest)
        if not (u.magnitude < FAR and v.magnitude < FAR and isfinite(start + end)):
            raise _NotNumbersError
        if max(abs(u.z), abs(v.z)) > SAME_POINT:
            raise NotFlatError
        return conic_segments(middle, (u.x, u.y), (v.x, v.y), start, end)

    def _round(self, entity: Any, start: float, end: float, into: Matrix44 | None, *, closed: bool) -> None:
        attributes = entity.dxf.__dict__
        centre, radius = Vec3(attributes["center"]), float(attributes["radius"])
        if not isfinite(radius):
            raise _NotNumbersError
        if radius <= 0.0:
            self.harvest.empty += 1
            return
        u, v = Vec3(radius, 0, 0), Vec3(0, radius, 0)
        extrusion = attributes.get("extrusion")
        if extrusion is not None and not (extrusion.x == 0.0 and extrusion.y == 0.0 and extrusion.z > 0.0):
            ocs = OCS(extrusion)
            centre, u, v = ocs.to_wcs(centre), ocs.to_wcs(u), ocs.to_wcs(v)
        self._conic((centre, u, v), start, end, into, closed=closed)

    def _circle(self, entity: Any, into: Matrix44 | None) -> None:
        self._round(entity, 0.0, tau, into, closed=True)

    def _arc(self, entity: Any, into: Matrix44 | None) -> None:
        attributes = entity.dxf.__dict__
        start = radians(attributes.get("start_angle", 0.0))
        sweep = (radians(attributes.get("end_angle", 360.0)) - start) % tau
        closed = sweep < 1.0e-12 or tau - sweep < 1.0e-12
        self._round(entity, start, start + (tau if closed else sweep), into, closed=closed)

    def _ellipse(self, entity: Any, into: Matrix44 | None) -> None:
        u = Vec3(entity.dxf.major_axis)
        v = Vec3(entity.minor_axis)
        start = float(entity.dxf.start_param)
        sweep = (float(entity.dxf.end_param) - start) % tau
        closed = sweep < 1.0e-12 or tau - sweep < 1.0e-12
        frame = (Vec3(entity.dxf.center), u, v)
        self._conic(frame, start, start + (tau if closed else sweep), into, closed=closed)

    # -- splines ---------------------------------------------------------------------------------

    def _spline(self, entity: Any, into: Matrix44 | None) -> None:
        tool = entity.construction_tool()
        control = self._world(tool.control_points, into)
        flat = np.array(_flat(control, self.harvest))
        knots = np.array(tool.knots(), dtype=float)
        weights = np.array(tool.weights(), dtype=float) if tool.is_rational else None
        if not is_sound_spline(knots, weights):
            raise _NotNumbersError
        segments = spline_segments(flat, knots, weights, tool.order - 1)
        if not segments:
            self.harvest.empty += 1
            return
        gap = hypot(segments[0].start[0] - segments[-1].end[0], segments[0].start[1] - segments[-1].end[1])
        free = not all(isinstance(segment, Line) for segment in segments)
        self._take(segments, free=free, closed=gap <= SAME_POINT)

    # -- polylines -------------------------------------------------------------------------------

    def _lwpolyline(self, entity: Any, into: Matrix44 | None) -> None:
        rows = np.asarray(entity.lwpoints.values, dtype=float).reshape(-1, 5)
        height = entity.dxf.get("elevation", 0.0)
        self._vertices(rows[:, :2], rows[:, 4], height, entity, into, closed=entity.closed)

    def _polyline(self, entity: Any, into: Matrix44 | None) -> None:
        flags = entity.dxf.flags
        if flags & (16 | 64):
            self.harvest.left_out["POLYMESH" if flags & 16 else "POLYFACE"] += 1
            return
        vertices = [v for v in entity.vertices if not v.dxf.flags & 16]
        if flags & 8:
            points = self._world([Vec3(v.dxf.location) for v in vertices], into)
            flat = _flat(points, self.harvest)
            self._chain(
                [*flat, flat[0]] if flags & 1 and flat else flat, None, free=bool(flags & 4), closed=flags & 1
            )
            return
        xy = np.array([(v.dxf.location.x, v.dxf.location.y) for v in vertices], dtype=float).reshape(-1, 2)
        bulges = np.array([v.dxf.get("bulge", 0.0) for v in vertices], dtype=float)
        elevation = entity.dxf.get("elevation")
        height = Vec3(elevation).z if elevation is not None else 0.0
        self._vertices(xy, bulges, height, entity, into, closed=bool(flags & 1), free=bool(flags & 4))

    def _vertices(
        self,
        xy: Floats,
        bulges: Floats,
        height: float,
        entity: Any,
        into: Matrix44 | None,
        *,
        closed: bool,
        free: bool = False,
    ) -> None:
        within = bool((np.abs(xy * self.scale) < FAR).all() and (np.abs(bulges) < _BULGE_LIMIT).all())
        if not (within and abs(height * self.scale) < FAR):
            raise _NotNumbersError
        if len(xy) < 2:
            self.harvest.empty += 1
            return
        if closed:
            xy, bulges = np.vstack((xy, xy[:1])), np.append(bulges, 0.0)
        extrusion = entity.dxf.get("extrusion")
        plain = extrusion is None or (extrusion[0] == 0.0 and extrusion[1] == 0.0 and extrusion[2] > 0.0)
        if plain and into is None:
            self.harvest.heights[round(height * self.scale, 6)] += 1
            points = list(map(tuple, (xy * self.scale).tolist()))
            self._chain(points, bulges, free=free, closed=closed)
            return
        ocs = OCS(Vec3(0, 0, 1) if extrusion is None else extrusion)
        if not bulges.any():
            world = self._world([ocs.to_wcs(Vec3(x, y, height)) for x, y in xy.tolist()], into)
            self._chain(_flat(world, self.harvest), None, free=free, closed=closed)
            return
        self._mapped_chain(xy.tolist(), bulges.tolist(), height, ocs, into, closed=closed)

    def _chain(self, points: list[Any], bulges: Floats | None, *, free: bool, closed: bool) -> None:
        if bulges is None or not bulges.any():
            segments: list[Segment] = [Line(a, b) for a, b in pairwise(points) if a != b]
        else:
            segments = [
                bulge_segment(a, b, bulge)
                for a, b, bulge in zip(points[:-1], points[1:], bulges.tolist(), strict=False)
                if a != b
            ]
        self._take(segments, free=free, closed=bool(closed))

    def _mapped_chain(
        self,
        points: list[list[float]],
        bulges: list[float],
        height: float,
        ocs: OCS,
        into: Matrix44 | None,
        *,
        closed: bool,
    ) -> None:
        """Bulges through a map: each arc goes as a conic, because a map may make an ellipse of it.

        The polyline then falls apart into pieces, which chaining puts together again.
        """
        segments: list[Segment] = []
        curves: list[tuple[Segment, ...]] = []
        for a, b, bulge in zip(points[:-1], points[1:], bulges, strict=False):
            if a == b:
                continue
            plain = bulge_segment((a[0], a[1]), (b[0], b[1]), bulge)
            if isinstance(plain, Line):
                ends = self._world([ocs.to_wcs(Vec3(*a, height)), ocs.to_wcs(Vec3(*b, height))], into)
                p, q = _flat(ends, self.harvest)
                segments.append(Line(p, q))
                continue
            side = 1.0 if plain.sweep > 0.0 else -1.0
            c, s = cos(plain.start_angle) * plain.radius, sin(plain.start_angle) * plain.radius
            frame = [Vec3(*plain.centre, height), Vec3(c, s, 0), Vec3(-side * s, side * c, 0)]
            world = [ocs.to_wcs(x) for x in frame]
            more, free = self._mapped_conic(world, 0.0, abs(plain.sweep), into)
            if free:
                curves.append(more)
            else:
                segments.extend(more)
        if not curves:
            self._take(segments, closed=closed)
            return
        for segment in segments:
            self._take((segment,))
        for curve in curves:
            self._take(curve, free=True)
