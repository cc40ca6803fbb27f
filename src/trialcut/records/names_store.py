"""Machines, heads, tubes, lots and sessions: entered when they are first named."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection
from sqlalchemy.dialects import postgresql, sqlite

from trialcut.records.columns import now
from trialcut.records.table_base import Base
from trialcut.records.tables import HeadRow, LotRow, MachineRow, SessionRow, TubeRow


def know_machine(connection: Connection, machine: str) -> None:
    """Enter a machine unless it is there."""
    _know(connection, MachineRow, name=machine)


def know_head(connection: Connection, machine: str, head: str) -> None:
    """Enter a head of a machine unless it is there."""
    _know(connection, HeadRow, machine=machine, name=head)


def know_session(connection: Connection, machine: str, session: str) -> None:
    """Enter a session on a machine unless it is there."""
    _know(connection, SessionRow, machine=machine, name=session)


def know_tube(connection: Connection, tube: str) -> None:
    """Enter a mixing tube unless it is there."""
    _know(connection, TubeRow, name=tube)


def know_lot(connection: Connection, lot: str, material: str) -> None:
    """Enter a material lot unless it is there."""
    _know(connection, LotRow, name=lot, material=material)


def _know(connection: Connection, table: type[Base], **values: Any) -> None:
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    connection.execute(dialect.insert(table).values(**values, entered=now()).on_conflict_do_nothing())
