"""Readings into the book: a filled form, or one typed by hand; every doubt is told, nothing is left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING

from trialcut.errors import DataError, UnknownNameError, UsageError
from trialcut.services.fit_choice import knowledge_of_trial
from trialcut.services.shop import Shop
from trialcut.services.trials import form_gauges, gauge_for, measure_of
from trialcut.trials.expected import Key, expected_readings
from trialcut.trials.intake import ReadingFinding, doubts, read_form, rows_of_file
from trialcut.trials.intake.cells import CellError, value_of_cell
from trialcut.trials.intake.cells import key_of as plain_key
from trialcut.trials.intake.form import AT_A_DEPTH, COLUMNS, DEPTH_WORDS, KIND_WORDS, KINDS_OF
from trialcut.trials.intake.sheets import Row, rows_of_cells, rows_of_text
from trialcut.trials.intake.slips import typed_number
from trialcut.trials.intake.telling import place_text, value_text
from trialcut.trials.knowledge import Knowledge
from trialcut.trials.types import Reading, Trial

if TYPE_CHECKING:
    from trialcut.records import Book

AGAIN = "already-recorded"
BEFORE = "read-before"


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """What came of recording.

    Parameters
    ----------
    trial : Trial
        That was read.
    readings : tuple of Reading
        Entered, with their ids.
    findings : tuple of ReadingFinding
        What a person should look at again; `reading` counts among `readings`.
    again : tuple of Reading
        As they stand in the book already; they were not entered a second time.
    unfilled : int
        Lines without a value.
    """

    trial: Trial
    readings: tuple[Reading, ...]
    findings: tuple[ReadingFinding, ...]
    again: tuple[Reading, ...] = ()
    unfilled: int = 0


def record_trial(
    source: Path | str | Sequence[Sequence[str]],
    *,
    book: Book,
    shop: Shop,
    who: str,
    when: datetime | None = None,
    gauge: str = "",
    repeat: bool = False,
) -> Recorded:
    """
    Enter the readings of a filled form.

    Parameters
    ----------
    source : Path, str or sequence of rows
        A CSV or XLSX file as a `Path`, what was pasted as text, or rows of cells below their headings.
    book : Book
        That has the trial.
    shop : Shop
        Whose gauges were used.
    who : str
        Reader, where the form does not say.
    when : datetime, optional
        Of the readings, where the form does not say; now unless given.
    gauge : str
        For lengths and roughness, where the form does not say.
    repeat : bool
        Enter also readings that stand in the book already, letter for letter: they were read once more.

    Returns
    -------
    Recorded
        All readings of the form, and the doubts about them.

    Raises
    ------
    FormError
        With every problem of a form that cannot be read; then nothing is entered.
    DataError
        If there is no such file.
    UnknownNameError
        If it names no coupon of the book.
    """
    rows = _rows(source)
    trial = _trial_of(rows, book)
    intake = read_form(
        rows,
        trial=trial,
        gauges=form_gauges(shop),
        who=who,
        when=when or datetime.now(UTC),
        gauge=gauge,
    )
    recorded = _recorded(intake.readings, trial=trial, book=book, shop=shop, repeat=repeat)
    return replace(recorded, findings=(*intake.findings, *recorded.findings), unfilled=intake.unfilled)


def record_reading(
    text: str,
    *,
    book: Book,
    shop: Shop,
    who: str,
    gauge: str = "",
    remark: str = "",
    when: datetime | None = None,
    repeat: bool = False,
) -> Recorded:
    """
    Enter one reading typed by hand.

    Parameters
    ----------
    text : str
        Coupon, cut, what, depth and value with its unit: ``"T1-2 X top 1.4986 in"``. What is read may be
        left out where it is a size, the cut for a cycle time.
    book, shop, who, when, repeat
        As `record_trial`.
    gauge : str
        Of the shop; the shop's usual one for a length unless given.
    remark : str
        What was noticed.

    Returns
    -------
    Recorded
        With one reading.

    Raises
    ------
    UsageError
        If the text cannot be taken apart.
    FormError
        If a part of it is wrong.
    UnknownNameError
        If the book has no such coupon.
    """
    words = text.split()
    if len(words) < 2:
        raise UsageError(
            f"'{text}' is no reading: write coupon, cut, depth and value with its unit, "
            "'T1-2 X top 1.4986 in'"
        )
    trial = _trial_of([Row(1, (words[0],))], book)
    cells = _parted(words, trial)
    row = [cells.get(name, "") for name in COLUMNS]
    row[COLUMNS.index("remark")] = remark
    intake = read_form(
        [COLUMNS, row],
        trial=trial,
        gauges=form_gauges(shop),
        who=who,
        when=when or datetime.now(UTC),
        gauge=gauge or _usual_gauge(cells, trial, shop),
    )
    return _recorded(intake.readings, trial=trial, book=book, shop=shop, repeat=repeat)


def _rows(source: Path | str | Sequence[Sequence[str]]) -> list[Row]:
    if isinstance(source, str):
        return rows_of_text(source)
    if not isinstance(source, Path):
        return rows_of_cells(source)
    try:
        data = source.read_bytes()
    except OSError as error:
        raise DataError(
            f"cannot read {source}: {error.strerror or error}; name the filled form", path=str(source)
        ) from None
    return rows_of_file(source.name, data)


def _trial_of(rows: Sequence[Row], book: Book) -> Trial:
    """Find the one trial whose coupons rows name."""
    trials = book.trials()
    owner = {plain_key(coupon.id): trial for trial in trials for coupon in trial.coupons}
    named = [owner[key] for row in rows for cell in row.cells if (key := plain_key(cell)) in owner]
    found = {trial.id: trial for trial in named}
    if len(found) == 1:
        return next(iter(found.values()))
    if found:
        raise DataError(
            f"the form names coupons of trials {' and '.join(found)}: record one trial at a time",
            code="several-trials",
        )
    known = ", ".join(coupon.id for trial in trials[-2:] for coupon in trial.coupons)
    told = f"the newest there are {known}" if known else "it has none yet: design a trial first"
    raise UnknownNameError(f"no coupon of the book is named: {told}")


def _parted(words: Sequence[str], trial: Trial) -> dict[str, str]:
    """Part a typed reading into the cells of a form's line."""
    coupon = next(each for each in trial.coupons if plain_key(each.id) == plain_key(words[0]))
    cells = {"coupon": words[0], "cut": "", "what": "", "depth": ""}
    rest = list(words[1:])
    cuts = {cut.id.lower() for cut in coupon.cuts}
    while len(rest) > 1:
        two, one = " ".join(rest[:2]).lower(), rest[0].lower()
        if not cells["cut"] and one in cuts:
            cells["cut"], rest = rest[0], rest[1:]
        elif not cells["what"] and two in KIND_WORDS and len(rest) > 2:
            cells["what"], rest = two, rest[2:]
        elif not cells["what"] and one in KIND_WORDS:
            cells["what"], rest = one, rest[1:]
        elif not cells["depth"] and one in DEPTH_WORDS:
            cells["depth"], rest = one, rest[1:]
        else:
            break
    return cells | {"value": " ".join(rest)}


