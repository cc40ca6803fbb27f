"""Signing in and out, and choosing a password by a link."""

from __future__ import annotations

import math
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.entry import Entry
from trialcut.app.people.here import BookHere, EntryHere, FieldsHere, SignedIn, drop, hold, note
from trialcut.app.people.throttle import Throttle
from trialcut.app.person import address_of, person_of
from trialcut.app.roles import ANYBODY, needs
from trialcut.app.views import render
from trialcut.errors import TrialcutError, UsageError
from trialcut.records.accounts import account_name
from trialcut.services.people import (
    LINK_FOR,
    SHORTEST,
    SIGNED_IN_FOR,
    begin_sign_in,
    digest_of,
    new_secret,
    proof_of,
    right_password,
    use_password_link,
)

router = APIRouter(include_in_schema=False, dependencies=[needs(ANYBODY)])

_DOOR_SECONDS = int(LINK_FOR.total_seconds())


@router.get("/sign-in")
def page(request: Request, entry: EntryHere, back: str = "/") -> Response:
    """The page to sign in on."""
    if not entry.accounts or person_of(request) is not None:
        return RedirectResponse(safe_way_back(back), status_code=303)
    return _at_the_door(
        request, entry, "sign_in.html", {"back": safe_way_back(back), "name": "", "fault": ""}
    )


@router.post("/sign-in")
def sign_in(request: Request, entry: EntryHere, book: BookHere, fields: FieldsHere) -> Response:
    """Sign in, with a new secret for the browser; what it held before no longer counts."""
    if not entry.accounts:
        return RedirectResponse("/", status_code=303)
    throttle: Throttle = request.app.state.throttle
    name, address = account_name(fields.get("name", ""))[:64], address_of(request)
    back = safe_way_back(fields.get("back", "/"))
    context = {"back": back, "name": name}
    wait = throttle.wait(name=name, address=address)
    if wait > 0.0:
        told = f"There were too many wrong tries: wait {math.ceil(wait / 60.0)} min, then try again."
        return _at_the_door(request, entry, "sign_in.html", {**context, "fault": told}, status=429)
    account = right_password(book, name, fields.get("password", ""))
    if account is None:
        throttle.wrong(name=name, address=address)
        note(request, book, name, "sign-in refused")
        told = "Name and password do not belong together: type both again."
        return _at_the_door(request, entry, "sign_in.html", {**context, "fault": told})
    throttle.right(name=name)
    earlier = request.cookies.get(entry.cookie)
    if earlier:
        book.accounts.end_sign_in(digest_of(earlier))
    secret = begin_sign_in(book, account, address=address)
    note(request, book, account.name, "signed in")
    response = RedirectResponse(back, status_code=303)
    hold(response, entry, entry.cookie, secret, seconds=int(SIGNED_IN_FOR.total_seconds()))
    drop(response, entry, entry.door)
    return response


@router.post("/sign-out", dependencies=[needs("view")])
def sign_out(request: Request, entry: EntryHere, book: BookHere, person: SignedIn) -> Response:
    """Sign this browser out."""
    book.accounts.end_sign_in(digest_of(request.cookies.get(entry.cookie, "")))
    note(request, book, person.name, "signed out")
    response = RedirectResponse("/sign-in", status_code=303)
    drop(response, entry, entry.cookie)
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


@router.get("/new-password/{secret}")
def choosing(request: Request, secret: str, entry: EntryHere, book: BookHere) -> Response:
    """The page to choose a password on; opening it does not use the link up."""
    account = book.accounts.link(digest_of(secret))
    context = {"secret": secret, "account": account, "least": SHORTEST, "fault": ""}
    return _at_the_door(request, entry, "new_password.html", context)


@router.post("/new-password/{secret}")
def chosen(request: Request, secret: str, entry: EntryHere, book: BookHere, fields: FieldsHere) -> Response:
    """Choose a password, once."""
    request.state.noted = True  # its address is a secret
    try:
        account = use_password_link(book, secret, the_same_twice(fields))
    except TrialcutError as error:
        whose = book.accounts.link(digest_of(secret))
        context = {"secret": secret, "account": whose, "least": SHORTEST, "fault": error.message}
        return _at_the_door(request, entry, "new_password.html", context)
    note(request, book, account.name, "chose a password by link")
    return RedirectResponse("/sign-in", status_code=303)


def the_same_twice(fields: Any) -> str:
    """A new password, typed twice."""
    password = str(fields.get("password", ""))
    if password != fields.get("again", ""):
        raise UsageError("the two are not the same: type the new password twice", code="not-the-same")
    return password


def safe_way_back(text: str) -> str:
    """Where to go after signing in: a page of ours, or the studies."""
    own = text.startswith("/") and not text.startswith(("//", "/sign-in")) and text.isprintable()
    return text if own and "\\" not in text and len(text) <= 2000 else "/"


def _at_the_door(
    request: Request, entry: Entry, template: str, context: dict[str, Any], *, status: int = 200
) -> Response:
    """A page for somebody who is not signed in; its form proves itself by a secret of the door."""
    if person_of(request) is not None:
        return render(request, template, context, status=status)
    secret = request.cookies.get(entry.door) or new_secret()
    request.state.proof = proof_of(secret)
    response = render(request, template, context, status=status)
    hold(response, entry, entry.door, secret, seconds=_DOOR_SECONDS)
    return response
