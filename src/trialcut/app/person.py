"""Who asks: a person at this machine, one who signed in, or a program that acts for one."""

from __future__ import annotations

import getpass
from dataclasses import dataclass
from functools import cache

from starlette.requests import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Who asks.

    Parameters
    ----------
    name : str
        Of the account, or what the operating system calls the person.
    role : str
        What they may do.
    how : str
        ``"local"``, ``"browser"`` or ``"token"``.
    """

    name: str
    role: str
    how: str


@cache
def local_person() -> str:
    """The person at this machine, as its operating system calls them."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "local"


def person_of(request: Request) -> Person | None:
    """Who asks; None where nobody is signed in."""
    found: Person | None = getattr(request.state, "person", None)
    return found


def address_of(request: Request) -> str:
    """From where."""
    return str(getattr(request.state, "address", ""))


def proof_here(request: Request) -> str:
    """What forms of this page must send along; empty where nobody signs in."""
    return str(getattr(request.state, "proof", ""))
