"""The parts of a batch: all drawings of a folder under one set of demands, or those that a table lists."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

from trialcut.errors import DataError, FileFormatError, TrialcutError
from trialcut.geometry.importers import SUFFIXES
from trialcut.planning.sentences import parse_sentence
from trialcut.services.names import nearest
from trialcut.services.places import OptionPlace
from trialcut.services.shop import Shop
from trialcut.services.study_file import check_content
from trialcut.services.study_options import OPTIONS, StudyOptions, study_content
from trialcut.services.toml_lines import Location

TABLE_LIMIT = 20_000_000
"""Larger files are no table of parts. [byte]"""
SEPARATORS = ",;\t"
_FILE, _NAME, _DEMAND, _UNITS = "file", "name", "demand", "units"
_YES, _NO = ("yes", "true", "1", "x"), ("no", "false", "0")


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchPart:
    """One part to plan.

    Parameters
    ----------
    file : str
        The drawing, from the folder, with ``/`` between names.
    path : Path
        The same, to open.
    name : str
        Of the part.
    content : mapping
        The fields of its study; the drawing by its plain name.
    said : mapping
        What messages call the place of each field: an option, or a column of the table.
    line : int or None
        Of the table.
    """

    file: str
    path: Path
    name: str
    content: Mapping[str, Any]
    said: Mapping[Location, str]
    line: int | None = None


def parts_of_folder(folder: Path, options: StudyOptions, *, shop: Shop) -> list[BatchPart]:
    """
    Every drawing of a folder and the folders in it, each under the same demands.

    Parameters
    ----------
    folder : Path
        Where the drawings are.
    options : StudyOptions
        Plate, demands and set-up of all of them.
    shop : Shop
        What the cell has.

    Returns
    -------
    list of BatchPart
        By file name.

    Raises
    ------
    DataError
        If there is no drawing.
    UsageError
        If the options are not right: the same error for all parts is one error.
    """
    files = _drawings(folder)
    if not files:
        raise DataError(
            f"{folder} holds no drawing: name a folder with DXF files", code="no-drawings", path=str(folder)
        )
    check_content(study_content("drawing.dxf", options), shop=shop, place=OptionPlace(OPTIONS))
    return [_part(folder, file, options) for file in files]


def parts_of_table(folder: Path, table: Path, options: StudyOptions, *, shop: Shop) -> list[BatchPart]:
    """
    The parts that a table lists, a line each.

    Its first line names the columns: ``file``, and any option of a study without its dashes. What a line
    says is taken before the option; its demands come on top.

    Parameters
    ----------
    folder : Path
        Where the drawings are.
    table : Path
        CSV, with commas, semicolons or tabs.
    options : StudyOptions
        What a line does not say.
    shop : Shop
        What the cell has.

    Returns
    -------
    list of BatchPart
        By file name, then by line.

    Raises
    ------
    DataError
        If the table cannot be read.
    FileFormatError
        If something in it is not right: names line and column; ``facts["problems"]`` has all of them.
    """
    header, rows = _read_table(table)
    columns = _columns(table.name, header)
    known = _drawings(folder)
    problems: list[str] = []
    parts: list[BatchPart] = []
    for line, cells in rows:
        try:
            parts.append(_part_of_row(folder, known, columns, cells, options, line=line, shop=shop))
        except TrialcutError as error:
            problems.append(f"{table.name} line {line}: {error.message}")
    if problems:
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        raise FileFormatError(problems[0] + more, problems=tuple(problems))
    if not parts:
        raise FileFormatError(f"{table.name} lists no part: give a line for each, with its file")
    return sorted(parts, key=lambda part: (part.file, part.line))


def _drawings(folder: Path) -> list[str]:
    if not folder.is_dir():
        raise DataError(f"there is no folder {folder}: name one with drawings", code="no-folder")
    return sorted(
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.suffix.lower() in SUFFIXES and not path.is_dir()
    )


def _part(
    folder: Path,
    file: str,
    options: StudyOptions,
    *,
    name: str | None = None,
    said: Mapping[Location, str] = OPTIONS,
    line: int | None = None,
) -> BatchPart:
    return BatchPart(
        file=file,
        path=folder / file,
        name=name or PurePosixPath(file).stem,
        content=study_content(PurePosixPath(file).name, options),
        said=said,
        line=line,
    )


def _read_table(table: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the first line of a table, and all others that are not empty with their numbers."""
    try:
        if table.stat().st_size > TABLE_LIMIT:
            raise DataError(f"{table} has more than {TABLE_LIMIT / 1e6:g} MB: that is no table of parts")
        text = table.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise DataError(f"{table} is not in UTF-8: save the table as CSV, in UTF-8") from None
    except OSError as error:
        raise DataError(f"cannot read {table}: {error.strerror or error}; name a table of parts") from None
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    rows: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((line, [cell.strip() for cell in cells]))
            line = reader.line_num + 1
    except csv.Error as error:
        raise FileFormatError(f"{table.name} line {line}: {error}: save it as CSV again") from None
    if not rows:
        raise FileFormatError(
            f"{table.name} is empty: its first line names the columns, '{_FILE}' among them"
        )
    return rows[0][1], rows[1:]


