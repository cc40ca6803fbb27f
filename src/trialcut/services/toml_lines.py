"""TOML with line numbers.

The standard reader forgets where a value stood; this module finds the line of each table and key again.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from trialcut.errors import DataError, FileFormatError

Location = tuple[str, ...]

SIZE_LIMIT = 4_000_000
"""Larger files are no study or shop file. [byte]"""

_TABLE = re.compile(r"^\s*\[\[?\s*(?P<name>[^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_ONE = r"""(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)"""
_KEY = re.compile(rf"^\s*(?P<key>{_ONE}(?:\s*\.\s*{_ONE})*)\s*=")
_PIECE = re.compile(r""""([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+)""")


def _pieces(dotted: str) -> Location:
    return tuple("".join(groups) for groups in _PIECE.findall(dotted))


def line_numbers(text: str) -> dict[Location, int]:
    """
    Line of each table and key of a TOML text.

    Parameters
    ----------
    text : str
        A TOML document.

    Returns
    -------
    dict
        From the path of a table or key, ``("machine", "north", "acceleration")``, to its line, counted
        from 1. The items of a list over several lines are under their key with their number,
        ``("demands", "1")``.
    """
    lines: dict[Location, int] = {}
    table: Location = ()
    inside: Location | None = None
    item = 0
    for number, line in enumerate(text.splitlines(), start=1):
        if inside is not None:
            stripped = line.strip()
            if stripped.startswith("]"):
                inside = None
            elif stripped and not stripped.startswith("#"):
                lines[(*inside, str(item))] = number
                item += 1
            continue
        if heading := _TABLE.match(line):
            table = _pieces(heading["name"])
            lines.setdefault(table, number)
        elif assignment := _KEY.match(line):
            path = (*table, *_pieces(assignment["key"]))
            lines[path] = number
            value = line[assignment.end() :].split("#")[0].strip()
            if value.startswith("[") and value.count("[") > value.count("]"):
                inside, item = path, 0
    return lines


def line_of(location: Location, lines: Mapping[Location, int]) -> int | None:
    """Line of a path, or of the nearest enclosing table that has one."""
    while location:
        if location in lines:
            return lines[location]
        location = location[:-1]
    return None


def read_toml(path: Path, *, kind: str) -> tuple[str, dict[str, Any]]:
    """
    Text and content of a TOML file.

    Parameters
    ----------
    path : Path
        The file.
    kind : str
        What it should be, for messages: ``"study file"``.

    Returns
    -------
    tuple of str and dict
        The text as read, and the content.

    Raises
    ------
    DataError
        If there is no such file, it is a folder, or it cannot be read.
    FileFormatError
        If it is no TOML; names the line.
    """
    if path.is_dir():
        raise DataError(f"{path} is a folder: name the {kind} itself", code="not-a-file", path=str(path))
    try:
        if path.stat().st_size > SIZE_LIMIT:
            raise FileFormatError(
                f"{path.name}: {path.stat().st_size / 1e6:.0f} MB is too large for a {kind} (at most"
                f" {SIZE_LIMIT / 1e6:.0f} MB): is it the right file?",
                path=str(path),
            )
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise DataError(
            f"no {kind} at {path}: check the path, or write one with 'trialcut new'"
            if kind == "study file"
            else f"no {kind} at {path}: check the path",
            code="no-such-file",
            path=str(path),
        ) from None
    except OSError as error:
        raise DataError(
            f"{path} cannot be read: {error.strerror or error}", code="unreadable-file", path=str(path)
        ) from None
    except UnicodeDecodeError as error:
        raise FileFormatError(
            f"{path.name}: byte {error.start} is not UTF-8 text: a {kind} is plain text; save it as UTF-8",
            path=str(path),
        ) from None
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        where = re.search(r"\(at line (\d+), column \d+\)", str(error))
        line = int(where[1]) if where else len(text.splitlines())
        reason = re.sub(r"\s*\(at .*\)$", "", str(error)).lower()
        raise FileFormatError(
            f'{path.name} line {line}: {reason}: write  key = "text"  and  [table]  on lines of their own',
            path=str(path),
            line=line,
        ) from None
