"""Dimension lines: rows below and beside the part, slanted ones in place, callouts for round edges."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import atan2, cos, hypot, inf, pi, radians, sin

from trialcut.geometry.curves import Arc, Point
from trialcut.papers.frame import Bounds, Frame
from trialcut.papers.labels import Box, Layout
from trialcut.papers.sizes import Across, Round, nearest_pair
from trialcut.papers.svg import text_width

TYPE = 10.5
"""Type size of dimensions. [px]"""
FIRST_ROW = 34.0
"""From the part to the first dimension line. [px]"""
ROW = 21.0
"""From one dimension line to the next. [px]"""
MOST_ROWS = 4
"""On one side."""
_ARROW = 6.0
_SQUARE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One dimension as it goes onto the picture, in pixels.

    Parameters
    ----------
    demands : tuple of str
        Ids of the demands it shows.
    text : str
        Limits.
    centre : Point
        Middle of the text.
    turn : float
        Of the text, clockwise. [deg]
    lines, thin : tuple of pairs of Point
        Dimension lines; extension lines.
    arrows : tuple of (Point, float)
        Tip, and the direction it points to in pixels. [rad]
    """

    demands: tuple[str, ...]
    text: str
    centre: Point
    turn: float
    lines: tuple[tuple[Point, Point], ...]
    thin: tuple[tuple[Point, Point], ...] = ()
    arrows: tuple[tuple[Point, float], ...] = ()

    @property
    def box(self) -> Box:
        """Upright box around the text."""
        width, height = text_width(self.text, TYPE) + 4.0, TYPE + 4.0
        angle = radians(self.turn)
        c, s = abs(cos(angle)), abs(sin(angle))
        return Box.around(self.centre, width * c + height * s, width * s + height * c)


Stretch = tuple[float, float]


@dataclass(slots=True)
class Rows:
    """Occupied stretches of the rows on one side of the part, and where their texts are."""

    used: list[list[tuple[Stretch, Stretch]]] = field(default_factory=list)

    def place(self, whole: Stretch, text: Stretch, ends: Stretch) -> int | None:
        """First row with room for a dimension whose extension lines cross no text nearer in."""
        for row in range(MOST_ROWS):
            if row == len(self.used):
                self.used.append([])
            if any(whole[0] < high and low < whole[1] for (low, high), _ in self.used[row]):
                continue
            inner = [taken for nearer in self.used[:row] for _, taken in nearer]
            if any(low < end < high for low, high in inner for end in ends):
                return None
            self.used[row].append((whole, text))
            return row
        return None


@dataclass(slots=True, kw_only=True)
class Placed:
    """Where the straight dimensions go: side and row of each, and what found no room."""

    where: dict[str, tuple[str, int]] = field(default_factory=dict)
    stretches: list[tuple[str, Stretch]] = field(default_factory=list)
    dropped: list[str] = field(default_factory=list)

    def rows(self, side: str) -> int:
        """Number of rows used on a side."""
        return max((row + 1 for place, row in self.where.values() if place == side), default=0)

    def reach(self, along: str) -> Stretch:
        """Least and greatest pixel that the dimensions along ``"x"`` or ``"y"`` take up."""
        taken = [stretch for direction, stretch in self.stretches if direction == along]
        return min((low for low, _ in taken), default=inf), max((high for _, high in taken), default=-inf)


def axis(size: Across) -> str:
    """``"x"``, ``"y"`` or ``"slant"``."""
    if abs(size.direction[1]) < _SQUARE:
        return "x"
    return "y" if abs(size.direction[0]) < _SQUARE else "slant"


def assign_rows(sizes: Iterable[Across], frame: Frame, extent: Bounds) -> Placed:
    """Give every upright dimension a side and a row, the shortest nearest to the part.

    Parameters
    ----------
    sizes : iterable of Across
        Slanted ones are passed over.
    frame : Frame
        Of the picture.
    extent : Bounds
        Of the part in pixels: left, top, right, bottom.
    """
    placed = Placed()
    sides = {"x": ("bottom", "top"), "y": ("left", "right")}
    rows = {side: Rows() for pair in sides.values() for side in pair}
    upright = [size for size in sizes if axis(size) != "slant"]
    for size in sorted(upright, key=lambda s: _span(s, frame)[1] - _span(s, frame)[0]):
        ends = _span(size, frame)
        text = _text_stretch(size, ends, extent)
        whole = (min(text[0], ends[0] - 15.0), max(text[1], ends[1] + 15.0))
        if ends[0] <= text[0] and text[1] <= ends[1]:
            whole = ends
        for side in sides[axis(size)]:
            row = rows[side].place(whole, text, ends)
            if row is not None:
                placed.where[size.demand] = (side, row)
                placed.stretches.append((axis(size), whole))
                break
        else:
            placed.dropped.append(size.demand)
    return placed


