"""A copy of a book's file while it is in use."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from trialcut.records.errors import BookError


def copy_file(source: Path, target: Path) -> None:
    """
    Copy a book's file as it is at this moment, whoever writes meanwhile.

    Parameters
    ----------
    source, target : Path
        The target must not be there yet; it appears whole or not at all.

    Raises
    ------
    BookError
        The target is there, or cannot be written.
    """
    refuse_existing(target)
    unfinished = target.with_name(target.name + ".unfinished")
    try:
        unfinished.unlink(missing_ok=True)
        with closing(sqlite3.connect(source)) as book, closing(sqlite3.connect(unfinished)) as copy:
            book.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        put_in_place(unfinished, target)
    finally:
        unfinished.unlink(missing_ok=True)


def refuse_existing(target: Path) -> None:
    """Raise a `BookError` if a file is there, or its folder is not."""
    if target.exists():
        raise BookError(f"{target} is there already: give another name", code="book-file-exists")
    if not target.parent.is_dir():
        raise BookError(f"there is no folder {target.parent}: make it first", code="book-no-folder")


def put_in_place(unfinished: Path, target: Path) -> None:
    """Give a finished file its name, with its content safely on the disk."""
    with unfinished.open("rb+") as file:
        os.fsync(file.fileno())
    unfinished.replace(target)
