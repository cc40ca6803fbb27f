"""What the pages of people share."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import Depends, Request
from starlette.responses import Response

from trialcut.app.entry import Entry
from trialcut.app.person import Person, address_of, person_of
from trialcut.errors import UsageError
from trialcut.records import Book


def _entry(request: Request) -> Entry:
    entry: Entry = request.app.state.entry
    return entry


EntryHere = Annotated[Entry, Depends(_entry)]


def _book(request: Request) -> Book:
    book: Book = request.app.state.room.desk.book
    return book


BookHere = Annotated[Book, Depends(_book)]


def _signed_in(request: Request) -> Person:
    person = person_of(request)
    if person is None or person.how != "browser":
        raise UsageError(
            "there are no accounts here: add one under People, or with 'trialcut people add'",
            code="no-accounts",
        )
    return person


SignedIn = Annotated[Person, Depends(_signed_in)]


async def _fields(request: Request) -> Mapping[str, str]:
    async with request.form(max_files=0, max_fields=20, max_part_size=10_000) as form:
        return {name: value for name, value in form.items() if isinstance(value, str)}


FieldsHere = Annotated[Mapping[str, str], Depends(_fields)]


def note(request: Request, book: Book, who: str, what: str, subject: str = "") -> None:
    """Enter in the trail what was done in words, in place of its bare address."""
    request.state.noted = True
    book.accounts.note(who=who, address=address_of(request), what=what, subject=subject)


def hold(response: Response, entry: Entry, name: str, secret: str, *, seconds: int) -> None:
    """Let the browser hold a secret, where no script and no other site gets at it."""
    response.set_cookie(
        name,
        secret,
        max_age=seconds,
        path="/",
        secure=entry.behind_proxy,
        httponly=True,
        samesite="strict",
    )


def drop(response: Response, entry: Entry, name: str) -> None:
    """Let the browser forget it."""
    response.delete_cookie(name, path="/", secure=entry.behind_proxy, httponly=True, samesite="strict")
