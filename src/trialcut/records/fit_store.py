"""Fits in the tables: a header as text, the arrays as one compressed blob."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from io import BytesIO
from typing import Any

import numpy as np
from sqlalchemy import Connection, Row, insert, select

from trialcut.physics.numeric import Array
from trialcut.records.errors import BookError, DamagedBookError
from trialcut.records.names_store import know_machine
from trialcut.records.numbers import FIT, READING, as_id, as_number, unknown
from trialcut.records.reading_store import reading_numbers
from trialcut.records.serial import json_text
from trialcut.records.tables import FitReadingRow, FitRow
from trialcut.records.types import FitRecord

KIND = "npz"


def add_fit(connection: Connection, fit: FitRecord) -> str:
    """Enter a fit, and return its id."""
    know_machine(connection, fit.machine)
    used = reading_numbers(connection, fit.readings)
    blob = pack_arrays(fit.arrays)
    number = connection.execute(
        insert(FitRow)
        .values(
            machine=fit.machine,
            head=fit.head,
            created=fit.created,
            version=fit.version,
            good=fit.good,
            header=_header_text(fit),
            kind=KIND,
            arrays=blob,
            sha256=sha256(blob).hexdigest(),
        )
        .returning(FitRow.number)
    ).scalar_one()
    if used:
        connection.execute(
            insert(FitReadingRow),
            [{"fit": number, "position": at, "reading": each} for at, each in enumerate(used)],
        )
    return as_id(FIT, number)


def fits_of(connection: Connection, machine: str | None) -> tuple[FitRecord, ...]:
    """Return the fits of a machine, or all, the oldest first."""
    query = select(FitRow.__table__).order_by(FitRow.number)
    if machine is not None:
        query = query.where(FitRow.machine == machine)
    return tuple(_record(connection, row) for row in connection.execute(query).all())


def newest_fit(connection: Connection, machine: str, *, good: bool) -> FitRecord | None:
    """Return the fit of a machine that was entered last, of the good ones alone if so asked."""
    query = select(FitRow.__table__).where(FitRow.machine == machine).order_by(FitRow.number.desc()).limit(1)
    if good:
        query = query.where(FitRow.good.is_(True))
    row = connection.execute(query).one_or_none()
    return None if row is None else _record(connection, row)


def fit_by_id(connection: Connection, fit_id: str) -> FitRecord:
    """Return one fit."""
    query = select(FitRow.__table__).where(FitRow.number == as_number(FIT, fit_id))
    row = connection.execute(query).one_or_none()
    if row is None:
        raise unknown(FIT, fit_id)
    return _record(connection, row)


def pack_arrays(arrays: Mapping[str, Array]) -> bytes:
    """Return arrays as one blob, the same for the same arrays."""
    buffer = BytesIO()
    ordered: dict[str, Any] = {name: np.asarray(arrays[name]) for name in sorted(arrays)}
    np.savez_compressed(buffer, **ordered)
    return buffer.getvalue()


def unpack_arrays(blob: bytes) -> dict[str, Array]:
    """Return the arrays of a blob."""
    with np.load(BytesIO(blob), allow_pickle=False) as found:
        return {name: found[name] for name in found.files}


def _header_text(fit: FitRecord) -> str:
    try:
        return json_text(dict(fit.header))
    except (TypeError, ValueError) as error:
        raise BookError(f"the header of a fit cannot be kept ({error}): hold plain finite values") from error


def _record(connection: Connection, row: Row[Any]) -> FitRecord:
    if sha256(row.arrays).hexdigest() != row.sha256 or row.kind != KIND:
        raise DamagedBookError(
            f"fit '{as_id(FIT, row.number)}' is not as it was written: restore the book from a backup, or "
            "fit again"
        )
    used = connection.execute(
        select(FitReadingRow.reading).where(FitReadingRow.fit == row.number).order_by(FitReadingRow.position)
    ).scalars()
    return FitRecord(
        id=as_id(FIT, row.number),
        machine=row.machine,
        head=row.head,
        created=row.created,
        version=row.version,
        good=row.good,
        readings=tuple(as_id(READING, each) for each in used),
        header=json.loads(row.header),
        arrays=unpack_arrays(row.arrays),
    )
