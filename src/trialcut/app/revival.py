"""Results of jobs that are done, worked out again in this process where they are no longer at hand."""

from __future__ import annotations

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Lock

from trialcut.app.runner import Doer
from trialcut.records import Job

_LOG = logging.getLogger(__name__)


class Revival:
    """Works the results of done jobs out again; the book is left as it is.

    After a restart, or on a second server over the same book, a job may be done whose result is not in the
    memory of this process.

    Parameters
    ----------
    doer : callable
        From a kind of job to what does it.
    """

    def __init__(self, doer: Callable[[str], Doer]) -> None:
        self._doer = doer
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="revival")
        self._under_way: set[str] = set()
        self._failed: set[str] = set()
        self._lock = Lock()

    def begin(self, job: Job) -> bool:
        """Work the result of a job out again; tells whether that can still come to something."""
        with self._lock:
            if job.key in self._failed:
                self._failed.discard(job.key)
                return False
            if job.key not in self._under_way:
                self._under_way.add(job.key)
                self._pool.submit(self._do, job)
        return True

    def close(self) -> None:
        """Begin nothing more."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _do(self, job: Job) -> None:
        try:
            self._doer(job.kind)(job, lambda _doing, _fraction: None)
        except Exception:
            _LOG.exception("a result cannot be worked out again")
            with self._lock:
                self._failed.add(job.key)
        finally:
            with self._lock:
                self._under_way.discard(job.key)
