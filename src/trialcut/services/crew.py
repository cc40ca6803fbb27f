"""Working through many items with workers that may fail: some items kill their worker, some take too long.

When a worker dies, each item that may have been the cause is done once more, with nothing else running: the
one that does it again is to blame, and the others lose nothing but time.
"""

from __future__ import annotations

import ctypes
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Future
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from time import monotonic
from typing import Any, Generic, TypeVar

from trialcut.errors import ComputationError
from trialcut.services.executors import Workers, settled, worker_died

Item = TypeVar("Item")

TASK = 0.2
"""Time that a task should take at least: shorter items are given out several at a time. [s]"""
MOST_AT_A_TIME = 32
"""Items in one task."""
LOOK_UP = 0.25
"""How often it is looked whether to go on. [s]"""
GRACE = 30.0
"""Beyond its time, so long is waited for a worker to stop by itself before it is ended. [s]"""
LAST_WAIT = 15.0
"""When the work is cancelled, so long is waited for what runs. [s]"""


class Ending(StrEnum):
    """How the work on an item ended."""

    DONE = "done"
    TIMED_OUT = "timed out"
    DIED = "worker died"


class TimeUp(BaseException):
    """The time of an item is over; no ``except Exception`` stops it."""


@contextmanager
def limited(seconds: float | None) -> Iterator[None]:
    """
    Raise `TimeUp` in this thread once a time is over.

    It comes between two steps of Python: one long call into compiled code is finished first.

    Parameters
    ----------
    seconds : float or None
        None for no limit. [s]
    """
    if seconds is None:
        yield
        return
    thread, over, guard = ctypes.c_ulong(threading.get_ident()), threading.Event(), threading.Lock()

    def watch() -> None:
        pause = seconds
        while not over.wait(pause):
            with guard:
                if not over.is_set():
                    ctypes.pythonapi.PyThreadState_SetAsyncExc(thread, ctypes.py_object(TimeUp))
            pause = 1.0  # and again: a callback may have swallowed it

    threading.Thread(target=watch, daemon=True).start()
    try:
        yield
    finally:
        late = False
        while True:
            try:
                over.set()
                with guard:  # what was raised and has not arrived is taken back
                    ctypes.pythonapi.PyThreadState_SetAsyncExc(thread, None)
                break
            except TimeUp:
                late = True
        if late:
            raise TimeUp


def call_each(
    call: Callable[[Any], Any], payloads: Sequence[Any], seconds: float | None
) -> list[tuple[Ending, Any]]:
    """
    In a worker: call a function on each payload, each within its time.

    Parameters
    ----------
    call : callable
        What is done.
    payloads : sequence
        What it is done to.
    seconds : float or None
        Time of each. [s]

    Returns
    -------
    list of tuple
        How each ended, and what came of it.
    """
    endings: list[tuple[Ending, Any]] = []
    for payload in payloads:
        try:
            with limited(seconds):
                value = call(payload)
        except TimeUp:
            endings.append((Ending.TIMED_OUT, None))
        else:
            endings.append((Ending.DONE, value))
    return endings


@dataclass(slots=True)
class _Task(Generic[Item]):
    """Items that a worker was given at one time."""

    items: list[Item]
    started: float
    alone: bool


