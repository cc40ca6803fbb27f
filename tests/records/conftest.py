"""Places to keep a book in: a file, and a database on a real server."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from database_server import DatabaseServer, start_server
from trialcut.records import Book, open_book

ENGINES = ("SQLite", "PostgreSQL")


@pytest.fixture(scope="session")
def server() -> Iterator[DatabaseServer]:
    started = start_server()
    yield started
    started.stop()


@pytest.fixture(scope="session")
def kept_database(server: DatabaseServer) -> str:
    """A database with an empty book in it, to use again and again: a new one takes longer than a test."""
    name = server.new_database()
    open_book(server.url(name)).close()
    return name


@pytest.fixture(params=ENGINES)
def engine(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture
def new_place(engine: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Callable[[], str]]:
    """Gives an empty place each time it is called."""
    if engine == "SQLite":
        numbers = count()
        yield lambda: str(tmp_path / f"place{next(numbers)}.db")
        return
    server = request.getfixturevalue("server")
    given: list[str] = []

    def new() -> str:
        given.append(server.new_database())
        return server.url(given[-1])

    yield new
    for name in given:
        server.drop_database(name)


@pytest.fixture
def place(engine: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[str]:
    """A place for one book. On the server there is an empty one already: leave its tables as they are."""
    if engine == "SQLite":
        yield str(tmp_path / "book.db")
        return
    server = request.getfixturevalue("server")
    name = request.getfixturevalue("kept_database")
    yield server.url(name)
    server.empty_book(name)


@pytest.fixture
def book(place: str) -> Iterator[Book]:
    with open_book(place) as opened:
        yield opened
