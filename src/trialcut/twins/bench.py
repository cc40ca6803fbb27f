"""Many twin shops, one after the other or side by side."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from contextlib import nullcontext

from trialcut.errors import RangeError
from trialcut.twins.one_shop import ShopResult, run_shop
from trialcut.twins.physics import draw_twin
from trialcut.twins.protocol import MakeTwin
from trialcut.twins.tool import Tool

Progress = Callable[[int, int], None]
SEEDS_APART = 1_000


def run_bench(
    count: int,
    *,
    tool: Tool,
    make_twin: MakeTwin = draw_twin,
    executor: Executor | None = None,
    seed: int = 1,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> list[ShopResult]:
    """
    Work through shops in parallel.

    Parameters
    ----------
    count : int
        Shops.
    tool : Tool
        Who plans; it is sent to the workers.
    make_twin : callable
        The physics, from a set-up and a seed; it is sent to the workers.
    executor : Executor, optional
        Where the work is done; a pool of as many processes as there are cores unless given. One that is
        given is not shut down.
    seed : int
        Of the whole bench. Every shop has a seed of its own, so that results do not depend on the executor
        or on the order in which shops are done.
    progress : callable, optional
        Called with the number of shops done and of all.
    cancelled : callable, optional
        Asked after every shop; once it says yes, no further shop is begun.

    Returns
    -------
    list of ShopResult
        In the order of their seeds; fewer than asked for if cancelled.

    Raises
    ------
    RangeError
        If no shop is asked for.
    """
    if count < 1:
        raise RangeError(f"{count} shops are too few: ask for at least 1", count=count)
    seeds = [SEEDS_APART * seed + number for number in range(count)]
    own = ProcessPoolExecutor(max_workers=os.cpu_count()) if executor is None else nullcontext(executor)
    done: list[ShopResult] = []
    with own as pool:
        waiting = [pool.submit(run_shop, each, make_twin=make_twin, tool=tool) for each in seeds]
        for future in as_completed(waiting):
            if future.cancelled():
                continue
            done.append(future.result())
            if progress is not None:
                progress(len(done), count)
            if cancelled is not None and cancelled():
                _cancel(waiting)
    return sorted(done, key=lambda result: result.seed)


def _cancel(waiting: list[Future[ShopResult]]) -> None:
    for future in waiting:
        future.cancel()
