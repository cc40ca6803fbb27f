"""What an engine's own errors mean to the person, and what to do about each."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError

from trialcut.errors import UsageError
from trialcut.records.errors import (
    BookBusyError,
    BookError,
    BookFullError,
    BookServerError,
    DamagedBookError,
    NotABookError,
)

_NOTHING_KEPT = "nothing of this step is in the book"


@contextmanager
def telling_faults(shown: str) -> Iterator[None]:
    """
    Turn an engine's error into one line of ours.

    Parameters
    ----------
    shown : str
        The book, as messages call it.
    """
    try:
        yield
    except ModuleNotFoundError as error:
        if error.name != "psycopg":
            raise
        raise UsageError(
            "a book on a PostgreSQL server needs the driver 'psycopg': install trialcut[postgres]"
        ) from None
    except IntegrityError as error:
        raise BookError(
            f"the book at {shown} refuses the entry ({_first_line(error.orig)}): {_NOTHING_KEPT}; "
            "look whether somebody else has just entered the same",
            code="book-refused",
        ) from error
    except DBAPIError as error:
        raise _told(error.orig, shown, gone=error.connection_invalidated) from error
    except sqlite3.Error as error:
        raise _told(error, shown, gone=False) from error


def _told(cause: BaseException | None, shown: str, *, gone: bool) -> BookError:
    if isinstance(cause, sqlite3.Error):
        return _told_of_file(cause, shown)
    state = getattr(cause, "sqlstate", None) or ""
    if state == "53100":
        return BookFullError(
            f"the disk of the book's server {shown} is full: {_NOTHING_KEPT}; make room and repeat the step"
        )
    if state in {"55P03", "40001", "40P01"}:
        return _busy(shown)
    if gone or state[:2] in {"", "08", "57"}:
        return BookServerError(
            f"the book's server {shown} does not answer ({_first_line(cause)}): see that it runs and can "
            "be reached, look whether the last step is in the book, and repeat it if not"
        )
    return BookError(
        f"the book at {shown} refuses the step ({_first_line(cause)}): {_NOTHING_KEPT}", code="book-refused"
    )


def _told_of_file(cause: sqlite3.Error, shown: str) -> BookError:
    name = getattr(cause, "sqlite_errorname", "")
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return _busy(shown)
    if name == "SQLITE_FULL" or name.startswith("SQLITE_IOERR"):
        return BookFullError(
            f"the book {shown} cannot be written, its disk is full or failing ({_first_line(cause)}): "
            f"{_NOTHING_KEPT}; make room and repeat the step"
        )
    if name.startswith("SQLITE_NOTADB"):
        return NotABookError(f"{shown} is not a book: give the book's own file, or a path that is free")
    if name.startswith("SQLITE_CORRUPT"):
        return DamagedBookError(
            f"the book {shown} is damaged ({_first_line(cause)}): restore it from a backup or an export"
        )
    if name.startswith("SQLITE_CANTOPEN"):
        return BookError(
            f"the book {shown} cannot be opened: see that its folder is there and may be written to",
            code="book-unreachable",
        )
    if name.startswith("SQLITE_READONLY"):
        return BookError(
            f"the book {shown} may only be read: give it and its folder write permission",
            code="book-read-only",
        )
    return BookError(
        f"the book {shown} refuses the step ({_first_line(cause)}): {_NOTHING_KEPT}", code="book-refused"
    )


def _busy(shown: str) -> BookBusyError:
    return BookBusyError(
        f"somebody else is writing to the book {shown}: {_NOTHING_KEPT}; repeat it in a moment"
    )


def _first_line(cause: BaseException | None) -> str:
    lines = str(cause).strip().splitlines()
    return lines[0].strip() if lines else type(cause).__name__
