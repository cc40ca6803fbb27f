"""Making a new book, and bringing an older one to the present form."""

from __future__ import annotations

import time
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from trialcut.records.backup import copy_file
from trialcut.records.engine import reading, writing
from trialcut.records.errors import BookBusyError, NewerBookError, NotABookError
from trialcut.records.faults import telling_faults
from trialcut.records.place import BookPlace

VERSION_TABLE = "book_revision"
REVISIONS = ("0001", "0002", "0003", "0004")
PRESENT = REVISIONS[-1]
_ONE_MAKER = 0x7472_6375  # of the server's advisory locks


def bring_to_present(engine: Engine, place: BookPlace, *, wait: float) -> None:
    """
    Make a book where there is none, or migrate an older one after a copy of it was put beside it.

    Parameters
    ----------
    engine : Engine
        Of the book.
    place : BookPlace
        Where it is.
    wait : float
        How long to wait for another writer. [s]

    Raises
    ------
    NotABookError
        There is something else.
    NewerBookError
        It is of a later form than this version knows.
    """
    if place.path is not None:
        _log_ahead(engine, place, wait=wait)
    with reading(engine, place.shown) as connection:
        if found_revision(connection, place.shown) == PRESENT:
            return
    with writing(engine, place.shown) as connection:
        if connection.dialect.name != "sqlite":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ONE_MAKER})
        found = found_revision(connection, place.shown)
        if found == PRESENT:  # somebody else made it meanwhile
            return
        if found is not None:
            copy_beside(connection, place, found)
        upgrade(connection, PRESENT)


def found_revision(connection: Connection, shown: str) -> str | None:
    """
    Return the form of the book, or None for an empty place.

    Parameters
    ----------
    connection : Connection
        To the place.
    shown : str
        The place, as messages call it.

    Returns
    -------
    str or None
        One of the known revisions.

    Raises
    ------
    NotABookError
        There are tables, and they are not a book's.
    NewerBookError
        A form that this version does not know.
    """
    names = set(inspect(connection).get_table_names())
    if VERSION_TABLE not in names:
        if names:
            raise NotABookError(
                f"{shown} holds something else than a book: give the book's own place, or one that is empty"
            )
        return None
    found = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar_one()
    if found not in REVISIONS:
        raise NewerBookError(
            f"the book {shown} was written by a newer Trialcut (its form is {found}, this version knows "
            f"forms up to {PRESENT}): install the newest version"
        )
    return str(found)


def upgrade(connection: Connection, revision: str) -> None:
    """
    Run the steps up to a revision, in the transaction of a connection.

    Parameters
    ----------
    connection : Connection
        To the book.
    revision : str
        To end at.
    """
    from alembic import command  # noqa: PLC0415 - heavy, and seldom needed
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def copy_beside(connection: Connection, place: BookPlace, revision: str) -> None:
    """
    Copy an older book as it is: a file beside its file, or a schema beside its own on the server.

    Parameters
    ----------
    connection : Connection
        In a transaction that keeps other writers out.
    place : BookPlace
        Of the book.
    revision : str
        That the book has.
    """
    if place.path is not None:
        copy_file(place.path, beside(place.path, revision))
        return
    schema = f"book_of_form_{revision}"
    taken = set(inspect(connection).get_schema_names())
    count = 2
    while schema in taken:
        schema, count = f"book_of_form_{revision}_{count}", count + 1
    connection.execute(text(f"CREATE SCHEMA {schema}"))
    for table in inspect(connection).get_table_names():
        connection.execute(text(f"CREATE TABLE {schema}.{table} AS TABLE {table}"))


def beside(path: Path, revision: str) -> Path:
    """Return a free path beside a book: ``book.form-0001.db``."""
    found = path.with_suffix(f".form-{revision}{path.suffix}")
    count = 2
    while found.exists():
        found, count = path.with_suffix(f".form-{revision}-{count}{path.suffix}"), count + 1
    return found


def _log_ahead(engine: Engine, place: BookPlace, *, wait: float) -> None:
    """Let readers and a writer work side by side. The switch does not wait for a lock by itself."""
    until = time.monotonic() + wait
    while True:
        try:
            with telling_faults(place.shown), engine.connect() as connection:
                raw = connection.connection.dbapi_connection
                assert raw is not None
                if raw.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
                    found_revision(connection, place.shown)
                    connection.rollback()
                    raw.execute("PRAGMA journal_mode = WAL")
                return
        except BookBusyError:
            if time.monotonic() > until:
                raise
            time.sleep(0.02)
