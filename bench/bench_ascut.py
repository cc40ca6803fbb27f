"""How long the as-cut part takes: its walls, its walls under many draws, its outlines; and how that grows.

The part is a wheel with a toothed rim and round openings, 1.4 m in all. Rival: the union of tapered capsules
between the same samples, by a geometry library, from which every wall would have to be measured afterwards.
"""

from __future__ import annotations

import resource
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from math import cos, pi, sin
from time import perf_counter

import numpy as np
import shapely

from trialcut.ascut.jet_path import jet_path
from trialcut.ascut.law import JetLaw
from trialcut.ascut.outlines import layer_outlines
from trialcut.ascut.reach import deviation_field, discs_at, prepare_sweep
from trialcut.ascut.types import JetPath
from trialcut.geometry.contours import Contour, ContourRole, Corner, Edge, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line
from trialcut.geometry.offsets import offset_contour
from trialcut.motion.machine import Machine
from trialcut.motion.path_builder import cut_path

Row = tuple[str, float, float | None, float | None, str, bool]

HALF_WIDTH = 0.5e-3
THICKNESS = 12.7e-3
LAYERS = np.linspace(0.0, 1.0, 24)
SAMPLES = 10_000
UNION_LAYERS = 2
"""The rival is timed on so many layers and multiplied: each costs it the same."""
MACHINE = Machine(
    name="bench",
    cut_speed_max=0.2,
    traverse_speed=0.3,
    acceleration=0.5,
    jerk=10.0,
    head_lift=0.01,
    lift_speed=0.05,
    switch_time=0.5,
    tilt_travel=0.17,
    tilt_rate=0.5,
    position_sd=0.0,
)


def run(repeats: int = 15) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    part = _wheel(teeth=14, radius=0.112)
    wide, uncertain = _law(None), _law(200)
    jet = _jet(part)
    dense = _dense(jet, SAMPLES)
    spacing = 1.16 * part.length / SAMPLES

    def field(path: JetPath, depths: np.ndarray) -> np.ndarray:
        return deviation_field(
            part, path, wide, depths=depths, thickness=THICKNESS, wall_spacing=spacing
        ).deviation

    samples = field(dense, LAYERS).shape[0]
    ours = _best(lambda: field(dense, LAYERS), repeats)
    union = _best(lambda: _union(dense, wide, UNION_LAYERS), 1) * LAYERS.size / UNION_LAYERS
    draws = _best(
        lambda: deviation_field(
            part, jet, uncertain, depths=LAYERS[::6], thickness=THICKNESS, wall_spacing=1e-3
        ),
        3,
    )
    outlines = _best(lambda: layer_outlines(part, jet, wide, depths=LAYERS, thickness=THICKNESS), 3)
    name = f"walls, {part.length:.2f} m, {samples} and {dense.time.size} samples x 24 layers"
    edges = len(list(part.edges))
    rows: list[Row] = [
        (name, ours, None, None, "<= 60 ms", ours <= 60e-3),
        (
            "the same, against the union of capsules",
            ours,
            union,
            union / ours,
            ">= 100 x",
            union >= 100 * ours,
        ),
        (f"walls of {edges} edges under 200 draws, 5 layers", draws, None, None, "<= 1.5 s", draws <= 1.5),
        ("outlines of 24 layers", outlines, None, None, "<= 1.5 s", outlines <= 1.5),
    ]
    rows += _growth(field, dense, repeats)
    rows += _facets()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    held = _held(lambda: field(dense, LAYERS))
    rows.append(
        (f"memory: process {peak:.0f} MB, the field {held:.0f} MB", 0.0, None, None, "<= 500 MB", peak <= 500)
    )
    return rows


