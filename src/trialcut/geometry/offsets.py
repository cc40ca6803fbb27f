"""The path of a jet beside a contour: lines and arcs at each edge's own distance, in the scrap.

The path keeps at least the offset of every edge from it, measured square to the edge, and exactly the offset
of the edge it follows; where two edges meet, the smaller of their offsets. At an outside corner up to a right
angle it runs straight past the edge to the exact crossing with the next: so the jet has passed the corner,
down to the bottom face, before it turns, and the corner comes out sharp. At a sharper one it runs past by one
offset and straight across. Where two edges with different offsets meet smoothly it steps over on an arc about
the joint. At an inside corner it is trimmed at the exact crossing. An edge beside which no room is left,
shorter than the kerf allows or an arc tighter than its offset, has no path and is named.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, pi, sin

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import ComputationError, UnknownNameError
from trialcut.geometry.contours import Contour, ContourRole
from trialcut.geometry.crossings import END, beside, crossings, piece, square_distances
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.gather import in_both
from trialcut.geometry.table import Flags, Floats, SegmentTable
from trialcut.geometry.tolerances import FULL_TURN, SAME_POINT

ROOM = 5.0e-9
"""How much nearer than its offset the path may come to an edge, for rounding. [m]"""

MARGIN = 0.2
"""By how much the arc between two different offsets is drawn too long before it is trimmed. [rad]"""

STRAIGHT_ON = 1.0e-9
"""A turn below this is none. [rad]"""

RIGHT_ANGLE = pi / 2 + 1e-9
"""Largest turn that is passed on the extensions of both edges. [rad]"""

AT_ONCE = 2000
"""Items that are held against all edges in one go, so that very many short ones take little memory."""

Item = tuple[str | None, Segment]
"""A segment of a path, and the edge it follows; none on the way across a corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetContour:
    """The closed path beside a contour.

    Parameters
    ----------
    pieces : tuple of (edge id or None, Segment)
        In the direction of the contour, each starting where the one before ends; none where the jet does not
        fit at all. [m]
    vanished : tuple of str
        Edges beside which there is no path.
    left_out : int
        Further loops that the path would have where the scrap is too narrow for the jet to pass; the longest
        is kept.
    """

    pieces: tuple[Item, ...]
    vanished: tuple[str, ...]
    left_out: int = 0


def offset_contour(contour: Contour, offsets: Mapping[str, float]) -> OffsetContour:
    """
    Return the path of a jet beside a contour.

    Parameters
    ----------
    contour : Contour
        Material to the left of travel.
    offsets : mapping of edge id to float
        From each drawn edge to the path, into the scrap; zero or more. [m]

    Returns
    -------
    OffsetContour
        Exact lines and arcs.

    Raises
    ------
    UnknownNameError
        If an edge has no offset.
    ComputationError
        If the offsets of an outline are so different that no closed path is found.

    Notes
    -----
    Every edge is set off and drawn on past outside corners, neighbours are trimmed at their crossing; then
    all other crossings are found and what lies nearer to any edge than that edge's offset is dropped.
    """
    try:
        drawn = [
            (edge.id, segment, max(offsets[edge.id], 0.0))
            for edge in contour.edges
            for segment in edge.segments
        ]
    except KeyError as missing:
        name = missing.args[0]
        raise UnknownNameError(f"edge {name} has no offset; give one for every edge", name=name) from None
    names = tuple(edge.id for edge in contour.edges)
    only = drawn[0][1]
    if len(drawn) == 1 and isinstance(only, Arc) and abs(only.sweep) >= FULL_TURN:
        circle = beside(only, drawn[0][2])
        if circle is None:
            return OffsetContour(pieces=(), vanished=names)
        return OffsetContour(pieces=((names[0], circle),), vanished=())
    joints = [_joint(before, after) for before, after in zip(drawn, [*drawn[1:], drawn[0]], strict=True)]
    items = _trim_neighbours(_raw(drawn, joints))
    if not items:
        return OffsetContour(pieces=(), vanished=names)
    split = _split(items)
    blocked = _too_near(split, drawn, joints) | _within_corners(split, joints)
    loops = _chains([item for item, bad in zip(split, blocked.tolist(), strict=True) if not bad])
    sign = 1.0 if contour.role is ContourRole.OUTLINE else -1.0
    loops = [loop for loop in loops if sign * _area(loop) > 0.0]
    if not loops and contour.role is ContourRole.OUTLINE:
        least, most = min(offsets[name] for name in names), max(offsets[name] for name in names)
        raise ComputationError(
            f"no path is found round outline {contour.id} with offsets from {in_both(least)} to "
            f"{in_both(most)}: bring them nearer to one another",
            contour=contour.id,
        )
    if not loops:
        return OffsetContour(pieces=(), vanished=names)
    longest = max(loops, key=lambda loop: sum(segment.length for _, segment in loop))
    kept = {name for name, _ in longest}
    order = {name: i for i, name in enumerate(names)}
    first = min(range(len(longest)), key=lambda i: (order.get(longest[i][0] or "", len(names)), 0))
    while first > -len(longest) and longest[first - 1][0] == longest[first][0]:
        first -= 1
    return OffsetContour(
        pieces=tuple(longest[first:] + longest[:first]),
        vanished=tuple(name for name in names if name not in kept),
        left_out=len(loops) - 1,
    )


