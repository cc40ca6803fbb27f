"""The sizes of a part: which edges bound them, and how a wall that is left standing changes them.

Words of this module:

facing
    two straight edges of one contour that run antiparallel within 0.1 degree, such that a line of sight
    square to one of them meets the other first.
width
    distance between two facing edges with material between; an edge that stands proud adds to it.
opening width
    distance between two facing edges with void between; an edge that stands proud takes from it.
web
    material between edges of two contours.
step
    distance between two straight edges that face the same way.

Line of sight is taken along the contour's own edges: the width of a frame is measured across its opening.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from trialcut.geometry.contours import Contour, Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Point
from trialcut.planning.sight import PARALLEL, facing_pairs, frame

_CLOSE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One size of a part.

    Parameters
    ----------
    key : str
        Edge ids joined, ``"A1-A3"``; the contour's id for a diameter.
    title : str
        For people: ``"width between A1 and A3"``.
    edges : tuple of str
        Ids of the edges that bound it.
    weights : tuple of float
        Change of the size per metre of material left standing on each edge. [-]
    nominal : float
        As drawn. [m]
    contours : tuple of str
        Ids of the contours concerned.
    """

    key: str
    title: str
    edges: tuple[str, ...]
    weights: tuple[float, ...]
    nominal: float
    contours: tuple[str, ...]


def part_sizes(part: Part) -> tuple[Size, ...]:
    """All widths, opening widths and diameters of a part, in the order of its edges.

    Parameters
    ----------
    part : Part
        As imported.

    Returns
    -------
    tuple of Size
        Radii, webs, steps and positions are not among them: they are sizes only where asked.
    """
    return tuple(size for contour in part.contours for size in _contour_sizes(contour))


def size_between(part: Part, one: str, other: str) -> Size | None:
    """The size between two named edges.

    Parameters
    ----------
    part : Part
        As imported.
    one, other : str
        Edge ids.

    Returns
    -------
    Size or None
        Width, opening width, web or step; None if the edges are neither parallel nor round.

    Raises
    ------
    KeyError
        If the part has no such edge.
    """
    order = {edge.id: number for number, edge in enumerate(part.edges)}
    first, second = sorted((part.edge(one), part.edge(other)), key=lambda edge: order[edge.id])
    round_first, round_second = first.kind is EdgeKind.CIRCLE, second.kind is EdgeKind.CIRCLE
    if round_first and round_second:
        return _between_circles(first, second)
    if round_first or round_second:
        circle, straight = (first, second) if round_first else (second, first)
        return _circle_to_straight(circle, straight, (first, second)) if _is_straight(straight) else None
    if _is_straight(first) and _is_straight(second):
        return _between_straights(first, second)
    return None


def size_of_edge(edge: Edge) -> Size | None:
    """The size of a single edge: diameter, radius, or position against the drawing.

    Parameters
    ----------
    edge : Edge
        Straight, arc or circle.

    Returns
    -------
    Size or None
        None for a free run, which has no single radius.
    """
    if edge.kind is EdgeKind.CIRCLE:
        return _diameter(edge, edge.contour)
    if edge.kind is EdgeKind.ARC:
        weight = 1.0 if edge.curvature > 0.0 else -1.0
        return _size((edge,), (weight,), edge.radius, f"radius of {edge.id}")
    if edge.kind is EdgeKind.STRAIGHT:
        return _size((edge,), (1.0,), 0.0, f"position of {edge.id} against the drawing")
    return None


def _contour_sizes(contour: Contour) -> list[Size]:
    if len(contour.edges) == 1 and contour.edges[0].kind is EdgeKind.CIRCLE:
        return [_diameter(contour.edges[0], contour.id)]
    edges = {edge.id: edge for edge in contour.edges}
    order = {edge_id: number for number, edge_id in enumerate(edges)}
    pairs = sorted(facing_pairs(contour), key=lambda pair: (order[pair[0]], order[pair[1]]))
    sizes = (_between_straights(edges[one], edges[other]) for one, other in pairs)
    return [size for size in sizes if size is not None]


def _is_straight(edge: Edge) -> bool:
    return edge.kind is EdgeKind.STRAIGHT


def _size(edges: tuple[Edge, ...], weights: tuple[float, ...], nominal: float, title: str) -> Size:
    return Size(
        key="-".join(edge.id for edge in edges),
        title=title,
        edges=tuple(edge.id for edge in edges),
        weights=weights,
        nominal=nominal,
        contours=tuple(dict.fromkeys(edge.contour for edge in edges)),
    )


def _diameter(edge: Edge, contour_id: str) -> Size:
    convex = edge.curvature > 0.0
    return Size(
        key=contour_id,
        title=f"{'outline' if convex else 'opening'} {contour_id}, diameter",
        edges=(edge.id,),
        weights=(2.0 if convex else -2.0,),
        nominal=2.0 * edge.radius,
        contours=(contour_id,),
    )


def _outward(edge: Edge, point: Point) -> float:
    """Distance of a point from a straight edge, positive out of the material."""
    _, normal = frame(edge)
    return (point[0] - edge.start[0]) * normal[0] + (point[1] - edge.start[1]) * normal[1]


def _between_straights(first: Edge, second: Edge) -> Size | None:
    along_first, _ = frame(first)
    along_second, _ = frame(second)
    alignment = along_first[0] * along_second[0] + along_first[1] * along_second[1]
    if abs(alignment) < PARALLEL:
        return None
    (x0, y0), (x1, y1) = second.start, second.end
    outward = _outward(first, (0.5 * (x0 + x1), 0.5 * (y0 + y1)))
    names = f"{first.id} and {second.id}"
    if abs(outward) < _CLOSE:
        return None
    if alignment > 0.0:
        weights = (-1.0, 1.0) if outward > 0.0 else (1.0, -1.0)
        return _size((first, second), weights, abs(outward), f"step between {names}")
    same = first.contour == second.contour
    if outward < 0.0:
        title = f"{'width' if same else 'web'} between {names}"
        return _size((first, second), (1.0, 1.0), -outward, title)
    return _size((first, second), (-1.0, -1.0), outward, f"opening width between {names}")


def _circle_to_straight(circle: Edge, straight: Edge, ordered: tuple[Edge, Edge]) -> Size | None:
    centre, radius = _centre(circle), circle.radius
    inward = -_outward(straight, centre)
    if circle.curvature > 0.0 or inward <= radius:
        return None
    title = f"web between {ordered[0].id} and {ordered[1].id}"
    return _size(ordered, (1.0, 1.0), inward - radius, title)


def _between_circles(first: Edge, second: Edge) -> Size | None:
    (x0, y0), (x1, y1) = _centre(first), _centre(second)
    apart = hypot(x1 - x0, y1 - y0)
    if first.curvature > 0.0 or second.curvature > 0.0:
        outer, inner = (first, second) if first.curvature > 0.0 else (second, first)
        web = outer.radius - apart - inner.radius
    else:
        web = apart - first.radius - second.radius
    if web <= 0.0:
        return None
    return _size((first, second), (1.0, 1.0), web, f"web between {first.id} and {second.id}")


def _centre(edge: Edge) -> Point:
    (segment, *_) = edge.segments
    assert isinstance(segment, Arc)
    return segment.centre
