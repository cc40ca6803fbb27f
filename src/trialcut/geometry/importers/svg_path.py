"""Path data of SVG to strokes: straights, elliptical arcs and Bezier curves, each still to be mapped.

The grammar and the arcs follow SVG 2, section 9.3 and appendix B.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import acos, copysign, cos, hypot, pi, radians, sin, sqrt, tau

from trialcut.geometry.curves import Point
from trialcut.geometry.importers.svg_words import NUMBER


@dataclass(frozen=True, slots=True)
class Straight:
    """From one point to another."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Conic:
    """``centre + u cos t + v sin t`` for t from `first` to `last`, ascending. [rad]"""

    centre: Point
    u: Point
    v: Point
    first: float
    last: float


@dataclass(frozen=True, slots=True)
class Bezier:
    """A Bezier curve by its three or four control points."""

    control: tuple[Point, ...]


Stroke = Straight | Conic | Bezier


@dataclass(frozen=True, slots=True)
class Trace:
    """Strokes that follow one another; a closed one ends where it starts."""

    strokes: tuple[Stroke, ...]
    closed: bool


_TOKEN = re.compile(rf"[\s,]*(?:([MmLlHhVvCcSsQqTtAaZz])|({NUMBER}))")
_FLAG = re.compile(r"[\s,]*([01])")
_REST = re.compile(r"[\s,]*")
_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def path_traces(data: str) -> list[Trace]:
    """
    The traces that path data draw.

    Parameters
    ----------
    data : str
        The ``d`` attribute.

    Returns
    -------
    list of Trace
        One for each move.

    Raises
    ------
    ValueError
        If it is not written by the rules.
    """
    pen = _Pen()
    for command, numbers in _commands(data):
        pen.draw(command, numbers)
    pen.lift(closed=False)
    return pen.traces


def _commands(data: str) -> list[tuple[str, list[float]]]:
    commands: list[tuple[str, list[float]]] = []
    at, command, end = 0, "", len(data.rstrip(" \t\r\n\f,"))
    while at < end:
        found = _TOKEN.match(data, at)
        if found is None:
            raise ValueError(f"path data break off at {data[at : at + 20]!r}")
        if found[1]:
            command, at = found[1], found.end()
            if not commands and command not in "Mm":
                raise ValueError("path data start with a move")
        elif not command or command in "Zz":
            raise ValueError(f"path data have a number without a command at {data[at : at + 20]!r}")
        numbers: list[float] = []
        for position in range(_COUNT[command.upper()]):
            pattern = _FLAG if command in "Aa" and position in (3, 4) else _TOKEN
            found = pattern.match(data, at)
            value = found and found[found.re.groups]
            if found is None or value is None:
                raise ValueError(f"path data lack a number at {data[at : at + 20]!r}")
            numbers.append(float(value))
            at = found.end()
        commands.append((command, numbers))
        command = {"M": "L", "m": "l"}.get(command, command)
    return commands


class _Pen:
    """Where the drawing has come to."""

    def __init__(self) -> None:
        self.traces: list[Trace] = []
        self.strokes: list[Stroke] = []
        self.start: Point = (0.0, 0.0)
        self.here: Point = (0.0, 0.0)
        self.last = ""
        self.handle: Point = (0.0, 0.0)

    def lift(self, *, closed: bool) -> None:
        if self.strokes:
            self.traces.append(Trace(tuple(self.strokes), closed))
        self.strokes = []

    def draw(self, command: str, n: list[float]) -> None:
        kind = command.upper()
        ox, oy = self.here if command.islower() else (0.0, 0.0)
        handle = self.here
        if kind == "Z":
            if self.here != self.start:
                self.strokes.append(Straight(self.here, self.start))
            self.lift(closed=True)
            end = self.start
        elif kind == "H":
            end = (n[0] + ox, self.here[1])
        elif kind == "V":
            end = (self.here[0], n[0] + oy)
        else:
            end = (n[-2] + ox, n[-1] + oy)
        if kind == "M":
            self.lift(closed=False)
            self.start = end
        elif kind in "LHV":
            self.strokes.append(Straight(self.here, end))
        elif kind in "CS":
            first = (n[0] + ox, n[1] + oy) if kind == "C" else self.mirrored("CS")
            handle = (n[-4] + ox, n[-3] + oy)
            self.strokes.append(Bezier((self.here, first, handle, end)))
        elif kind in "QT":
            handle = (n[0] + ox, n[1] + oy) if kind == "Q" else self.mirrored("QT")
            self.strokes.append(Bezier((self.here, handle, end)))
        elif kind == "A":
            rx, ry, turn, large, sweep = n[:5]
            self.strokes += arc_strokes(
                self.here, end, rx=rx, ry=ry, turn=radians(turn), large=large == 1.0, sweep=sweep == 1.0
            )
        self.here, self.last, self.handle = end, kind, handle

    def mirrored(self, kinds: str) -> Point:
        """The last handle seen from the other side, if the last stroke was of such a kind."""
        if self.last not in kinds:
            return self.here
        return (2.0 * self.here[0] - self.handle[0], 2.0 * self.here[1] - self.handle[1])


