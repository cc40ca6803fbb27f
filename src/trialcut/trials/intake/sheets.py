"""Rows of cells out of what people send: comma-separated values, a paste, a workbook."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO, StringIO
from math import isfinite

from trialcut.errors import FileFormatError
from trialcut.trials.intake.form import COLUMNS, OTHER_HEADINGS

MOST_ROWS = 50_000
MOST_BYTES = 16 * 2**20
MOST_UNPACKED = 128 * 2**20
LONGEST_CELL = 2_000
_WORKBOOK = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
SPACES = "  "
SEPARATORS = ("\t", ";", "|", ",", SPACES)
HEADINGS = frozenset((*COLUMNS, *OTHER_HEADINGS))
LOOK = 40
"""Lines in which a heading is looked for."""
_RULE = re.compile(r"[\s|:+=-]*")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of text cells, and its number in the file, from 1."""

    line: int
    cells: tuple[str, ...]


class FormError(FileFormatError):
    """A filled form that cannot be taken; ``facts["problems"]`` has one line for each fault."""

    code = "reading-form"


def form_error(problems: Sequence[str]) -> FormError:
    """
    One error of several faults.

    Parameters
    ----------
    problems : sequence of str
        At least one line.

    Returns
    -------
    FormError
        Says the first, and how many more there are.
    """
    more = len(problems) - 1
    tail = f" (and {more} more problem{'s' if more > 1 else ''})" if more else ""
    return FormError(problems[0] + tail, problems=tuple(problems))


def rows_of_file(name: str, data: bytes) -> list[Row]:
    """
    Rows of a form as a file: XLSX, or text in any of the usual encodings.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    data : bytes
        Its content.

    Returns
    -------
    list of Row
        Without blank lines and comments.

    Raises
    ------
    FormError
        If it is neither, or too large.
    """
    if len(data) > MOST_BYTES:
        raise form_error(
            [f"{name} is {len(data) / 2**20:.0f} MB; a form has at most {MOST_BYTES // 2**20} MB"]
        )
    if data.startswith(_WORKBOOK):
        return rows_of_workbook(name, data)
    if data.startswith(_OLD_WORKBOOK):
        raise form_error([f"{name} is a workbook of the old kind: save it as XLSX or CSV"])
    return rows_of_text(_decoded(name, data))


