"""Generated drawings for batches: random small parts, and a few that no batch can plan.

As a program: ``python tests/batch_drawings.py FOLDER NUMBER`` writes so many sound ones and the bad ones.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from trialcut.twins.drawings import PARTS, dxf_text

SEED = 20261125
OPEN_OUTLINE = [
    ("LINE", {10: 0.0, 20: 0.0, 11: 60.0, 21: 0.0}),
    ("LINE", {10: 60.0, 20: 0.0, 11: 60.0, 21: 40.0}),
    ("LINE", {10: 60.0, 20: 40.0, 11: 0.0, 21: 40.0}),
]
BAD = ("bad-empty.dxf", "bad-garbage.dxf", "bad-open.dxf")


def write_drawings(folder: Path, number: int, *, bad: bool = True) -> list[Path]:
    """Write random parts, and one file each that is empty, garbage, and an outline that does not close."""
    folder.mkdir(parents=True, exist_ok=True)
    random = np.random.default_rng(SEED)
    kinds = list(PARTS.items())
    paths = []
    for each in range(number):
        name, make = kinds[each % len(kinds)]
        path = folder / f"{name}-{each:04}.dxf"
        path.write_text(dxf_text(make(random)), encoding="ascii")
        paths.append(path)
    if bad:
        (folder / BAD[0]).write_bytes(b"")
        (folder / BAD[1]).write_bytes(random.bytes(2000))
        (folder / BAD[2]).write_text(dxf_text(OPEN_OUTLINE), encoding="ascii")
        paths += [folder / name for name in BAD]
    return paths


if __name__ == "__main__":
    write_drawings(Path(sys.argv[1]), int(sys.argv[2]))
