"""Which straight edges of a contour face each other.

From points spread along an edge, lines of sight go out square to it on both sides; the edge they meet first
is faced if it runs antiparallel. A segment can only be met if it lies within the strip that those lines
sweep, so that most of a long contour is never looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, radians

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Contour, Edge, EdgeKind
from trialcut.geometry.curves import Arc, Line, Point

PARALLEL_WITHIN = radians(0.1)
PARALLEL = cos(PARALLEL_WITHIN)
SIGHT_LINES = 15

_CLOSE = 1e-9

Floats = NDArray[np.float64]
Integers = NDArray[np.intp]


def frame(edge: Edge) -> tuple[Point, Point]:
    """Unit vectors along a straight edge and out of the material, which is to the right of travel.

    Parameters
    ----------
    edge : Edge
        Straight.

    Returns
    -------
    tuple of Point
        Along, outward. [-]
    """
    (x0, y0), (x1, y1) = edge.start, edge.end
    length = hypot(x1 - x0, y1 - y0)
    along = ((x1 - x0) / length, (y1 - y0) / length)
    return along, (along[1], -along[0])


def facing_pairs(contour: Contour) -> set[tuple[str, str]]:
    """Pairs of edges that face each other, across material or across void.

    Parameters
    ----------
    contour : Contour
        Its own edges alone stand in the way.

    Returns
    -------
    set of tuple of str
        Edge ids, each pair in the order of the contour.
    """
    scene = _Scene.of(contour)
    fractions = (np.arange(SIGHT_LINES) + 0.5) / SIGHT_LINES
    pairs: set[tuple[str, str]] = set()
    for number, edge in enumerate(contour.edges):
        if edge.kind is not EdgeKind.STRAIGHT:
            continue
        along, outward = frame(edge)
        start, end = np.array(edge.start), np.array(edge.end)
        origins = start + fractions[:, None] * (end - start)
        for met in scene.first_met(origins, np.array(along), np.array(outward)):
            other = contour.edges[met]
            if met != number and _antiparallel(along, other):
                first, second = sorted((number, met))
                pairs.add((contour.edges[first].id, contour.edges[second].id))
    return pairs


def _antiparallel(along: Point, other: Edge) -> bool:
    if other.kind is not EdgeKind.STRAIGHT:
        return False
    direction, _ = frame(other)
    return along[0] * direction[0] + along[1] * direction[1] <= -PARALLEL


@dataclass(frozen=True, slots=True)
class _Scene:
    """The segments of a contour as arrays, each with the number of its edge: N lines and M arcs."""

    line_owner: Integers
    start: Floats
    span: Floats
    arc_owner: Integers
    centre: Floats
    radius: Floats
    start_angle: Floats
    sweep: Floats

    @classmethod
    def of(cls, contour: Contour) -> _Scene:
        owned = [(number, segment) for number, edge in enumerate(contour.edges) for segment in edge.segments]
        lines = [(number, segment) for number, segment in owned if isinstance(segment, Line)]
        arcs = [(number, segment) for number, segment in owned if isinstance(segment, Arc)]
        start = np.array([line.start for _, line in lines], dtype=float).reshape(-1, 2)
        end = np.array([line.end for _, line in lines], dtype=float).reshape(-1, 2)
        return cls(
            line_owner=np.array([number for number, _ in lines], dtype=np.intp),
            start=start,
            span=end - start,
            arc_owner=np.array([number for number, _ in arcs], dtype=np.intp),
            centre=np.array([arc.centre for _, arc in arcs], dtype=float).reshape(-1, 2),
            radius=np.array([arc.radius for _, arc in arcs], dtype=float),
            start_angle=np.array([arc.start_angle for _, arc in arcs], dtype=float),
            sweep=np.array([arc.sweep for _, arc in arcs], dtype=float),
        )

    def first_met(self, origins: Floats, along: Floats, direction: Floats) -> set[int]:
        """Numbers of the edges met first, forward and backward, by the lines through the origins."""
        place = origins @ along
        low, high = place.min(), place.max()
        begin = self.start @ along
        finish = begin + self.span @ along
        lines = np.flatnonzero((np.minimum(begin, finish) <= high) & (np.maximum(begin, finish) >= low))
        middle = self.centre @ along
        arcs = np.flatnonzero((middle - self.radius <= high) & (middle + self.radius >= low))
        near, far = self._arc_distances(arcs, origins, direction)
        distances = np.concatenate((self._line_distances(lines, origins, direction), near, far), axis=1)
        owners = np.concatenate((self.line_owner[lines], self.arc_owner[arcs], self.arc_owner[arcs]))
        found: set[int] = set()
        for sided in (distances, -distances):
            ahead = np.where(sided > _CLOSE, sided, np.inf)
            nearest = np.argmin(ahead, axis=1)
            met = np.isfinite(ahead[np.arange(len(origins)), nearest])
            found.update(int(number) for number in owners[nearest[met]])
        return found

    def _line_distances(self, lines: Integers, origins: Floats, direction: Floats) -> Floats:
        """Signed distances along a direction, shape (R, lines); nan where a segment is missed."""
        span, start = self.span[lines], self.start[lines]
        across = direction[0] * span[:, 1] - direction[1] * span[:, 0]
        across = np.where(np.abs(across) > _CLOSE * np.hypot(span[:, 0], span[:, 1]), across, np.nan)
        offset = start[None, :, :] - origins[:, None, :]
        distance = (offset[..., 0] * span[:, 1] - offset[..., 1] * span[:, 0]) / across
        place = (offset[..., 0] * direction[1] - offset[..., 1] * direction[0]) / across
        return np.where((place >= 0.0) & (place <= 1.0), distance, np.nan)

    def _arc_distances(self, arcs: Integers, origins: Floats, direction: Floats) -> tuple[Floats, Floats]:
        """Signed distances along a direction to both crossings, shape (R, arcs); nan where one is missed."""
        centre, radius = self.centre[arcs], self.radius[arcs]
        start_angle, sweep = self.start_angle[arcs], self.sweep[arcs]
        offset = centre[None, :, :] - origins[:, None, :]
        forward = offset @ direction
        square = radius**2 - (np.sum(offset**2, axis=2) - forward**2)
        half = np.sqrt(np.where(square >= 0.0, square, np.nan))
        crossings = []
        for distance in (forward - half, forward + half):
            point = distance[..., None] * direction - offset
            turned = np.arctan2(point[..., 1], point[..., 0]) - start_angle
            travelled = np.mod(np.sign(sweep) * turned, 2.0 * np.pi)
            crossings.append(np.where(travelled <= np.abs(sweep), distance, np.nan))
        return crossings[0], crossings[1]
