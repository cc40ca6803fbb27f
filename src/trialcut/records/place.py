"""Where the book is: a file, or a database on a server."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import platformdirs
from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from trialcut.errors import UsageError

VARIABLE = "TRIALCUT_BOOK"
FILE = "book.db"


@dataclass(frozen=True, slots=True)
class BookPlace:
    """A place, worked out.

    Parameters
    ----------
    url : URL
        For the engine.
    path : Path or None
        Of the file, for SQLite.
    shown : str
        As messages call it, without a password.
    """

    url: URL
    path: Path | None
    shown: str


def default_path() -> Path:
    """Return the book's file in the user's data folder."""
    return platformdirs.user_data_path("trialcut", appauthor=False) / FILE


def find_place(place: str | Path | None = None) -> BookPlace:
    """
    Work out where the book is.

    Parameters
    ----------
    place : str, Path or None
        A path or a ``postgresql://`` URL. Without one, what the environment variable TRIALCUT_BOOK
        says; without that, the user's data folder.

    Returns
    -------
    BookPlace
        File or server.

    Raises
    ------
    UsageError
        A URL of something else.
    """
    given = place or os.environ.get(VARIABLE) or default_path()
    if isinstance(given, str) and "://" in given:
        try:
            url = make_url(given)
        except (ArgumentError, ValueError):
            raise UsageError(
                "the book's URL cannot be read: write postgresql://user@host:port/database"
            ) from None
        if url.drivername.partition("+")[0] not in {"postgresql", "postgres"}:
            raise UsageError(
                f"a book cannot be kept in '{url.drivername}': give a path, or a URL that starts with "
                "postgresql://"
            )
        return BookPlace(
            url.set(drivername="postgresql+psycopg"), None, url.render_as_string(hide_password=True)
        )
    path = Path(given).expanduser()
    return BookPlace(URL.create("sqlite", database=str(path)), path, str(path))
