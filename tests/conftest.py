"""What all tests share: none may touch the book of whoever runs them."""

from __future__ import annotations

from itertools import count

import pytest

_NUMBER = count(1)


@pytest.fixture(autouse=True)
def own_book(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """A usual book for each test, which is not there until the test makes it."""
    folder = tmp_path_factory.getbasetemp() / "books"
    folder.mkdir(exist_ok=True)
    monkeypatch.setenv("TRIALCUT_BOOK", str(folder / f"{next(_NUMBER)}.db"))
