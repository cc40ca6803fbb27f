"""Drafts as the tables hold them."""

from __future__ import annotations

import json
from hashlib import sha256
from itertools import pairwise
from typing import Any

from sqlalchemy import Connection, Row, Select, func, select

from trialcut.errors import UnknownNameError
from trialcut.records.draft_types import Draft, DraftPage
from trialcut.records.work_tables import DraftEditRow, DraftRow, DrawingRow

_ID_DIGITS = 24


def drawing_id(name: str, content: bytes) -> str:
    """Return the id of a drawing, by its name and content."""
    return sha256(name.encode() + b"\0" + content).hexdigest()[:_ID_DIGITS]


def draft(connection: Connection, draft_id: str, version: int | None = None) -> Draft:
    """Return one version of a draft, the newest if none is said, or raise `UnknownNameError`."""
    query = _drafts().where(DraftEditRow.draft == draft_id)
    if version is None:
        query = query.order_by(DraftEditRow.version.desc()).limit(1)
    else:
        query = query.where(DraftEditRow.version == version)
    found = connection.execute(query).one_or_none()
    if found is None:
        newest = newest_row(connection, draft_id)
        raise UnknownNameError(
            f"the study has editions 1 to {newest.version}, not {version}: go to the newest",
            code="no-such-study",
        )
    return _draft(found)


def newest_row(connection: Connection, draft_id: str, *, lock: bool = False) -> Any:
    """
    Return the row of the newest version.

    Parameters
    ----------
    connection : Connection
        To the book.
    draft_id : str
        Of the draft.
    lock : bool
        Whether to keep others from editing it until the end of the step.

    Returns
    -------
    row
        Of `DraftEditRow`.

    Raises
    ------
    UnknownNameError
        There is no such draft.
    """
    if lock:  # on a server; a file has one writer at a time
        connection.execute(select(DraftRow.id).where(DraftRow.id == draft_id).with_for_update())
    found = connection.execute(
        select(DraftEditRow.__table__)
        .where(DraftEditRow.draft == draft_id)
        .order_by(DraftEditRow.version.desc())
        .limit(1)
    ).one_or_none()
    if found is None:
        raise UnknownNameError(
            f"study '{draft_id}' is not in the book: look for it in the list of studies", code="no-such-study"
        )
    return found


def row(connection: Connection, draft_id: str, version: int) -> Any:
    """Return the row of a version that is known to be there."""
    return connection.execute(
        select(DraftEditRow.__table__).where(DraftEditRow.draft == draft_id, DraftEditRow.version == version)
    ).one()


def last_change(connection: Connection, draft_id: str, *, names: set[str], since: int) -> Any:
    """
    Return the last version that changed one of some values.

    Parameters
    ----------
    connection : Connection
        To the book.
    draft_id : str
        Of the draft.
    names : set of str
        Of answers, ``"title"`` among them.
    since : int
        Version that differs in one of them from the newest.

    Returns
    -------
    row
        Of `DraftEditRow`.
    """
    rows = connection.execute(
        select(DraftEditRow.__table__)
        .where(DraftEditRow.draft == draft_id, DraftEditRow.version >= since)
        .order_by(DraftEditRow.version.desc())
    ).all()
    for newer, older in pairwise(rows):
        after, before = answers_of(newer), answers_of(older)
        changed = {name for name in names if after.get(name) != before.get(name)}
        if changed or ("title" in names and newer.title != older.title):
            return newer
    return rows[0]


def history(connection: Connection, draft_id: str, limit: int) -> tuple[Draft, ...]:
    """Return versions of a draft, the newest first."""
    newest_row(connection, draft_id)
    query = _drafts().where(DraftEditRow.draft == draft_id)
    rows = connection.execute(query.order_by(DraftEditRow.version.desc()).limit(limit))
    return tuple(_draft(each) for each in rows)


def page(connection: Connection, *, search: str, limit: int, offset: int, set_aside: bool) -> DraftPage:
    """Return some of the drafts in their newest versions, and how many there are in all."""
    other = DraftEditRow.__table__.alias("other")
    newest = select(func.max(other.c.version)).where(other.c.draft == DraftRow.id).scalar_subquery()
    edit = DraftEditRow.__table__.alias("edit")
    fitting = (
        select(edit.c.draft, edit.c.version, edit.c.at, func.count().over().label("total"))
        .join(DraftRow, DraftRow.id == edit.c.draft)
        .where(edit.c.version == newest, edit.c.set_aside.is_(set_aside))
        .order_by(edit.c.at.desc(), edit.c.draft)
    )
    for word in search.casefold().split():
        fitting = fitting.where(edit.c.words.contains(word, autoescape=True))
    shown = fitting.limit(limit).offset(offset).subquery("shown")  # narrow: only what is shown is read whole
    rows = connection.execute(
        _drafts()
        .add_columns(shown.c.total)
        .join(shown, (shown.c.draft == DraftEditRow.draft) & (shown.c.version == DraftEditRow.version))
        .order_by(shown.c.at.desc(), shown.c.draft)
    ).all()
    if not rows and offset:
        first = connection.execute(fitting.limit(1)).one_or_none()
        return DraftPage(drafts=(), total=first.total if first else 0)
    return DraftPage(drafts=tuple(_draft(each) for each in rows), total=rows[0].total if rows else 0)


def words(connection: Connection, draft_id: str, title: str, answers: str) -> str:
    """Return what a search looks through: title, answers and the drawing's name, in one case."""
    name = connection.execute(
        select(DrawingRow.name)
        .join(DraftRow, DraftRow.drawing == DrawingRow.id)
        .where(DraftRow.id == draft_id)
    ).scalar_one()
    return "\n".join((title, name, *json.loads(answers).values())).casefold()


def answers_of(edit: Any) -> dict[str, str]:
    """Return the answers of a row."""
    found: dict[str, str] = json.loads(edit.answers)
    return found


def _drafts() -> Select[Any]:
    return (
        select(
            DraftEditRow.__table__,
            DraftRow.drawing,
            DraftRow.entered.label("created"),
            DrawingRow.name.label("drawing_name"),
        )
        .join(DraftRow, DraftRow.id == DraftEditRow.draft)
        .join(DrawingRow, DrawingRow.id == DraftRow.drawing)
    )


def _draft(found: Row[Any]) -> Draft:
    return Draft(
        id=found.draft,
        version=found.version,
        title=found.title,
        drawing=found.drawing,
        drawing_name=found.drawing_name,
        answers=answers_of(found),
        who=found.who,
        at=found.at,
        what=found.what,
        created=found.created,
        can_undo=found.undo_next is not None,
        can_redo=found.redo_next is not None,
        set_aside=found.set_aside,
    )
