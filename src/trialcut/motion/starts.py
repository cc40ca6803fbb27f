"""Where on a contour the jet may start and end, the least harmful place first.

A start leaves a witness on the wall. The order of preference is, of all places where no demand is in the way:

1. the middle of a straight edge, the longest first;
2. an outside corner, met on the extension of the edge after it and left on that of the edge before it;
3. the middle of any other edge, the longest first; anywhere on a circle.

After them, for a contour that is demanded all round, come the middles of the demanded edges, straight ones
first.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import pi

from trialcut.geometry.contours import Contour, Edge, EdgeKind
from trialcut.geometry.curves import Point

CORNER_TURNS = (pi / 6, 5 * pi / 6)
"""Least and largest turn of an outside corner that a start uses. [rad]"""

MOST_STARTS = 4
"""Places of one class that are tried before all of them are."""

CornerKey = tuple[str, str]
"""A corner, by the edge before and the edge after it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """A place to start.

    Parameters
    ----------
    edge : Edge
        The cut starts on it.
    fraction : float
        Along that edge; zero at a corner. [-]
    position : Point
        [m]
    heading : float
        Direction of travel there. [rad]
    end_heading : float
        Direction in which the cut arrives there at its end: differs from `heading` at a corner. [rad]
    """

    edge: Edge
    fraction: float
    position: Point
    heading: float
    end_heading: float

    @property
    def at_corner(self) -> bool:
        """Whether it is a corner, not the inside of an edge."""
        return self.heading != self.end_heading


def starts_of_contour(
    contour: Contour,
    *,
    avoid: Collection[str],
    avoid_corners: Collection[CornerKey],
    most: int | None = MOST_STARTS,
) -> tuple[tuple[Start, ...], tuple[Start, ...]]:
    """
    Places to start on a contour, best first.

    Parameters
    ----------
    contour : Contour
        Any.
    avoid : collection of str
        Ids of edges on which a witness would do harm.
    avoid_corners : collection of (before, after)
        Corners at which it would.
    most : int or None
        Of each class; None for all.

    Returns
    -------
    free, demanded : tuple of Start
        Places without and with a demand in the way.
    """
    by_length = sorted(contour.edges, key=lambda edge: -edge.length)
    free_edges = [edge for edge in by_length if edge.id not in avoid]
    straight = [_middle(edge) for edge in free_edges if edge.kind is EdgeKind.STRAIGHT]
    corners = _corner_starts(contour, avoid_corners)
    curved = [_middle(edge) for edge in free_edges if edge.kind is not EdgeKind.STRAIGHT]
    demanded = [_middle(edge) for edge in by_length if edge.id in avoid]
    demanded.sort(key=lambda start: start.edge.kind is not EdgeKind.STRAIGHT)
    free = (*straight[:most], *corners[:most], *curved[:most])
    return free, tuple(demanded[:most])


def place_on_edge(edge: Edge, fraction: float) -> tuple[Point, float]:
    """Position [m] and heading [rad] at a fraction of an edge's length."""
    rest = fraction * edge.length
    for segment in edge.segments:
        length = segment.length
        if rest <= length or segment is edge.segments[-1]:
            part = min(1.0, rest / length)
            return segment.point(part), segment.heading(part)
        rest -= length
    raise ValueError(f"edge {edge.id} has no segments")


def _middle(edge: Edge) -> Start:
    fraction = 0.0 if edge.kind is EdgeKind.CIRCLE else 0.5
    position, heading = place_on_edge(edge, fraction)
    return Start(edge=edge, fraction=fraction, position=position, heading=heading, end_heading=heading)


def _corner_starts(contour: Contour, avoid_corners: Collection[CornerKey]) -> list[Start]:
    edges = {edge.id: edge for edge in contour.edges}
    low, high = CORNER_TURNS
    starts = []
    for corner in contour.corners:
        if low <= corner.turn <= high and (corner.before, corner.after) not in avoid_corners:
            before, after = edges[corner.before], edges[corner.after]
            starts.append(
                Start(
                    edge=after,
                    fraction=0.0,
                    position=after.start,
                    heading=after.segments[0].heading(0.0),
                    end_heading=before.segments[-1].heading(1.0),
                )
            )
    starts.sort(key=lambda start: -start.edge.length)
    return starts
