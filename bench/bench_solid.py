"""How long the solid of a part of 60 edges takes, with 24 layers, and its files and picture."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin
from statistics import median
from time import perf_counter

import numpy as np

from trialcut.ascut.solid import Solid, as_cut_solid
from trialcut.ascut.types import DeviationField
from trialcut.geometry.contours import Contour, ContourRole, Edge, EdgeKind, Part
from trialcut.geometry.curves import Line
from trialcut.papers.exports import stl_bytes, three_mf_bytes
from trialcut.papers.solid_still import solid_still

Row = tuple[str, float, float | None, float | None, str, bool]
EDGES = 60
LAYERS = 24
SAMPLES = 10_000
THICKNESS = 0.0254


def run(repeats: int = 5) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    part = _toothed(EDGES)
    field = _field(part, SAMPLES)
    solid = as_cut_solid(part, field)
    assert solid.mesh.closed, "a solid that leaks is no result"
    whole = as_cut_solid(part, field, tolerance=0.0)
    make = _median(lambda: as_cut_solid(part, field), repeats)
    all_columns = _median(lambda: as_cut_solid(part, field, tolerance=0.0), 1)
    stl = _median(lambda: stl_bytes(solid.mesh), repeats)
    whole_stl = _median(lambda: stl_bytes(whole.mesh), repeats)
    model = _median(lambda: three_mf_bytes(solid.mesh), repeats)
    still = _median(lambda: solid_still(part, solid), repeats)
    size = f"{SAMPLES} samples x {LAYERS} layers"
    return [
        (f"solid of {EDGES} edges, {size}", make, None, None, "< 1 s", make < 1.0),
        (f"the same, {_faces(whole)} faces, nothing thinned", all_columns, None, None, "no target", True),
        (f"its STL, {_faces(solid)} faces", stl, None, None, "< 0.1 s", stl < 0.1),
        (f"STL of {_faces(whole)} faces", whole_stl, None, None, "< 0.5 s", whole_stl < 0.5),
        (f"its 3MF, {_faces(solid)} faces", model, None, None, "< 1 s", model < 1.0),
        ("still of the solid", still, None, None, "< 0.5 s", still < 0.5),
    ]


def _faces(solid: Solid) -> int:
    return len(solid.mesh.faces)


def _toothed(edges: int) -> Part:
    """A toothed wheel of straight edges."""
    corners = []
    for k in range(edges // 4):
        for step, radius in ((0.0, 0.16), (0.3, 0.16), (0.45, 0.2), (0.85, 0.2)):
            angle = 2.0 * pi * (k + step) / (edges // 4)
            corners.append((radius * cos(angle), radius * sin(angle)))
    drawn = tuple(
        Edge(id=f"A{k + 1}", contour="A", kind=EdgeKind.STRAIGHT, segments=(Line(a, b),))
        for k, (a, b) in enumerate(zip(corners, (*corners[1:], corners[0]), strict=True))
    )
    outline = Contour(id="A", role=ContourRole.OUTLINE, edges=drawn, corners=(), area=0.1)
    return Part(id="1", outline=outline)


def _field(part: Part, samples: int) -> DeviationField:
    """Walls that taper and change along every edge, slow zones at both ends."""
    edges = tuple(part.edges)
    each = samples // len(edges)
    fraction = np.tile(np.linspace(0.0, 1.0, each), len(edges))
    owner = np.repeat(np.arange(len(edges)), each)
    start = np.array([edge.start for edge in edges])[owner]
    step = np.array([edge.end for edge in edges])[owner] - start
    length = np.hypot(*step.T)[:, None]
    depth = np.linspace(0.0, 1.0, LAYERS)
    near = np.exp(-20.0 * np.minimum(fraction, 1.0 - fraction))[:, None]
    return DeviationField(
        edges=tuple(edge.id for edge in edges),
        edge=owner,
        fraction=fraction,
        point=start + fraction[:, None] * step,
        normal=np.column_stack((step[:, 1], -step[:, 0])) / length,
        depth=depth,
        deviation=1e-4 * depth**1.3 - 4e-5 * near * (1.0 - 0.5 * depth),
        thickness=THICKNESS,
    )


def _median(work: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
