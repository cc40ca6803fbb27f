"""A filled form into readings: everything that is wrong with it at once, or all of it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from trialcut.trials.intake import cells
from trialcut.trials.intake.cells import CellError, Names
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.form import (
    AT_A_DEPTH,
    COLUMNS,
    EMPTY,
    MORE_COLUMNS,
    OTHER_HEADINGS,
    UNIT_NAMES,
    FormGauge,
)
from trialcut.trials.intake.sheets import LOOK, Row, form_error, rows_of_cells, rows_of_text
from trialcut.trials.types import Coupon, Reading, ReadingKind, Trial, TrialCut
from trialcut.units.text import quoted

_KNOWN = frozenset((*COLUMNS, *MORE_COLUMNS))
_IN_HEADING = re.compile(r"(?P<name>.*?)[\s\[(,/]+(?:in\s+)?(?P<unit>[^\])]+?)\s*[\])]?")
_NEEDED = ("coupon", "value")
_TWO_HEADINGS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """What a filled form holds.

    Parameters
    ----------
    readings : tuple of Reading
        In the order of the form, without ids.
    lines : tuple of int
        Of each in the form, from 1.
    findings : tuple of ReadingFinding
        On the form itself; `doubts` finds those on the values.
    unfilled : int
        Lines without a value.
    """

    readings: tuple[Reading, ...]
    lines: tuple[int, ...]
    findings: tuple[ReadingFinding, ...]
    unfilled: int


@dataclass(slots=True)
class _Heading:
    """Which cell of a row is which column; `unit` is that of the values, if the heading says it."""

    places: dict[str, int]
    extra: dict[str, int]
    unit: str
    width: int


def read_form(
    source: str | Sequence[Sequence[object]] | Sequence[Row],
    *,
    trial: Trial,
    gauges: Mapping[str, FormGauge],
    who: str,
    when: datetime,
    gauge: str = "",
) -> Intake:
    """
    Readings of a filled form.

    Parameters
    ----------
    source : str, or sequence of rows
        Text with its columns parted by commas, semicolons, tabs, bars or runs of spaces; or rows of cells;
        or what `sheets.rows_of_file` made of a file. Columns in any order under their headings, or in the
        form's own order without.
    trial : Trial
        Whose coupons were read.
    gauges : mapping of name to FormGauge
        Those of the shop.
    who : str
        Reader, where the form does not say.
    when : datetime
        Of the readings, where the form does not say; with its time zone.
    gauge : str
        For lengths and roughness, where the form does not say.

    Returns
    -------
    Intake
        All readings, none left out.

    Raises
    ------
    FormError
        With every problem of the form: line, column, what is wrong, and what to write instead.
    """
    rows = rows_of_text(source) if isinstance(source, str) else _rows(source)
    if not rows:
        raise form_error(["the form is empty: fill it, or send the file that was filled"])
    coupons = Names("coupon", (coupon.id for coupon in trial.coupons))
    heading, rows = _heading(rows, coupons)
    reader = _Reader(heading, trial, gauges, who=who, when=when, gauge=gauge)
    reader.read(rows)
    if reader.problems:
        raise form_error(reader.problems)
    if not reader.readings:
        raise form_error(["no value is filled in on any line: write what was read into the column 'value'"])
    return Intake(
        readings=tuple(reader.readings),
        lines=tuple(reader.lines),
        findings=_extra_columns(heading),
        unfilled=reader.unfilled,
    )


def _rows(source: Sequence[Sequence[object]] | Sequence[Row]) -> list[Row]:
    rows: list[Row] = []
    plain: list[Sequence[object]] = []
    for each in source:
        if isinstance(each, Row):
            rows.append(each)
        else:
            plain.append(each)
    return rows or rows_of_cells(plain)


def _heading(rows: list[Row], coupons: Names) -> tuple[_Heading, list[Row]]:
    """Return the heading and the rows below it; the form's own order if the rows begin without one."""
    for place, row in enumerate(rows[:LOOK]):
        found = _read_heading(row)
        if len(found.places) >= _TWO_HEADINGS:
            missing = [name for name in _NEEDED if name not in found.places]
            if missing:
                raise form_error(
                    [
                        f"line {row.line}: the heading has no column {quoted(name)}: name it so, "
                        f"beside {', '.join(name for name in COLUMNS if name not in missing)}"
                        for name in missing
                    ]
                )
            return found, rows[place + 1 :]
        if cells.key_of(row.cells[0]) in {cells.key_of(name) for name in coupons.known}:
            return _Heading({name: k for k, name in enumerate(COLUMNS)}, {}, "", len(COLUMNS)), rows[place:]
    raise form_error([f"line {rows[0].line}: no heading was found: begin with a line {','.join(COLUMNS)}"])


def _read_heading(row: Row) -> _Heading:
    places: dict[str, int] = {}
    extra: dict[str, int] = {}
    stated = ""
    for k, cell in enumerate(row.cells):
        name, unit = _name_and_unit(cell)
        if name in _KNOWN and name not in places:
            places[name] = k
            stated = unit if name == "value" else stated
        elif cell:
            extra[cell] = k
    return _Heading(places, extra, stated, len(row.cells))