def _usual_gauge(cells: Mapping[str, str], trial: Trial, shop: Shop) -> str:
    """Name the gauge that a typed reading is taken with where nothing is said."""
    coupon = next(each for each in trial.coupons if plain_key(each.id) == plain_key(cells["coupon"]))
    cut = next((each for each in coupon.cuts if each.id.lower() == cells["cut"].lower()), None)
    if cut is None:
        return ""
    kind = KIND_WORDS.get(cells["what"], KINDS_OF[cut.feature][0])
    gauge = gauge_for(shop, measure_of(kind, coupon, cut.id), usual=shop.gauge())
    return "" if gauge is None else gauge.name


def _recorded(readings: Sequence[Reading], *, trial: Trial, book: Book, shop: Shop, repeat: bool) -> Recorded:
    stored = book.readings(trial=trial.id)
    known = {_twin_key(each): each for each in stored}
    sure = [_with_uncertainty(each, trial, shop) for each in readings]
    fresh = [each for each in sure if repeat or _twin_key(each) not in known]
    again = tuple(known[_twin_key(each)] for each in sure if not repeat and _twin_key(each) in known)
    findings = doubts_about(fresh, trial=trial, shop=shop, knowledge=knowledge_of_trial(trial, book))
    findings += tuple(_read_before(fresh, stored))
    entered = book.add_readings(fresh) if fresh else ()
    if again:
        findings = (_again(again, len(sure)), *findings)
    return Recorded(trial=trial, readings=tuple(entered), findings=findings, again=again)


def doubts_about(
    readings: Sequence[Reading], *, trial: Trial, shop: Shop, knowledge: Knowledge
) -> tuple[ReadingFinding, ...]:
    """
    What a person should look at again in readings of one trial, in the book or not.

    Parameters
    ----------
    readings : sequence of Reading
        Held against each other too.
    trial : Trial
        With its coupons.
    shop : Shop
        With its gauges.
    knowledge : Knowledge
        That says what each should be.

    Returns
    -------
    tuple of ReadingFinding
        `reading` counts among `readings`.
    """
    return doubts(
        readings, trial=trial, expected=_expected(readings, trial, knowledge), gauges=form_gauges(shop)
    )


