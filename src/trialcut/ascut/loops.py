"""A loop in the scrap at an outside corner: run past, round, and back in along the next edge.

The jet leaves the wall before on its tangent, runs past the point where the tangents cross, turns the long
way round on one arc that is tangent to both, and comes in along the tangent of the wall after. So it passes
the corner twice at full speed, and the bottom, which trails, has come straight past before the jet turns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin, tan

from trialcut.errors import RangeError
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.motion.leads import beside
from trialcut.motion.starts import CornerKey

LOOP_TURNS = (pi / 12, pi / 2 + 1e-6)
"""Least and largest turn of a corner that is looped: a sharper one is crossed straight, and the loop at a
flatter one would be wide. Our own working values. [rad]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A loop at one corner.

    Parameters
    ----------
    crossing : Point
        Where the loop crosses itself, on both tangents. [m]
    core : tuple of Segment
        From the crossing round to it again: line, arc, line. [m]
    segments : tuple of Segment
        The same from where the jet leaves the wall before to where it meets the wall after, in place of the
        roll round the corner. [m]
    radius : float
        Of the arc. [m]
    """

    crossing: Point
    core: tuple[Segment, ...]
    segments: tuple[Segment, ...]
    radius: float

    @property
    def length(self) -> float:
        """Length from wall to wall. [m]"""
        return sum(segment.length for segment in self.segments)


def loop_at_corner(
    *,
    position: Point,
    heading_in: float,
    heading_out: float,
    offset_before: float,
    offset_after: float,
    straight: float,
    radius: float,
) -> Loop:
    """
    Lay a loop at an outside corner.

    Parameters
    ----------
    position : Point
        The drawn corner. [m]
    heading_in, heading_out : float
        Of the edges there. [rad]
    offset_before, offset_after : float
        From each edge to the path. [m]
    straight : float
        Least length run straight past the wall before and in front of the wall after. [m]
    radius : float
        Least radius of the arc. [m]

    Returns
    -------
    Loop
        With the smallest arc that serves both.

    Raises
    ------
    RangeError
        If the corner does not turn by 15° to 90° to the left, or the radius is not above zero.

    Notes
    -----
    With turn phi, an arc of radius r is tangent to both lines at a distance r tan(phi/2) from their crossing,
    and turns by 2 pi - phi to the right.
    """
    turn = (heading_out - heading_in + pi) % (2.0 * pi) - pi
    low, high = LOOP_TURNS
    if not low <= turn <= high:
        raise RangeError(
            f"turn {turn:g} rad cannot be looped: only outside corners of {low:.3g} to {high:.3g} rad can; "
            "slow down there instead",
            turn=turn,
        )
    if not radius > 0.0:
        raise RangeError(f"loop radius {radius:g} m must be above zero: give a real one", radius=radius)
    leave = beside(position, heading_in, offset_before)
    meet = beside(position, heading_out, offset_after)
    # Along the line before until it meets the line after, and from there along that to the wall.
    past = (offset_after - offset_before * cos(turn)) / sin(turn)
    ahead = (offset_before - offset_after * cos(turn)) / sin(turn)
    crossing = _along(leave, heading_in, past)
    reach = max(radius * tan(0.5 * turn), straight - min(past, ahead), 0.0)
    size = reach / tan(0.5 * turn)
    begin, end = _along(crossing, heading_in, reach), _along(crossing, heading_out, -reach)
    centre = beside(begin, heading_in, size)
    arc = Arc(centre, size, heading_in + pi / 2, -(2.0 * pi - turn))
    return Loop(
        crossing=crossing,
        core=(Line(crossing, begin), arc, Line(end, crossing)),
        segments=(Line(leave, begin), arc, Line(end, meet)),
        radius=size,
    )


def _along(point: Point, heading: float, distance: float) -> Point:
    return (point[0] + distance * cos(heading), point[1] + distance * sin(heading))


def with_loops(
    items: Sequence[tuple[str | None, Segment]], loops: Mapping[CornerKey, Sequence[Segment]]
) -> list[tuple[str | None, Segment]]:
    """Path with loops put in where it turns from one edge to the next, moved to where it really does.

    Parameters
    ----------
    items : sequence of (edge id or None, Segment)
        In order of travel.
    loops : mapping of (before, after) to sequence of Segment
        Cores of loops. [m]

    Returns
    -------
    list of (edge id or None, Segment)
        No edge on the loops.
    """
    found: list[tuple[str | None, Segment]] = []
    for (name, segment), (following, _) in zip(items, [*items[1:], (None, None)], strict=True):
        found.append((name, segment))
        if name is None or following is None or name == following:
            continue
        core = loops.get((name, following), ())
        if core:
            step = (segment.end[0] - core[0].start[0], segment.end[1] - core[0].start[1])
            found += [(None, _moved(each, step)) for each in core if each.length > 0.0]
    return found


def _moved(segment: Segment, step: Point) -> Segment:
    dx, dy = step
    if isinstance(segment, Arc):
        centre = (segment.centre[0] + dx, segment.centre[1] + dy)
        return Arc(centre, segment.radius, segment.start_angle, segment.sweep)
    (x0, y0), (x1, y1) = segment.start, segment.end
    return Line((x0 + dx, y0 + dy), (x1 + dx, y1 + dy))
