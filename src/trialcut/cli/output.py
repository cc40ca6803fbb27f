"""The console, and the few ways this program sets text on it.

A terminal gets bold headings and colour; a pipe gets the same words and columns as plain text.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Sequence
from typing import TextIO, cast

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from trialcut.units import Kind, format_value

_SPACES_AT_END = re.compile(r"[ \t]+$", re.MULTILINE)

GOOD, BAD, ACCENT, QUIET = "green", "bold red", "bold cyan", "dim"


class _Trimmed:
    """A stream without spaces at the ends of lines, for pipes and files."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self.encoding = stream.encoding

    def write(self, text: str) -> int:
        self._stream.write(_SPACES_AT_END.sub("", text))
        return len(text)

    def flush(self) -> None:
        self._stream.flush()

    def isatty(self) -> bool:
        return False


def console() -> Console:
    """The console on standard output: nothing in a text is taken for markup."""
    file = sys.stdout if sys.stdout.isatty() else cast("TextIO", _Trimmed(sys.stdout))
    return Console(file=file, markup=False, highlight=False, emoji=False)


def heading(out: Console, text: str) -> None:
    """A heading with an empty line before it."""
    out.print()
    out.print(Text(text, style=ACCENT))


def paragraph(out: Console, text: str, *, indent: int = 2, style: str = "") -> None:
    """Running text, wrapped between an indent and the right edge."""
    out.print(Padding(Text(text, style=style), (0, 0, 0, indent), expand=False))


def bullets(out: Console, texts: Iterable[str], *, mark: str = "-", style: str = "") -> None:
    """Texts under each other, each with a mark, wrapped with a hanging indent."""
    for text in texts:
        grid = Table.grid(padding=(0, 1, 0, 0))
        grid.add_column(width=len(mark) + 2, justify="right", no_wrap=True)
        grid.add_column()
        grid.add_row(Text(mark, style=style), Text(text))
        out.print(grid)


def table(headers: Sequence[str], rows: Iterable[Sequence[str | Text]], *, left: int = 1) -> Table:
    """
    Columns without rules.

    Parameters
    ----------
    headers : sequence of str
        One for each column; a new line in it starts a second line.
    rows : iterable
        Cells.
    left : int
        How many columns from the left hold words; the rest hold numbers.

    Returns
    -------
    Table
        To print.
    """
    made = Table(
        box=None,
        padding=(0, 2, 0, 0),
        pad_edge=False,
        header_style="bold",
        show_edge=False,
        show_header=any(headers),
    )
    for position, header in enumerate(headers):
        words = position < left
        made.add_column(header, justify="left" if words else "right", no_wrap=not words, overflow="fold")
    for row in rows:
        made.add_row(*(cell if isinstance(cell, Text) else Text(cell) for cell in row))
    return made


def facts(rows: Iterable[tuple[str, str]]) -> Table:
    """Names and what they are, a row each."""
    made = Table.grid(padding=(0, 2, 0, 0))
    made.add_column(no_wrap=True, style=QUIET)
    made.add_column()
    for name, text in rows:
        made.add_row(Text(name), Text(text))
    return made


def put(out: Console, made: Table, *, indent: int = 2) -> None:
    """Print a table with an indent."""
    out.print(Padding(made, (0, 0, 0, indent), expand=False))


def money(value: float, currency: str) -> str:
    """An amount of money."""
    return format_value(value, Kind.MONEY, "metric", unit=currency)
