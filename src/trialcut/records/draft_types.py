"""A study that is worked on, as the book gives it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from trialcut.records.errors import BookError


class DraftConflictError(BookError):
    """
    Somebody changed the same answers since the version that a change was made from.

    Facts: ``fields`` (name to ``mine`` and ``theirs``), ``who``, ``at``, and ``version``, the newest.
    """

    code: ClassVar[str] = "conflict"


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """
    One version of a draft.

    Parameters
    ----------
    id : str
        Of the draft.
    version : int
        From 1; each edit makes the next one.
    title : str
        As people call it.
    drawing, drawing_name : str
        Id and file name of the drawing.
    answers : mapping
        Name to answer as written, without empty ones.
    who, at, what : str, datetime, str
        Who made this version, when, and what was changed.
    created : datetime
        When the draft was opened.
    can_undo, can_redo : bool
        Whether there is an edit to take back, or one that was taken back to make again.
    set_aside : bool
        Whether it was put aside.
    """

    id: str
    version: int
    title: str
    drawing: str
    drawing_name: str
    answers: Mapping[str, str]
    who: str
    at: datetime
    what: str
    created: datetime
    can_undo: bool
    can_redo: bool
    set_aside: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPage:
    """
    Some of the drafts, the one that was edited last first.

    Parameters
    ----------
    drafts : tuple of Draft
        Each in its newest version.
    total : int
        How many there are on all pages.
    """

    drafts: tuple[Draft, ...]
    total: int
