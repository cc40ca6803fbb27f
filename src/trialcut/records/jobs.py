"""Long work that was asked for: the one list of the book whose rows change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, insert, or_, select, text, update

from trialcut.errors import UnknownNameError
from trialcut.records.columns import now
from trialcut.records.engine import reading, writing
from trialcut.records.job_types import Job, JobState
from trialcut.records.numbers import JOB, as_id, as_number, unknown
from trialcut.records.work_tables import JobRow

STALE = 15.0
"""A running job whose worker has not been heard of for so long may be taken by another. [s]"""
MOST_TAKES = 4
"""A job that ended so many workers is not given to another."""

_JOBS = JobRow.__table__
_LIVE = (JobState.WAITING.value, JobState.RUNNING.value)
_SURE = 0.02
"""Fraction done from which the time left can be told. [-]"""


@dataclass(frozen=True, slots=True)
class Jobs:
    """
    The jobs of a book. Each method is one step: kept whole, or not at all.

    Parameters
    ----------
    engine : Engine
        Of the book.
    shown : str
        The book, as messages call it.
    """

    engine: Engine
    shown: str

    def ask(
        self, *, kind: str, request: str, key: str, draft: str = "", version: int | None = None, who: str
    ) -> Job:
        """
        Ask for work, or join those who have.

        Parameters
        ----------
        kind : str
            What is to be done.
        request : str
            What it is done on, as JSON.
        key : str
            The same for the same work.
        draft : str
            Study that it is on; empty if on none.
        version : int, optional
            Edition of that study.
        who : str
            Who asks.

        Returns
        -------
        Job
            The one of that key that waits, runs or is done; a new one if there is none.
        """
        with writing(self.engine, self.shown) as connection:
            if connection.dialect.name != "sqlite":  # a file has one writer at a time
                connection.execute(text("SELECT pg_advisory_xact_lock(hashtext(:key))"), {"key": key})
            joined = (*_LIVE, JobState.DONE.value)
            query = select(_JOBS).where(_JOBS.c.key == key, _JOBS.c.state.in_(joined))
            found = connection.execute(query.order_by(_JOBS.c.number.desc()).limit(1)).one_or_none()
            if found is not None:
                return _job(found)
            number = connection.execute(
                insert(JobRow)
                .values(
                    kind=kind,
                    draft=draft,
                    version=version,
                    request=request,
                    key=key,
                    who=who,
                    takes=0,
                    **_BLANK,
                )
                .returning(JobRow.number)
            ).scalar_one()
            return _job(_row(connection, number))

    def take(self, worker: str, *, kinds: Iterable[str], stale: float = STALE) -> Job | None:
        """
        Take up a job that waits, or that runs with a worker who has not been heard of.

        Parameters
        ----------
        worker : str
            Who takes it.
        kinds : iterable of str
            That this worker can do.
        stale : float
            How long a worker may be silent. [s]

        Returns
        -------
        Job or None
            The one that was asked for first; None if there is none.
        """
        with writing(self.engine, self.shown) as connection:
            at = now()
            silent = at - timedelta(seconds=stale)
            free = or_(
                _JOBS.c.state == JobState.WAITING.value,
                (_JOBS.c.state == JobState.RUNNING.value) & (_JOBS.c.beat < silent),
            )
            query = select(_JOBS).where(free, _JOBS.c.kind.in_(tuple(kinds)))
            query = query.order_by(_JOBS.c.number).with_for_update(skip_locked=True)
            for row in connection.execute(query.limit(MOST_TAKES)).all():
                if row.takes >= MOST_TAKES:
                    _set(connection, row.number, **_ended(JobState.FAILED, **_KILLED))
                    continue
                taken = {"state": JobState.RUNNING.value, "worker": worker, "takes": row.takes + 1}
                _set(connection, row.number, **{**_BLANK, **taken, "begun": at, "beat": at})
                return _job(_row(connection, row.number))
        return None

    def beat(self, job_id: str, worker: str, *, doing: str, fraction: float) -> bool:
        """
        Say how far a job is.

        Parameters
        ----------
        job_id, worker : str
            The job, and who works on it.
        doing : str
            What is being done.
        fraction : float
            How much of it is done. [-]

        Returns
        -------
        bool
            Whether to go on; not if it was cancelled, or is another's by now.
        """
        values = {"beat": now(), "doing": doing, "fraction": min(max(fraction, 0.0), 1.0)}
        return self._own(job_id, worker, values)

    def done(self, job_id: str, worker: str, result: str) -> bool:
        """Enter what came of a job; tells whether it was still this worker's."""
        return self._own(job_id, worker, {**_ended(JobState.DONE), "fraction": 1.0, "result": result})

    def failed(self, job_id: str, worker: str, *, code: str, message: str) -> bool:
        """Enter why a job failed; tells whether it was still this worker's."""
        return self._own(job_id, worker, _ended(JobState.FAILED, code=code, message=message))

    def give_back(self, job_id: str, worker: str) -> bool:
        """Put a running job back for another worker; tells whether it was still this worker's."""
        return self._own(job_id, worker, {**_BLANK, "takes": 0})

    def cancel(self, job_id: str) -> Job:
        """Stop a job that waits or runs; one that is over stays as it is."""
        with writing(self.engine, self.shown) as connection:
            number = _number(job_id)
            if _known(connection, number, job_id).state in _LIVE:
                _set(connection, number, **_ended(JobState.CANCELLED))
            return _job(_row(connection, number))

    def again(self, job_id: str) -> Job:
        """Have a job that is over done again; one that waits or runs stays as it is."""
        with writing(self.engine, self.shown) as connection:
            number = _number(job_id)
            if _known(connection, number, job_id).state not in _LIVE:
                _set(connection, number, **{**_BLANK, "takes": 0})
            return _job(_row(connection, number))

    def get(self, job_id: str) -> Job:
        """Return a job, or raise `UnknownNameError`."""
        with reading(self.engine, self.shown) as connection:
            return _job(_known(connection, _number(job_id), job_id))

    def newest(self, key: str) -> Job | None:
        """Return the job of a key that was asked for last; None if nobody asked."""
        query = select(_JOBS).where(_JOBS.c.key == key).order_by(_JOBS.c.number.desc()).limit(1)
        with reading(self.engine, self.shown) as connection:
            found = connection.execute(query).one_or_none()
        return None if found is None else _job(found)

    def of_drafts(self, drafts: Iterable[str], *, kind: str) -> dict[str, Job]:
        """Return for each of some studies the job of a kind that was asked for last."""
        query = select(_JOBS).where(_JOBS.c.draft.in_(tuple(drafts)), _JOBS.c.kind == kind)
        with reading(self.engine, self.shown) as connection:
            rows = connection.execute(query.order_by(_JOBS.c.number)).all()
        return {row.draft: _job(row) for row in rows}

    def recent(self, limit: int = 50) -> tuple[Job, ...]:
        """Return the jobs that were asked for last, the last first."""
        query = select(_JOBS).order_by(_JOBS.c.number.desc()).limit(limit)
        with reading(self.engine, self.shown) as connection:
            return tuple(_job(row) for row in connection.execute(query))

    def _own(self, job_id: str, worker: str, values: dict[str, Any]) -> bool:
        """Change a job if it runs and is this worker's."""
        own = (
            (_JOBS.c.number == as_number(JOB, job_id))
            & (_JOBS.c.worker == worker)
            & (_JOBS.c.state == JobState.RUNNING.value)
        )
        with writing(self.engine, self.shown) as connection:
            return connection.execute(update(JobRow).where(own).values(**values)).rowcount == 1