def _twin_key(reading: Reading) -> tuple[object, ...]:
    """What two lines share if one of them was only recorded a second time."""
    return (
        reading.coupon,
        reading.cut,
        reading.kind,
        reading.depth,
        reading.text,
        reading.gauge,
        reading.who,
        reading.place,
    )


def _with_uncertainty(reading: Reading, trial: Trial, shop: Shop) -> Reading:
    """Take the uncertainty that the gauge has on what was read: from inside it may be larger."""
    gauge = shop.gauges.get(reading.gauge)
    if gauge is None:
        return reading
    measure = measure_of(reading.kind, trial.coupon(reading.coupon), reading.cut)
    return replace(reading, standard_uncertainty=gauge.uncertainty(measure))


def _expected(
    readings: Sequence[Reading], trial: Trial, knowledge: Knowledge
) -> Mapping[Key, tuple[float, float]]:
    """Give what each reading should be, and what it would be on the other cuts of its coupon."""
    keys: dict[Key, None] = {}
    coupons = {coupon.id: coupon for coupon in trial.coupons}
    read = {(each.coupon, each.kind, each.depth) for each in readings if each.cut}
    for coupon, kind, depth in sorted(read, key=str):
        for cut in coupons[coupon].cuts:
            if kind in KINDS_OF[cut.feature]:
                keys[coupon, cut.id, kind, depth] = None
    faces = product(coupons.values(), AT_A_DEPTH & {each.kind for each in readings}, (0.0, 1.0))
    for one, kind, depth in faces:
        for cut in one.cuts:
            if kind in KINDS_OF[cut.feature]:
                keys[one.id, cut.id, kind, depth] = None
    for each in readings:
        if not each.cut:
            keys[each.coupon, "", each.kind, None] = None
    return expected_readings(trial, tuple(keys), knowledge)


def _read_before(fresh: Sequence[Reading], stored: Sequence[Reading]) -> list[ReadingFinding]:
    """Tell of readings whose place was read before, with another value."""
    held: dict[tuple[object, ...], Reading] = {}
    for each in stored:
        held[each.coupon, each.cut, each.kind, each.depth, each.gauge, each.place] = each
    found = []
    for place, each in enumerate(fresh):
        before = held.get((each.coupon, each.cut, each.kind, each.depth, each.gauge, each.place))
        if before is not None:
            found.append(
                ReadingFinding(
                    code=BEFORE,
                    message=f"{place_text(each)}: {value_text(each)} was read before as "
                    f"{value_text(before)} ({before.id})",
                    cause="it was read once more",
                    remedy=f"both count; if {before.id} was wrong, withdraw it with the reason",
                    reading=place,
                )
            )
    return found


def _again(again: Sequence[Reading], count: int) -> ReadingFinding:
    every = len(again) == count
    ids = f"{again[0].id} to {again[-1].id}" if len(again) > 1 else again[0].id
    return ReadingFinding(
        code=AGAIN,
        message=f"{'all' if every else len(again)} of the {count} readings are duplicates of {ids}, "
        "letter for letter, and were not entered a second time",
        cause="the form was recorded before",
        remedy="nothing; if they were really read once more with the same result, record them with --repeat",
    )


def correct_reading(
    reading: str, value: str, *, book: Book, reason: str, who: str
) -> tuple[Reading, Reading]:
    """
    Correct a reading in the book, which keeps the old value and the reason.

    Parameters
    ----------
    reading : str
        Its id.
    value : str
        What it should be, with its unit.
    book : Book
        That has it.
    reason, who : str
        Why, and by whom.

    Returns
    -------
    tuple of Reading
        Before and after; the later one has an id of its own.

    Raises
    ------
    UsageError
        If the value is none of its kind.
    BookError
        If the reading was corrected before, or no reason is given.
    """
    before = book.history(reading)[-1].reading
    try:
        number, text = value_of_cell(value, "", before.kind)
    except CellError as error:
        raise UsageError(f"{place_text(before)}: {error}") from None
    after = book.correct_reading(reading, value=number, text=text, reason=reason, who=who)
    return before, after


def system_of_readings(readings: Sequence[Reading]) -> str:
    """
    The unit system that most readings were typed in.

    Parameters
    ----------
    readings : sequence of Reading
        With their texts.

    Returns
    -------
    str
        ``"inch"`` or ``"metric"``, which also is taken where they do not say.
    """
    units = [typed.unit.system for each in readings if (typed := typed_number(each)) is not None]
    return "inch" if units.count("inch") > units.count("metric") else "metric"
