"""As-cut walls for the gauge: a drawn part, and a height for every place along an edge and every depth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from sample_parts import contour, rectangle
from trialcut.ascut.types import DeviationField
from trialcut.geometry.contours import Contour, ContourRole, Part
from trialcut.geometry.curves import Arc

FloatArray = NDArray[np.float64]
Height = Callable[[str, FloatArray, FloatArray], FloatArray]
"""Edge id, fraction of its length (m, 1), depth (L,): heights (m, L). [m]"""

THICKNESS = 0.02


def as_drawn(_edge: str, fraction: FloatArray, depth: FloatArray) -> FloatArray:
    """A wall that came out as drawn."""
    return np.zeros((len(fraction), len(depth)))


def wall_field(
    part: Part, height: Height = as_drawn, *, layers: int = 5, spacing: float = 2.5e-4
) -> DeviationField:
    """Sample every edge evenly, both ends included, with rays square to it."""
    depth = np.linspace(0.0, 1.0, layers)
    columns: dict[str, list[FloatArray]] = {
        n: [] for n in ("edge", "fraction", "point", "normal", "deviation")
    }
    edges = tuple(part.edges)
    for number, edge in enumerate(edges):
        (segment,) = edge.segments
        fraction = np.linspace(0.0, 1.0, max(ceil(edge.length / spacing), 2) + 1)
        heading = np.array([segment.heading(f) for f in fraction])
        columns["edge"].append(np.full(len(fraction), number))
        columns["fraction"].append(fraction)
        columns["point"].append(np.array([segment.point(f) for f in fraction]))
        columns["normal"].append(np.stack((np.sin(heading), -np.cos(heading)), axis=1))
        columns["deviation"].append(height(edge.id, fraction[:, None], depth))
    return DeviationField(
        edges=tuple(edge.id for edge in edges),
        depth=depth,
        thickness=THICKNESS,
        **{name: np.concatenate(parts) for name, parts in columns.items()},
    )


def block(wide: float = 0.05, high: float = 0.03) -> Part:
    """A rectangle: A1 below, A2 right, A3 above, A4 left."""
    return Part(id="1", outline=contour("A", rectangle(0.0, 0.0, wide, high)))


def disc(radius: float = 0.01) -> Part:
    """A round part, A1, off the origin."""
    return Part(id="1", outline=contour("A", [Arc((0.002, -0.003), radius, 0.0, 2.0 * np.pi)]))


def washer(radius: float = 0.005) -> Part:
    """A block with one round opening, B1, off the origin."""
    circle = Arc((0.02, 0.015), radius, np.pi, -2.0 * np.pi)
    return with_openings(contour("B", [circle], ContourRole.OPENING))


def with_openings(*openings: Contour) -> Part:
    """A block of 100 mm by 60 mm with openings."""
    return Part(id="1", outline=contour("A", rectangle(0.0, 0.0, 0.1, 0.06)), openings=openings)


def leaning(**taper: float) -> Height:
    """Walls that lean: each edge stands proud in proportion to the depth, by so much at the bottom."""

    def height(edge: str, fraction: FloatArray, depth: FloatArray) -> FloatArray:
        return np.ones_like(fraction) * depth * taper.get(edge, 0.0)

    return height


def shaped(**shape: Callable[[FloatArray], FloatArray]) -> Height:
    """Walls whose height depends on the place along the edge alone."""

    def height(edge: str, fraction: FloatArray, depth: FloatArray) -> FloatArray:
        values = shape[edge](fraction) if edge in shape else np.zeros_like(fraction)
        return values * np.ones_like(depth)

    return height


def lobed(edge: str, *, lobes: int, size: float) -> Height:
    """A round wall with so many lobes of that size."""
    return shaped(**{edge: lambda fraction: size * np.cos(2.0 * np.pi * lobes * fraction)})


def moved(
    field: DeviationField, *, angle: float = 0.0, shift: tuple[float, float] = (0.0, 0.0)
) -> DeviationField:
    """The part turned about the origin and shifted, drawing and wall together."""
    turn = np.array(((np.cos(angle), -np.sin(angle)), (np.sin(angle), np.cos(angle))))
    return replace(field, point=field.point @ turn.T + np.array(shift), normal=field.normal @ turn.T)


def restarted(field: DeviationField, edge: str, *, steps: int) -> DeviationField:
    """The samples of a closed edge from another start; the doubled end point moves along."""
    rows = np.flatnonzero(field.edge == field.edges.index(edge))
    ring = np.roll(rows[:-1], -steps)
    order = np.arange(len(field.edge))
    order[rows] = np.append(ring, ring[0])
    return replace(
        field, point=field.point[order], normal=field.normal[order], deviation=field.deviation[order]
    )


def in_draws(field: DeviationField, *scales: float) -> DeviationField:
    """The same wall in several draws, its deviation scaled in each."""
    return replace(field, deviation=field.deviation[..., None] * np.array(scales))
