"""Who does the work: a pool of processes on this machine, or a cluster, behind one interface."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager, suppress
from importlib import import_module
from multiprocessing import get_context, parent_process
from typing import Any, ParamSpec, TypeVar

from trialcut import __version__
from trialcut.errors import ComputationError, UsageError

P = ParamSpec("P")
T = TypeVar("T")

ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What keeps the linear algebra of a worker to one thread: the processes are the parallel part."""
LOADED_AHEAD = ("trialcut.services.batch_work",)
"""What each worker of this machine imports before its first task."""
ANSWER_WITHIN = 10.0
"""Time that a cluster has to answer. [s]"""


class Workers(Executor):
    """An executor that knows how many tasks it runs at once, and can be ended at once."""

    width: int = 1

    def stop_at_once(self) -> None:
        """Leave unfinished tasks, and end."""
        self.shutdown(wait=False, cancel_futures=True)


def executor_for(workers: int | None = None, url: str | None = None) -> Workers:
    """
    Workers of this machine, or those of a cluster.

    Parameters
    ----------
    workers : int, optional
        Processes on this machine; as many as it has cores for us if None.
    url : str, optional
        Of the scheduler of a dask cluster, ``"tcp://127.0.0.1:8786"``, in place of this machine.

    Returns
    -------
    Workers
        An executor, ready to take tasks. Whichever it is, the same task gives the same result.

    Raises
    ------
    UsageError
        If the cluster does not answer, has no workers, lacks this version of Trialcut, or the extra for it is
        not installed.
    ComputationError
        If no process can be started.
    """
    return LocalPool(workers or usable_cores()) if url is None else Cluster(url)


def usable_cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class LocalPool(Workers):
    """Processes of this machine.

    Each is started afresh, keeps to one thread, leaves Ctrl-C to us, and ends when we do, however we end.

    Parameters
    ----------
    workers : int
        How many.
    """

    def __init__(self, workers: int) -> None:
        self.width = workers
        self._pool = ProcessPoolExecutor(
            workers, mp_context=get_context("spawn"), initializer=_begin, initargs=(LOADED_AHEAD,)
        )
        try:
            with _as_children_start():
                first = self._pool.submit(_nothing)  # starts all of them
            first.result()
        except (BrokenExecutor, OSError) as error:
            self._pool.shutdown(wait=False)
            raise ComputationError(
                f"no worker can be started ({error}): take fewer --workers, or see whether memory is short",
                code="no-workers",
            ) from None

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Give a task to the pool."""
        return self._pool.submit(fn, *args, **kwargs)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more tasks."""
        self._pool.shutdown(wait, cancel_futures=cancel_futures)

    def stop_at_once(self) -> None:
        """Kill the processes."""
        for process in list((self._pool._processes or {}).values()):
            with suppress(OSError, ValueError):
                process.kill()
        self._pool.shutdown(wait=True, cancel_futures=True)


def _nothing() -> None:
    """Do nothing, in a worker: that it comes back shows that workers start."""


def _begin(modules: tuple[str, ...]) -> None:
    """Make a worker ready for its tasks."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    for name in modules:
        import_module(name)


def _end_with_parent() -> None:
    """Wait for the end of the process that started this one, which may be killed, and end as well."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@contextmanager
def _as_children_start() -> Iterator[None]:
    """Have processes that are started meanwhile keep to one thread, and leave Ctrl-C to this one."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    block = getattr(signal, "pthread_sigmask", None)
    held = block(signal.SIG_BLOCK, {signal.SIGINT}) if block else None
    try:
        yield
    finally:
        if block:
            block(signal.SIG_SETMASK, held)
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


class Cluster(Workers):
    """The workers of a dask cluster that runs already, each with this version of Trialcut installed.

    Parameters
    ----------
    url : str
        Of its scheduler.
    """

    def __init__(self, url: str) -> None:
        try:
            connect: Any = import_module("distributed").Client
        except ImportError:
            raise UsageError(
                "--cluster needs the extra 'cluster': install it with pip install 'trialcut[cluster]'",
                code="no-extra",
            ) from None
        try:
            self._client: Any = connect(url, timeout=ANSWER_WITHIN, set_as_default=False)
        except (OSError, ValueError, ImportError) as error:  # the last for an unknown kind of address
            reason = str(error).splitlines()[0] if str(error) else "it does not answer"
            raise UsageError(
                f"no cluster at {url} ({reason}): start it first, or leave out --cluster", code="no-cluster"
            ) from None
        try:
            self._check(url)
        except BaseException:
            self._client.close()
            raise
        self._inner = self._client.get_executor(pure=False)

    def _check(self, url: str) -> None:
        """See that there are workers, and that they are of this version."""
        self.width = sum(self._client.nthreads().values())
        if not self.width:
            raise UsageError(f"the cluster at {url} has no workers: start some", code="no-workers")
        try:
            others = set(self._client.run(_version).values()) - {__version__}
        except ImportError:
            others = {"no"}
        if others:
            raise UsageError(
                f"workers of the cluster at {url} have {', '.join(sorted(others))} Trialcut: install there "
                f"{__version__}, as here",
                code="other-version",
            )

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Give a task to the cluster."""
        future: Future[T] = self._inner.submit(fn, *args, **kwargs)
        return future

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Take no more tasks, and let go of the cluster, which goes on running."""
        self._inner.shutdown(wait=wait and not cancel_futures)
        self._client.close()


def _version() -> str:
    """Which Trialcut a worker has."""
    return __version__


def worker_died(error: BaseException) -> bool:
    """
    Whether a task failed because the process that worked on it ended.

    Parameters
    ----------
    error : BaseException
        Of its future.

    Returns
    -------
    bool
        True for either kind of executor.
    """
    if isinstance(error, BrokenExecutor):
        return True
    scheduler = sys.modules.get("distributed.scheduler")
    return scheduler is not None and isinstance(error, scheduler.KilledWorker)


def settled(futures: set[Future[Any]], seconds: float) -> set[Future[Any]]:
    """
    Those of some futures that are done, once one is or a time is over.

    Parameters
    ----------
    futures : set of Future
        Waited for.
    seconds : float
        At most so long. [s]

    Returns
    -------
    set of Future
        Done, failed or cancelled.
    """
    return wait(futures, timeout=seconds, return_when="FIRST_COMPLETED").done
