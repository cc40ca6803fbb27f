"""How long the command line takes to start, and the demo from end to end, each as a real process."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from time import perf_counter

Row = tuple[str, float, float | None, float | None, str, bool]
HELP_LIMIT, DEMO_LIMIT = 0.3, 10.0
COMMAND = (sys.executable, "-c", "from trialcut.cli import main; main()")


def run(repeats: int = 7) -> list[Row]:
    """Return name, seconds, rival's seconds, ratio, target, met."""
    start = min(_time("--help") for _ in range(repeats))  # the best: others may be at work on the machine
    with tempfile.TemporaryDirectory() as folder:
        whole = _time("demo", "--out", folder)
    return [
        ("trialcut --help, process start to end, best", start, None, None, "<= 0.3 s", start <= HELP_LIMIT),
        ("trialcut demo, process start to papers", whole, None, None, "<= 10 s", whole <= DEMO_LIMIT),
    ]


def _time(*arguments: str) -> float:
    began = perf_counter()
    subprocess.run([*COMMAND, *arguments], check=True, stdout=subprocess.DEVNULL)
    return perf_counter() - began


if __name__ == "__main__":
    for row in run():
        print(row)
