"""Threads that work through the jobs of a book."""

from __future__ import annotations

import logging
import os
import secrets
import socket
from collections.abc import Callable, Mapping
from functools import partial
from threading import Event, Thread
from time import monotonic

from trialcut.errors import TrialcutError
from trialcut.records import Book, Job
from trialcut.records.jobs import STALE

Progress = Callable[[str, float], None]
Doer = Callable[[Job, Progress], str]

LOOK_EVERY = 1.0
"""How often to look for jobs that another process was asked for. [s]"""
BEAT_EVERY = 0.25
"""At most so often is said how far a job is. [s]"""
ALIVE_EVERY = 4.0
"""At least so often a worker is heard of, however long a step of its work takes. [s]"""
RETRY_AFTER = (1.0, 3.0, 10.0)
"""Pauses before a job's end is tried again to be entered. [s]"""

_LOG = logging.getLogger(__name__)


class Cancelled(Exception):  # noqa: N818, it is no error
    """Raised within work whose job was cancelled, or is another worker's by now."""


class Runner:
    """Works through jobs.

    Parameters
    ----------
    book : Book
        With the jobs.
    kinds : mapping
        From a kind of job to what does it: a callable that takes the job and a progress callback, and gives
        what the book keeps of the result.
    threads : int
        How many jobs at once.
    stale : float
        How long another worker may be silent before its job is taken; longer than `ALIVE_EVERY`. [s]
    """

    def __init__(
        self, book: Book, kinds: Mapping[str, Doer], *, threads: int = 2, stale: float = STALE
    ) -> None:
        self._book, self._kinds, self._stale = book, dict(kinds), stale
        self._name = f"{socket.gethostname()}-{os.getpid()}-{secrets.token_hex(3)}"
        self._asked, self._closing = Event(), Event()
        self._held: dict[str, str] = {}
        self._threads = [
            Thread(target=self._work, args=(f"{self._name}-{k}",), name=f"jobs-{k}", daemon=True)
            for k in range(threads)
        ]

    def start(self) -> None:
        """Begin to take jobs."""
        for thread in self._threads:
            thread.start()

    def wake(self) -> None:
        """Look for jobs now."""
        self._asked.set()

    def close(self, *, wait: float = 10.0) -> None:
        """Put running jobs back and take no more. [s]"""
        self._closing.set()
        self._asked.set()
        until = monotonic() + wait
        for thread in self._threads:
            if thread.is_alive():
                thread.join(max(0.0, until - monotonic()))
        for worker, job_id in tuple(self._held.items()):  # in a step that says nothing: it is lost to it
            self._enter(partial(self._book.jobs.give_back, job_id, worker))

    def _work(self, worker: str) -> None:
        while not self._closing.is_set():
            try:
                job = self._book.jobs.take(worker, kinds=self._kinds, stale=self._stale)
            except TrialcutError as error:
                _LOG.warning("jobs cannot be looked for: %s", error.message)
                job = None
            if job is None:
                self._asked.wait(LOOK_EVERY)
                self._asked.clear()
            else:
                self._asked.set()  # there may be more
                self._held[worker] = job.id
                self._do(job, worker)
                del self._held[worker]

    def _do(self, job: Job, worker: str) -> None:
        pulse = _Pulse(self._book, job.id, worker)
        pulse.start()
        jobs = self._book.jobs

        def note(doing: str, fraction: float) -> None:
            if self._closing.is_set():
                raise Cancelled
            pulse.note(doing, fraction)

        try:
            result = self._kinds[job.kind](job, note)
        except Cancelled:
            if self._closing.is_set():
                self._enter(partial(jobs.give_back, job.id, worker))
        except TrialcutError as error:
            self._enter(partial(jobs.failed, job.id, worker, code=error.case, message=error.message))
        except Exception as error:
            _LOG.exception("a job went wrong")
            said = f"this went wrong within Trialcut ({type(error).__name__}): please report it"
            self._enter(partial(jobs.failed, job.id, worker, code="internal", message=said))
        else:
            self._enter(partial(jobs.done, job.id, worker, result))
        finally:
            pulse.stop()

    def _enter(self, step: Callable[[], bool]) -> None:
        """Enter how a job ended. Where the book cannot be written, the job is taken up again later."""
        for wait in (*RETRY_AFTER, None):
            try:
                step()
            except TrialcutError as error:
                _LOG.warning("a job's end cannot be entered: %s", error.message)
                if wait is None or self._closing.wait(wait):
                    return
            else:
                return


class _Pulse:
    """Says how far a job is, and that its worker is alive while a long step says nothing."""

    def __init__(self, book: Book, job_id: str, worker: str) -> None:
        self._book, self._id, self._worker = book, job_id, worker
        self._doing, self._fraction = "", 0.0
        self._said = 0.0
        self._lost, self._over = Event(), Event()
        self._thread = Thread(target=self._live, name=f"pulse-{job_id}", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def note(self, doing: str, fraction: float) -> None:
        """Take down how far it is; raises `Cancelled` if there is no need to go on."""
        self._doing, self._fraction = doing, fraction
        if monotonic() - self._said >= BEAT_EVERY:
            self._say()
        if self._lost.is_set():
            raise Cancelled

    def stop(self) -> None:
        self._over.set()
        self._thread.join()

    def _live(self) -> None:
        while not self._over.wait(ALIVE_EVERY):
            self._say()

    def _say(self) -> None:
        self._said = monotonic()
        try:
            if not self._book.jobs.beat(self._id, self._worker, doing=self._doing, fraction=self._fraction):
                self._lost.set()
        except TrialcutError as error:
            _LOG.warning("a job's progress cannot be entered: %s", error.message)
