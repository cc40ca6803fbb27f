"""Two people's changes to one draft, answer by answer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from trialcut.records import draft_reading
from trialcut.records.draft_types import DraftConflictError

TITLE = "title"
"""The title is merged like an answer of this name."""


def merged(
    connection: Connection, draft_id: str, *, base: Any, newest: Any, wanted: Mapping[str, str]
) -> dict[str, str]:
    """
    Tell which wanted changes are still to be made.

    Parameters
    ----------
    connection : Connection
        To the book.
    draft_id : str
        Of the draft.
    base, newest : row
        Its versions: the one that the changes were made from, and the newest.
    wanted : mapping
        Name to new value.

    Returns
    -------
    dict
        What differs from the newest version by the wish of this person.

    Raises
    ------
    DraftConflictError
        A value was changed meanwhile, to something else.
    """
    before, theirs = _values(base), _values(newest)
    mine, clash = {}, {}
    for name, value in wanted.items():
        old, now = before.get(name, ""), theirs.get(name, "")
        if value in (old, now):  # not changed by this person, or by both alike
            continue
        if now == old:
            mine[name] = value
        else:
            clash[name] = {"mine": value, "theirs": now}
    if clash:
        last = draft_reading.last_change(connection, draft_id, names=set(clash), since=base.version)
        raise DraftConflictError(
            f"{last.who} changed {' and '.join(name.replace('_', ' ') for name in clash)} meanwhile "
            f"(edition {last.version}): say which shall stand",
            fields=clash,
            who=last.who,
            at=last.at,
            version=newest.version,
        )
    return mine


def _values(row: Any) -> dict[str, str]:
    return {**draft_reading.answers_of(row), TITLE: row.title}
