"""The grid of a trial: each line of its form, what was read on it, and what is typed before it is entered."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import degrees
from typing import Any

from trialcut.errors import UsageError
from trialcut.planning.study import Gauge
from trialcut.records import Book
from trialcut.services import (
    CheckedCell,
    Recorded,
    Shop,
    check_readings,
    doubts_about,
    read_what_can_be,
    record_trial,
    trial_lines,
)
from trialcut.services.trials import measure_of
from trialcut.trials.intake import ReadingFinding
from trialcut.trials.intake.form import COLUMNS, QUANTITY_OF, depth_word
from trialcut.trials.intake.sheets import rows_of_text
from trialcut.trials.knowledge import Knowledge
from trialcut.trials.types import Coupon, Reading, ReadingKind, Trial
from trialcut.units import Kind, format_value
from trialcut.units.table import INCH

_WORDED = re.compile(r"[^\W\d_]|[\"'″′]")
"""In a value that says its own unit."""
MOST_CELLS = 2000
LONGEST_CELL = 200
LENGTH_UNITS = ("in", "mm")
FINISH_UNITS = ("µin", "µm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """A reading of the book beside what a person should look at again in it, or why it was set aside."""

    reading: Reading
    findings: tuple[ReadingFinding, ...] = ()
    set_aside: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    """One line of the grid.

    Parameters
    ----------
    key : str
        Coupon, cut, what and depth, parted by bars: what finds the line again.
    cut, what, depth : str
        As the form writes them.
    quantity : str
        ``"length"``, ``"finish"``, ``"time"`` or ``"through"``: which unit a bare number takes.
    gauge : str
        That reads it, unless the one chosen above does.
    gauges : tuple of str
        Those of the shop that can.
    read : tuple of Read
        What stands in the book; those that were set aside last.
    """

    key: str
    cut: str
    what: str
    depth: str
    quantity: str
    gauge: str
    gauges: tuple[str, ...] = ()
    read: tuple[Read, ...] = ()

    @property
    def filled(self) -> bool:
        """Whether a reading of it counts."""
        return any(not each.set_aside for each in self.read)


@dataclass(frozen=True, slots=True, kw_only=True)
class GridCoupon:
    """One coupon of the grid: its id, what it is in words, and its lines."""

    id: str
    told: str
    rows: tuple[GridRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The grid of a trial.

    Parameters
    ----------
    trial : Trial
        Of the book.
    coupons : tuple of GridCoupon
        In cutting order.
    lines, filled : int
        Of the form, and those that were read.
    """

    trial: Trial
    coupons: tuple[GridCoupon, ...]
    lines: int
    filled: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """One cell as it was typed."""

    key: str
    value: str
    gauge: str = ""
    unit: str = ""
    remark: str = ""

    @property
    def row(self) -> tuple[str, ...]:
        """As a row of the form; a unit is added only to a bare number."""
        coupon, cut, what, depth = (*self.key.split("|"), "", "", "", "")[:4]
        own = _WORDED.search(self.value) is not None or what == ReadingKind.THROUGH
        cells = {"coupon": coupon, "cut": cut, "what": what, "depth": depth, "gauge": self.gauge}
        cells |= {"value": self.value, "unit": "" if own else self.unit, "remark": self.remark}
        return tuple(cells[name] for name in COLUMNS)


def key_of(reading: Reading) -> str:
    """Of the line that a reading stands on."""
    return "|".join((reading.coupon, reading.cut, reading.kind.value, depth_word(reading.depth)))


def quantity_of(kind: ReadingKind) -> str:
    """Which unit a bare number of a reading takes."""
    quantity = QUANTITY_OF.get(kind)
    if quantity is None:
        return "through"
    return {Kind.ROUGHNESS: "finish", Kind.TIME: "time"}.get(quantity, "length")


