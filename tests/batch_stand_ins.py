"""Work that stands in for planning in tests of batches: quick, and as bad as a drawing's name says."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

from trialcut.services import StudyOptions, load_shop
from trialcut.services.batch import BatchResult, run_batch
from trialcut.services.batch_work import Order, Record, Stage, work_on

ASK = StudyOptions(ask="12 mm 304, sizes ±0.3 mm, finish Ra 6.3 um, 20 off")


def quick(order: Order) -> Record:
    """The real findings; then figures that depend on the drawing alone, or what the name announces."""
    if order.stage is Stage.FINDINGS:
        return work_on(order)
    if "killer" in order.name:
        os.kill(os.getpid(), signal.SIGKILL)
    if "dawdler" in order.name:
        for _ in range(2000):
            time.sleep(0.01)
    time.sleep(0.05)
    size = float(len(order.drawing))
    option = {
        "name": "cheapest",
        "holds": True,
        "odds": 0.96,
        "time_each": size,
        "cost_each": size,
        "cost_lot": 20.0 * size,
    }
    return {"status": "planned", "pierces": 2, "options": [option], "best": "cheapest", "note": ""}


def batch(folder: Path, out: Path, **more: object) -> BatchResult:
    return run_batch(folder, ASK, out=out, shop=load_shop(), **({"work": quick, "workers": 2} | more))


if __name__ == "__main__":
    batch(Path(sys.argv[1]), Path(sys.argv[2]))
