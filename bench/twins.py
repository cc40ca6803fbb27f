"""Work many twin shops through the public services, print the table, and write it with one line a shop.

Number of shops, seed and folder come from N, SEED and OUT in the environment; COUPONS cuts so many in every
shop, whatever the design recommends.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trialcut.twins.tool import Tool

# One thread a process: the processes already take all cores.
for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

SECONDS_A_SHOP = 6.0
"""Of a core's time: 200 shops in 10 minutes on two."""


def main() -> int:
    """Print the table; status 1 if a target is missed."""
    from trialcut.twins.bench import run_bench
    from trialcut.twins.report import markdown_table, shops_csv
    from trialcut.twins.summary import summarise

    count, seed = int(os.environ.get("N", "200")), int(os.environ.get("SEED", "1"))
    folder = Path(os.environ.get("OUT", "out/twins"))
    folder.mkdir(parents=True, exist_ok=True)
    begun = time.perf_counter()

    def progress(done: int, of: int) -> None:
        if done % max(of // 20, 1) == 0:
            print(f"{done} of {of} shops, {time.perf_counter() - begun:.0f} s", file=sys.stderr, flush=True)

    results = run_bench(count, tool=_tool(), seed=seed, progress=progress)
    took = time.perf_counter() - begun
    summary = summarise(results)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    each = (used.ru_utime + used.ru_stime) / count
    fast = each <= SECONDS_A_SHOP
    speed = (
        f"{took:.0f} s on {os.cpu_count()} cores; {each:.1f} s of a core for each shop, "
        f"{SECONDS_A_SHOP:g} s wanted: {'met' if fast else 'missed'}\n"
    )
    table = markdown_table(summary) + speed
    (folder / "table.md").write_text(table, encoding="utf-8")
    (folder / "shops.csv").write_text(shops_csv(results), encoding="utf-8")
    print(table)
    return 0 if fast and all(target.met for target in summary.targets) else 1


def _tool() -> Tool:
    from trialcut.twins.workflow import PublicServices, WithoutTrial

    coupons = os.environ.get("COUPONS", "")
    if coupons == "0":
        return WithoutTrial()
    return PublicServices(coupons=int(coupons) if coupons else None)


if __name__ == "__main__":
    sys.exit(main())
