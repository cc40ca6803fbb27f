"""Long work that was asked for, as the book gives it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class JobState(StrEnum):
    """How far a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """
    A job.

    Parameters
    ----------
    id : str
        In the book: ``"J7"``.
    kind : str
        What is to be done.
    draft : str
        Id of the study that it is on; empty if on none.
    version : int or None
        Edition of that study.
    request : str
        What it is done on, as JSON.
    key : str
        The same for the same work.
    state : JobState
        How far it is.
    doing : str
        What is being done.
    fraction : float
        How much of it is done. [-]
    left_s : float or None
        About how long it still takes; None if that cannot be told. [s]
    code, message : str
        Of the error, if it failed.
    result : str
        What the book keeps of what came of it, as JSON.
    who : str
        Who asked.
    asked : datetime
        When.
    begun, ended : datetime or None
        When it was taken up last, and when it ended.
    """

    id: str
    kind: str
    draft: str
    version: int | None
    request: str
    key: str
    state: JobState
    doing: str
    fraction: float
    left_s: float | None
    code: str
    message: str
    result: str
    who: str
    asked: datetime
    begun: datetime | None
    ended: datetime | None

    @property
    def over(self) -> bool:
        """Whether nothing more will come of it by itself."""
        return self.state in {JobState.DONE, JobState.FAILED, JobState.CANCELLED}
