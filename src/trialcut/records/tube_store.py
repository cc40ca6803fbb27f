"""The log of each mixing tube in the tables."""

from __future__ import annotations

from math import isfinite

from sqlalchemy import Connection, func, insert, select

from trialcut.errors import UnknownNameError
from trialcut.records.errors import BookError
from trialcut.records.names_store import know_tube
from trialcut.records.tables import TubeLogRow, TubeRow
from trialcut.records.types import TubeEntry


def log_tube(connection: Connection, entry: TubeEntry) -> float:
    """Enter a line, and return the hours that the tube has now. [s]"""
    if not entry.tube.strip():
        raise BookError("a mixing tube needs a name: give what is marked on it")
    if not isfinite(entry.hours):
        raise BookError(f"the hours of tube '{entry.tube}' are not a finite number: give jet-on time")
    if entry.hours < 0 and not entry.remark.strip():
        raise BookError(f"hours taken back from tube '{entry.tube}' need a remark: say what was wrong")
    know_tube(connection, entry.tube)
    connection.execute(
        insert(TubeLogRow).values(
            tube=entry.tube,
            hours=entry.hours,
            bore=entry.bore,
            who=entry.who,
            at=entry.when,
            remark=entry.remark,
        )
    )
    total = _total(connection, entry.tube)
    if total < -1e-6:
        raise BookError(
            f"tube '{entry.tube}' would have {total / 3600:.4g} h: take back no more than was entered"
        )
    return total


def tube_hours(connection: Connection, tube: str) -> float:
    """Return the hours that a tube has; none for one that was never logged. [s]"""
    return _total(connection, tube)


def tube_log(connection: Connection, tube: str) -> tuple[TubeEntry, ...]:
    """Return the lines of a tube, in the order they were entered."""
    if connection.execute(select(TubeRow.name).where(TubeRow.name == tube)).scalar() is None:
        known = ", ".join(connection.execute(select(TubeRow.name).order_by(TubeRow.name)).scalars())
        there = f"it has {known}" if known else "it has none yet"
        raise UnknownNameError(f"mixing tube '{tube}' is not in the book: {there}")
    rows = connection.execute(
        select(TubeLogRow.__table__).where(TubeLogRow.tube == tube).order_by(TubeLogRow.number)
    )
    return tuple(
        TubeEntry(tube=row.tube, hours=row.hours, bore=row.bore, who=row.who, when=row.at, remark=row.remark)
        for row in rows
    )


def _total(connection: Connection, tube: str) -> float:
    query = select(func.coalesce(func.sum(TubeLogRow.hours), 0.0)).where(TubeLogRow.tube == tube)
    return float(connection.execute(query).scalar_one())
