"""Studies that are worked on, and their drawings: every edit is a version, none is lost."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, insert, select
from sqlalchemy.exc import IntegrityError

from trialcut.errors import UnknownNameError, UsageError
from trialcut.records import draft_reading
from trialcut.records.columns import now
from trialcut.records.draft_merge import TITLE, merged
from trialcut.records.draft_types import Draft, DraftPage
from trialcut.records.engine import reading, writing
from trialcut.records.errors import BookError
from trialcut.records.serial import json_text
from trialcut.records.work_tables import DraftEditRow, DraftRow, DrawingRow


@dataclass(frozen=True, slots=True)
class Drafts:
    """
    The drafts of a book. Each method is one step: kept whole, or not at all.

    Parameters
    ----------
    engine : Engine
        Of the book.
    shown : str
        The book, as messages call it.
    """

    engine: Engine
    shown: str

    # Drawings

    def keep_drawing(self, name: str, content: bytes) -> str:
        """
        Keep a drawing.

        Parameters
        ----------
        name : str
            Of its file.
        content : bytes
            As it is.

        Returns
        -------
        str
            Its id: the same for the same name and content.
        """
        drawing_id = draft_reading.drawing_id(name, content)
        with reading(self.engine, self.shown) as connection:
            if _has_drawing(connection, drawing_id):
                return drawing_id
        with writing(self.engine, self.shown) as connection:
            try:
                with connection.begin_nested():
                    connection.execute(insert(DrawingRow).values(id=drawing_id, name=name, content=content))
            except IntegrityError:
                if not _has_drawing(connection, drawing_id):  # else somebody else has just kept it
                    raise
        return drawing_id

    def drawing(self, drawing_id: str) -> tuple[str, bytes]:
        """Return name and content of a drawing, or raise `UnknownNameError`."""
        query = select(DrawingRow.name, DrawingRow.content).where(DrawingRow.id == drawing_id)
        with reading(self.engine, self.shown) as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            raise _no_such_drawing(drawing_id)
        return row.name, row.content

    # Drafts

    def open(self, *, title: str, drawing: str, answers: Mapping[str, str], who: str) -> Draft:
        """
        Begin a draft.

        Parameters
        ----------
        title, drawing : str
            As people call it; id of its drawing.
        answers : mapping
            Name to answer as written.
        who : str
            Who begins it.

        Returns
        -------
        Draft
            Its first version.
        """
        draft_id = secrets.token_hex(5)
        with writing(self.engine, self.shown) as connection:
            if not _has_drawing(connection, drawing):
                raise _no_such_drawing(drawing)
            connection.execute(insert(DraftRow).values(id=draft_id, drawing=drawing))
            first = _Edit(title=title, answers=_given(answers), who=who, what="opened")
            return _enter(connection, draft_id, first, version=1)

    def get(self, draft_id: str, version: int | None = None) -> Draft:
        """
        Return a draft.

        Parameters
        ----------
        draft_id : str
            Of it.
        version : int, optional
            The newest, if left out.

        Returns
        -------
        Draft
            That version.

        Raises
        ------
        UnknownNameError
            There is no such draft or version.
        """
        with reading(self.engine, self.shown) as connection:
            return draft_reading.draft(connection, draft_id, version)

    def save(
        self,
        draft_id: str,
        *,
        base: int,
        changes: Mapping[str, str],
        who: str,
        title: str | None = None,
        what: str = "",
    ) -> Draft:
        """
        Keep changed answers as a new version, together with what others changed meanwhile.

        Parameters
        ----------
        draft_id : str
            Of the draft.
        base : int
            Version that the changes were made from.
        changes : mapping
            The changed answers alone; an empty one takes the answer away.
        who : str
            Who made them.
        title : str, optional
            A new title; it stays as it is if this is empty.
        what : str
            What was done; the names of what changed, if left out.

        Returns
        -------
        Draft
            The newest version, which is the one there was if nothing changes by it.

        Raises
        ------
        DraftConflictError
            The same answer was changed meanwhile, to something else.
        """
        with writing(self.engine, self.shown) as connection:
            newest = draft_reading.newest_row(connection, draft_id, lock=True)
            origin = _base_row(connection, newest, draft_id, base)
            wanted = {**changes, TITLE: title} if title else changes
            mine = merged(connection, draft_id, base=origin, newest=newest, wanted=wanted)
            if not mine:
                return draft_reading.draft(connection, draft_id)
            answers = {**draft_reading.answers_of(newest), **mine}
            edit = _Edit(
                title=answers.pop(TITLE, newest.title),
                answers=_given(answers),
                who=who,
                what=what or ", ".join(name.replace("_", " ") for name in mine),
            )
            return _enter(
                connection,
                draft_id,
                edit,
                version=newest.version + 1,
                set_aside=newest.set_aside,
                undo_next=newest.version + 1,
            )

    # Taking back, and making again

    def undo(self, draft_id: str, *, base: int, who: str) -> Draft:
        """
        Take the last edit back that was not taken back yet, as a new version.

        Parameters
        ----------
        draft_id : str
            Of the draft.
        base : int
            Version that the person sees.
        who : str
            Who does it.

        Returns
        -------
        Draft
            The new version.

        Raises
        ------
        BookError
            There is none, or somebody else made it after the version that the person sees.
        """
        with writing(self.engine, self.shown) as connection:
            newest = draft_reading.newest_row(connection, draft_id, lock=True)
            if newest.undo_next is None:
                raise BookError(
                    "there is nothing to undo: this is how the study was opened", code="nothing-to-undo"
                )
            undone = draft_reading.row(connection, draft_id, newest.undo_next)
            _base_row(connection, newest, draft_id, base)
            _refuse_unseen(undone, newest, base=base, who=who, step="undo")
            before = draft_reading.row(connection, draft_id, undone.version - 1)
            return _enter(
                connection,
                draft_id,
                _like(before, who=who, what=f"undone: {undone.what}"),
                version=newest.version + 1,
                set_aside=newest.set_aside,
                undoes=undone.version,
                undo_next=before.undo_next,
                redo_next=newest.version + 1,
            )

    def redo(self, draft_id: str, *, base: int, who: str) -> Draft:
        """
        Make the edit again that was taken back last, as a new version.

        Parameters
        ----------
        draft_id, base, who : str, int, str
            As `undo`.

        Returns
        -------
        Draft
            The new version.

        Raises
        ------
        BookError
            None was taken back since the last change, or somebody else did after the version that the person
            sees.
        """
        with writing(self.engine, self.shown) as connection:
            newest = draft_reading.newest_row(connection, draft_id, lock=True)
            if newest.redo_next is None:
                raise BookError(
                    "there is nothing to redo: no change was undone since the last one",
                    code="nothing-to-redo",
                )
            undo = draft_reading.row(connection, draft_id, newest.redo_next)
            _base_row(connection, newest, draft_id, base)
            _refuse_unseen(undo, newest, base=base, who=who, step="redo")
            again = draft_reading.row(connection, draft_id, undo.undoes)
            return _enter(
                connection,
                draft_id,
                _like(again, who=who, what=f"made again: {again.what}"),
                version=newest.version + 1,
                set_aside=newest.set_aside,
                undo_next=again.version,
                redo_next=draft_reading.row(connection, draft_id, undo.version - 1).redo_next,
            )

    # Lists

    def history(self, draft_id: str, limit: int = 50) -> tuple[Draft, ...]:
        """Return the versions of a draft, the newest first."""
        with reading(self.engine, self.shown) as connection:
            return draft_reading.history(connection, draft_id, limit)

    def page(
        self, *, search: str = "", limit: int = 50, offset: int = 0, set_aside: bool = False
    ) -> DraftPage:
        """
        Return some of the drafts, the one that was edited last first.

        Parameters
        ----------
        search : str
            Words that title, drawing's name and answers must hold between them, in any case.
        limit, offset : int
            How many, and after how many others.
        set_aside : bool
            Those that were put aside in place of the others.

        Returns
        -------
        DraftPage
            They, and how many there are in all.
        """
        with reading(self.engine, self.shown) as connection:
            return draft_reading.page(
                connection, search=search, limit=limit, offset=offset, set_aside=set_aside
            )

    def put_aside(self, draft_id: str, who: str) -> Draft:
        """Take a draft out of the list; it stays in the book."""
        return self._shelve(draft_id, who, set_aside=True)

    def take_back(self, draft_id: str, who: str) -> Draft:
        """Put a draft that was put aside back into the list."""
        return self._shelve(draft_id, who, set_aside=False)

    def _shelve(self, draft_id: str, who: str, *, set_aside: bool) -> Draft:
        with writing(self.engine, self.shown) as connection:
            newest = draft_reading.newest_row(connection, draft_id, lock=True)
            if newest.set_aside == set_aside:
                return draft_reading.draft(connection, draft_id)
            return _enter(
                connection,
                draft_id,
                _like(newest, who=who, what="put aside" if set_aside else "taken back"),
                version=newest.version + 1,
                set_aside=set_aside,
                undo_next=newest.undo_next,
                redo_next=newest.redo_next,
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edit:
    title: str
    answers: str
    who: str
    what: str


def _like(row: Any, *, who: str, what: str) -> _Edit:
    return _Edit(title=row.title, answers=row.answers, who=who, what=what)


def _given(answers: Mapping[str, str]) -> str:
    return json_text({name: answer for name, answer in answers.items() if answer})


def _enter(
    connection: Connection,
    draft_id: str,
    edit: _Edit,
    *,
    version: int,
    set_aside: bool = False,
    undoes: int | None = None,
    undo_next: int | None = None,
    redo_next: int | None = None,
) -> Draft:
    connection.execute(
        insert(DraftEditRow).values(
            draft=draft_id,
            version=version,
            title=edit.title,
            answers=edit.answers,
            words=draft_reading.words(connection, draft_id, edit.title, edit.answers),
            who=edit.who,
            at=now(),
            what=edit.what,
            set_aside=set_aside,
            undoes=undoes,
            undo_next=undo_next,
            redo_next=redo_next,
        )
    )
    return draft_reading.draft(connection, draft_id, version)


def _base_row(connection: Connection, newest: Any, draft_id: str, base: int) -> Any:
    if not 1 <= base <= newest.version:
        raise UsageError(
            f"the study has editions 1 to {newest.version}, not {base}: reload the page", code="no-base"
        )
    return newest if base == newest.version else draft_reading.row(connection, draft_id, base)


def _refuse_unseen(edit: Any, newest: Any, *, base: int, who: str, step: str) -> None:
    if edit.version > base and edit.who != who:
        raise BookError(
            f"{edit.who} changed this study in edition {edit.version} ({edit.what}): "
            f"reload the page to see it before you {step} it",
            code="later-edit",
            who=edit.who,
            version=newest.version,
        )


def _has_drawing(connection: Connection, drawing_id: str) -> bool:
    return connection.execute(select(DrawingRow.id).where(DrawingRow.id == drawing_id)).scalar() is not None


def _no_such_drawing(drawing_id: str) -> UnknownNameError:
    return UnknownNameError(
        f"drawing '{drawing_id}' is not in the book: drop the drawing again", code="no-such-drawing"
    )
