"""Planning in threads, one job for each different study."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock

from trialcut.app.recent import Recent
from trialcut.planning.results import Plan
from trialcut.planning.study import Study
from trialcut.services import plan_study


@dataclass(slots=True)
class Job:
    """A plan being worked out, or worked out.

    Parameters
    ----------
    future : Future
        Of the plan.
    doing : str
        What is being done.
    fraction : float
        How much of it is done. [-]
    told : bool
        It went wrong, and somebody was told.
    """

    future: Future[Plan] = field(default_factory=Future)
    doing: str = "waiting"
    fraction: float = 0.0
    told: bool = False

    def note(self, doing: str, fraction: float) -> None:
        """Take down how far it is."""
        self.doing, self.fraction = doing, fraction


class Planner:
    """Works plans out in the background and remembers the last ones.

    Parameters
    ----------
    threads : int
        How many at once.
    """

    def __init__(self, threads: int = 2) -> None:
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="plan")
        self._jobs: Recent[Job] = Recent(24)
        self._starting = Lock()

    def job(self, key: Hashable, study: Callable[[], Study]) -> Job:
        """
        The job for a study, started if it is not there or went wrong before.

        Parameters
        ----------
        key : hashable
            What the study depends on.
        study : callable
            Gives the study; its errors are the caller's.

        Returns
        -------
        Job
            Waiting, running or done.
        """
        with self._starting:
            return self._jobs.get(key, lambda: self._start(study()), stale=_given_up)

    def peek(self, key: Hashable) -> Job | None:
        """The job for a study, if there is one."""
        return self._jobs.peek(key)

    def _start(self, study: Study) -> Job:
        job = Job()

        def work() -> None:
            try:
                job.future.set_result(plan_study(study, progress=job.note))
            except BaseException as error:
                job.future.set_exception(error)

        self._pool.submit(work)
        return job

    def close(self) -> None:
        """Take no more jobs."""
        self._pool.shutdown(wait=False, cancel_futures=True)


def _given_up(job: Job) -> bool:
    return job.told
