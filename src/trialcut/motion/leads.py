"""Leads: from the pierce in the scrap to the start of the cut, and off into the scrap at its end.

A lead joins the edge tangentially: a quarter circle on a straight or bulging edge, a half circle inside a
hollow one, a straight line on the extension of an edge at a corner, and as a last resort a straight line
across. The jet takes half a kerf on either side, so each shape is tried as it will be cut, half a kerf off
the edge, and shortened until it keeps clear of the part.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import cos, hypot, inf, pi, sin

import shapely

from trialcut.geometry.contours import Contour, ContourRole, EdgeKind
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.outline import flatten_contour, flatten_segments
from trialcut.motion.starts import Start

PIERCE_MARGIN = 1.0e-4
"""Least distance between the wall of a pierce as wide as the kerf and the part. [m]"""

LEAD_KERFS = 2.0
"""Usual distance of the pierce from the part, in kerf widths: common practice, no source. [-]"""

LEAD_LEAST = 3.0e-3
"""Usual least distance of the pierce from the part: common practice, no source. [m]"""

SHORTER = (1.0, 0.7, 0.5, 0.35, 0.25, 0.18, 0.12)
"""Fractions of the usual length that are tried in turn."""

BALANCE = 0.7
"""Least clearance of the pierce all round, as a fraction of the lead's size, in a narrow place. [-]"""

FLATTENING = 2.0e-6
"""Tolerance of the polygons that clearances are measured on. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leads:
    """Pierce, lead-in and lead-out of one contour, and the distance from pierce to part. [m]"""

    start: Start
    pierce: Point
    lead_in: tuple[Segment, ...]
    lead_out: tuple[Segment, ...]
    clearance: float


def usual_lead_length(kerf_width: float) -> float:
    """Usual distance of the pierce from the part. [m]"""
    return max(LEAD_KERFS * kerf_width, LEAD_LEAST)


def least_clearance(kerf_width: float) -> float:
    """Least distance from the pierce's centre to the part. [m]"""
    return 0.5 * kerf_width + PIERCE_MARGIN


class Scrap:
    """The scrap on the outer side of an outline, or inside an opening, for questions of clearance."""

    def __init__(self, contour: Contour) -> None:
        self.inside = contour.role is ContourRole.OPENING
        self.polygon = shapely.Polygon(flatten_contour(contour, tolerance=FLATTENING))
        self.ring = self.polygon.exterior
        shapely.prepare([self.polygon, self.ring])
        left, bottom, right, top = self.polygon.bounds
        self.room = 0.5 * min(right - left, top - bottom) if self.inside else inf
        """No disc of a larger radius fits into the opening. [m]"""

    def clearance(self, point: Point) -> float:
        """Distance from the part, negative inside the material. [m]"""
        place = shapely.Point(point)
        distance = float(shapely.distance(self.ring, place))
        return distance if bool(shapely.contains(self.polygon, place)) is self.inside else -distance

    def path_clearance(self, segments: tuple[Segment, ...]) -> float:
        """Least distance of a path from the contour. [m]"""
        line = shapely.LineString(flatten_segments(segments, tolerance=FLATTENING))
        return float(shapely.distance(self.ring, line))

    @cached_property
    def centre(self) -> tuple[Point, float]:
        """Centre and radius of the largest disc that fits into an opening. [m]"""
        spoke = shapely.maximum_inscribed_circle(self.polygon, tolerance=1.0e-5)
        (x0, y0), (x1, y1) = spoke.coords
        return (x0, y0), hypot(x1 - x0, y1 - y0)


def leads_at(start: Start, scrap: Scrap, *, size: float, kerf_width: float) -> Leads | None:
    """
    Leads of one size at one start, if they keep clear of the part.

    Parameters
    ----------
    start : Start
        Where the cut starts.
    scrap : Scrap
        Of the contour.
    size : float
        Distance from the edge to the pierce. [m]
    kerf_width : float
        [m]

    Returns
    -------
    Leads or None
        None if neither a tangent nor a straight lead of that size fits.
    """
    need = max(least_clearance(kerf_width), BALANCE * size)
    for shape in _shapes(start):
        lead_in = _lead(start, shape, size, offset=0.0)
        pierce = lead_in[0].start
        clearance = scrap.clearance(pierce)
        if clearance < need * (1.0 - 1e-9):
            continue
        if not _keeps_clear(start, shape, size, scrap, kerf_width):
            continue
        return Leads(
            start=start,
            pierce=pierce,
            lead_in=lead_in,
            lead_out=_lead_out(start, size, scrap, kerf_width),
            clearance=clearance,
        )
    return None


