"""Parts, contours, edges and corners.

Words of this module, and no others:

segment
    a `Line` or an `Arc`.
edge
    a smooth piece of a contour between two corners: one or more segments that meet tangentially and
    are of one kind. A circle is one closed edge without corners.
corner
    where two edges meet, with the angle that the direction of travel turns there. A corner may be smooth
    (turn zero), where a straight runs into an arc.
contour
    a closed outline: the part's own, or an opening in it.
part
    one outline with its openings.

The *material* always lies to the left of the direction of travel: outlines run counter-clockwise, openings
clockwise. So a positive turn is an outside corner of the part, a negative one an inside corner; and the
scrap lies to the right.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from math import hypot, inf

from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.findings import Finding
from trialcut.geometry.tolerances import SAME_POINT


class EdgeKind(StrEnum):
    """The shape of an edge."""

    STRAIGHT = "straight"
    ARC = "arc"
    CIRCLE = "circle"
    FREE = "free"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A smooth piece of a contour.

    Parameters
    ----------
    id : str
        Contour id and number along the contour, ``"A3"``.
    contour : str
        Id of the contour it belongs to.
    kind : EdgeKind
        One line, one arc, a full circle, or a free smooth run.
    segments : tuple of Segment
        In the direction of travel, material to the left.
    """

    id: str
    contour: str
    kind: EdgeKind
    segments: tuple[Segment, ...]

    @property
    def length(self) -> float:
        """Length. [m]"""
        return sum(segment.length for segment in self.segments)

    @property
    def start(self) -> Point:
        """First point. [m]"""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Last point. [m]"""
        return self.segments[-1].end

    @property
    def closed(self) -> bool:
        """Whether it is a whole contour by itself."""
        (x0, y0), (x1, y1) = self.start, self.end
        return self.kind is EdgeKind.CIRCLE or hypot(x1 - x0, y1 - y0) <= SAME_POINT

    @property
    def curvature(self) -> float:
        """Signed curvature where it is tightest: positive on a convex edge of the part. [1/m]"""
        return max((segment.curvature for segment in self.segments), key=abs)

    @property
    def radius(self) -> float:
        """Smallest radius of curvature, ``inf`` for a straight edge. [m]"""
        return 1.0 / abs(self.curvature) if self.curvature else inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """Where edge `before` meets edge `after`, turning by `turn` (positive: outside corner). [m], [rad]"""

    position: Point
    turn: float
    before: str
    after: str


class ContourRole(StrEnum):
    """Whether a contour bounds the part or a void in it."""

    OUTLINE = "outline"
    OPENING = "opening"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """A closed outline: edges in order, and the corners between them.

    Parameters
    ----------
    id : str
        A letter: ``"A"`` for the outline, ``"B"``, ``"C"`` and on for the openings.
    role : ContourRole
        Outline or opening.
    edges : tuple of Edge
        Edge ``i`` ends where edge ``i + 1`` starts.
    corners : tuple of Corner
        ``corners[i]`` is where edge ``i`` meets edge ``i + 1``; empty for a circle.
    area : float
        Enclosed area, positive. [m^2]
    """

    id: str
    role: ContourRole
    edges: tuple[Edge, ...]
    corners: tuple[Corner, ...]
    area: float

    @property
    def length(self) -> float:
        """Length. [m]"""
        return sum(edge.length for edge in self.edges)


class FeatureKind(StrEnum):
    """Named features of a part."""

    ROUND_OPENING = "round opening"
    SLOT = "slot"
    CORNER_RADIUS = "corner radius"
    SHARP_INSIDE_CORNER = "sharp inside corner"
    WEB = "web"
    SMALL_PART = "small part"


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """A named feature: what it is, which edges make it, its governing measure, and where. [m]"""

    kind: FeatureKind
    edges: tuple[str, ...]
    measure: float
    where: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One outline with its openings.

    Parameters
    ----------
    id : str
        ``"1"``, ``"2"`` and on, in the order of position on the drawing.
    outline : Contour
        Counter-clockwise.
    openings : tuple of Contour
        Clockwise each.
    features : tuple of Feature
        What was recognised.
    """

    id: str
    outline: Contour
    openings: tuple[Contour, ...] = ()
    features: tuple[Feature, ...] = ()
    _edges: dict[str, Edge] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_edges", {edge.id: edge for edge in self.edges})

    @property
    def contours(self) -> tuple[Contour, ...]:
        """Outline first, then the openings."""
        return (self.outline, *self.openings)

    @property
    def edges(self) -> Iterator[Edge]:
        """All edges, contour by contour."""
        return (edge for contour in self.contours for edge in contour.edges)

    @property
    def area(self) -> float:
        """Of the part without its openings. [m^2]"""
        return self.outline.area - sum(opening.area for opening in self.openings)

    @property
    def length(self) -> float:
        """Length of all contours. [m]"""
        return sum(contour.length for contour in self.contours)

    def edge(self, edge_id: str) -> Edge:
        """Edge by id; ``KeyError`` if the part has none of that name."""
        return self._edges[edge_id]

    def contour(self, contour_id: str) -> Contour:
        """Contour by id; ``KeyError`` if the part has none of that name."""
        for contour in self.contours:
            if contour.id == contour_id:
                return contour
        raise KeyError(contour_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """What a drawing file holds.

    Parameters
    ----------
    name : str
        Of the file, without folder.
    unit : str
        ``"mm"`` or ``"in"`` and so on: the file's unit, or the one that was stated for it.
    parts : tuple of Part
        At least one.
    findings : tuple of Finding
        What was noticed on the way, mended or not.
    thickness : float or None
        Of the plate, where the file holds a solid. [m]
    """

    name: str
    unit: str
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...] = ()
    thickness: float | None = None