def _decoded(name: str, data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings: tuple[str, ...] = ("utf-16",)
    else:
        encodings = ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise form_error([f"{name} is neither a workbook nor a text: save the form as XLSX or CSV"])


def rows_of_text(text: str) -> list[Row]:
    """
    Rows of a text: separated by commas, semicolons, tabs, bars, or runs of spaces.

    Parameters
    ----------
    text : str
        A file's content, or a paste.

    Returns
    -------
    list of Row
        Without blank lines, comment lines and rules.

    Raises
    ------
    FormError
        If it is too long.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    separator = _separator(text)
    if separator == SPACES:
        pieces: Iterable[tuple[int, list[str]]] = (
            (number, _parted(line, SPACES)) for number, line in enumerate(text.split("\n"), start=1)
        )
    elif separator == "|":
        pieces = (
            (number, line.strip().strip("|").split("|"))
            for number, line in enumerate(text.split("\n"), start=1)
            if not _RULE.fullmatch(line)
        )
    else:
        pieces = _separated(text, separator)
    return _kept(pieces)


def _separator(text: str) -> str:
    """Return what parts the cells: of the heading, if there is one; of the first line otherwise."""
    lines = [
        line for line in text.split("\n")[:LOOK] if line.strip() and not line.lstrip(' "').startswith("#")
    ]
    for line in lines:
        cells = {each: [cell.strip(' "|').lower() for cell in _parted(line, each)] for each in SEPARATORS}
        known = {each: len(HEADINGS.intersection(parts)) for each, parts in cells.items()}
        best = max(known, key=lambda each: known[each])
        if known[best] > 1:
            return best
    # Without a heading a line counts by how often it holds a separator; the rarer in running text wins a tie.
    first = lines[0] if lines else ""
    counts = {each: len(_parted(first, each)) for each in SEPARATORS}
    best = max(counts, key=lambda each: counts[each])
    return best if counts[best] > 1 else ","


def _parted(line: str, separator: str) -> list[str]:
    return re.split(r"\s{2,}", line.strip()) if separator == SPACES else line.split(separator)


def _separated(text: str, separator: str) -> Iterable[tuple[int, list[str]]]:
    # A quote in a comment must not open a cell.
    lines = ("" if line.lstrip(' "').startswith("#") else line for line in text.split("\n"))
    reader = csv.reader(StringIO("\n".join(lines)), delimiter=separator, skipinitialspace=True)
    start = 1
    try:
        for cells in reader:
            yield start, cells
            start = reader.line_num + 1
    except csv.Error as error:
        raise form_error([f"line {start}: cannot be parted into cells ({error}): check its quotes"]) from None


def rows_of_workbook(name: str, data: bytes) -> list[Row]:
    """
    Rows of the first sheet of a workbook that holds any.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    data : bytes
        XLSX.

    Returns
    -------
    list of Row
        Without blank rows and comments.

    Raises
    ------
    FormError
        If it cannot be opened.
    """
    import warnings  # noqa: PLC0415  only here
    import zipfile  # noqa: PLC0415

    from openpyxl import load_workbook  # noqa: PLC0415  slow to import

    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
        if unpacked > MOST_UNPACKED:
            raise form_error(
                [f"{name} unpacks to {unpacked / 2**20:.0f} MB: a form is smaller; send that only"]
            )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(data), read_only=True, data_only=True)
            for sheet in book.worksheets:
                # A sheet may claim a million rows that it has not.
                sheet.reset_dimensions()
                values = enumerate(sheet.iter_rows(values_only=True), start=1)
                rows = _kept((number, [cell_text(value) for value in cells]) for number, cells in values)
                if rows:
                    return rows
    except FormError:
        raise
    except Exception as error:  # whatever the library says of a broken file, it is the file's
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        raise form_error(
            [f"{name} cannot be opened as a workbook ({reason}): save it again as XLSX, or as CSV"]
        ) from None
    return []


def rows_of_cells(cells: Iterable[Sequence[object]]) -> list[Row]:
    """
    Rows of cells that a program has, numbered from 1.

    Parameters
    ----------
    cells : iterable of sequence
        Text, numbers, dates, None.

    Returns
    -------
    list of Row
        Without blank rows and comments.
    """
    return _kept((number, [cell_text(cell) for cell in row]) for number, row in enumerate(cells, start=1))


def cell_text(value: object) -> str:
    """
    Text of a cell, as a person would have typed it.

    Parameters
    ----------
    value : object
        What a workbook holds.

    Returns
    -------
    str
        A whole number without a point, a length of time in seconds, a date as ISO 8601 writes it.
    """
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float():
            return _number_text(value)
        case timedelta():
            return f"{value.total_seconds():g} s"
        case time():
            return f"{3600 * value.hour + 60 * value.minute + value.second + value.microsecond * 1e-6:g} s"
        case datetime() | date():
            return value.isoformat()
        case _:
            return str(value)


def _number_text(value: float) -> str:
    if not isfinite(value):
        return str(value)
    if value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    # A spreadsheet keeps 39.870 as a float whose last bits may be off: fifteen digits are what was typed.
    return format(Decimal(f"{value:.15g}"), "f")


def _kept(pieces: Iterable[tuple[int, Sequence[str]]]) -> list[Row]:
    rows: list[Row] = []
    for number, cells in pieces:
        row = tuple(" ".join(cell[:LONGEST_CELL].split()) for cell in cells)
        first = next((cell for cell in row if cell), "")
        if not first or first.startswith("#"):
            continue
        rows.append(Row(number, row))
        if len(rows) > MOST_ROWS:
            raise form_error([f"the form has more than {MOST_ROWS:,} lines: send one trial at a time"])
    return rows
