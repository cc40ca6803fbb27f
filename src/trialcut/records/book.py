"""The book: what was cut, read, fitted and issued."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Engine, func, select

from trialcut.records import (
    backup,
    check,
    fit_store,
    paper_store,
    reading_store,
    transfer,
    trial_store,
    tube_store,
)
from trialcut.records.accounts import Accounts
from trialcut.records.columns import now
from trialcut.records.drafts import Drafts
from trialcut.records.engine import make_engine, reading, writing
from trialcut.records.errors import BookError, NotABookError
from trialcut.records.faults import telling_faults
from trialcut.records.jobs import Jobs
from trialcut.records.migrate import PRESENT, bring_to_present
from trialcut.records.place import BookPlace, default_path, find_place
from trialcut.records.tables import TABLES, FitRow, MachineRow, TubeLogRow, TubeRow
from trialcut.records.types import (
    BookInfo,
    FitRecord,
    GaugeStudyRecord,
    PlanRecord,
    ReadingVersion,
    StudyRecord,
    TubeEntry,
)
from trialcut.trials.types import Reading, Trial

WAIT = 10.0
"""For another writer. [s]"""


def open_book(place: str | Path | None = None, *, make: bool = True, wait: float = WAIT) -> Book:
    """
    Open a book, make it where there is none, and bring an older one to the present form.

    Parameters
    ----------
    place : str, Path or None
        A path or a ``postgresql://`` URL. Without one, what the environment variable TRIALCUT_BOOK
        says; without that, the user's data folder.
    make : bool
        Whether to make a file that is not there.
    wait : float
        How long a step waits for another writer. [s]

    Returns
    -------
    Book
        Close it after use, or open it in a ``with`` statement.

    Raises
    ------
    BookError
        It cannot be opened, is of a newer form, or is no book.
    UsageError
        The URL is of something else, or the driver of the server is not installed.
    """
    found = find_place(place)
    if found.path is not None and not found.path.exists():
        if not make:
            raise NotABookError(f"there is no book {found.shown}: enter a trial first, or give its place")
        if found.path == default_path():
            found.path.parent.mkdir(parents=True, exist_ok=True)
    return Book(found, wait=wait)


class Book:
    """
    A book that is open. Each method is one step: kept whole, or not at all.

    Parameters
    ----------
    place : BookPlace
        Where it is.
    wait : float
        How long a step waits for another writer. [s]
    """

    def __init__(self, place: BookPlace, *, wait: float = WAIT) -> None:
        self.place = place
        with telling_faults(place.shown):
            self._engine: Engine = make_engine(place, wait=wait)
        try:
            bring_to_present(self._engine, place, wait=wait)
        except BaseException:
            self._engine.dispose()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close all connections."""
        self._engine.dispose()

    @property
    def drafts(self) -> Drafts:
        """The studies that are worked on, and their drawings."""
        return Drafts(self._engine, self.place.shown)

    @property
    def jobs(self) -> Jobs:
        """Long work that was asked for."""
        return Jobs(self._engine, self.place.shown)

    def evidence_stamp(self) -> tuple[int, ...]:
        """Numbers that change whenever a fit or an entry of a tube's log is added."""
        newest = [select(func.max(column)).scalar_subquery() for column in (FitRow.number, TubeLogRow.number)]
        with reading(self._engine, self.place.shown) as connection:
            return tuple(number or 0 for number in connection.execute(select(*newest)).one())

    # Trials

    def next_trial_id(self) -> str:
        """Give out ``"T1"``, ``"T2"``, ...: each once, whoever asks."""
        with writing(self._engine, self.place.shown) as connection:
            return trial_store.take_trial_number(connection)

    def add_trial(self, trial: Trial, *, cut_at: datetime | None = None) -> None:
        """
        Enter a trial, with its coupons and cuts.

        Parameters
        ----------
        trial : Trial
            Its id and those of its coupons must be new.
        cut_at : datetime, optional
            When it was cut, with its time zone.

        Raises
        ------
        BookError
            The trial or a coupon is in the book already.
        """
        with writing(self._engine, self.place.shown) as connection:
            trial_store.add_trial(connection, trial, cut_at)

    def correct_trial(self, trial: Trial, *, reason: str, who: str, cut_at: datetime | None = None) -> None:
        """
        Enter a trial that supersedes the one of the same id: the set-up or speeds as they really were.

        Parameters
        ----------
        trial : Trial
            With the same machine, coupons and cuts.
        reason, who : str
            Why, and by whom.
        cut_at : datetime, optional
            When it was cut; as it was before, if left out.
        """
        _said(reason, "a correction")
        with writing(self._engine, self.place.shown) as connection:
            trial_store.correct_trial(connection, trial, cut_at, reason=reason, who=who)

    def trials(self, machine: str | None = None) -> tuple[Trial, ...]:
        """Return the trials of a machine, or all, as they stand now."""
        with reading(self._engine, self.place.shown) as connection:
            return trial_store.current_trials(connection, machine)

    def trial(self, trial_id: str) -> Trial:
        """Return one trial as it stands now, or raise `UnknownNameError`."""
        with reading(self._engine, self.place.shown) as connection:
            return trial_store.current_trial(connection, trial_id)

    def unread_trials(self) -> dict[str, str]:
        """Return for each study that waits for readings the newest trial that has none."""
        with reading(self._engine, self.place.shown) as connection:
            return trial_store.unread_trials(connection)

    def coupon_trial(self, coupon_id: str) -> Trial:
        """Return the trial of a coupon as it stands now, or raise `UnknownNameError`."""
        with reading(self._engine, self.place.shown) as connection:
            return trial_store.current_trial(connection, trial_store.trial_of_coupon(connection, coupon_id))

    # Readings

    def add_readings(self, readings: Iterable[Reading]) -> tuple[Reading, ...]:
        """Enter readings in one step, and return them with their ids."""
        with writing(self._engine, self.place.shown) as connection:
            return reading_store.add_readings(connection, readings)

    def readings(self, machine: str | None = None, trial: str | None = None) -> tuple[Reading, ...]:
        """Return the readings that count now: corrected ones as corrected, withdrawn ones not."""
        with reading(self._engine, self.place.shown) as connection:
            if trial is not None:
                trial_store.current_number(connection, trial)
            return reading_store.current_readings(connection, machine=machine, trial=trial)

    def withdrawn(self, trial: str) -> tuple[ReadingVersion, ...]:
        """Return the readings of a trial that were set aside, with who did and why."""
        with reading(self._engine, self.place.shown) as connection:
            trial_store.current_number(connection, trial)
            return reading_store.withdrawn_readings(connection, trial)

    def history(self, reading_id: str) -> tuple[ReadingVersion, ...]:
        """Return every entry of a reading, the first first, whichever of their ids is given."""
        with reading(self._engine, self.place.shown) as connection:
            return reading_store.history(connection, reading_id)

    def correct_reading(self, reading_id: str, *, value: float, text: str, reason: str, who: str) -> Reading:
        """
        Enter a reading that supersedes another, which is kept.

        Parameters
        ----------
        reading_id : str
            Of the newest entry; a withdrawn one counts again as corrected.
        value : float
            In SI.
        text : str
            As typed, with its unit.
        reason, who : str
            Why, and by whom.

        Returns
        -------
        Reading
            With an id of its own.
        """
        _said(reason, "a correction")
        with writing(self._engine, self.place.shown) as connection:
            return reading_store.correct_reading(
                connection, reading_id, value=value, text=text, reason=reason, who=who
            )

    def withdraw_reading(self, reading_id: str, *, reason: str, who: str) -> None:
        """Set a reading aside: it is kept, and counts no more."""
        _said(reason, "setting a reading aside")
        with writing(self._engine, self.place.shown) as connection:
            reading_store.withdraw_reading(connection, reading_id, reason=reason, who=who)

    # Mixing tubes

    def log_tube_hours(
        self,
        tube: str,
        hours: float,
        who: str,
        *,
        bore: float | None = None,
        remark: str = "",
        when: datetime | None = None,
    ) -> float:
        """
        Enter jet-on time of a mixing tube.

        Parameters
        ----------
        tube : str
            As marked.
        hours : float
            Gained since the last entry; negative, with a remark, to take back a wrong one. [s]
        who : str
            Who enters it.
        bore : float, optional
            If it was measured. [m]
        remark : str
            What was noticed.
        when : datetime, optional
            That it speaks of, with its time zone; now, if left out.

        Returns
        -------
        float
            What the tube has in all. [s]
        """
        entry = TubeEntry(tube=tube, hours=hours, bore=bore, who=who, when=when or now(), remark=remark)
        with writing(self._engine, self.place.shown) as connection:
            return tube_store.log_tube(connection, entry)

    def tube_hours(self, tube: str) -> float:
        """Return the jet-on time of a tube; zero for one that was never logged. [s]"""
        with reading(self._engine, self.place.shown) as connection:
            return tube_store.tube_hours(connection, tube)

    def tube_log(self, tube: str) -> tuple[TubeEntry, ...]:
        """Return every entry of a tube, or raise `UnknownNameError`."""
        with reading(self._engine, self.place.shown) as connection:
            return tube_store.tube_log(connection, tube)

    # Fits

    def add_fit(self, fit: FitRecord) -> str:
        """Enter a fit, and return its id."""
        with writing(self._engine, self.place.shown) as connection:
            return fit_store.add_fit(connection, fit)

    def fits(self, machine: str | None = None) -> tuple[FitRecord, ...]:
        """Return the fits of a machine, or all, the oldest first."""
        with reading(self._engine, self.place.shown) as connection:
            return fit_store.fits_of(connection, machine)

    def fit(self, fit_id: str) -> FitRecord:
        """Return one fit, or raise `UnknownNameError`."""
        with reading(self._engine, self.place.shown) as connection:
            return fit_store.fit_by_id(connection, fit_id)

    def newest_fit(self, machine: str, *, good: bool = True) -> FitRecord | None:
        """Return the newest fit of a machine, of the good ones alone unless told otherwise."""
        with reading(self._engine, self.place.shown) as connection:
            return fit_store.newest_fit(connection, machine, good=good)

    # Gauge studies, studies, plans

    def add_gauge_study(self, study: GaugeStudyRecord) -> str:
        """Enter a gauge study, and return its id."""
        with writing(self._engine, self.place.shown) as connection:
            return paper_store.add_gauge_study(connection, study)

    def gauge_studies(self, gauge: str | None = None) -> tuple[GaugeStudyRecord, ...]:
        """Return the studies of a gauge, or all, the oldest first."""
        with reading(self._engine, self.place.shown) as connection:
            return paper_store.gauge_studies(connection, gauge)

    def save_study(self, *, name: str, text: str, who: str = "") -> StudyRecord:
        """Enter a study file as it stands; nothing is added if it has not changed."""
        with writing(self._engine, self.place.shown) as connection:
            return paper_store.save_study(connection, name=name, text=text, who=who)

    def studies(self, name: str | None = None) -> tuple[StudyRecord, ...]:
        """Return each entry of a study, or of all, the oldest first."""
        with reading(self._engine, self.place.shown) as connection:
            return paper_store.studies(connection, name)

    def issue_plan(self, plan: PlanRecord) -> str:
        """Enter a plan with its papers, and return its id."""
        with writing(self._engine, self.place.shown) as connection:
            return paper_store.issue_plan(connection, plan)

    def issued_plans(self, study_name: str | None = None) -> tuple[PlanRecord, ...]:
        """Return the plans issued for a study, or all, the oldest first."""
        with reading(self._engine, self.place.shown) as connection:
            return paper_store.issued_plans(connection, study_name)

    # People

    @property
    def accounts(self) -> Accounts:
        """People who may sign in, and the trail of what was done."""
        return Accounts(self._engine, self.place.shown)

    # The book as a whole

    def info(self) -> BookInfo:
        """Return where the book is and what it holds."""
        with reading(self._engine, self.place.shown) as connection:
            return BookInfo(
                place=self.place.shown,
                engine="PostgreSQL" if self.place.path is None else "SQLite",
                revision=PRESENT,
                rows={
                    table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
                    for table in TABLES
                },
                machines=tuple(
                    connection.execute(select(MachineRow.name).order_by(MachineRow.name)).scalars()
                ),
                tubes=tuple(connection.execute(select(TubeRow.name).order_by(TubeRow.name)).scalars()),
            )

    def check(self) -> tuple[str, ...]:
        """Return what is wrong with the book, a line each; nothing if it is whole."""
        with reading(self._engine, self.place.shown) as connection:
            return check.problems(connection)

    def backup(self, path: str | Path) -> None:
        """Copy the book while it is in use: its file, or an export where it is on a server."""
        if self.place.path is None:
            self.export_book(path)
            return
        with reading(self._engine, self.place.shown):
            backup.copy_file(self.place.path, Path(path))

    def export_book(self, path: str | Path) -> None:
        """Write the whole book, as it is at this moment, into one checksummed file."""
        with reading(self._engine, self.place.shown) as connection:
            transfer.export_rows(connection, Path(path))

    def import_book(self, path: str | Path) -> None:
        """
        Fill this book, which must be empty, from an export.

        Parameters
        ----------
        path : str or Path
            Of the export.

        Raises
        ------
        DamagedBookError
            The file is not as it was written.
        BookError
            This book is not empty.
        """
        content = transfer.read_export(Path(path))
        with writing(self._engine, self.place.shown) as connection:
            transfer.import_rows(connection, content, self.place.shown)


def _said(reason: str, what: str) -> None:
    if not reason.strip():
        raise BookError(f"{what} needs a reason: say what was wrong")