class Crew(Generic[Item]):
    """Workers on one list of items.

    Parameters
    ----------
    hire : callable
        Gives workers; called again when they broke.
    call : callable
        What is done in a worker; of a module, so that it can be sent there.
    payload : callable
        What of an item is sent, made when its turn comes.
    limit : float or None
        Time that one item may take. [s]
    cancelled : callable
        Asked all the time; once it says so, nothing new is begun.
    """

    def __init__(
        self,
        hire: Callable[[], Workers],
        call: Callable[[Any], Any],
        payload: Callable[[Item], Any],
        *,
        limit: float | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> None:
        self.hire, self.call, self.payload = hire, call, payload
        self.limit, self.cancelled = limit, cancelled
        self.workers = hire()
        self.todo: deque[Item] = deque()
        self.suspects: deque[Item] = deque()
        self.running: dict[Future[list[tuple[Ending, Any]]], _Task[Item]] = {}
        self.pace = 0.0
        """Time of one item, as it has been lately. [s]"""

    def work(self, items: Iterable[Item]) -> Iterator[tuple[Item, Ending, Any]]:
        """
        Work through items.

        Parameters
        ----------
        items : iterable
            In the order in which they are begun.

        Yields
        ------
        tuple of item, Ending and object
            As they end. What was not begun, or not finished, when the work was cancelled is missing.

        Raises
        ------
        ComputationError
            If the workers are lost for good.
        """
        self.todo.extend(items)
        while (self.todo or self.suspects or self.running) and not self.cancelled():
            self._give_out()
            yield from self._take_in()
        quitting = monotonic() + LAST_WAIT
        while self.running and monotonic() < quitting:
            yield from self._take_in()

    def close(self) -> None:
        """Let the workers go, whatever they are at."""
        if self.running:
            self.workers.stop_at_once()
        else:
            self.workers.shutdown(wait=True, cancel_futures=True)

    def _give_out(self) -> None:
        """Give every free worker a task; a suspect only where nothing else runs."""
        while True:
            if self.suspects:
                if self.running:
                    return
                items, alone = [self.suspects.popleft()], True
            else:
                full = len(self.running) >= self.workers.width or any(t.alone for t in self.running.values())
                if full or not self.todo:
                    return
                items, alone = self._next_items(), False
            payloads = [self.payload(item) for item in items]
            try:
                future = self.workers.submit(call_each, self.call, payloads, self.limit)
            except BrokenExecutor:  # a worker died, idle or at another task, which then says so itself
                (self.suspects if alone else self.todo).extendleft(reversed(items))
                if self.running:
                    return
                self._hire_again()
                continue
            only = len(items) == 1 and self.workers.width == 1
            self.running[future] = _Task(items, monotonic(), alone or only)

    def _next_items(self) -> list[Item]:
        """Take as many as make a task of some length, but leave the others their share."""
        share = -(-len(self.todo) // (2 * self.workers.width))
        fitting = int(TASK / self.pace) if self.pace else 1
        return [self.todo.popleft() for _ in range(max(1, min(fitting, share, MOST_AT_A_TIME)))]

    def _take_in(self) -> Iterator[tuple[Item, Ending, Any]]:
        """Take what is done, and see after what is late or broke."""
        for future in settled(set(self.running), LOOK_UP):
            if future not in self.running:  # its pool broke
                continue
            error = _error_of(future)
            if error is None:
                yield from self._results(future)
            elif isinstance(error, BrokenExecutor):
                yield from self._after_a_break()
            elif worker_died(error):
                yield from self._blame(self.running.pop(future))
            else:
                raise ComputationError(
                    f"the workers are lost ({type(error).__name__}): run the same command again to go on",
                    code="workers-lost",
                ) from error
        late = [future for future, task in self.running.items() if self._late(task)]
        if late:
            yield from self._after_waiting_for(late)

    def _results(self, future: Future[list[tuple[Ending, Any]]]) -> Iterator[tuple[Item, Ending, Any]]:
        task = self.running.pop(future)
        latest = (monotonic() - task.started) / len(task.items)
        self.pace = latest if not self.pace else 0.8 * self.pace + 0.2 * latest
        for item, (ending, value) in zip(task.items, future.result(), strict=True):
            yield item, ending, value

    def _after_a_break(self) -> Iterator[tuple[Item, Ending, Any]]:
        """All that ran in a broken pool is lost, but for what was just done."""
        for future in list(self.running):
            if _error_of(future) is None:
                yield from self._results(future)
        broken = list(self.running.values())
        self.running.clear()
        self._hire_again()
        for task in broken:
            yield from self._blame(task)

    def _blame(self, task: _Task[Item]) -> Iterator[tuple[Item, Ending, Any]]:
        if task.alone:
            yield task.items[0], Ending.DIED, None
        else:
            self.suspects.extend(task.items)

    def _late(self, task: _Task[Item]) -> bool:
        return self.limit is not None and monotonic() - task.started > self.limit * len(task.items) + GRACE

    def _after_waiting_for(
        self, late: list[Future[list[tuple[Ending, Any]]]]
    ) -> Iterator[tuple[Item, Ending, Any]]:
        """End the workers, since a task does not come back; what else ran is begun again."""
        tasks = [(future in late, task) for future, task in self.running.items()]
        self.running.clear()
        self._hire_again()
        for is_late, task in tasks:
            if not is_late:
                self.todo.extendleft(reversed(task.items))
            elif len(task.items) == 1:
                yield task.items[0], Ending.TIMED_OUT, None
            else:
                self.suspects.extend(task.items)

    def _hire_again(self) -> None:
        self.workers.stop_at_once()
        self.workers = self.hire()


def _error_of(future: Future[Any]) -> BaseException | None:
    """Return why a future has no result; it is waited for a moment, as all of a pool break at once."""
    try:
        return future.exception(timeout=LAST_WAIT)
    except (CancelledError, TimeoutError) as error:
        return error
