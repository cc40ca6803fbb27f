"""Plain parts a second through a batch: one and two processes, and a dask cluster of two on loopback.

Workers are started and warm before the clock starts: a batch has hundreds of parts.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from batch_drawings import write_drawings
from trialcut.services import StudyOptions, load_shop
from trialcut.services.batch_parts import parts_of_folder
from trialcut.services.batch_work import Ground, Order, Stage, work_on
from trialcut.services.executors import Workers, executor_for

Row = tuple[str, float, float | None, float | None, str, bool]
ASK = StudyOptions(ask="12 mm 304, sizes ±0.3 mm, finish Ra 6.3 um, 20 off")
LEAST_RATE, LEAST_GAIN = 3.0, 1.7
CLUSTER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None,
                      worker_dashboard_address=None) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()
"""


def run(number: int = 12) -> list[Row]:
    """Return name, seconds a part, seconds with one worker, ratio, target, met."""
    with tempfile.TemporaryDirectory() as place:
        orders = _orders(Path(place) / "in", number)
        one = _seconds(executor_for(1), orders)
        two = _seconds(executor_for(2), orders)
        script = Path(place) / "cluster.py"
        script.write_text(CLUSTER, encoding="utf-8")
        with subprocess.Popen(
            [sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
        ) as process:
            try:
                dask = _seconds(executor_for(url=process.stdout.readline().strip()), orders)
            finally:
                process.communicate("", timeout=60)
    gain = f"<= 1/{LEAST_GAIN} of one"
    return [
        ("a plain part, 1 process", one, None, None, "-", True),
        ("a plain part, 2 processes", two, one, two / one, "<= 1/3 s", two <= 1.0 / LEAST_RATE),
        ("a plain part, 2 processes, gain", two, one, two / one, gain, one / two >= LEAST_GAIN),
        ("a plain part, dask, 2 workers", dask, one, dask / one, gain, one / dask >= LEAST_GAIN),
    ]


def _orders(folder: Path, number: int) -> list[Order]:
    write_drawings(folder, number, bad=False)
    shop = load_shop()
    ground = pickle.dumps(Ground(shop=shop))
    return [
        Order(
            stage=Stage.PLAN,
            name=part.name,
            drawing=part.path.read_bytes(),
            content=part.content,
            said=dict(part.said),
            ground=ground,
        )
        for part in parts_of_folder(folder, ASK, shop=shop)
    ]


def _seconds(workers: Workers, orders: list[Order]) -> float:
    """Return seconds a part, after every worker has planned one."""
    with workers:
        for future in [workers.submit(work_on, order) for order in orders[: 2 * workers.width]]:
            future.result()
        start = perf_counter()
        for future in [workers.submit(work_on, order) for order in orders]:
            assert future.result()["status"] == "planned"
        return (perf_counter() - start) / len(orders)


if __name__ == "__main__":
    for row in run():
        print(row)
