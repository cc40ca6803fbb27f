"""Which book a command works with."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from trialcut.records import Book


def book_to_read(place: str | None = None) -> Book | None:
    """
    The book to forecast from: the one that is named, or the usual one if it exists.

    Parameters
    ----------
    place : str, optional
        A path or a URL; the usual book unless given.

    Returns
    -------
    Book or None
        Open; None if none is named and the usual one is not there yet.

    Raises
    ------
    BookError
        If a book that is named is not there, or cannot be opened.
    """
    from trialcut.records import open_book  # noqa: PLC0415, slow to import
    from trialcut.records.place import find_place  # noqa: PLC0415

    if place is None:
        usual = find_place(None)
        if usual.path is not None and not usual.path.exists():
            return None
    return open_book(place, make=False)


def book_to_write(place: str | None = None) -> Book:
    """
    The book to enter trials and readings in, made if it is not there yet.

    Parameters
    ----------
    place : str, optional
        A path or a URL; the usual book unless given.

    Returns
    -------
    Book
        Open.

    Raises
    ------
    BookError
        If it cannot be opened or made.
    """
    from trialcut.records import open_book  # noqa: PLC0415, slow to import

    return open_book(place)


def book_to_use(place: str | None = None) -> Book:
    """
    The book that a command cannot do without.

    Parameters
    ----------
    place : str, optional
        A path or a URL; the usual book unless given.

    Returns
    -------
    Book
        Open.

    Raises
    ------
    NotABookError
        If there is none yet.
    BookError
        If it cannot be opened.
    """
    from trialcut.records import NotABookError  # noqa: PLC0415, slow to import
    from trialcut.records.place import find_place  # noqa: PLC0415

    found = book_to_read(place)
    if found is None:
        raise NotABookError(
            f"there is no book {find_place(None).shown} yet: design a trial with --out, or name a book"
        )
    return found