def arc_strokes(
    start: Point, end: Point, *, rx: float, ry: float, turn: float, large: bool, sweep: bool
) -> list[Stroke]:
    """
    An arc between two points by its radii and flags.

    Parameters
    ----------
    start, end : Point
        Where it starts and ends.
    rx, ry : float
        Radii; made larger where they do not reach, as appendix B.2.5 has it.
    turn : float
        Of the x axis of the ellipse. [rad]
    large : bool
        The arc of more than half a turn.
    sweep : bool
        The arc with ascending angle.

    Returns
    -------
    list of Stroke
        One conic; a straight where a radius is zero; nothing from a point to itself.

    References
    ----------
    Scalable Vector Graphics 2, W3C, appendix B.2.4, equations B.2.4.1 to B.2.4.6.
    """
    if start == end:
        return []
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0:
        return [Straight(start, end)]
    c, s = cos(turn), sin(turn)
    dx, dy = 0.5 * (start[0] - end[0]), 0.5 * (start[1] - end[1])
    x, y = c * dx + s * dy, -s * dx + c * dy
    reach = (x / rx) ** 2 + (y / ry) ** 2
    if reach > 1.0:
        rx, ry = rx * sqrt(reach), ry * sqrt(reach)
    below = (rx * y) ** 2 + (ry * x) ** 2
    root = sqrt(max(0.0, (rx * ry) ** 2 - below) / below)
    if large == sweep:
        root = -root
    cx, cy = root * rx * y / ry, -root * ry * x / rx
    centre = (c * cx - s * cy + 0.5 * (start[0] + end[0]), s * cx + c * cy + 0.5 * (start[1] + end[1]))
    ux, uy = (x - cx) / rx, (y - cy) / ry
    vx, vy = (-x - cx) / rx, (-y - cy) / ry
    first = _angle((1.0, 0.0), (ux, uy))
    swept = _angle((ux, uy), (vx, vy))
    if sweep and swept < 0.0:
        swept += tau
    elif not sweep and swept > 0.0:
        swept -= tau
    u = (rx * c, rx * s)
    v = (-ry * s, ry * c)
    if swept < 0.0:  # the same curve with its angle ascending
        first, swept, v = -first, -swept, (-v[0], -v[1])
    return [Conic(centre, u, v, first, first + swept)]


def ellipse_trace(centre: Point, rx: float, ry: float) -> Trace:
    """A whole ellipse."""
    return Trace((Conic(centre, (rx, 0.0), (0.0, ry), 0.0, tau),), True)


def rectangle_trace(corner: Point, *, width: float, height: float, rx: float, ry: float) -> Trace:
    """A rectangle from its upper left corner, the corners rounded by quarters of an ellipse."""
    x, y = corner
    right, bottom = x + width, y + height
    if rx == 0.0 or ry == 0.0:
        corners = [(x, y), (right, y), (right, bottom), (x, bottom)]
        return polygon_trace(corners, closed=True)
    strokes: list[Stroke] = []
    for (a, b), centre, first in (
        (((x + rx, y), (right - rx, y)), (right - rx, y + ry), -pi / 2),
        (((right, y + ry), (right, bottom - ry)), (right - rx, bottom - ry), 0.0),
        (((right - rx, bottom), (x + rx, bottom)), (x + rx, bottom - ry), pi / 2),
        (((x, bottom - ry), (x, y + ry)), (x + rx, y + ry), pi),
    ):
        if a != b:
            strokes.append(Straight(a, b))
        strokes.append(Conic(centre, (rx, 0.0), (0.0, ry), first, first + pi / 2))
    return Trace(tuple(strokes), True)


def polygon_trace(points: list[Point], *, closed: bool) -> Trace:
    """Points with straights between."""
    ends = [*points[1:], *points[:1]] if closed else points[1:]
    return Trace(tuple(Straight(a, b) for a, b in zip(points, ends, strict=False) if a != b), closed)


def _angle(a: Point, b: Point) -> float:
    """Signed angle from one direction to another, equation B.2.4.4. [rad]"""
    cosine = (a[0] * b[0] + a[1] * b[1]) / (hypot(*a) * hypot(*b))
    return copysign(acos(max(-1.0, min(1.0, cosine))), a[0] * b[1] - a[1] * b[0])
