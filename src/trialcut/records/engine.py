"""Connections: how each engine is opened, and how a step is begun."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event

from trialcut.records.faults import telling_faults
from trialcut.records.place import BookPlace

SERVER_ANSWERS_WITHIN = 5.0
"""How long a server may take to answer a connection, and a broken line to be noticed. [s]"""


def make_engine(place: BookPlace, *, wait: float) -> Engine:
    """
    Return an engine for a place; nothing is opened yet.

    Parameters
    ----------
    place : BookPlace
        File or server.
    wait : float
        How long to wait for another writer. [s]

    Returns
    -------
    Engine
        Which begins its transactions as `reading` and `writing` ask.
    """
    if place.path is not None:
        engine = create_engine(place.url, connect_args={"timeout": wait})
        event.listen(engine, "connect", _prepare_file)
        event.listen(engine, "begin", _begin)
        return engine
    answer_ms = int(1000 * SERVER_ANSWERS_WITHIN)
    return create_engine(
        place.url,
        pool_pre_ping=True,
        connect_args={
            "connect_timeout": int(SERVER_ANSWERS_WITHIN),
            "keepalives_idle": int(SERVER_ANSWERS_WITHIN),
            "keepalives_interval": 2,
            "keepalives_count": 3,
            "tcp_user_timeout": answer_ms,
            "options": f"-c lock_timeout={int(1000 * wait)} -c timezone=UTC",
            "application_name": "trialcut",
        },
    )


@contextmanager
def reading(engine: Engine, shown: str) -> Iterator[Connection]:
    """Give a connection that sees the book as it is at its first look, whoever writes meanwhile."""
    with telling_faults(shown), engine.connect() as connection:
        if connection.dialect.name != "sqlite":
            connection.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine, shown: str) -> Iterator[Connection]:
    """Give a connection in a transaction that is kept whole at the end, or not at all on any error."""
    with telling_faults(shown), engine.connect() as connection:
        connection.execution_options(begin="BEGIN IMMEDIATE")
        with connection.begin():
            yield connection


def _prepare_file(connection: sqlite3.Connection, record: Any) -> None:
    del record
    connection.isolation_level = None  # transactions are begun by us
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")  # REPLACE deletes: the trigger must see it
    connection.execute("PRAGMA synchronous = FULL")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))
