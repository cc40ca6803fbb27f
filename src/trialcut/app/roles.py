"""What each address asks of who comes: at least a role.

Without a word, looking asks for the role ``view`` and every change for ``plan``. A router or a route says
otherwise with ``dependencies=[needs("measure")]``; the innermost word counts. One dependency of the whole
application holds everybody to it, so that a new route cannot be forgotten.
"""

from __future__ import annotations

from typing import Any

from fastapi import Depends, Request

from trialcut.app.person import person_of
from trialcut.errors import TrialcutError
from trialcut.records import ROLES, may

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
ANYBODY = "anybody"
"""Asked of those who are not signed in yet."""


class RoleError(TrialcutError):
    """The person's role is too small for what they ask."""

    code = "role"


class Need:
    """What a route asks for.

    Parameters
    ----------
    role : str
        One of the roles, or `ANYBODY`.
    """

    def __init__(self, role: str) -> None:
        self.role = role

    def __call__(self) -> None:
        """Do nothing: `admitted` reads it from the route."""


def needs(role: str) -> Any:
    """
    What a route or router asks for: ``dependencies=[needs("manage")]``.

    Parameters
    ----------
    role : str
        ``"view"``, ``"measure"``, ``"plan"``, ``"manage"``, or `ANYBODY`.
    """
    if role not in {*ROLES, ANYBODY}:
        raise ValueError(role)
    return Depends(Need(role))


def needed_role(route: Any, method: str) -> str:
    """The role that a route asks for."""
    said = [each.dependency for each in getattr(route, "dependencies", ())]
    roles = [each.role for each in said if isinstance(each, Need)]
    return roles[-1] if roles else "view" if method in SAFE else "plan"


def admitted(request: Request) -> None:
    """Let a request pass, or raise `RoleError`; of the whole application."""
    needed, person = needed_role(request.scope.get("route"), request.method), person_of(request)
    if needed == ANYBODY:
        return
    if person is None or not may(person.role, needed):
        own = person.role if person else "none"
        raise RoleError(
            f"this needs the role '{needed}', and yours is '{own}': ask who manages the people",
            needed=needed,
            role=own,
        )
