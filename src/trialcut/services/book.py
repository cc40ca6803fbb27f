"""What is done with the book as a whole, and with the log of its mixing tubes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.errors import UsageError
from trialcut.services.book_choice import book_to_write
from trialcut.units import Kind, parse

if TYPE_CHECKING:
    from trialcut.records import Book, BookInfo


def check_book(book: Book) -> BookInfo:
    """
    See whether a book is whole.

    Parameters
    ----------
    book : Book
        Open.

    Returns
    -------
    BookInfo
        What it holds.

    Raises
    ------
    DamagedBookError
        If it is not; says the first problem, and ``facts["problems"]`` has one line for each.
    """
    from trialcut.records import DamagedBookError  # noqa: PLC0415, slow to import

    problems = tuple(f"{problem}: restore the book from a backup or an export" for problem in book.check())
    if problems:
        raise DamagedBookError(problems[0], problems=problems)
    return book.info()


def import_book(file: Path, place: str | None = None) -> BookInfo:
    """
    Fill an empty book from an export.

    Parameters
    ----------
    file : Path
        The export.
    place : str, optional
        A path or a URL; the usual book unless given. A file is made if it is not there.

    Returns
    -------
    BookInfo
        What the book holds now.

    Raises
    ------
    BookError
        If the file is damaged, or the book is not empty.
    """
    from trialcut.records.transfer import read_export  # noqa: PLC0415, slow to import

    read_export(file)  # before a book is made for it
    with book_to_write(place) as book:
        book.import_book(file)
        return book.info()


def log_tube(
    tube: str, hours: str, *, book: Book, who: str, bore: str | None = None, remark: str = ""
) -> float:
    """
    Enter jet-on time of a mixing tube.

    Parameters
    ----------
    tube : str
        As marked.
    hours : str
        With its unit: ``"3.5 h"``; ``"-1 h"``, with a remark, takes back what was wrong.
    book : Book
        To enter it in.
    who : str
        Who does.
    bore : str, optional
        With its unit, if it was measured.
    remark : str
        What was noticed.

    Returns
    -------
    float
        What the tube has in all. [s]

    Raises
    ------
    UsageError
        If the bore is none.
    BookError
        If more is taken back than there is, or without a remark.
    """
    measured = None if bore is None else parse(bore, Kind.LENGTH)
    if measured is not None and measured <= 0:
        raise UsageError(f"the bore of tube '{tube}' is {bore}: it must be above zero")
    gained = parse(hours, Kind.TIME)
    return book.log_tube_hours(tube, gained, who, bore=measured, remark=remark)
