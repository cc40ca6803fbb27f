"""Run every benchmark here and print one table: what, how long, against whom, the target, and if it is met.

Times depend on the machine; ratios are measured in this one run, on this machine, next to each other.
"""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

HERE = Path(__file__).resolve().parent
HEADS = ("what", "seconds", "rival", "ratio", "target", "met")
WIDTHS = (50, 10, 10, 8, 34, 4)


def main() -> int:
    """Print the table; status 1 if a target is missed."""
    sys.path.insert(0, str(HERE))
    print(_line(HEADS), flush=True)
    missed = 0
    for path in sorted(HERE.glob("bench_*.py")):
        for name, seconds, rival, ratio, target, met in import_module(path.stem).run():
            cells = (
                name,
                _number(seconds, 4),
                _number(rival, 4),
                _number(ratio, 2),
                target if isinstance(target, str) else f"<= {target:g} x",
                "yes" if met else "NO",
            )
            print(_line(cells), flush=True)
            missed += not met
    print(f"{missed} of the targets missed" if missed else "all targets met")
    return 1 if missed else 0


def _number(value: float | None, decimals: int) -> str:
    return "-" if value is None else f"{value:.{decimals}f}"


def _line(cells: tuple[str, ...]) -> str:
    left = {0, 4, 5}
    return "  ".join(
        cell.ljust(width) if position in left else cell.rjust(width)
        for position, (cell, width) in enumerate(zip(cells, WIDTHS, strict=True))
    ).rstrip()


if __name__ == "__main__":
    sys.exit(main())
