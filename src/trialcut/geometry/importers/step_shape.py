"""What the solid kernel is asked: a STEP file's solid, its faces, and sections through it, in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import hypot, tau
from pathlib import Path
from typing import Any

import numpy as np

from trialcut.errors import DrawingError
from trialcut.geometry.biarcs import Floats, arcs_from_curve
from trialcut.geometry.curves import Line, Segment
from trialcut.geometry.importers.shapes import conic_segments
from trialcut.geometry.pieces import Piece
from trialcut.geometry.tolerances import CURVE, SAME_POINT

MM = 1.0e-3
"""Unit of the kernel. [m]"""

SQUARE = 1.0e-4
"""A wall whose normal leans out of the plate's plane by less than this sine is square. [-]"""

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Face:
    """One face of a solid.

    Parameters
    ----------
    shape
        Of the kernel.
    kind : str
        ``"plane"``, ``"cylinder"``, ``"cone"`` or ``"other"``.
    normal : tuple of float
        Outward, of a plane; of other faces zero. [-]
    offset : float
        Distance of a plane from the origin along that normal. [mm]
    area : float
        [mm^2]
    """

    shape: Any
    kind: str
    normal: Vector
    offset: float
    area: float


def read_shape(path: Path) -> Any:
    """
    Everything in a STEP file, as one shape.

    Parameters
    ----------
    path : Path
        Of the file.

    Returns
    -------
    shape
        Of the kernel, in millimetres.

    Raises
    ------
    DrawingError
        If the file cannot be read.
    """
    from OCP.IFSelect import IFSelect_ReturnStatus  # noqa: PLC0415, optional and slow
    from OCP.Message import Message, Message_Gravity  # noqa: PLC0415
    from OCP.STEPControl import STEPControl_Reader  # noqa: PLC0415

    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
    try:
        reader = STEPControl_Reader()
        if reader.ReadFile(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise RuntimeError
        reader.TransferRoots()
        shape = reader.OneShape()
        if shape is None or shape.IsNull():
            raise RuntimeError
    except Exception:  # whatever the kernel throws is the file's
        raise DrawingError(
            f"{path.name} is damaged, or holds no shape; export it again as STEP AP203, AP214 or AP242",
            code="damaged-file",
        ) from None
    return shape


def solids_of(shape: Any) -> list[Any]:
    """Return the solids in a shape."""
    from OCP.TopAbs import TopAbs_ShapeEnum  # noqa: PLC0415
    from OCP.TopoDS import TopoDS  # noqa: PLC0415

    return [TopoDS.Solid(each) for each in _parts(shape, TopAbs_ShapeEnum.TopAbs_SOLID)]


def scaled(solid: Any, factor: float) -> Any:
    """Return a solid with every length so many times as long."""
    if abs(factor - 1.0) < 1.0e-12:
        return solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform  # noqa: PLC0415
    from OCP.gp import gp_Pnt, gp_Trsf  # noqa: PLC0415

    scale = gp_Trsf()
    scale.SetScale(gp_Pnt(0.0, 0.0, 0.0), factor)
    return BRepBuilderAPI_Transform(solid, scale, True).Shape()


def faces_of(solid: Any) -> list[Face]:
    """Return the faces of a solid."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface  # noqa: PLC0415
    from OCP.BRepGProp import BRepGProp  # noqa: PLC0415
    from OCP.GeomAbs import GeomAbs_SurfaceType as Kind  # noqa: PLC0415
    from OCP.GProp import GProp_GProps  # noqa: PLC0415
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum  # noqa: PLC0415
    from OCP.TopoDS import TopoDS  # noqa: PLC0415

    kinds = {
        Kind.GeomAbs_Plane: "plane",
        Kind.GeomAbs_Cylinder: "cylinder",
        Kind.GeomAbs_Cone: "cone",
    }
    faces = []
    for each in _parts(solid, TopAbs_ShapeEnum.TopAbs_FACE):
        face = TopoDS.Face(each)
        surface = BRepAdaptor_Surface(face)
        kind = kinds.get(surface.GetType(), "other")
        properties = GProp_GProps()
        BRepGProp.SurfaceProperties_s(face, properties)
        normal, offset = (0.0, 0.0, 0.0), 0.0
        if kind == "plane":
            plane = surface.Plane()
            axis, place = plane.Axis().Direction(), plane.Location()
            side = 1.0 if plane.Direct() else -1.0
            if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
                side = -side
            normal = (side * axis.X(), side * axis.Y(), side * axis.Z())
            offset = normal[0] * place.X() + normal[1] * place.Y() + normal[2] * place.Z()
        faces.append(Face(face, kind, normal, offset, properties.Mass()))
    return faces


def laid_flat(solid: Any, *, up: Vector, floor: float) -> Any:
    """
    A solid turned so that a direction points up, and moved so that its floor is at zero.

    Parameters
    ----------
    solid
        Of the kernel.
    up : tuple of float
        Unit vector; coordinates of a plate that lies in a plane of its own system are kept. [-]
    floor : float
        Of the plate, along that direction. [mm]

    Returns
    -------
    solid
        Seen from above it is not mirrored.
    """
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform  # noqa: PLC0415
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf  # noqa: PLC0415

    along = {0: (0.0, 1.0, 0.0), 1: (0.0, 0.0, 1.0), 2: (1.0, 0.0, 0.0)}
    main = max(range(3), key=lambda i: abs(up[i]))
    turn = gp_Trsf()
    origin = gp_Pnt(*(floor * each for each in up))
    turn.SetTransformation(gp_Ax3(origin, gp_Dir(*up), gp_Dir(*along[main])))
    return BRepBuilderAPI_Transform(solid, turn, True).Shape()


def heights_of(shape: Any) -> tuple[float, ...]:
    """Return the heights at which a shape has corners, in order. [mm]"""
    from OCP.BRep import BRep_Tool  # noqa: PLC0415
    from OCP.TopAbs import TopAbs_ShapeEnum  # noqa: PLC0415
    from OCP.TopoDS import TopoDS  # noqa: PLC0415

    vertices = _parts(shape, TopAbs_ShapeEnum.TopAbs_VERTEX)
    return tuple(sorted({BRep_Tool.Pnt_s(TopoDS.Vertex(each)).Z() for each in vertices}))


def is_square(face: Face) -> bool:
    """Whether a face stands square on the plate that lies flat: its normal is level everywhere."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface  # noqa: PLC0415
    from OCP.gp import gp_Pnt, gp_Vec  # noqa: PLC0415

    surface = BRepAdaptor_Surface(face.shape)
    for s in np.linspace(0.05, 0.95, 5).tolist():
        for t in np.linspace(0.05, 0.95, 5).tolist():
            u = surface.FirstUParameter() + s * (surface.LastUParameter() - surface.FirstUParameter())
            v = surface.FirstVParameter() + t * (surface.LastVParameter() - surface.FirstVParameter())
            point, du, dv = gp_Pnt(), gp_Vec(), gp_Vec()
            surface.D1(u, v, point, du, dv)
            normal = du.Crossed(dv)
            if normal.Magnitude() > 0.0 and abs(normal.Z()) > SQUARE * normal.Magnitude():
                return False
    return True


def section(shape: Any, height: float) -> list[Piece]:
    """
    What a level plane cuts out of a shape.

    Parameters
    ----------
    shape
        Of the kernel.
    height : float
        Of the plane. [mm]

    Returns
    -------
    list of Piece
        Its edges. [m]
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Section  # noqa: PLC0415
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt  # noqa: PLC0415
    from OCP.TopAbs import TopAbs_ShapeEnum  # noqa: PLC0415
    from OCP.TopoDS import TopoDS  # noqa: PLC0415

    cut = BRepAlgoAPI_Section(shape, gp_Pln(gp_Pnt(0.0, 0.0, height), gp_Dir(0.0, 0.0, 1.0)))
    edges = [TopoDS.Edge(each) for each in _parts(cut.Shape(), TopAbs_ShapeEnum.TopAbs_EDGE)]
    return [piece for edge in edges if (piece := _piece(edge)) is not None]


def _piece(edge: Any) -> Piece | None:
    from OCP.BRepAdaptor import BRepAdaptor_Curve  # noqa: PLC0415
    from OCP.GeomAbs import GeomAbs_CurveType as Kind  # noqa: PLC0415

    curve = BRepAdaptor_Curve(edge)
    first, last = curve.FirstParameter(), curve.LastParameter()
    kind = curve.GetType()
    free = False
    if kind == Kind.GeomAbs_Line:
        a, b = curve.Value(first), curve.Value(last)
        segments: tuple[Segment, ...] = (Line((a.X() * MM, a.Y() * MM), (b.X() * MM, b.Y() * MM)),)
    elif kind in (Kind.GeomAbs_Circle, Kind.GeomAbs_Ellipse):
        conic = curve.Circle() if kind == Kind.GeomAbs_Circle else curve.Ellipse()
        radii = (
            (conic.Radius(), conic.Radius())
            if kind == Kind.GeomAbs_Circle
            else (conic.MajorRadius(), conic.MinorRadius())
        )
        centre, x, y = conic.Location(), conic.XAxis().Direction(), conic.YAxis().Direction()
        segments, free = conic_segments(
            (centre.X() * MM, centre.Y() * MM),
            (x.X() * radii[0] * MM, x.Y() * radii[0] * MM),
            (y.X() * radii[1] * MM, y.Y() * radii[1] * MM),
            first,
            min(last, first + tau),
        )
    else:
        segments = arcs_from_curve(_evaluator(curve), np.linspace(first, last, 9).tolist(), tolerance=CURVE)
        free = not all(isinstance(segment, Line) for segment in segments)
    kept = tuple(segment for segment in segments if segment.length > SAME_POINT)
    if not kept:
        return None
    (x0, y0), (x1, y1) = kept[0].start, kept[-1].end
    return Piece(kept, free, hypot(x1 - x0, y1 - y0) <= SAME_POINT)


def _evaluator(curve: Any) -> Callable[[Floats], tuple[Floats, Floats]]:
    from OCP.gp import gp_Pnt, gp_Vec  # noqa: PLC0415

    def evaluate(t: Floats) -> tuple[Floats, Floats]:
        points, slopes = np.empty((len(t), 2)), np.empty((len(t), 2))
        point, slope = gp_Pnt(), gp_Vec()
        for row, parameter in enumerate(t.tolist()):
            curve.D1(parameter, point, slope)
            points[row] = point.X() * MM, point.Y() * MM
            slopes[row] = slope.X() * MM, slope.Y() * MM
        return points, slopes

    return evaluate


def _parts(shape: Any, kind: Any) -> Iterator[Any]:
    from OCP.TopExp import TopExp_Explorer  # noqa: PLC0415

    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()