def leads_from_centre(start: Start, scrap: Scrap, *, kerf_width: float) -> Leads | None:
    """Straight lead from the widest place of an opening to a start, if it keeps clear of the part."""
    pierce, clearance = scrap.centre
    line = (Line(pierce, start.position),)
    x, y = beside(start.position, start.heading, 0.5 * kerf_width)
    cut = (Line(pierce, (x, y)),)
    if clearance < least_clearance(kerf_width):
        return None
    if scrap.path_clearance(cut) < 0.5 * kerf_width - 2.0 * FLATTENING:
        return None
    return Leads(start=start, pierce=pierce, lead_in=line, lead_out=(), clearance=clearance)


def leads_in_circle(start: Start, *, size: float, kerf_width: float) -> Leads:
    """Leads in a round opening: a half circle from the pierce, at its centre if the opening is small."""
    depth = min(size, start.edge.radius)
    lead_in = _lead(start, "half", depth, offset=0.0)
    # The end of the lead-out is 0.29 depths off the wall, which must leave room for half a kerf.
    lead_out = _lead(start, "out", 0.5 * depth, offset=0.0) if depth > 2.0 * kerf_width else ()
    return Leads(start=start, pierce=lead_in[0].start, lead_in=lead_in, lead_out=lead_out, clearance=depth)


def sizes(usual: float, room: float, least: float) -> Iterator[float]:
    """Sizes to try, from the usual one, or what may fit, down to the least."""
    largest = min(usual, room)
    for fraction in SHORTER:
        if fraction * largest > least:
            yield fraction * largest
    if least <= largest:
        yield least


def _shapes(start: Start) -> tuple[str, ...]:
    if start.at_corner:
        return ("along",)
    hollow = start.edge.kind is not EdgeKind.STRAIGHT and start.edge.curvature < 0.0
    return ("half", "across") if hollow else ("quarter", "across")


def _keeps_clear(start: Start, shape: str, size: float, scrap: Scrap, kerf_width: float) -> bool:
    """Whether the jet, half a kerf off the edge at the start, stays half a kerf off the part all the way."""
    half = 0.5 * kerf_width
    if size <= half:
        return False
    cut = _lead(start, shape, size, offset=half)
    return (
        scrap.path_clearance(cut) >= half - 2.0 * FLATTENING
        and scrap.clearance(cut[0].start) > 0.0
        and scrap.clearance(cut[0].point(0.5)) > 0.0
    )


def _lead_out(start: Start, size: float, scrap: Scrap, kerf_width: float) -> tuple[Segment, ...]:
    for fraction in (0.5, 0.25):
        length = fraction * size + 0.5 * kerf_width
        if length < size and _keeps_clear(start, "out", length, scrap, kerf_width):
            return _lead(start, "out", length, offset=0.0)
    return ()


def _lead(start: Start, shape: str, size: float, *, offset: float) -> tuple[Segment, ...]:
    """Lead of a shape that reaches `size` into the scrap and meets the cut `offset` off the edge."""
    reach = size - offset
    if shape == "along":
        end = beside(start.position, start.heading, offset)
        ahead = (cos(start.heading), sin(start.heading))
        return (Line((end[0] - size * ahead[0], end[1] - size * ahead[1]), end),)
    if shape == "out":
        begin = beside(start.position, start.end_heading, offset)
        if start.at_corner:
            ahead = (cos(start.end_heading), sin(start.end_heading))
            return (Line(begin, (begin[0] + size * ahead[0], begin[1] + size * ahead[1])),)
        centre = beside(begin, start.end_heading, reach)
        return (Arc(centre, reach, start.end_heading + pi / 2, -pi / 2),)
    end = beside(start.position, start.heading, offset)
    if shape == "across":
        return (Line(beside(start.position, start.heading, size), end),)
    radius, sweep = (0.5 * reach, pi) if shape == "half" else (reach, pi / 2)
    centre = beside(end, start.heading, radius)
    return (Arc(centre, radius, start.heading + pi / 2 + sweep, -sweep),)


def beside(point: Point, heading: float, distance: float) -> Point:
    """Point to the right of the direction of travel, in the scrap."""
    return (point[0] + distance * sin(heading), point[1] - distance * cos(heading))
