"""A gauge study as people keep it: a file, or rows pasted from a spreadsheet."""

from __future__ import annotations

import csv
import re
from io import StringIO

from trialcut.errors import DataError, QuantityError
from trialcut.trials.gauges.table import GaugeReading, GaugeTable, gauge_table
from trialcut.units import Kind, parse_with_system
from trialcut.units.parsing import unit_missing
from trialcut.units.table import Unit, find_unit
from trialcut.units.text import quoted

MOST_READINGS = 20_000

_NAMES = {
    "appraiser": ("appraiser", "operator", "who", "inspector", "person"),
    "trial": ("trial", "repeat", "round", "run"),
    "part": ("part", "piece", "sample"),
    "value": ("value", "reading", "measurement", "size"),
}
_HEAD = re.compile(r"(?P<name>[^\[(,]+?)\s*(?:[\[(]\s*(?P<bracketed>[^\])]*?)\s*[\])]|,\s*(?P<after>.+))?")
_BARE = re.compile(r"(?=.*[0-9])[-+\u2212]?[0-9.,/ \u2044-]+(?:[eE][-+]?[0-9]+)?")
_PARTING = ("\t", ";", ",")


def read_gauge_table(text: str, *, name: str = "the gauge study") -> GaugeTable:
    r"""
    Readings out of a text with a row for each.

    Parameters
    ----------
    text : str
        First row the headings appraiser, trial, part and value, in any order; columns parted by tabs,
        semicolons or commas. The unit stands in the heading, ``value [in]``, or with every value; a unit
        with a value goes before that of the heading.
    name : str
        Of the file, for messages.

    Returns
    -------
    GaugeTable
        In SI, without gaps.

    Raises
    ------
    QuantityError
        If a value is no length, or has no unit: the message names the line and both likely readings.
    DataError
        If a column is missing, a row does not fit, or the readings have gaps.

    Examples
    --------
    >>> text = "appraiser,trial,part,value [mm]\nA,1,1,2.0\nA,2,1,2.1\nA,1,2,3.0\nA,2,2,3.2"
    >>> read_gauge_table(text).parts
    ('1', '2')
    """
    try:
        rows = _rows(text)
    except csv.Error as error:
        raise DataError(f"{name} is no table of readings ({error}): save it as CSV") from None
    if not rows:
        raise DataError(f"{name} is empty: it needs a row of headings and a row for each reading")
    if len(rows) > MOST_READINGS + 1:
        raise DataError(f"{name} has {len(rows) - 1} readings: {MOST_READINGS} is the most for one study")
    columns, unit = _columns(rows[0][1], name)
    readings, systems = [], []
    for line, cells in rows[1:]:
        if len(cells) != len(rows[0][1]):
            raise DataError(
                f"{name} line {line}: {len(cells)} columns under {len(rows[0][1])} headings; "
                "where a comma is the decimal mark, part the columns by tabs or semicolons"
            )
        who, trial, part = (cells[columns[key]].strip() for key in ("appraiser", "trial", "part"))
        if not (who and trial and part):
            raise DataError(f"{name} line {line}: appraiser, trial and part must all be filled in")
        value, system = _value(cells[columns["value"]].strip(), unit, f"{name} line {line}")
        systems.append(system)
        readings.append(GaugeReading(appraiser=who, trial=trial, part=part, value=value, line=line))
    if not readings:
        raise DataError(f"{name} has headings and no readings: write a row for each")
    return gauge_table(readings, system=systems[0])


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Line number and cells of each row that is not empty."""
    plain = text.lstrip("\ufeff")
    first = next((line for line in plain.splitlines() if line.strip()), "")
    parting = next((mark for mark in _PARTING if mark in first), ",")
    reader = csv.reader(StringIO(plain), delimiter=parting)
    return [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]


def _columns(headings: list[str], name: str) -> tuple[dict[str, int], Unit | None]:
    columns: dict[str, int] = {}
    unit: Unit | None = None
    for position, heading in enumerate(headings):
        match = _HEAD.fullmatch(heading.strip())
        word = match["name"].strip().lower() if match else ""
        key = next((key for key, names in _NAMES.items() if word in names), None)
        if match is None or key is None:
            continue
        if key in columns:
            raise DataError(f"{name}: two columns are headed as {key}: keep one")
        columns[key] = position
        if key == "value" and (written := match["bracketed"] or match["after"]):
            unit = find_unit(written.strip(), Kind.LENGTH)
            if unit is None:
                raise QuantityError(
                    f"{name}: '{written}' is no unit of length: head it 'value [in]' or 'value [mm]'"
                )
    if missing := [key for key in _NAMES if key not in columns]:
        raise DataError(
            f"{name}: no column {', '.join(missing)}: "
            "the first row must head appraiser, trial, part and value"
        )
    return columns, unit


def _value(text: str, unit: Unit | None, place: str) -> tuple[float, str]:
    try:
        if _BARE.fullmatch(text):
            if unit is None:
                raise unit_missing(text, Kind.LENGTH, quoted(text))
            text = f"{text} {unit.symbol}"
        quantity = parse_with_system(text, Kind.LENGTH)
    except QuantityError as error:
        error.message = f"{place}: {error.message}"
        if error.case == "unit-missing":
            error.message += "; or the unit once in the heading, 'value [in]' or 'value [mm]'"
        raise
    return quantity.value, quantity.system or "metric"