def _name_and_unit(cell: str) -> tuple[str, str]:
    plain = " ".join(cell.lower().replace("_", " ").split()).rstrip(":")
    name = OTHER_HEADINGS.get(plain, plain)
    if name in _KNOWN:
        return name, ""
    match = _IN_HEADING.fullmatch(cell.strip().rstrip(":"))
    if match and match["unit"].strip() in UNIT_NAMES:
        inner = match["name"].lower()
        return OTHER_HEADINGS.get(inner, inner), match["unit"].strip()
    return name, ""


def _extra_columns(heading: _Heading) -> tuple[ReadingFinding, ...]:
    if not heading.extra:
        return ()
    names = ", ".join(quoted(name) for name in heading.extra)
    several = len(heading.extra) > 1
    return (
        ReadingFinding(
            code="extra-column",
            message=f"the column{'s' if several else ''} {names} {'are' if several else 'is'} not the form's",
            cause="a column was added to the form",
            remedy="what stands there is kept with the remark; name it as the form does if it belongs to it",
        ),
    )


class _Reader:
    """Rows into readings, gathering what is wrong."""

    def __init__(
        self,
        heading: _Heading,
        trial: Trial,
        gauges: Mapping[str, FormGauge],
        *,
        who: str,
        when: datetime,
        gauge: str,
    ) -> None:
        self.heading = heading
        self.trial = trial
        self.gauges = gauges
        self.who, self.when, self.usual_gauge = who, when, gauge
        self.coupons = Names("coupon", (coupon.id for coupon in trial.coupons))
        self.gauge_names = Names("gauge", gauges)
        self.readings: list[Reading] = []
        self.lines: list[int] = []
        self.problems: list[str] = []
        self.unfilled = 0

    def read(self, rows: Sequence[Row]) -> None:
        """Read all rows."""
        values = cells.decimal_commas([self._cell(row, "value") for row in rows])
        for row, value in zip(rows, values, strict=True):
            if value.lower() in EMPTY:
                self.unfilled += 1
            elif self._same_width(row):
                self._read_row(row, value)

    def _cell(self, row: Row, name: str) -> str:
        place = self.heading.places.get(name)
        return row.cells[place] if place is not None and place < len(row.cells) else ""

    def _same_width(self, row: Row) -> bool:
        beyond = [cell for cell in row.cells[self.heading.width :] if cell]
        if not beyond:
            return True
        self.problems.append(
            f"line {row.line}: it has {len(row.cells)} cells and the heading {self.heading.width}: a decimal "
            "comma may part a number; put that cell in quotes, or part the columns by semicolons"
        )
        return False

    def _read_row(self, row: Row, value: str) -> None:
        trial, problems = self.trial, len(self.problems)
        coupon: Coupon | None = None
        cut: TrialCut | None = None
        with self._at(row, "coupon"):
            coupon = cells.coupon_of_cell(self._cell(row, "coupon"), trial, self.coupons)
        if coupon is None:
            return
        with self._at(row, "cut"):
            cut = cells.cut_of_cell(self._cell(row, "cut"), coupon)
        if len(self.problems) > problems:
            return
        what = self._cell(row, "what")
        kind = None
        with self._at(row, "what"):
            kind = cells.kind_of_cell(what, cut)
        if kind is None:
            return
        depth, number, text, gauge, sd, when = None, 0.0, "", "", 0.0, self.when
        with self._at(row, "depth"):
            depth = cells.depth_of_cell(self._cell(row, "depth"), kind, coupon)
        with self._at(row, "value"):
            number, text = cells.value_of_cell(value, self._cell(row, "unit"), kind, usual=self.heading.unit)
        with self._at(row, "gauge"):
            gauge, sd = cells.gauge_of_cell(
                self._cell(row, "gauge"), kind, self.gauge_names, self.gauges, self.usual_gauge
            )
        with self._at(row, "when"):
            when = cells.moment_of_cell(self._cell(row, "when"), self.when)
        if len(self.problems) > problems:
            return
        self.lines.append(row.line)
        self.readings.append(
            Reading(
                id="",
                coupon=coupon.id,
                cut=cut.id if cut else "",
                kind=kind,
                depth=depth,
                value=number,
                text=text,
                gauge=gauge,
                standard_uncertainty=sd,
                who=self._cell(row, "who") or self.who,
                when=when,
                remark=self._remark(row, kind),
                place=self._cell(row, "place"),
            )
        )

    def _remark(self, row: Row, kind: ReadingKind) -> str:
        depth = self._cell(row, "depth")
        added = [f"depth: {depth}"] if kind not in AT_A_DEPTH and depth.lower() not in EMPTY else []
        added += [
            f"{name}: {row.cells[k]}"
            for name, k in self.heading.extra.items()
            if k < len(row.cells) and row.cells[k]
        ]
        return "; ".join(part for part in (self._cell(row, "remark"), *added) if part)

    def _at(self, row: Row, column: str) -> _Place:
        return _Place(self.problems, row.line, column)


class _Place:
    """Turns a `CellError` into a problem with line and column."""

    __slots__ = ("column", "line", "problems")

    def __init__(self, problems: list[str], line: int, column: str) -> None:
        self.problems, self.line, self.column = problems, line, column

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: object, trace: object) -> bool:
        if isinstance(error, CellError):
            self.problems.append(f"line {self.line}, column '{self.column}': {error}")
            return True
        return False
