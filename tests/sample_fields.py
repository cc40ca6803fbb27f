"""Deviation fields with known answers, for tests of the solid, its files and its pictures."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

import numpy as np

from trialcut.ascut.types import DeviationField, JetPath
from trialcut.geometry.contours import Part
from trialcut.geometry.offsets import offset_contour


def field_of(
    part: Part,
    deviation: Callable[..., np.ndarray] | float = 0.0,
    *,
    thickness: float = 0.01,
    layers: int = 5,
    spacing: float = 1e-3,
) -> DeviationField:
    """A field whose deviation is a number, or a function of edge, fraction and depth, all of shape (M, L).

    Every edge is one segment; rays are square to the drawn wall right up to its corners.
    """
    edges = tuple(part.edges)
    edge, fraction, point, normal = [], [], [], []
    for place, drawn in enumerate(edges):
        (segment,) = drawn.segments
        fractions = np.linspace(0.0, 1.0, ceil(segment.length / spacing - 1e-9) + 1)
        edge.append(np.full(fractions.size, place))
        fraction.append(fractions)
        point += [segment.point(f) for f in fractions]
        normal += [(np.sin(segment.heading(f)), -np.cos(segment.heading(f))) for f in fractions]
    depth = np.linspace(0.0, 1.0, layers)
    whole_edge, whole_fraction = np.concatenate(edge), np.concatenate(fraction)
    at = np.broadcast_arrays(whole_edge[:, None], whole_fraction[:, None], depth[None, :])
    return DeviationField(
        edges=tuple(drawn.id for drawn in edges),
        edge=whole_edge,
        fraction=whole_fraction,
        point=np.array(point),
        normal=np.array(normal),
        depth=depth,
        deviation=deviation(*at) if callable(deviation) else np.full(at[0].shape, deviation),
        thickness=thickness,
    )


def jet_path_of(
    part: Part,
    *,
    offset: float = 5e-4,
    tilt: float = 0.02,
    speed: float = 3e-3,
    corner_speed: float = 6e-4,
    spacing: float = 2e-4,
    lead: float = 4e-3,
) -> JetPath:
    """A made-up path about a part: openings first, slow at corners, the head leaned to the scrap.

    The lead is straight and comes from the scrap; positions lie on the exact offset path.
    """
    rows = []
    clock = 0.0
    names = [drawn.id for drawn in part.edges]
    for run, drawn in enumerate((*part.openings, part.outline)):
        pieces = offset_contour(drawn, {each.id: offset for each in drawn.edges}).pieces
        points, headings, edges = [], [], []
        for name, segment in pieces:
            count = max(2, ceil(segment.length / spacing))
            for f in np.arange(count) / count:
                points.append(segment.point(f))
                headings.append(segment.heading(f))
                edges.append(names.index(name) if name else -1)
        points.append(points[0])
        headings.append(headings[0])
        edges.append(edges[0])
        point, heading = np.array(points), np.unwrap(np.array(headings))
        along = np.append(0.0, np.cumsum(np.hypot(*np.diff(point, axis=0).T)))
        turning = np.abs(np.gradient(heading, along))
        corners = along[turning > 0.5 / offset]
        away = np.min(np.abs(along[:, None] - np.append(corners, -1.0)[None, :]), axis=1)
        fast = np.minimum(speed, np.sqrt(corner_speed**2 + 2.0 * 1e-3 * away))
        right = np.column_stack((np.sin(heading), -np.cos(heading)))
        start = np.linspace(lead, 0.0, 12, endpoint=False)[:, None] * right[0] + point[0]
        way = np.concatenate((start, point))
        pace = np.concatenate((np.full(len(start), corner_speed), fast))
        steps = np.hypot(*np.diff(way, axis=0).T) * 2.0 / (pace[1:] + pace[:-1])
        time = clock + 5.0 + np.append(0.0, np.cumsum(steps))
        clock = time[-1]
        direction = np.column_stack((np.cos(heading), np.sin(heading)))
        share = np.minimum(fast / speed, 1.0)[:, None]
        rows.append(
            {
                "position": way,
                "direction": np.concatenate((np.tile(-right[0], (len(start), 1)), direction)),
                "lean": np.concatenate((np.zeros((len(start), 2)), -tilt * share * right)),
                "speed": pace,
                "time": time,
                "edge": np.concatenate((np.full(len(start), -1), edges)),
                "run": np.full(len(way), run),
            }
        )
    return JetPath(**{name: np.concatenate([row[name] for row in rows]) for name in rows[0]})
