"""Who may sign in, with which role, and what was done last."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from trialcut.app.people.here import BookHere, FieldsHere, note
from trialcut.app.person import person_of
from trialcut.app.roles import needs
from trialcut.app.sections.here import WhoHere
from trialcut.app.views import render
from trialcut.errors import TrialcutError
from trialcut.records import ROLES, Book
from trialcut.services.people import add_person, password_link

router = APIRouter(prefix="/people", include_in_schema=False, dependencies=[needs("manage")])

MAY = {
    "view": "looks at studies, plans and papers",
    "measure": "also records readings and tubes",
    "plan": "also edits studies and issues papers",
    "manage": "also edits the shop and the people",
}
"""What each role is for."""
LAST = 40
"""Lines of the trail on the page."""


@router.get("")
def page(request: Request, book: BookHere) -> Response:
    """Everybody, and the trail."""
    return render(request, "people.html", _context(request, book))


@router.post("")
def add(request: Request, book: BookHere, who: WhoHere, fields: FieldsHere) -> Response:
    """Add somebody, and show the link that they choose their password by."""
    try:
        account = add_person(book, fields.get("name", ""), role=fields.get("role", "view"))
    except TrialcutError as error:
        return render(request, "people.html", _context(request, book, fault=error.message))
    note(request, book, who, "added an account", f"{account.name}, {account.role}")
    return _with_link(request, book, account.name)


@router.post("/{name}/role")
def role(request: Request, name: str, book: BookHere, who: WhoHere, fields: FieldsHere) -> Response:
    """Give somebody another role."""
    return _changed(
        request,
        book,
        lambda: book.accounts.set_role(name, fields.get("role", "")),
        who=who,
        what="changed a role",
        subject=f"{name}, {fields.get('role', '')}",
    )


@router.post("/{name}/disable")
def disable(request: Request, name: str, book: BookHere, who: WhoHere) -> Response:
    """Keep somebody out."""
    return _changed(
        request, book, lambda: book.accounts.disable(name), who=who, what="disabled an account", subject=name
    )


@router.post("/{name}/enable")
def enable(request: Request, name: str, book: BookHere, who: WhoHere) -> Response:
    """Let somebody in again."""
    return _changed(
        request, book, lambda: book.accounts.enable(name), who=who, what="enabled an account", subject=name
    )


@router.post("/{name}/link")
def link(request: Request, name: str, book: BookHere, who: WhoHere) -> Response:
    """Make a link to choose a password by."""
    book.accounts.get(name)
    note(request, book, who, "made a password link", name)
    return _with_link(request, book, name)


def _changed(
    request: Request, book: Book, change: Callable[[], None], *, who: str, what: str, subject: str
) -> Response:
    try:
        change()
    except TrialcutError as error:
        return render(request, "people.html", _context(request, book, fault=error.message))
    note(request, book, who, what, subject)
    return RedirectResponse("/people", status_code=303)


def _with_link(request: Request, book: Book, name: str) -> Response:
    secret, until = password_link(book, name)
    return render(
        request,
        "people.html",
        _context(request, book, link={"name": name, "path": f"/new-password/{secret}", "until": until}),
    )


def _context(request: Request, book: Book, **told: Any) -> dict[str, Any]:
    person = person_of(request)
    return {
        "accounts": book.accounts.all(),
        "trail": book.accounts.trail(limit=LAST),
        "may": MAY,
        "roles": ROLES,
        "own": person.name if person and person.how != "local" else "",
        "fault": "",
        "link": None,
        **told,
    }