Drawn = tuple[str, Segment, float]
"""Edge, segment and offset."""


def _raw(drawn: Sequence[Drawn], joints: Sequence[_Joint]) -> list[Item]:
    """Every segment set off, drawn on past outside corners, and what closes the gaps."""
    items: list[Item] = []
    for i, (name, segment, own) in enumerate(drawn):
        shifted = beside(segment, own)
        back, past = joints[i - 1].back, joints[i].past
        if isinstance(shifted, Line):
            items.append((name, _drawn_on(shifted, back=back, past=past)))
        elif shifted is not None:
            ways = (
                _tangent(shifted.start, shifted.heading(0.0), -back, 0.0),
                shifted,
                _tangent(shifted.end, shifted.heading(1.0), 0.0, past),
            )
            items += [(name, way) for way in ways if way.length > END]
        across = joints[i].across
        if across is not None:
            items.append((None, across))
    return items


@dataclass(frozen=True, slots=True)
class _Joint:
    """How far the path runs past the edge before and comes back to the edge after [m], and what is between.

    `corner` is what the path goes round: the corner's point, and the path from offset to offset. [m]
    """

    past: float = 0.0
    back: float = 0.0
    across: Segment | None = None
    corner: tuple[Point, ...] = ()


def _joint(before: Drawn, after: Drawn) -> _Joint:
    _, first, own = before
    _, second, other = after
    turn = _turn(first, second)
    alike = abs(own - other) <= END
    if alike and (turn <= STRAIGHT_ON or own <= END):
        return _Joint()
    if turn > RIGHT_ANGLE:
        run = max(own, other)
        begin = _beyond(first.end, first.heading(1.0), own, run)
        end = _beyond(second.start, second.heading(0.0), other, -run)
        return _Joint(run, run, Line(begin, end), _round(before, after, begin, end))
    if turn > 0.0:
        past = (other - own * cos(turn)) / sin(turn)
        back = (own - other * cos(turn)) / sin(turn)
        if min(past, back) >= 0.0 and max(past, back) <= 2.0 * max(own, other):
            apex = _beyond(first.end, first.heading(1.0), own, past)
            return _Joint(past, back, None, _round(before, after, apex))
    over = acos(min(own, other) / max(own, other))
    if alike or turn + over <= 0.0:
        return _Joint()
    right = first.heading(1.0) - pi / 2
    start = right - over - MARGIN if own < other else right
    return _Joint(across=Arc(first.end, max(own, other), start, turn + over + MARGIN))


def _round(before: Drawn, after: Drawn, *past: Point) -> tuple[Point, ...]:
    """What the path goes round at an outside corner, given its points past the edges."""
    _, first, own = before
    _, second, other = after
    leaves = _beyond(first.end, first.heading(1.0), own, 0.0)
    meets = _beyond(second.start, second.heading(0.0), other, 0.0)
    return (first.end, leaves, *past, meets)