def _columns(table: str, header: Sequence[str]) -> list[str]:
    """Return the field that each column gives, empty for a column without a name."""
    known = {option.removeprefix("--").replace("-", "_"): option for option in _option_names()}
    names = [_FILE, _NAME, *known]
    columns, problems = [], []
    for written in header:
        name = written.lower().replace("-", "_").replace(" ", "_")
        if name and name not in names:
            guess = nearest(name, names)
            remedy = f"did you mean '{guess}'?" if guess else f"known are {', '.join(names)}"
            problems.append(f"{table} line 1: there is no column '{written}': {remedy}")
        elif name in columns and name not in ("", _DEMAND):
            problems.append(f"{table} line 1: there are two columns '{written}': leave one out")
        columns.append(name)
    if _FILE not in columns and not problems:
        problems.append(
            f"{table} line 1: there is no column '{_FILE}': add it, with the name of each drawing"
        )
    if problems:
        raise FileFormatError(problems[0], problems=tuple(problems))
    return columns


def _option_names() -> list[str]:
    """Options that may be columns; how results are printed is one for all."""
    asked = ("--thickness", "--material", "--ask", "--size", "--finish", "--square")
    others = (option for option in OPTIONS.values() if option not in ("", "--print-in", *asked))
    return [*asked, *others]


def _part_of_row(
    folder: Path,
    known: Sequence[str],
    columns: Sequence[str],
    cells: Sequence[str],
    options: StudyOptions,
    *,
    line: int,
    shop: Shop,
) -> BatchPart:
    if len(cells) > len(columns):
        raise FileFormatError(
            f"it has {len(cells)} cells where the first line names {len(columns)} columns: "
            "put a text that holds a comma in quotes"
        )
    given: dict[str, str] = {}
    demands: list[str] = []
    for column, cell in zip(columns, cells, strict=False):
        if column == _DEMAND:
            demands += [each.strip() for each in cell.split(";") if each.strip()]
        elif column and cell:
            given[column] = cell
    file = _file_of(folder, known, given.pop(_FILE, ""))
    name = given.pop(_NAME, None)
    own = _over(options, given, demands)
    said = OPTIONS | {
        location: f"column '{column}'"
        for location, option in OPTIONS.items()
        for column in (option.removeprefix("--").replace("-", "_"),)
        if column in given or (column == _DEMAND and demands)
    }
    part = _part(folder, file, own, name=name, said=said, line=line)
    check_content(part.content, shop=shop, place=OptionPlace(said))
    return part


def _file_of(folder: Path, known: Sequence[str], written: str) -> str:
    if not written:
        raise FileFormatError(f"column '{_FILE}' is empty: name the drawing")
    file = written.replace("\\", "/").removeprefix("./")
    if file in known or (folder / file).is_file():
        return file
    for suffix in SUFFIXES:
        if f"{file}{suffix}" in known:
            return f"{file}{suffix}"
    guess = nearest(file, known)
    remedy = f"did you mean '{guess}'?" if guess else "put it there"
    raise FileFormatError(f"column '{_FILE}': no drawing '{written}' in {folder}: {remedy}")


def _over(options: StudyOptions, given: Mapping[str, str], demands: Sequence[str]) -> StudyOptions:
    """Return options with what a line says in their place."""
    if "ask" in given:  # what its sentence says is taken before the option, too
        said = parse_sentence(given["ask"])
        states = {
            "thickness": said.thickness,
            "material": said.material,
            "quantity": said.quantity,
            "odds": said.odds,
        }
        dropped: dict[str, Any] = {name: None for name, value in states.items() if value is not None}
        options = replace(options, **dropped)
    own = {("drawing_unit" if name == _UNITS else name): value for name, value in given.items()}
    changes: dict[str, Any] = dict(own)
    if "quantity" in own:
        changes["quantity"] = _count(own["quantity"])
    if "loops" in own:
        changes["loops"] = _choice(own["loops"])
    return replace(options, **changes, demands=(*options.demands, *demands))


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise FileFormatError(f"column 'quantity': '{text}' is no number of pieces: write 1 or more")
    return int(text)


def _choice(text: str) -> bool:
    if text.lower() in (*_YES, *_NO):
        return text.lower() in _YES
    raise FileFormatError(f"column 'loops': '{text}' is neither yes nor no: write one of them")
