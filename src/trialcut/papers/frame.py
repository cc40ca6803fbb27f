"""From the drawing's metres to the picture's pixels, y turned upside down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, cos, floor, pi, sin

from trialcut.geometry.curves import Arc, Point, Segment

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """An affine map without turning.

    Parameters
    ----------
    scale : float
        Pixels per metre.
    left, top : float
        Pixel position of the drawing's least x and greatest y.
    x_min, y_max : float
        Of the drawing. [m]
    """

    scale: float
    left: float
    top: float
    x_min: float
    y_max: float

    def to_view(self, point: Point) -> Point:
        """Pixel position of a point of the drawing."""
        return (
            self.left + (point[0] - self.x_min) * self.scale,
            self.top + (self.y_max - point[1]) * self.scale,
        )


def bounds(segments: Iterable[Segment], points: Iterable[Point] = ()) -> Bounds:
    """Exact least and greatest x and y: ``(x_min, y_min, x_max, y_max)``. [m]"""
    found = [point for segment in segments for point in _extremes(segment)]
    found.extend(points)
    xs, ys = [p[0] for p in found], [p[1] for p in found]
    return min(xs), min(ys), max(xs), max(ys)


def _extremes(segment: Segment) -> Iterator[Point]:
    yield segment.start
    yield segment.end
    if isinstance(segment, Arc):
        first, last = sorted((segment.start_angle, segment.start_angle + segment.sweep))
        for quarter in range(ceil(first / (pi / 2)), floor(last / (pi / 2)) + 1):
            angle = quarter * pi / 2
            yield (
                segment.centre[0] + segment.radius * cos(angle),
                segment.centre[1] + segment.radius * sin(angle),
            )


def along(segments: Iterable[Segment], frame: Frame, step: float) -> Iterator[Point]:
    """Pixel positions along segments, at most `step` pixels apart."""
    for segment in segments:
        count = max(1, ceil(segment.length * frame.scale / step))
        for k in range(count):
            yield frame.to_view(segment.point(k / count))
        yield frame.to_view(segment.end)


def point_along(segments: tuple[Segment, ...], fraction: float) -> tuple[Point, float]:
    """Point [m] and direction of travel [rad] at a fraction of the length of a run."""
    rest = fraction * sum(segment.length for segment in segments)
    for segment in segments:
        if rest <= segment.length or segment is segments[-1]:
            part = min(rest / segment.length, 1.0) if segment.length else 0.0
            return segment.point(part), segment.heading(part)
        rest -= segment.length
    raise ValueError("an edge without segments")
