"""Where long work is done: asked for once, done as a job of the book, its result remembered."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.app.recent import Recent
from trialcut.app.revival import Revival
from trialcut.app.runner import Doer, Runner
from trialcut.app.trials.fitting import FIT, fit_doer
from trialcut.app.work import KINDS, Kind, Progress, Worked, digest_text, work_key
from trialcut.errors import UsageError
from trialcut.planning.front.types import TradeOff
from trialcut.planning.study import Study
from trialcut.records import Draft, Job, JobState
from trialcut.records.jobs import STALE
from trialcut.services import (
    Mix,
    document_text,
    invest_document,
    mix_of_studies,
    pick_point,
    weigh_purchases,
    with_book,
)

INVEST = "invest"
"""The kind of job that weighs purchases; it is on no single study."""
REMEMBERED = 64
"""Results kept at hand."""


class Workroom:
    """Jobs of a desk, and what came of the last ones.

    Parameters
    ----------
    desk : Desk
        What the work is done on.
    threads : int
        How many jobs at once.
    stale : float
        How long another worker may be silent before its job is taken. [s]
    """

    def __init__(self, desk: Desk, *, threads: int = 2, stale: float = STALE) -> None:
        self.desk = desk
        self._values: Recent[Any] = Recent(REMEMBERED)
        doers: dict[str, Doer] = {
            **{name: self._doer(kind) for name, kind in KINDS.items()},
            INVEST: self._weigh,
            FIT: fit_doer(desk),
        }
        self.runner = Runner(desk.book, doers, threads=threads, stale=stale)
        self._revival = Revival(doers.__getitem__)

    def look(self, kind: str, draft: Draft, answers: Answers, *, point: str = "") -> Worked | None:
        """
        How far a piece of work is; begun again if it was done and its result is no longer at hand.

        Parameters
        ----------
        kind : str
            One of `work.KINDS`.
        draft : Draft
            The study.
        answers : Answers
            Of it, as they stand.
        point : str
            Of the trade-off, whose tolerances are taken in place of the drawing's; empty for the drawing's.

        Returns
        -------
        Worked or None
            With its value once it is done; None if nobody has asked for it.
        """
        key = self.key(kind, draft, answers, point=point)
        value = self._values.peek(key)
        job = self.desk.book.jobs.newest(key)
        if job is None:
            return None
        return self._with_value(job, value)

    def _with_value(self, job: Job, value: Any) -> Worked:
        """A job with its result; a result that is no longer at hand is worked out again."""
        if job.state != JobState.DONE:
            return Worked(job)
        if value is None and not self._revival.begin(job):
            job = self.desk.book.jobs.again(job.id)
            self.runner.wake()
        return Worked(job, value)

    def ask(self, kind: str, draft: Draft, answers: Answers, *, point: str = "", who: str) -> Worked:
        """
        Ask for a piece of work, or join those who have.

        Parameters
        ----------
        kind, draft, answers, point : str, Draft, Answers, str
            As `look`.
        who : str
            Who asks.

        Returns
        -------
        Worked
            Waiting, running or done.
        """
        request = {"drawing": draft.drawing, "answers": answers.stated(), "point": point}
        self.desk.book.jobs.ask(
            kind=kind,
            request=json.dumps(request, ensure_ascii=False),
            key=self.key(kind, draft, answers, point=point),
            draft=draft.id,
            version=draft.version,
            who=who,
        )
        self.runner.wake()
        found = self.look(kind, draft, answers, point=point)
        assert found is not None
        return found

    def peek(self, kind: str, draft: Draft, answers: Answers, *, point: str = "") -> Any:
        """The result of a piece of work, if it is at hand."""
        return self._values.peek(self.key(kind, draft, answers, point=point))

    def key(self, kind: str, draft: Draft, answers: Answers, *, point: str = "") -> str:
        """What a piece of work depends on, as a digest."""
        return work_key(kind, (self.desk.key(draft.drawing, answers), point))

    def study(self, draft: Draft, answers: Answers, *, point: str = "") -> Study | None:
        """The study, at a point of its trade-off if one is said; None while the trade-off is not at hand."""
        study = self.desk.study(draft.drawing, answers)
        if not point:
            return study
        front: TradeOff | None = self.peek("front", draft, answers)
        return None if front is None else pick_point(study, front, read_point(point))

    def ask_purchases(self, request: Mapping[str, Any], *, who: str) -> Job:
        """
        Ask to weigh purchases over a year's mix of studies.

        Parameters
        ----------
        request : mapping
            ``jobs``: list of study, edition and lots a year; ``purchases``: their text.
        who : str
            Who asks.

        Returns
        -------
        Job
            Waiting, running or done.
        """
        _ = self.desk.shop  # read again if its file has changed
        state = (request, self.desk.shelf.stamp, self.desk.book.evidence_stamp())
        job = self.desk.book.jobs.ask(
            kind=INVEST,
            request=json.dumps(request, ensure_ascii=False),
            key=work_key(INVEST, state),
            who=who,
        )
        self.runner.wake()
        return job

    def purchases(self, job: Job) -> Worked:
        """How far a weighing of purchases is; begun again if its result is no longer at hand."""
        return self._with_value(job, self._values.peek(job.key))

    def mix(self, request: Mapping[str, Any]) -> Mix:
        """The year's mix that a request speaks of; raises what is wrong with it."""
        studies: dict[str, Study] = {}
        lots: dict[str, float] = {}
        for study_id, version, count in request["jobs"]:
            draft = self.desk.book.drafts.get(study_id, version=version)
            name = draft.title if draft.title not in studies else f"{draft.title} ({draft.id})"
            studies[name] = self.desk.study(draft.drawing, Answers.read(draft.answers))
            lots[name] = count
        if not studies:
            raise UsageError("say for at least one study how many lots a year it brings", code="no-jobs")
        return mix_of_studies(
            request["purchases"], studies, lots=lots, shop=self.desk.shop, name="A year's mix"
        )

    def open(self) -> None:
        """Begin to take jobs."""
        self.runner.start()

    def close(self) -> None:
        """Put running jobs back, and take no more."""
        self._revival.close()
        self.runner.close()

    def _doer(self, kind: Kind) -> Doer:
        def do(request: Job, progress: Progress) -> str:
            asked = json.loads(request.request)
            answers = Answers.read(asked["answers"])
            study = self.desk.study(asked["drawing"], answers)
            if asked["point"]:
                study = pick_point(
                    study, self._front(study, asked, answers, progress), read_point(asked["point"])
                )
            value = kind.make(study, self.desk.shop, progress)
            self._values.put(request.key, value)
            return digest_text(kind, value)

        return do

    def _weigh(self, request: Job, progress: Progress) -> str:
        mix = self.mix(json.loads(request.request))
        found = weigh_purchases(
            mix, knowing=lambda study: with_book(study, self.desk.book), progress=progress
        )
        self._values.put(request.key, found)
        return document_text(invest_document(found))

    def _front(self, study: Study, asked: dict[str, Any], answers: Answers, progress: Progress) -> TradeOff:
        """The trade-off that a point is of, worked out again if it is no longer at hand."""
        key = work_key("front", (self.desk.key(asked["drawing"], answers), ""))
        front: TradeOff | None = self._values.peek(key)
        if front is None:
            front = KINDS["front"].make(study, self.desk.shop, progress)
            self._values.put(key, front)
        return front


def read_point(text: str) -> int:
    """Number of a point of a trade-off."""
    if not text.isascii() or not text.isdecimal() or len(text) > 4:
        raise UsageError(
            f"'{text[:20]}' is no point of the trade-off: pick one of the chart", code="bad-point"
        )
    return int(text)