def grid_of(trial: Trial, *, book: Book, shop: Shop, usual: Gauge, knowledge: Knowledge, system: str) -> Grid:
    """
    The grid of a trial as the book has it.

    Parameters
    ----------
    trial : Trial
        Of the book.
    book : Book
        With its readings.
    shop : Shop
        With its gauges.
    usual : Gauge
        Used wherever it can be.
    knowledge : Knowledge
        That says what each reading should be.
    system : str
        ``"inch"`` or ``"metric"``, of what is told of the coupons.

    Returns
    -------
    Grid
        Every line of the form, and below each coupon what was read besides.
    """
    readings = book.readings(trial=trial.id)
    doubted: dict[int, list[ReadingFinding]] = {}
    if readings:
        for finding in doubts_about(readings, trial=trial, shop=shop, knowledge=knowledge):
            if finding.reading is not None:
                doubted.setdefault(finding.reading, []).append(finding)
    read: dict[str, list[Read]] = {}
    for place, reading in enumerate(readings):
        one = Read(reading=reading, findings=tuple(doubted.get(place, ())))
        read.setdefault(key_of(reading), []).append(one)
    for version in book.withdrawn(trial.id):
        aside = Read(reading=version.reading, set_aside=version.withdrawn)
        read.setdefault(key_of(version.reading), []).append(aside)
    lines = trial_lines(trial, shop=shop, usual=usual)
    rows: dict[str, dict[str, GridRow]] = {coupon.id: {} for coupon in trial.coupons}
    for line in lines:
        depth = depth_word(line.depth)
        key = "|".join((line.coupon, line.cut, line.kind.value, depth))
        rows[line.coupon][key] = GridRow(
            key=key,
            cut=line.cut,
            what=line.kind.value,
            depth=depth,
            quantity=quantity_of(line.kind),
            gauge=line.gauge,
            gauges=_able(shop, trial.coupon(line.coupon), line.cut, line.kind) if line.gauge else (),
            read=tuple(read.pop(key, ())),
        )
    filled = sum(1 for group in rows.values() for row in group.values() if row.filled)
    for key, left in read.items():
        reading = left[0].reading
        rows[reading.coupon][key] = GridRow(
            key=key,
            cut=reading.cut,
            what=reading.kind.value,
            depth=depth_word(reading.depth),
            quantity=quantity_of(reading.kind),
            gauge=reading.gauge,
            read=tuple(left),
        )
    coupons = tuple(
        GridCoupon(id=each.id, told=coupon_words(each, system), rows=tuple(rows[each.id].values()))
        for each in trial.coupons
    )
    return Grid(trial=trial, coupons=coupons, lines=len(lines), filled=filled)


def _able(shop: Shop, coupon: Coupon, cut: str, kind: ReadingKind) -> tuple[str, ...]:
    measure = measure_of(kind, coupon, cut)
    return tuple(name for name, gauge in shop.gauges.items() if measure in gauge.measures)


def coupon_words(coupon: Coupon, system: str) -> str:
    """What a coupon is, in one line."""
    speeds = sorted({cut.speed for cut in coupon.cuts})
    ends = [format_value(speed, Kind.SPEED, system) for speed in speeds]
    speed = ends[0] if len(ends) == 1 else f"{ends[0]} to {ends[-1]}"
    tilt = max(abs(cut.tilt) for cut in coupon.cuts)
    stance = f"tilted {degrees(tilt):.2f}°" if tilt else "upright"
    return f"{coupon.kind}, {format_value(coupon.thickness, Kind.LENGTH, system)} plate, {speed}, {stance}"


def gauge_system(gauge: Gauge, system: str) -> str:
    """
    The unit system that a gauge shows: that in which its resolution is a round number.

    Parameters
    ----------
    gauge : Gauge
        Of the shop.
    system : str
        Taken where its resolution is not known, or round in both.

    Returns
    -------
    str
        ``"inch"`` or ``"metric"``.
    """
    if gauge.resolution is None:
        return system
    inch, metric = (_round(gauge.resolution / unit) for unit in (INCH, 1e-3))
    if inch == metric:
        return system
    return "inch" if inch else "metric"


def _round(value: float) -> bool:
    """Whether one significant digit, or two that end in 5, say it all."""
    text = f"{value:.6e}"
    digits = text[: text.index("e")].replace(".", "").rstrip("0")
    return len(digits) == 1 or digits == "25"


def gauge_choices(shop: Shop, trial: Trial | None) -> list[Gauge]:
    """Gauges of the shop that read a size somewhere; those of no use to a trial are left out."""
    if trial is None:
        return list(shop.gauges.values())
    measures = {
        measure_of(line.kind, trial.coupon(line.coupon), line.cut)
        for line in trial_lines(trial, shop=shop, usual=shop.gauge())
        if line.gauge and quantity_of(line.kind) == "length"
    }
    return [gauge for gauge in shop.gauges.values() if measures & set(gauge.measures)]


