"""Names of edges and openings: in the scrap beside their edge, led there, or over the material."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, sin

from trialcut.geometry.contours import Contour, ContourRole, Edge, EdgeKind
from trialcut.geometry.curves import Arc, Point
from trialcut.papers.canvas import LABEL, Canvas, text_mark
from trialcut.papers.frame import along, point_along
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, text_width


def edge_labels(canvas: Canvas) -> Iterator[str]:
    """Labels of all openings and edges that find room; the others are noted on the canvas."""
    for contour in canvas.part.contours:
        alone = len(contour.edges) == 1
        if contour.role is ContourRole.OPENING and not alone:
            box = canvas.layout.first_free(_inside(canvas, contour))
            if box is not None:
                yield text_mark(contour.id, box.centre, "tc-opening", LIGHT.ink, size=12.0, heavy=True)
        for edge in contour.edges:
            yield from _edge_label(canvas, edge, heavy=alone and contour.role is ContourRole.OPENING)


def _inside(canvas: Canvas, contour: Contour) -> Iterator[Box]:
    points = [p for edge in contour.edges for p in along(edge.segments, canvas.frame, 6.0)]
    x = sum(p[0] for p in points) / len(points)
    y = sum(p[1] for p in points) / len(points)
    width = text_width(contour.id, 12.0) + 3.0
    for dx, dy in ((0, 0), (14, 0), (-14, 0), (0, 14), (0, -14), (28, 0), (-28, 0), (0, 28), (0, -28)):
        yield Box.around((x + dx, y + dy), width, 14.0)


def _edge_label(canvas: Canvas, edge: Edge, *, heavy: bool) -> Iterator[str]:
    width, height = text_width(edge.id, LABEL) + 1.0, LABEL + 1.0
    for place in _edge_places(canvas, edge, width, height):
        foot, box = place.foot, place.box
        if not canvas.layout.free(box):
            continue
        near = (min(max(foot[0], box.left), box.right), min(max(foot[1], box.top), box.bottom))
        if place.led and not canvas.layout.clear(foot, near, lines=not place.crossing):
            continue
        canvas.layout.take(box)
        if place.led:
            yield element(
                "line",
                {
                    "class": "tc-leader",
                    "x1": foot[0],
                    "y1": foot[1],
                    "x2": near[0],
                    "y2": near[1],
                    "stroke": LIGHT.soft,
                    "stroke-width": 0.6,
                },
            )
        yield text_mark(edge.id, box.centre, "tc-label", LIGHT.ink, heavy=heavy)
        return
    canvas.left_out.append(edge.id)


_FRACTIONS = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
_NEAR = (4.0, 8.0)
_FAR = (18.0, 28.0, 42.0, 60.0)


@dataclass(frozen=True, slots=True)
class _Place:
    """A place for a label: its foot on the edge, whether a leader joins them and may cross lines."""

    foot: Point
    box: Box
    led: bool
    crossing: bool


def _edge_places(canvas: Canvas, edge: Edge, width: float, height: float) -> Iterator[_Place]:
    """Places for a label, best first: by the edge in the scrap, led into the scrap, then over material."""
    segment = edge.segments[0]
    if edge.kind is EdgeKind.CIRCLE and isinstance(segment, Arc) and segment.curvature < 0.0:
        centre = canvas.at(segment.centre)
        yield _Place(centre, Box.around(centre, width, height), led=False, crossing=False)
    tries = [(1.0, gap, False, False) for gap in _NEAR]
    if not canvas.crowded:
        tries += [(1.0, gap, True, False) for gap in _FAR[:2]]
        tries += [(-1.0, gap, False, False) for gap in _NEAR]
        tries += [(side, gap, True, False) for gap in _FAR for side in (-1.0, 1.0)]
        tries += [(-1.0, gap, True, True) for gap in _FAR]
    fractions = _FRACTIONS[:3] if canvas.crowded else _FRACTIONS
    feet = [point_along(edge.segments, fraction) for fraction in fractions]
    for side, gap, led, crossing in tries:
        for foot, heading in feet:
            x, y = canvas.at(foot)
            nx, ny = sin(heading) * side, cos(heading) * side
            reach = gap + abs(nx) * width / 2 + abs(ny) * height / 2
            yield _Place((x, y), Box.around((x + nx * reach, y + ny * reach), width, height), led, crossing)