def _beyond(point: Point, heading: float, offset: float, run: float) -> Point:
    """Point at an offset to the right of a heading, and some way along it."""
    ahead, right = (cos(heading), sin(heading)), (sin(heading), -cos(heading))
    return (point[0] + offset * right[0] + run * ahead[0], point[1] + offset * right[1] + run * ahead[1])


def _tangent(point: Point, heading: float, begin: float, end: float) -> Line:
    return Line(_beyond(point, heading, 0.0, begin), _beyond(point, heading, 0.0, end))


def _drawn_on(line: Line, *, back: float, past: float) -> Line:
    length = line.length
    return Line(line.point(-back / length), line.point(1.0 + past / length))


def _turn(before: Segment, after: Segment) -> float:
    """Signed turn between two segments; at a reversal, by the side on which the second lies. [rad]"""
    difference = after.heading(0.0) - before.heading(1.0)
    turn = atan2(sin(difference), cos(difference))
    if abs(turn) < pi - 1e-6:
        return turn
    # Both are seen at one distance from the joint, ahead of it from behind.
    near = 0.1 * min(before.length, after.length)
    x, y = before.end
    x0, y0 = before.point(1.0 - near / before.length)
    x1, y1 = after.point(near / after.length)
    return pi if (x - x0) * (y1 - y0) - (y - y0) * (x1 - x0) >= 0.0 else -pi


def _trim_neighbours(items: list[Item]) -> list[Item]:
    """Trim each item and the next at their crossing, where that leaves something of every item."""
    count = len(items)
    begin, end = [0.0] * count, [1.0] * count
    for i in range(count):
        k = (i + 1) % count
        first, second = items[i][1], items[k][1]
        if i == k or _apart(first.end, second.start) <= END:
            continue
        met = [(t, u) for t, u in crossings(first, second) if t > 0.5 > u]
        if len(met) == 1:
            end[i], begin[k] = met[0]
    return [
        (name, piece(segment, b, e) if (b, e) != (0.0, 1.0) else segment)
        if (e - b) * segment.length > END
        else (name, segment)
        for (name, segment), b, e in zip(items, begin, end, strict=True)
    ]


def _split(items: list[Item]) -> list[Item]:
    """Split all items where any two cross, but at their ends."""
    import shapely  # noqa: PLC0415

    boxes = SegmentTable.of([[segment for _, segment in items]]).boxes()
    shapes = _widened(boxes, np.full(len(items), END))
    pairs = shapely.STRtree(shapes).query(shapes)
    cuts: dict[int, list[float]] = {}
    for i, k in pairs[:, pairs[0] < pairs[1]].T.tolist():
        first, second = items[i][1], items[k][1]
        lines = isinstance(first, Line) and isinstance(second, Line)
        if lines and (_apart(first.end, second.start) <= END or _apart(second.end, first.start) <= END):
            continue
        for t, u in crossings(first, second):
            for which, segment, at in ((i, first, t), (k, second, u)):
                if END < at * segment.length < segment.length - END:
                    cuts.setdefault(which, []).append(at)
    split: list[Item] = []
    for i, (name, segment) in enumerate(items):
        ends = [0.0, *sorted(cuts.get(i, [])), 1.0]
        for b, e in itertools.pairwise(ends):
            if (e - b) * segment.length > END:
                split.append((name, piece(segment, b, e) if len(ends) > 2 else segment))
    return split