# ---- what is typed ----------------------------------------------------------------------------------


def typed_cells(content: Any) -> tuple[Typed, ...]:
    """
    Cells out of what a page sent.

    Parameters
    ----------
    content : object
        ``{"cells": [{"key", "value", "gauge", "unit", "remark"}, ...]}``.

    Returns
    -------
    tuple of Typed
        Those with a value.

    Raises
    ------
    UsageError
        If it is anything else.
    """
    given = content.get("cells") if isinstance(content, dict) else None
    if not isinstance(given, list) or len(given) > MOST_CELLS:
        raise UsageError("the readings were not sent as the page sends them: reload it", code="bad-cells")
    names = ("key", "value", "gauge", "unit", "remark")
    cells = []
    for each in given:
        if not isinstance(each, dict) or not all(isinstance(each.get(name, ""), str) for name in names):
            raise UsageError("the readings were not sent as the page sends them: reload it", code="bad-cells")
        said = {name: " ".join(each.get(name, "")[:LONGEST_CELL].split()) for name in names}
        if said["value"]:
            cells.append(Typed(**said))
    return tuple(cells)


def checked(cells: Sequence[Typed], trial: Trial, *, shop: Shop, knowledge: Knowledge) -> list[CheckedCell]:
    """What each cell would be read as, and what is doubtful about it; nothing is entered."""
    rows = [cell.row for cell in cells]
    return list(check_readings(rows, trial=trial, shop=shop, knowledge=knowledge)) if rows else []


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """What came of entering cells.

    Parameters
    ----------
    keys : tuple of str
        Lines that stand in the book now.
    recorded : Recorded or None
        What was entered; None if no cell could be read.
    faults : mapping
        Line to why it could not be read.
    """

    keys: tuple[str, ...] = ()
    recorded: Recorded | None = None
    faults: Mapping[str, str] = field(default_factory=dict)


def enter(
    cells: Sequence[Typed], trial: Trial, *, book: Book, shop: Shop, knowledge: Knowledge, who: str
) -> Entered:
    """
    Enter what was typed; cells that cannot be read stay behind, each with its reason.

    Parameters
    ----------
    cells : sequence of Typed
        With a value each.
    trial : Trial
        That was read.
    book : Book
        That keeps it.
    shop : Shop
        With its gauges.
    knowledge : Knowledge
        That says what each reading should be.
    who : str
        Who read it.

    Returns
    -------
    Entered
        With the readings and their ids.
    """
    found = checked(cells, trial, shop=shop, knowledge=knowledge)
    faults = {cell.key: one.fault for cell, one in zip(cells, found, strict=True) if one.fault}
    good = [cell for cell, one in zip(cells, found, strict=True) if not one.fault]
    if not good:
        return Entered(faults=faults)
    recorded = record_trial([COLUMNS, *(cell.row for cell in good)], book=book, shop=shop, who=who)
    return Entered(keys=tuple(cell.key for cell in good), recorded=recorded, faults=faults)


# ---- what is pasted ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Pasted:
    """Readings out of a table, to be looked at in the grid before they are entered.

    Parameters
    ----------
    cells : tuple of Typed
        With the value as it was written.
    told : tuple of str
        What could not be taken, and why.
    """

    cells: tuple[Typed, ...]
    told: tuple[str, ...]


def pasted(text: str, trial: Trial, *, shop: Shop, usual: Gauge) -> Pasted:
    """
    Readings out of a pasted or dropped table.

    Parameters
    ----------
    text : str
        With the form's headings, or in the form's own order.
    trial : Trial
        That was read.
    shop : Shop
        Whose gauges were used.
    usual : Gauge
        Where the table names none.

    Returns
    -------
    Pasted
        Nothing is entered.
    """
    rows = rows_of_text(text)
    faults, intake = read_what_can_be(rows, trial=trial, shop=shop, gauge=usual.name)
    told = tuple(f"line {line}: {words}" if line else words for line, words in sorted(faults.items()))
    if intake is None:
        return Pasted(cells=(), told=told)
    cells = tuple(
        Typed(key=key_of(each), value=each.text, gauge=each.gauge, remark=each.remark)
        for each in intake.readings
    )
    return Pasted(cells=cells, told=told)


def table_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells as a text with tabs, as a spreadsheet copies them."""
    return "\n".join("\t".join(cell.replace("\t", " ") for cell in row) for row in rows)
