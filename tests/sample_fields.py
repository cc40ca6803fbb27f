"""Deviation fields with known answers, for tests of the solid, its files and its pictures."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

import numpy as np

from trialcut.ascut.types import DeviationField
from trialcut.geometry.contours import Part


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
