"""Reading and analysing a drawing of 20,000 entities, against ezdxf reading it alone."""

from __future__ import annotations

import gc
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import ezdxf
from ezdxf.layouts import Modelspace

from trialcut.geometry.importers import read_dxf

Row = tuple[str, float, float, float, str, bool]
"""Name, ours [s], rival [s], ratio of ours to the rival's, target, whether it was met."""

RATIO = 2.0
ROUNDS = 5


def plate(space: Modelspace, x: float, y: float) -> None:
    """Sixteen entities: four lines, four corner arcs, eight round openings."""
    w, h, r = 40.0, 30.0, 4.0
    lines = [
        ((x + r, y), (x + w - r, y)),
        ((x + w, y + r), (x + w, y + h - r)),
        ((x + w - r, y + h), (x + r, y + h)),
        ((x, y + h - r), (x, y + r)),
    ]
    for a, b in lines:
        space.add_line(a, b)
    corners = [(x + w - r, y + r), (x + w - r, y + h - r), (x + r, y + h - r), (x + r, y + r)]
    for k, centre in enumerate(corners):
        space.add_arc(centre, r, 90 * k - 90, 90 * k)
    for k in range(8):
        space.add_circle((x + 6 + 4 * k, y + 15), 1.5)


def draw(path: Path, *, plates: int = 1250) -> None:
    """Write the drawing: plates in rows of fifty."""
    document = ezdxf.new("R2010")
    document.units = 4
    space = document.modelspace()
    for k in range(plates):
        plate(space, 45.0 * (k % 50), 35.0 * (k // 50))
    document.saveas(path)


def seconds(action: Callable[[], object]) -> float:
    """Time of one call, on a clean slate. [s]"""
    gc.collect()
    begun = time.perf_counter()
    action()
    return time.perf_counter() - begun


def run() -> list[Row]:
    """Measure in turns, so that a busy machine slows both; the best of each counts."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plates.dxf"
        draw(path)
        read_dxf(path)  # imports are not the drawing's
        pairs = [
            (seconds(lambda: read_dxf(path)), seconds(lambda: ezdxf.readfile(path))) for _ in range(ROUNDS)
        ]
    ours, rival = (min(times) for times in zip(*pairs, strict=True))
    ratio = ours / rival
    name = "drawing of 20,000 entities, read and analysed"
    return [(name, ours, rival, ratio, f"<= {RATIO:g} x ezdxf.readfile", ratio <= RATIO)]


if __name__ == "__main__":
    for row in run():
        print(row)