def _text_stretch(size: Across, ends: Stretch, extent: Bounds) -> Stretch:
    """Where a text stands along its line: between the arrows, or past the end that has more room."""
    width = text_width(size.text, TYPE)
    low, high = ends
    if width + 8.0 <= high - low:
        middle = (low + high) / 2
        return middle - width / 2, middle + width / 2
    first, last = (extent[0], extent[2]) if axis(size) == "x" else (extent[1], extent[3])
    if last - high >= low - first:
        return high + 12.0, high + 12.0 + width
    return low - 12.0 - width, low - 12.0


def _span(size: Across, frame: Frame) -> Stretch:
    a, b = frame.to_view(size.first[0]), frame.to_view(size.second[0])
    pair = (a[0], b[0]) if axis(size) == "x" else (a[1], b[1])
    return min(pair), max(pair)


def draw_in_rows(sizes: Sequence[Across], placed: Placed, frame: Frame, extent: Bounds) -> list[Drawn]:
    """Dimension lines in their rows.

    Parameters
    ----------
    sizes : sequence of Across
        Those that `placed` knows are drawn.
    placed : Placed
        Their sides and rows.
    frame : Frame
        Of the picture.
    extent : Bounds
        Of the part in pixels: left, top, right, bottom.
    """
    drawn = []
    for size in sizes:
        if size.demand not in placed.where:
            continue
        side, row = placed.where[size.demand]
        away = FIRST_ROW + row * ROW
        level = {
            "bottom": extent[3] + away,
            "top": extent[1] - away,
            "left": extent[0] - away,
            "right": extent[2] + away,
        }[side]
        drawn.append(_upright(size, frame, side, level, extent))
    return drawn


def _upright(size: Across, frame: Frame, side: str, level: float, extent: Bounds) -> Drawn:
    flat = side in ("bottom", "top")
    outward = 1.0 if side in ("bottom", "right") else -1.0
    ends = []
    for anchors in (size.first, size.second):
        seen = [frame.to_view(point) for point in anchors]
        across = 1 if flat else 0
        ends.append(max(seen, key=lambda p: outward * p[across]))
    ends.sort(key=lambda p: p[0] if flat else p[1])

    def at(position: float, height: float) -> Point:
        return (position, height) if flat else (height, position)

    low, high = (ends[0][0], ends[1][0]) if flat else (ends[0][1], ends[1][1])
    foot = (ends[0][1], ends[1][1]) if flat else (ends[0][0], ends[1][0])
    thin = tuple(
        (at(place, start + 4.0 * outward), at(place, level + 4.0 * outward))
        for place, start in zip((low, high), foot, strict=True)
    )
    text = _text_stretch(size, (low, high), extent)
    inside = low <= text[0] and text[1] <= high
    middle = (text[0] + text[1]) / 2
    # Text runs left to right, or bottom to top; it stands above, or to the left of, its line.
    centre = at(middle, level - 7.0)
    forward, back = (0.0, pi) if flat else (pi / 2, -pi / 2)
    lines: tuple[tuple[Point, Point], ...]
    if inside:
        lines = ((at(low, level), at(high, level)),)
        arrows = ((at(low, level), back), (at(high, level), forward))
    else:
        first, last = min(low - 14.0, text[0]), max(high + 14.0, text[1])
        lines = ((at(first, level), at(low, level)), (at(high, level), at(last, level)))
        arrows = ((at(low, level), forward), (at(high, level), back))
    return Drawn(
        demands=(size.demand,),
        text=size.text,
        centre=centre,
        turn=0.0 if flat else -90.0,
        lines=lines,
        thin=thin,
        arrows=arrows,
    )


