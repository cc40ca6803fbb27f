"""``trialcut people`` and the options of ``trialcut serve`` that go with it."""

from __future__ import annotations

from io import StringIO
from pathlib import Path

import pytest

from trialcut.cli.entry import run
from trialcut.records import open_book
from trialcut.services.people import digest_of, right_password

PASSWORD = "four odd words together"


@pytest.fixture
def place(tmp_path: Path) -> str:
    return str(tmp_path / "book.db")


def _people(monkeypatch: pytest.MonkeyPatch, place: str, *words: str, typed: str = PASSWORD) -> int:
    monkeypatch.setattr("sys.stdin", StringIO(typed + "\n"))
    return run(["people", *words, "--book", place])


def test_people_are_added_listed_changed_and_kept_out(
    monkeypatch: pytest.MonkeyPatch, place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _people(monkeypatch, place, "add", "Anna", "--role", "manage") == 0
    assert _people(monkeypatch, place, "add", "ben") == 0
    assert _people(monkeypatch, place, "role", "ben", "measure") == 0
    assert _people(monkeypatch, place, "password", "ben", typed="five other odd words") == 0
    assert _people(monkeypatch, place, "disable", "ben") == 0
    capsys.readouterr()
    assert _people(monkeypatch, place, "list") == 0
    assert capsys.readouterr().out.splitlines() == ["anna: manage, can sign in", "ben: measure, kept out"]
    assert _people(monkeypatch, place, "disable", "ben", "--undo") == 0
    with open_book(place) as book:
        assert right_password(book, "anna", PASSWORD) == book.accounts.get("anna")
        assert right_password(book, "ben", PASSWORD) is None
        assert right_password(book, "ben", "five other odd words") == book.accounts.get("ben")
        trail = [(each.what, each.subject) for each in reversed(book.accounts.trail())]
        assert {each.address for each in book.accounts.trail()} == {"command line"}
    assert trail == [
        ("added an account", "anna, manage"),
        ("added an account", "ben, view"),
        ("changed a role", "ben, measure"),
        ("changed a password", "ben"),
        ("disabled an account", "ben"),
        ("enabled an account", "ben"),
    ]


def test_a_token_is_printed_alone_and_works(
    monkeypatch: pytest.MonkeyPatch, place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _people(monkeypatch, place, "add", "anna", "--role", "plan") == 0
    capsys.readouterr()
    assert _people(monkeypatch, place, "token", "anna", "--for", "quoting", "--role", "plan") == 0
    secret = capsys.readouterr().out.strip()
    with open_book(place) as book:
        assert book.accounts.bearer(digest_of(secret)) == (book.accounts.get("anna"), "plan")


@pytest.mark.parametrize(
    ("words", "typed", "status", "told"),
    [
        (("add", "anna", "--role", "boss"), PASSWORD, 2, "there is no role 'boss'"),
        (("add", "anna"), "short", 2, "12 to 200 characters"),
        (("add", "an na"), PASSWORD, 2, "cannot be an account's name"),
        (("password", "nobody"), PASSWORD, 3, "there is no account 'nobody'"),
        (("add", "chief"), PASSWORD, 3, "there is an account 'chief' already"),
        (("disable", "chief"), PASSWORD, 3, "nobody would be left"),
        (("token", "chief", "--for", " "), PASSWORD, 2, "say what it is for"),
    ],
)
def test_what_cannot_be_is_told_in_one_line(  # noqa: PLR0917, each is a fixture or a parameter
    monkeypatch: pytest.MonkeyPatch,
    place: str,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, ...],
    typed: str,
    status: int,
    told: str,
) -> None:
    assert _people(monkeypatch, place, "add", "chief", "--role", "manage") == 0
    capsys.readouterr()
    assert _people(monkeypatch, place, *words, typed=typed) == status
    complaint = capsys.readouterr().err
    assert told in complaint
    assert len(complaint.splitlines()) == 1


def test_serve_beyond_this_machine_names_the_remedy(place: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--host", "0.0.0.0", "--port", "0", "--name", "cut.example", "--book", place]) == 2
    complaint = capsys.readouterr().err
    assert f"trialcut people add NAME --role manage --book {place}" in complaint
    assert len(complaint.splitlines()) == 1