_BLANK: dict[str, Any] = {
    "state": JobState.WAITING.value,
    "worker": "",
    "begun": None,
    "beat": None,
    "doing": "",
    "fraction": 0.0,
    "ended": None,
    "code": "",
    "message": "",
    "result": "",
}
"""A job that nobody has begun."""
_KILLED = {
    "code": "killed",
    "message": "this work ended the program each time it was begun: ask for less, or report it",
}


def _ended(state: JobState, *, code: str = "", message: str = "") -> dict[str, Any]:
    return {"state": state.value, "ended": now(), "code": code, "message": message}


def _set(connection: Connection, number: int, **values: Any) -> None:
    connection.execute(update(JobRow).where(_JOBS.c.number == number).values(**values))


def _row(connection: Connection, number: int) -> Any:
    return connection.execute(select(_JOBS).where(_JOBS.c.number == number)).one()


def _number(job_id: str) -> int:
    try:
        return as_number(JOB, job_id)
    except UnknownNameError as error:
        raise UnknownNameError(error.message, code="no-such-job") from None


def _known(connection: Connection, number: int, job_id: str) -> Any:
    found = connection.execute(select(_JOBS).where(_JOBS.c.number == number)).one_or_none()
    if found is None:
        raise UnknownNameError(unknown(JOB, job_id).message, code="no-such-job")
    return found


def _job(row: Any) -> Job:
    return Job(
        id=as_id(JOB, row.number),
        kind=row.kind,
        draft=row.draft,
        version=row.version,
        request=row.request,
        key=row.key,
        state=JobState(row.state),
        doing=row.doing,
        fraction=row.fraction,
        left_s=_left(row.begun, row.beat, row.fraction) if row.state == JobState.RUNNING.value else None,
        code=row.code,
        message=row.message,
        result=row.result,
        who=row.who,
        asked=row.entered,
        begun=row.begun,
        ended=row.ended,
    )


def _left(begun: datetime | None, beat: datetime | None, fraction: float) -> float | None:
    """Time left if it goes on as it went. [s]"""
    if begun is None or beat is None or fraction < _SURE:
        return None
    return (beat - begun).total_seconds() * (1.0 - fraction) / fraction