def _growth(field: Callable[[JetPath, np.ndarray], np.ndarray], dense: JetPath, repeats: int) -> list[Row]:
    """Time for half and twice the layers, and for parts of half and twice the length."""
    rows: list[Row] = []
    base = None
    for layers in (12, 24, 48):
        time = _best(lambda n=layers: field(dense, np.linspace(0.0, 1.0, n)), repeats) / layers
        base = base or time
        rows.append((f"a layer, of {layers}", time, None, time / base, "no target", True))
    base = None
    for teeth in (7, 14, 28):
        part = _wheel(teeth=teeth, radius=0.112 * teeth / 14)
        path = _dense(_jet(part), SAMPLES * teeth // 14)
        spacing = 1.16 * part.length / (SAMPLES * teeth // 14)
        time = (
            _best(
                lambda p=part, j=path, s=spacing: deviation_field(
                    p, j, _law(None), depths=LAYERS, thickness=THICKNESS, wall_spacing=s
                ),
                repeats,
            )
            / part.length
        )
        base = base or time
        rows.append((f"a metre, of {part.length:.1f} m", time, None, time / base, "no target", True))
    return rows


def _facets() -> list[Row]:
    """Time to lay the jet beside outlines of very many short straights, an edge."""
    rows: list[Row] = []
    base = None
    for count in (25_000, 100_000):
        turn = 2.0 * pi * np.arange(count) / count
        size = 0.1 * (1.0 + 0.2 * np.sin(7.0 * turn))
        points = np.column_stack((size * np.cos(turn), size * np.sin(turn))).tolist()
        lines = tuple(Line(tuple(a), tuple(b)) for a, b in zip(points, [*points[1:], points[0]], strict=True))
        edge = Edge(id="A1", contour="A", kind=EdgeKind.FREE, segments=lines)
        contour = Contour(id="A", role=ContourRole.OUTLINE, edges=(edge,), corners=(), area=0.03)
        start = perf_counter()
        offset_contour(contour, {"A1": HALF_WIDTH})
        time = (perf_counter() - start) / count
        base = base or time
        rows.append((f"a straight, of {count:,}, set off", time, None, time / base, "no target", True))
    return rows


def _law(draws: int | None) -> JetLaw:
    """Half-width and lag as they go with depth and speed on 12.7 mm, round numbers."""
    speeds = np.geomspace(2e-5, 2e-2, 64)
    ratio, depth = (speeds / 2e-2)[:, None], LAYERS[None, :]
    width = HALF_WIDTH * (1.0 - 0.6 * (ratio**0.4 - 0.25) * depth**1.3)
    lag = 5e-3 * ratio**1.2 * depth**2
    if draws is not None:
        spread = 1.0 + 0.05 * np.random.default_rng(1).standard_normal((2, draws))
        return JetLaw(
            speeds=speeds,
            depths=LAYERS,
            half_width=width[..., None] * spread[0],
            lag=lag[..., None] * spread[1],
        )
    return JetLaw(speeds=speeds, depths=LAYERS, half_width=width, lag=lag)


def _jet(part: Part) -> JetPath:
    ids = [edge.id for edge in part.edges]
    return jet_path(
        part,
        cut_path(part, kerf_width=2.0 * HALF_WIDTH),
        machine=MACHINE,
        offsets=dict.fromkeys(ids, HALF_WIDTH),
        speed=dict.fromkeys(ids, 3e-3),
        lead_speed=2e-3,
        tilt=dict.fromkeys(ids, 0.006),
        lead=dict.fromkeys(ids, 0.01),
    )


def _dense(jet: JetPath, samples: int) -> JetPath:
    """The same path with about so many samples, evenly."""
    step = np.hypot(*np.diff(jet.position, axis=0).T)
    step[jet.run[1:] != jet.run[:-1]] = 0.0
    pieces = np.maximum(np.ceil(step / (step.sum() / samples) - 0.5), 1).astype(int)
    first = np.append(np.repeat(np.arange(step.size), pieces), step.size)
    place = np.arange(first.size - 1) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = np.append(place / np.repeat(pieces, pieces), 0.0)
    second = np.minimum(first + 1, step.size)

    def at(values: np.ndarray) -> np.ndarray:
        t = share if values.ndim == 1 else share[:, None]
        return values[first] * (1.0 - t) + values[second] * t

    return replace(
        jet,
        **{name: at(getattr(jet, name)) for name in ("position", "direction", "lean", "speed", "time")},
        edge=jet.edge[first],
        run=jet.run[first],
    )


def _union(jet: JetPath, law: JetLaw, layers: int) -> list[object]:
    sweep = prepare_sweep(jet, law)
    unions = []
    for layer in np.linspace(0, LAYERS.size - 1, layers).astype(int).tolist():
        discs = discs_at(sweep, law, layer=layer, thickness=THICKNESS)
        round_ = shapely.buffer(shapely.points(discs[:, :2]), discs[:, 2], quad_segs=16)
        pairs = shapely.multipolygons(
            np.column_stack((round_[:-1], round_[1:])).ravel()[np.repeat(sweep.cuts, 2)],
            indices=np.repeat(np.arange(sweep.cuts.sum()), 2),
        )
        unions.append(shapely.union_all(shapely.convex_hull(pairs)))
    return unions


def _wheel(*, teeth: int, radius: float) -> Part:
    """A toothed rim of four edges a tooth, with a bore and three openings."""
    points = [
        (scale * radius * cos(2 * pi * (k + at) / teeth), scale * radius * sin(2 * pi * (k + at) / teeth))
        for k in range(teeth)
        for at, scale in ((0.0, 0.85), (0.3, 0.85), (0.45, 1.0), (0.85, 1.0))
    ]
    lines = [Line(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    edges = tuple(
        Edge(id=f"A{i}", contour="A", kind=EdgeKind.STRAIGHT, segments=(line,))
        for i, line in enumerate(lines, 1)
    )
    corners = tuple(
        Corner(position=e.end, turn=_turn(e.segments[0], n.segments[0]), before=e.id, after=n.id)
        for e, n in zip(edges, (*edges[1:], edges[0]), strict=True)
    )
    outline = Contour(id="A", role=ContourRole.OUTLINE, edges=edges, corners=corners, area=pi * radius**2)
    spots = [(0.0, 0.0, 0.25), *((0.55 * cos(a), 0.55 * sin(a), 0.12) for a in (0.0, 2.1, 4.2))]
    openings = tuple(_opening(name, radius, *spot) for name, spot in zip("BCDE", spots, strict=True))
    return Part(id="1", outline=outline, openings=openings)


def _opening(name: str, scale: float, x: float, y: float, radius: float) -> Contour:
    circle = Arc((scale * x, scale * y), scale * radius, pi, -2.0 * pi)
    edge = Edge(id=f"{name}1", contour=name, kind=EdgeKind.CIRCLE, segments=(circle,))
    return Contour(
        id=name, role=ContourRole.OPENING, edges=(edge,), corners=(), area=pi * (scale * radius) ** 2
    )


def _turn(before: Line, after: Line) -> float:
    return float(np.angle(np.exp(1j * (after.heading() - before.heading()))))


def _held(work: Callable[[], object]) -> float:
    """Largest memory that the work holds at once. [MB]"""
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def _best(work: Callable[[], object], repeats: int) -> float:
    work()
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


if __name__ == "__main__":
    for row in run():
        print(row)
