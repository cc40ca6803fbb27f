"""Straight segments and circular arcs, exact.

Every curve of a part is a `Line` or an `Arc`; ellipses and splines of a drawing are replaced at intake by
tangent arcs within a stated tolerance. Lengths are metres, angles radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """A straight segment from `start` to `end`. [m]"""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length. [m]"""
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def curvature(self) -> float:
        """Zero. [1/m]"""
        return 0.0

    def point(self, fraction: float) -> Point:
        """Point at a fraction of the length."""
        (x0, y0), (x1, y1) = self.start, self.end
        return (x0 + fraction * (x1 - x0), y0 + fraction * (y1 - y0))

    def heading(self, fraction: float = 0.0) -> float:  # noqa: ARG002
        """Direction of travel, the same everywhere. [rad]"""
        return atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])

    def reversed(self) -> Line:
        """The same segment travelled the other way."""
        return Line(self.end, self.start)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc.

    Parameters
    ----------
    centre : Point
        [m]
    radius : float
        Positive. [m]
    start_angle : float
        Polar angle of the start point seen from the centre. [rad]
    sweep : float
        Signed: positive counter-clockwise; plus or minus 2 pi for a full circle. [rad]
    """

    centre: Point
    radius: float
    start_angle: float
    sweep: float

    @property
    def start(self) -> Point:
        """First point. [m]"""
        return self.point(0.0)

    @property
    def end(self) -> Point:
        """Last point. [m]"""
        return self.point(1.0)

    @property
    def length(self) -> float:
        """Length. [m]"""
        return self.radius * abs(self.sweep)

    @property
    def curvature(self) -> float:
        """Signed: positive where the arc turns left. [1/m]"""
        return (1.0 if self.sweep > 0.0 else -1.0) / self.radius

    def point(self, fraction: float) -> Point:
        """Point at a fraction of the length."""
        angle = self.start_angle + fraction * self.sweep
        return (self.centre[0] + self.radius * cos(angle), self.centre[1] + self.radius * sin(angle))

    def heading(self, fraction: float = 0.0) -> float:
        """Direction of travel. [rad]"""
        quarter = pi / 2 if self.sweep > 0.0 else -pi / 2
        return self.start_angle + fraction * self.sweep + quarter

    def reversed(self) -> Arc:
        """The same arc travelled the other way."""
        return Arc(self.centre, self.radius, self.start_angle + self.sweep, -self.sweep)


Segment = Line | Arc
