"""The tables of what is being worked on. Of all tables, `JobRow` alone has rows that change and may go."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from trialcut.records.table_base import Base


class DrawingRow(Base):
    """A drawing as it was given, by what it is."""

    __tablename__ = "drawings"
    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    content: Mapped[bytes]


class DraftRow(Base):
    """A study that is worked on."""

    __tablename__ = "drafts"
    id: Mapped[str] = mapped_column(primary_key=True)
    drawing: Mapped[str] = mapped_column(ForeignKey("drawings.id"), index=True)


class DraftEditRow(Base):
    """A draft as one edit left it: whole, so that any version is one row."""

    __tablename__ = "draft_edits"
    draft: Mapped[str] = mapped_column(ForeignKey("drafts.id"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True)
    title: Mapped[str]
    answers: Mapped[str]
    words: Mapped[str]
    who: Mapped[str]
    at: Mapped[datetime]
    what: Mapped[str]
    set_aside: Mapped[bool]
    undoes: Mapped[int | None]
    undo_next: Mapped[int | None]
    redo_next: Mapped[int | None]


class JobRow(Base):
    """Long work that was asked for, and how far it is."""

    __tablename__ = "jobs"
    number: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    draft: Mapped[str] = mapped_column(index=True)
    version: Mapped[int | None]
    request: Mapped[str]
    key: Mapped[str] = mapped_column(index=True)
    who: Mapped[str]
    state: Mapped[str] = mapped_column(index=True)
    worker: Mapped[str]
    takes: Mapped[int]
    begun: Mapped[datetime | None]
    beat: Mapped[datetime | None]
    doing: Mapped[str]
    fraction: Mapped[float]
    ended: Mapped[datetime | None]
    code: Mapped[str]
    message: Mapped[str]
    result: Mapped[str]