def draw_slanted(size: Across, frame: Frame, layout: Layout) -> Drawn | None:
    """A dimension line in place, between the nearest ends of two edges; none if its text finds no room."""
    near, far = nearest_pair(size.first, size.second)
    a = frame.to_view(near)
    gap = (far[0] - near[0]) * size.direction[0] + (far[1] - near[1]) * size.direction[1]
    b = frame.to_view((near[0] + gap * size.direction[0], near[1] + gap * size.direction[1]))
    angle = atan2(b[1] - a[1], b[0] - a[0])
    width, height = text_width(size.text, TYPE), TYPE + 3.0
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    normal = (-sin(angle), cos(angle))
    candidates = [
        Box.around(
            (
                middle[0] + normal[0] * away + cos(angle) * shift,
                middle[1] + normal[1] * away + sin(angle) * shift,
            ),
            width,
            height,
        )
        for reach in (12.0, 24.0, 40.0)
        for away in (
            reach + abs(normal[0]) * width / 2,
            -reach - abs(normal[0]) * width / 2,
        )
        for shift in (0.0, 20.0, -20.0)
    ]
    box = layout.first_free(candidates) or layout.first_free(candidates, over_faint=True)
    if box is None:
        return None
    return Drawn(
        demands=(size.demand,),
        text=size.text,
        centre=box.centre,
        turn=0.0,
        lines=((a, b),),
        thin=((b, frame.to_view(far)),),
        arrows=((a, angle + pi), (b, angle)),
    )


_AROUND = tuple(radians(a) for a in (45, 135, -45, -135, 25, 155, -25, -155, 70, 110, -70, -110, 0, 180))


def draw_callout(size: Round, frame: Frame, layout: Layout) -> Drawn | None:
    """A leader from a round edge to its diameter or radius; none if it finds no room.

    Of several equal edges the one with the nearest free place is taken.
    """
    return _callout(size, frame, layout, over_faint=False) or _callout(size, frame, layout, over_faint=True)


def _callout(size: Round, frame: Frame, layout: Layout, *, over_faint: bool) -> Drawn | None:
    width = text_width(size.text, TYPE)
    for sense, reach, arc in _callout_tries(size, frame, width):
        centre = frame.to_view(arc.centre)
        radius = arc.radius * frame.scale
        full = abs(arc.sweep) > 1.9 * pi
        angles = _AROUND if full else [arc.start_angle + f * arc.sweep for f in (0.5, 0.35, 0.65, 0.2, 0.8)]
        for angle in angles:
            out = (cos(angle), -sin(angle))
            tip = (centre[0] + out[0] * radius, centre[1] + out[1] * radius)
            knee = (tip[0] + out[0] * reach * sense, tip[1] + out[1] * reach * sense)
            side = 1.0 if out[0] * sense >= -1e-9 else -1.0
            shelf = (knee[0] + 8.0 * side, knee[1])
            box = Box.around((shelf[0] + (width / 2 + 3.0) * side, knee[1]), width + 4.0, TYPE + 5.0)
            if layout.free(box, over_faint=over_faint) and layout.clear(tip, knee):
                layout.take(box)
                return Drawn(
                    demands=size.demands,
                    text=size.text,
                    centre=box.centre,
                    turn=0.0,
                    lines=((tip, knee), (knee, shelf)),
                    arrows=((tip, atan2(-out[1] * sense, -out[0] * sense)),),
                )
    return None


def _callout_tries(size: Round, frame: Frame, width: float) -> Iterator[tuple[float, float, Arc]]:
    """Inwards or outwards, how far, from which arc: roomy openings hold their own text."""
    for reach in (9.0, 18.0, 28.0, 42.0):
        for arc in size.arcs:
            if arc.sweep < 0.0 and 2.0 * arc.radius * frame.scale > width + 24.0:
                yield -1.0, reach, arc
    for reach in (18.0, 28.0, 42.0, 60.0, 85.0, 115.0):
        for arc in size.arcs:
            yield 1.0, reach, arc


def arrow_points(tip: Point, direction: float) -> tuple[Point, Point, Point]:
    """Corners of a slim arrowhead."""
    spread = radians(12.0)
    return (
        tip,
        (tip[0] - _ARROW * cos(direction - spread), tip[1] - _ARROW * sin(direction - spread)),
        (tip[0] - _ARROW * cos(direction + spread), tip[1] - _ARROW * sin(direction + spread)),
    )


def points_on(lines: Iterable[tuple[Point, Point]]) -> Iterator[Point]:
    """Points along lines, close enough that no text slips between them."""
    for start, end in lines:
        steps = max(1, int(hypot(end[0] - start[0], end[1] - start[1]) / 4.0))
        for k in range(steps + 1):
            yield (
                start[0] + (end[0] - start[0]) * k / steps,
                start[1] + (end[1] - start[1]) * k / steps,
            )
