"""What can be wrong with a book: each one line, with what to do."""

from __future__ import annotations

from typing import ClassVar

from trialcut.errors import DataError


class BookError(DataError):
    """The book cannot be used, or refuses what it is asked to keep."""

    code: ClassVar[str] = "book"


class BookBusyError(BookError):
    """Somebody else kept writing for longer than we wait."""

    code: ClassVar[str] = "book-busy"


class BookFullError(BookError):
    """There is no room left where the book is."""

    code: ClassVar[str] = "book-full"


class NotABookError(BookError):
    """The file or database is something else, or there is none."""

    code: ClassVar[str] = "not-a-book"


class NewerBookError(BookError):
    """A later version of Trialcut wrote it."""

    code: ClassVar[str] = "book-newer"


class DamagedBookError(BookError):
    """The file is not as it was written."""

    code: ClassVar[str] = "book-damaged"


class BookServerError(BookError):
    """The database server does not answer, or went away."""

    code: ClassVar[str] = "book-server"
