"""Whether the studies that are worked on, and their drawings, are whole."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, select

from trialcut.records.draft_reading import drawing_id
from trialcut.records.work_tables import DraftEditRow, DraftRow, DrawingRow


def draft_problems(connection: Connection) -> Iterator[str]:
    """
    Look through drawings, drafts and their edits.

    Parameters
    ----------
    connection : Connection
        That sees the book at one moment.

    Yields
    ------
    str
        What is wrong, a line each.
    """
    for drawing in connection.execute(select(DrawingRow.__table__)):
        if drawing_id(drawing.name, drawing.content) != drawing.id:
            yield f"drawing {drawing.id}: it is not as it was given"
    edits: dict[str, dict[int, Any]] = {}
    for edit in connection.execute(select(DraftEditRow.__table__)):
        edits.setdefault(edit.draft, {})[edit.version] = edit
    for draft in connection.execute(select(DraftRow.id)).scalars():
        versions = edits.get(draft, {})
        if set(versions) != set(range(1, len(versions) + 1)) or not versions:
            yield f"study {draft}: an edition is missing"
            continue
        for version, edit in versions.items():
            if not _readable(edit.answers):
                yield f"study {draft}: its edition {version} cannot be read"
            if not _steps_fit(versions, edit):
                yield f"study {draft}: its edition {version} undoes or makes again what is not there"


def _readable(answers: str) -> bool:
    try:
        found = json.loads(answers)
    except ValueError:
        return False
    return isinstance(found, dict) and all(isinstance(each, str) for each in found.values())


def _steps_fit(versions: Mapping[int, Any], edit: Any) -> bool:
    """Tell whether the editions that an edition points at are earlier ones, or itself, of the right kind."""
    pointed = (edit.undo_next, edit.redo_next, edit.undoes)
    if any(each is not None and not 1 <= each <= edit.version for each in pointed):
        return False
    if edit.redo_next is not None and versions[edit.redo_next].undoes is None:
        return False
    steps = [each for each in (edit.undo_next, edit.undoes) if each is not None]
    return all(versions[each].undo_next == each for each in steps)
