"""What goes into the book and comes out of it, beside trials and readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from trialcut.physics.numeric import Array
from trialcut.trials.types import Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingVersion:
    """One entry in the history of a reading.

    Parameters
    ----------
    reading : Reading
        As it stood.
    supersedes : str
        Id of the entry that it corrects, or empty.
    reason, changed_by : str
        Why and by whom it was corrected; empty for the first.
    entered : datetime
        When it came into the book.
    withdrawn : str
        Why it was set aside, or empty.
    withdrawn_by : str
        Who did.
    """

    reading: Reading
    supersedes: str = ""
    reason: str = ""
    changed_by: str = ""
    entered: datetime
    withdrawn: str = ""
    withdrawn_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeEntry:
    """One line of the log of a mixing tube.

    Parameters
    ----------
    tube : str
        As marked.
    hours : float
        Jet-on time gained; negative to take back an entry that was wrong. [s]
    bore : float or None
        Where it was measured. [m]
    who, remark : str
        Who entered it, and why.
    when : datetime
        That it speaks of.
    """

    tube: str
    hours: float
    bore: float | None
    who: str
    when: datetime
    remark: str = ""


@dataclass(frozen=True, kw_only=True)
class FitRecord:
    """A fit as the book keeps it: everything that is needed to use it and to make it again.

    Parameters
    ----------
    id : str
        In the book, ``"F3"``; empty until it is there.
    machine, head : str
        What it is about; no head if it holds for all of a machine.
    created : datetime
        When, with its time zone.
    version : str
        Of Trialcut.
    good : bool
        Whether its intervals may be used.
    readings : tuple of str
        Ids of the readings used, in order.
    header : mapping
        Model forms, priors, seed, flags: whatever JSON can hold.
    arrays : mapping
        Name to array.
    """

    machine: str
    head: str = ""
    created: datetime
    version: str
    good: bool
    readings: tuple[str, ...]
    header: Mapping[str, Any]
    arrays: Mapping[str, Array] = field(default_factory=dict)
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeStudyRecord:
    """A study of a gauge.

    Parameters
    ----------
    id : str
        In the book, ``"G1"``; empty until it is there.
    gauge : str
        In the shop file.
    text : str
        The table as it was read.
    result : mapping
        What came of it: whatever JSON can hold.
    who : str
        Who ran it.
    when : datetime
        With its time zone.
    """

    gauge: str
    text: str
    result: Mapping[str, Any]
    who: str
    when: datetime
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRecord:
    """A study file as it stood.

    Parameters
    ----------
    id : str
        In the book, ``"S1"``.
    name, text : str
        Of the file, and all of it.
    who : str
        Who saved it.
    entered : datetime
        When.
    """

    id: str
    name: str
    text: str
    who: str
    entered: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRecord:
    """A plan that was issued.

    Parameters
    ----------
    id : str
        In the book, ``"P1"``; empty until it is there.
    study : str
        Id of the study in the book.
    option : str
        Which of the plan's options.
    document : mapping
        The plan's JSON document.
    papers : mapping
        File name to content.
    who : str
        Who issued it.
    when : datetime
        With its time zone.
    """

    study: str
    option: str
    document: Mapping[str, Any]
    papers: Mapping[str, bytes]
    who: str
    when: datetime
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BookInfo:
    """What a book holds.

    Parameters
    ----------
    place : str
        Where it is, without a password.
    engine : str
        ``"SQLite"`` or ``"PostgreSQL"``.
    revision : str
        Of its tables.
    rows : mapping
        Table to number of rows, corrections and withdrawn readings included.
    machines : tuple of str
        Their names.
    tubes : tuple of str
        Their names.
    """

    place: str
    engine: str
    revision: str
    rows: Mapping[str, int]
    machines: tuple[str, ...]
    tubes: tuple[str, ...]
