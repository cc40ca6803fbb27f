"""How long the virtual gauge takes over a part, and over many draws of it."""

from __future__ import annotations

import sys
from pathlib import Path
from statistics import median
from time import perf_counter

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from gauge_fields import block, in_draws, wall_field
from sample_parts import wheel
from trialcut.ascut.gauge.circles import minimum_circumscribed_circle
from trialcut.ascut.gauge.inspect import inspect_part, plain_characteristics
from trialcut.ascut.gauge.sizes import caliper
from trialcut.ascut.gauge.squareness import light_gap

Row = tuple[str, float, float | None, float | None, str, bool]
LAYERS, DRAWS = 24, 200
INSPECTION, SIZES = 0.5, 0.1


def run(repeats: int = 5) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    part = wheel(60)
    field = wall_field(part, _uneven, layers=LAYERS)
    wanted = plain_characteristics(part)
    count = len(inspect_part(part, field, wanted))
    whole = _median(lambda: inspect_part(part, field, wanted), repeats)
    many = in_draws(wall_field(block(), _uneven, layers=LAYERS), *np.linspace(0.5, 1.5, DRAWS))
    sizes = _median(lambda: [caliper(many, "A2", "A4", depth=d) for d in (0.0, 0.5, 1.0)], repeats)
    square = _median(lambda: light_gap(many, "A2"), repeats)
    points = field.wall(0)[field.edge == len(field.edges) - 1]
    cloud = shapely.MultiPoint(points)
    expected = shapely.minimum_bounding_radius(cloud)
    assert abs(float(minimum_circumscribed_circle(points).radius) - expected) < 1e-12, "one circle, twice"
    ours = _median(lambda: minimum_circumscribed_circle(points), repeats)
    theirs = _median(lambda: shapely.minimum_bounding_radius(shapely.MultiPoint(points)), repeats)
    name = f"inspecting 60 edges x {LAYERS} layers, {count} readings"
    return [
        (name, whole, None, None, f"<= {INSPECTION} s", whole <= INSPECTION),
        (f"a caliper at 3 depths of {DRAWS} draws", sizes, None, None, f"<= {SIZES} s", sizes <= SIZES),
        (f"a square on an edge of {DRAWS} draws", square, None, None, f"<= {SIZES} s", square <= SIZES),
        ("smallest ring round a bore, against shapely", ours, theirs, theirs / ours, "no target", True),
    ]


def _uneven(_edge: str, fraction: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Lean, bow along the edge, and a little roughness that is the same each time."""
    rough = 2e-6 * np.sin(1e3 * fraction) * np.cos(37.0 * depth)
    return 1e-4 * depth + 4e-5 * (2.0 * fraction - 1.0) ** 2 * depth**2 + rough


def _median(work: object, repeats: int) -> float:
    assert callable(work)
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return median(times)


if __name__ == "__main__":
    for row in run():
        print(row)