def _too_near(items: list[Item], drawn: Sequence[Drawn], joints: Sequence[_Joint]) -> Flags:
    """Which items come nearer to an edge than its offset, in their middle.

    Where two edges meet the smaller offset counts, unless the path steps over on an arc of the larger.
    """
    import shapely  # noqa: PLC0415

    table = SegmentTable.of([[segment for _, segment, _ in drawn]])
    offset = np.array([own for _, _, own in drawn])
    before = np.roll(offset, 1)
    steps = np.array([isinstance(joint.across, Arc) for joint in [joints[-1], *joints[:-1]]])
    least = np.where(steps, np.maximum(offset, before), np.minimum(offset, before))
    tree = shapely.STRtree(_widened(table.boxes(), offset))
    corners = shapely.STRtree(_widened(np.hstack((table.start, table.start)), least))
    middle = _middles(items)
    near = np.zeros(len(items), dtype=bool)
    for begin in range(0, len(items), AT_ONCE):
        some = middle[begin : begin + AT_ONCE]
        places = shapely.points(some)
        point, row = tree.query(places)
        near[begin + point[square_distances(some[point], table, row) < offset[row] - ROOM]] = True
        point, row = corners.query(places)
        away = np.hypot(*(some[point] - table.start[row]).T)
        near[begin + point[away < least[row] - ROOM]] = True
    return near


def _widened(boxes: Floats, by: Floats) -> NDArray[np.object_]:
    """Boxes, shape (n, 4), moved out on all sides by a distance each."""
    import shapely  # noqa: PLC0415

    return np.asarray(shapely.box(*(boxes + by[:, None] * (-1.0, -1.0, 1.0, 1.0)).T))


def _within_corners(items: list[Item], joints: Sequence[_Joint]) -> Flags:
    """Which items lie within what another part of the path goes round, in their middle."""
    import shapely  # noqa: PLC0415

    within = np.zeros(len(items), dtype=bool)
    rounds = [joint.corner for joint in joints if joint.corner]
    if rounds:
        corners = shapely.polygons(
            shapely.linearrings(
                np.array([point for corner in rounds for point in corner]),
                indices=np.repeat(np.arange(len(rounds)), [len(corner) for corner in rounds]),
            )
        )
        points, tree = shapely.points(_middles(items)), shapely.STRtree(corners)
        for begin in range(0, len(items), AT_ONCE):
            some = points[begin : begin + AT_ONCE]
            item, corner = tree.query(some, predicate="within")
            deep = shapely.distance(some[item], shapely.boundary(corners[corner])) > ROOM
            within[begin + item[deep]] = True
    return within


def _middles(items: list[Item]) -> Floats:
    return np.array([segment.point(0.5) for _, segment in items])


def _chains(items: list[Item]) -> list[list[Item]]:
    """Closed loops of items that follow one another."""
    cells: dict[tuple[int, int], list[int]] = {}
    for i, (_, segment) in enumerate(items):
        cells.setdefault(_cell(segment.start), []).append(i)
    used = [False] * len(items)
    loops = []
    for seed in range(len(items)):
        if used[seed]:
            continue
        chain: list[int] = []
        here: int | None = seed
        while here is not None and not used[here]:
            used[here] = True
            chain.append(here)
            here = _next(items, cells, used, here, seed)
        end, start = items[chain[-1]][1].end, items[seed][1].start
        if _apart(end, start) <= SAME_POINT:
            loops.append([items[i] for i in chain])
    return loops


def _next(
    items: list[Item], cells: dict[tuple[int, int], list[int]], used: list[bool], here: int, seed: int
) -> int | None:
    """Unused item that starts where this one ends, the nearest; the chain's first closes it."""
    end = items[here][1].end
    column, row = _cell(end)
    near = [
        i
        for dx in (-1, 0, 1)
        for dy in (-1, 0, 1)
        for i in cells.get((column + dx, row + dy), ())
        if (not used[i] or i == seed) and _apart(items[i][1].start, end) <= SAME_POINT
    ]
    return min(near, key=lambda i: _apart(items[i][1].start, end)) if near else None


def _cell(point: Point) -> tuple[int, int]:
    return int(point[0] // SAME_POINT), int(point[1] // SAME_POINT)


def _apart(first: Point, second: Point) -> float:
    return hypot(first[0] - second[0], first[1] - second[1])


def _area(loop: Sequence[Item]) -> float:
    total = 0.0
    for _, segment in loop:
        (x0, y0), (x1, y1) = segment.start, segment.end
        total += 0.5 * (x0 * y1 - x1 * y0)
        if isinstance(segment, Arc):
            total += 0.5 * segment.radius**2 * (segment.sweep - sin(segment.sweep))
    return total
