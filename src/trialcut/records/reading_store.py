"""Readings in the tables: entered, corrected, set aside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import isfinite
from typing import Any

from sqlalchemy import Connection, Row, Select, insert, select

from trialcut.errors import UnknownNameError
from trialcut.records.errors import BookError
from trialcut.records.numbers import READING, as_id, as_number, unknown
from trialcut.records.tables import CouponRow, ReadingRow, TrialRow, WithdrawalRow
from trialcut.records.trial_store import current_trial, trial_of_coupon
from trialcut.records.types import ReadingVersion
from trialcut.trials.types import Coupon, Reading, ReadingKind

_OWN = ("coupon", "cut", "depth", "value", "text", "gauge", "standard_uncertainty", "who", "remark", "place")


def add_readings(connection: Connection, readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Enter readings, each on a cut that the book has."""
    coupons: dict[str, Coupon] = {}
    entered = []
    for reading in readings:
        _check(reading, _coupon(connection, reading.coupon, coupons))
        number = _enter(connection, reading, supersedes=None, reason="", who="")
        entered.append(replace(reading, id=as_id(READING, number)))
    return tuple(entered)


def current_readings(
    connection: Connection, *, machine: str | None, trial: str | None
) -> tuple[Reading, ...]:
    """Return the readings that count now, in the order they were entered."""
    query = _entries().where(
        ReadingRow.number.not_in(select(ReadingRow.supersedes).where(ReadingRow.supersedes.is_not(None))),
        WithdrawalRow.reading.is_(None),
    )
    if machine is not None or trial is not None:
        query = query.join(CouponRow, CouponRow.id == ReadingRow.coupon).join(
            TrialRow, TrialRow.number == CouponRow.trial
        )
    if machine is not None:
        query = query.where(TrialRow.machine == machine)
    if trial is not None:
        query = query.where(TrialRow.id == trial)
    return tuple(_version(row).reading for row in connection.execute(query))


def withdrawn_readings(connection: Connection, trial: str) -> tuple[ReadingVersion, ...]:
    """Return the newest entries of readings that were set aside, in the order they were entered."""
    query = (
        _entries()
        .where(
            ReadingRow.number.not_in(select(ReadingRow.supersedes).where(ReadingRow.supersedes.is_not(None))),
            WithdrawalRow.reading.is_not(None),
        )
        .join(CouponRow, CouponRow.id == ReadingRow.coupon)
        .join(TrialRow, TrialRow.number == CouponRow.trial)
        .where(TrialRow.id == trial)
    )
    return tuple(_version(row) for row in connection.execute(query))


def history(connection: Connection, reading_id: str) -> tuple[ReadingVersion, ...]:
    """Return all entries of a reading, the first first, whichever of their ids is given."""
    rows = [_row(connection, reading_id)]
    while rows[0].supersedes is not None:
        rows.insert(0, connection.execute(_entries(rows[0].supersedes)).one())
    while True:
        after = _entries().where(ReadingRow.supersedes == rows[-1].number)
        row = connection.execute(after).one_or_none()
        if row is None:
            return tuple(_version(each) for each in rows)
        rows.append(row)


def correct_reading(
    connection: Connection, reading_id: str, *, value: float, text: str, reason: str, who: str
) -> Reading:
    """Enter a reading that supersedes another."""
    row = _newest(connection, reading_id)
    before = _version(row).reading
    corrected = replace(before, value=value, text=text)
    _check(corrected, None)
    number = _enter(connection, corrected, supersedes=row.number, reason=reason, who=who)
    return replace(corrected, id=as_id(READING, number))


def withdraw_reading(connection: Connection, reading_id: str, *, reason: str, who: str) -> None:
    """Set a reading aside."""
    row = _newest(connection, reading_id)
    if row.withdrawn is not None:
        raise BookError(f"reading '{reading_id}' is set aside already: {row.withdrawn}")
    connection.execute(insert(WithdrawalRow).values(reading=row.number, reason=reason, who=who))


def reading_numbers(connection: Connection, ids: Sequence[str]) -> list[int]:
    """Return the rows of readings that must all be there, superseded ones too."""
    numbers = [as_number(READING, each) for each in ids]
    there = set(connection.execute(select(ReadingRow.number).where(ReadingRow.number.in_(numbers))).scalars())
    for number, each in zip(numbers, ids, strict=True):
        if number not in there:
            raise unknown(READING, each)
    return numbers


def _entries(number: int | None = None) -> Select[Any]:
    query = (
        select(
            ReadingRow.__table__,
            WithdrawalRow.reason.label("withdrawn"),
            WithdrawalRow.who.label("withdrawn_by"),
        )
        .select_from(ReadingRow)
        .outerjoin(WithdrawalRow, WithdrawalRow.reading == ReadingRow.number)
        .order_by(ReadingRow.number)
    )
    return query if number is None else query.where(ReadingRow.number == number)


def _row(connection: Connection, reading_id: str) -> Row[Any]:
    row = connection.execute(_entries(as_number(READING, reading_id))).one_or_none()
    if row is None:
        raise unknown(READING, reading_id)
    return row


def _newest(connection: Connection, reading_id: str) -> Row[Any]:
    row = _row(connection, reading_id)
    after = connection.execute(select(ReadingRow.number).where(ReadingRow.supersedes == row.number)).scalar()
    if after is not None:
        raise BookError(
            f"reading '{reading_id}' was corrected before, by {as_id(READING, after)}: see its history, and "
            "correct the newest entry"
        )
    return row


def _version(row: Row[Any]) -> ReadingVersion:
    reading = Reading(
        id=as_id(READING, row.number),
        kind=ReadingKind(row.kind),
        when=row.at,
        **{name: getattr(row, name) for name in _OWN},
    )
    return ReadingVersion(
        reading=reading,
        supersedes="" if row.supersedes is None else as_id(READING, row.supersedes),
        reason=row.reason,
        changed_by=row.changed_by,
        entered=row.entered,
        withdrawn=row.withdrawn or "",
        withdrawn_by=row.withdrawn_by or "",
    )


def _enter(connection: Connection, reading: Reading, *, supersedes: int | None, reason: str, who: str) -> int:
    own = {name: getattr(reading, name) for name in _OWN}
    return connection.execute(
        insert(ReadingRow)
        .values(
            **own,
            kind=reading.kind.value,
            at=reading.when,
            supersedes=supersedes,
            reason=reason,
            changed_by=who,
        )
        .returning(ReadingRow.number)
    ).scalar_one()


def _coupon(connection: Connection, coupon_id: str, known: dict[str, Coupon]) -> Coupon:
    if coupon_id not in known:
        trial = current_trial(connection, trial_of_coupon(connection, coupon_id))
        known.update({coupon.id: coupon for coupon in trial.coupons})
    return known[coupon_id]


def _check(reading: Reading, coupon: Coupon | None) -> None:
    if not isfinite(reading.value) or not isfinite(reading.standard_uncertainty):
        raise BookError(
            f"reading '{reading.text}' of coupon '{reading.coupon}' is not a finite number: read it again"
        )
    if reading.when.tzinfo is None:
        raise BookError(
            f"reading '{reading.text}' of coupon '{reading.coupon}' has a time without a zone: say which"
        )
    if coupon is not None and reading.cut and reading.cut not in {cut.id for cut in coupon.cuts}:
        there = ", ".join(cut.id for cut in coupon.cuts)
        raise UnknownNameError(f"coupon '{coupon.id}' has no cut '{reading.cut}': it has {there}")
