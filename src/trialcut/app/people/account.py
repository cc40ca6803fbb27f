"""One's own account: password, tokens for programs, signing out everywhere."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.people.entering import the_same_twice
from trialcut.app.people.here import BookHere, EntryHere, FieldsHere, SignedIn, note
from trialcut.app.person import Person, address_of, person_of
from trialcut.app.roles import needs
from trialcut.app.views import render
from trialcut.errors import TrialcutError, UsageError
from trialcut.records import ROLES, Book, may
from trialcut.services.people import SHORTEST, choose_password, digest_of, make_token, right_password

router = APIRouter(prefix="/account", include_in_schema=False, dependencies=[needs("view")])


@router.get("")
def page(request: Request, book: BookHere) -> Response:
    """The account of who asks."""
    return render(request, "account.html", _context(request, book))


@router.post("/password")
def password(
    request: Request, entry: EntryHere, book: BookHere, person: SignedIn, fields: FieldsHere
) -> Response:
    """Choose another password; every other browser is signed out."""
    throttle = request.app.state.throttle
    given = {"name": person.name, "address": address_of(request)}
    try:
        if throttle.wait(**given) > 0.0 or right_password(book, person.name, fields.get("now", "")) is None:
            throttle.wrong(**given)
            raise UsageError(
                "the password that you have now is another: type it again", code="wrong-password"
            )
        staying = request.cookies.get(entry.cookie, "")
        choose_password(book, person.name, the_same_twice(fields), staying=staying)
    except TrialcutError as error:
        return render(request, "account.html", _context(request, book, password_fault=error.message))
    note(request, book, person.name, "changed the password")
    return render(request, "account.html", _context(request, book, told="The password is changed."))


@router.post("/tokens")
def add_token(request: Request, book: BookHere, person: SignedIn, fields: FieldsHere) -> Response:
    """Make a token, and show it this once."""
    try:
        secret, token = make_token(
            book, person.name, name=fields.get("name", ""), role=fields.get("role", "view")
        )
    except TrialcutError as error:
        return render(request, "account.html", _context(request, book, token_fault=error.message))
    note(request, book, person.name, "made a token", f"{token.number} {token.name}, {token.role}")
    return render(request, "account.html", _context(request, book, secret=secret))


@router.post("/tokens/{number}/withdraw")
def withdraw_token(request: Request, number: int, book: BookHere, person: SignedIn) -> Response:
    """Let a token no longer count."""
    book.accounts.withdraw_token(person.name, number)
    note(request, book, person.name, "withdrew a token", str(number))
    return RedirectResponse("/account", status_code=303)


@router.post("/sign-out-others")
def sign_out_others(request: Request, entry: EntryHere, book: BookHere, person: SignedIn) -> Response:
    """Sign every other browser out."""
    book.accounts.end_sign_ins(person.name, but=digest_of(request.cookies.get(entry.cookie, "")))
    note(request, book, person.name, "signed out everywhere else")
    return render(request, "account.html", _context(request, book, told="Every other browser is signed out."))


def _context(request: Request, book: Book, **told: Any) -> dict[str, Any]:
    person: Person | None = person_of(request)
    own = person is not None and person.how == "browser"
    blank = {"told": "", "secret": "", "password_fault": "", "token_fault": ""}
    return {
        **blank,
        "own": own,
        "tokens": book.accounts.tokens(person.name) if own and person else (),
        "roles": [role for role in ROLES if person and may(person.role, role)],
        "least": SHORTEST,
        **told,
    }
