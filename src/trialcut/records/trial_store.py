"""Trials in the tables."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, insert, select

from trialcut.errors import UnknownNameError
from trialcut.records.errors import BookError
from trialcut.records.names_store import know_head, know_lot, know_machine, know_session, know_tube
from trialcut.records.numbers import TRIAL, as_id
from trialcut.records.serial import read_trial, trial_text
from trialcut.records.tables import CouponRow, CutRow, ReadingRow, TrialNumberRow, TrialRow
from trialcut.trials.types import Trial


def take_trial_number(connection: Connection) -> str:
    """Give out the next trial id, for good."""
    while True:
        taken = connection.execute(insert(TrialNumberRow).returning(TrialNumberRow.number)).scalar_one()
        found = as_id(TRIAL, taken)
        if not _rows(connection, select(TrialRow.number).where(TrialRow.id == found)):
            return found


def add_trial(connection: Connection, trial: Trial, cut_at: datetime | None) -> None:
    """Enter a trial that is not there yet."""
    if not trial.id.strip():
        raise BookError("a trial without an id cannot be entered: take the next one from the book")
    if _rows(connection, select(TrialRow.number).where(TrialRow.id == trial.id)):
        raise BookError(f"trial '{trial.id}' is in the book already: enter a correction, or take a new id")
    ids = [coupon.id for coupon in trial.coupons]
    taken = _rows(connection, select(CouponRow.id).where(CouponRow.id.in_(ids)))
    if taken:
        raise BookError(f"coupon '{taken[0]}' is in the book already: give each coupon an id of its own")
    number = _enter(connection, trial, cut_at, supersedes=None, reason="", who="")
    for coupon in trial.coupons:
        connection.execute(insert(CouponRow).values(id=coupon.id, trial=number, kind=coupon.kind))
    _enter_cuts(connection, trial, number)


def correct_trial(
    connection: Connection, trial: Trial, cut_at: datetime | None, *, reason: str, who: str
) -> None:
    """Enter a trial that supersedes the one of the same id."""
    number = current_number(connection, trial.id)
    before = read_trial(
        connection.execute(select(TrialRow.document).where(TrialRow.number == number)).scalar_one()
    )
    if trial == before and cut_at is None:
        raise BookError(f"trial '{trial.id}' is in the book just so: there is nothing to correct")
    same = before.machine == trial.machine and _parts(before) == _parts(trial)
    if not same:
        raise BookError(
            f"a correction of trial '{trial.id}' may not change its machine, coupons or list of cuts: "
            "enter it as a new trial"
        )
    if cut_at is None:
        cut_at = connection.execute(select(TrialRow.cut_at).where(TrialRow.number == number)).scalar_one()
    _enter_cuts(
        connection, trial, _enter(connection, trial, cut_at, supersedes=number, reason=reason, who=who)
    )


def current_trials(connection: Connection, machine: str | None) -> tuple[Trial, ...]:
    """Return the trials of a machine, or all, as they stand now, in the order they were entered."""
    first = select(TrialRow.id).where(TrialRow.supersedes.is_(None)).order_by(TrialRow.number)
    query = select(TrialRow.id, TrialRow.document).where(TrialRow.number.not_in(_superseded()))
    if machine is not None:
        query = query.where(TrialRow.machine == machine)
    texts = {row.id: row.document for row in connection.execute(query)}
    return tuple(read_trial(texts[each]) for each in connection.execute(first).scalars() if each in texts)


def current_trial(connection: Connection, trial_id: str) -> Trial:
    """Return one trial as it stands now."""
    number = current_number(connection, trial_id)
    return read_trial(
        connection.execute(select(TrialRow.document).where(TrialRow.number == number)).scalar_one()
    )


def current_number(connection: Connection, trial_id: str) -> int:
    """Return the row of a trial as it stands now."""
    query = select(TrialRow.number).where(TrialRow.id == trial_id, TrialRow.number.not_in(_superseded()))
    number = connection.execute(query).scalar()
    if number is None:
        known = connection.execute(
            select(TrialRow.id).where(TrialRow.supersedes.is_(None)).order_by(TrialRow.number.desc()).limit(5)
        ).scalars()
        latest = ", ".join(known)
        there = f"the latest there are {latest}" if latest else "there is none yet"
        raise UnknownNameError(f"trial '{trial_id}' is not in the book: {there}")
    return number


def trial_of_coupon(connection: Connection, coupon_id: str) -> str:
    """Return the id of the trial that a coupon belongs to."""
    query = (
        select(TrialRow.id)
        .join(CouponRow, CouponRow.trial == TrialRow.number)
        .where(CouponRow.id == coupon_id)
    )
    found = connection.execute(query).scalar()
    if found is None:
        raise UnknownNameError(
            f"coupon '{coupon_id}' is not in the book: give the id that is scribed on it, such as 'T7-2'"
        )
    return found


def _superseded() -> Select[int | None]:
    return select(TrialRow.supersedes).where(TrialRow.supersedes.is_not(None))


def _parts(trial: Trial) -> list[tuple[str, str, list[str]]]:
    return [(coupon.id, coupon.kind, [cut.id for cut in coupon.cuts]) for coupon in trial.coupons]


def _enter(
    connection: Connection,
    trial: Trial,
    cut_at: datetime | None,
    *,
    supersedes: int | None,
    reason: str,
    who: str,
) -> int:
    know_machine(connection, trial.machine)
    know_head(connection, trial.machine, trial.head)
    know_session(connection, trial.machine, trial.session)
    if trial.tube:
        know_tube(connection, trial.tube)
    if trial.lot:
        know_lot(connection, trial.lot, trial.setup.material.name)
    return connection.execute(
        insert(TrialRow)
        .values(
            id=trial.id,
            machine=trial.machine,
            head=trial.head,
            tube=trial.tube or None,
            lot=trial.lot or None,
            session=trial.session,
            study=trial.study,
            material=trial.setup.material.name,
            thickness=trial.setup.thickness,
            cut_at=cut_at,
            document=trial_text(trial),
            supersedes=supersedes,
            reason=reason,
            changed_by=who,
        )
        .returning(TrialRow.number)
    ).scalar_one()


def _enter_cuts(connection: Connection, trial: Trial, number: int) -> None:
    cuts = [
        {
            "trial": number,
            "coupon": coupon.id,
            "id": cut.id,
            "feature": cut.feature.value,
            "thickness": coupon.thickness,
            "nominal": cut.nominal,
            "speed": cut.speed,
            "tilt": cut.tilt,
            "lead": cut.lead,
            "offset": cut.offset,
            "curvature": cut.curvature,
            "length": cut.length,
        }
        for coupon in trial.coupons
        for cut in coupon.cuts
    ]
    if cuts:
        connection.execute(insert(CutRow), cuts)


def _rows(connection: Connection, query: Select[Any]) -> Sequence[object]:
    return connection.execute(query).scalars().all()


def unread_trials(connection: Connection) -> dict[str, str]:
    """Return for each study that waits for readings the newest trial that has none."""
    own = CouponRow.trial == TrialRow.number
    read = select(ReadingRow.number).join(CouponRow, CouponRow.id == ReadingRow.coupon).where(own)
    query = (
        select(TrialRow.study, TrialRow.id)
        .where(TrialRow.supersedes.is_(None), TrialRow.study != "")
        .where(select(CouponRow.id).where(own).exists(), ~read.exists())
        .order_by(TrialRow.number)
    )
    return {row.study: row.id for row in connection.execute(query)}
