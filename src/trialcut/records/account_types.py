"""People as the book gives them out: no hash and no secret among it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

ROLES = ("view", "measure", "plan", "manage")
"""What a person may do, each with all before it."""


def may(role: str, needed: str) -> bool:
    """Whether a role is enough for what needs another."""
    return ROLES.index(role) >= ROLES.index(needed)


def lesser(role: str, other: str) -> str:
    """The smaller one of two roles."""
    return min(role, other, key=ROLES.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """A person who may sign in.

    Parameters
    ----------
    name : str
        To sign in with, in lower case.
    role : str
        One of `ROLES`.
    disabled : bool
        Kept, and kept out.
    has_password : bool
        Whether one was chosen yet.
    created : datetime
        When the account was added.
    """

    name: str
    role: str
    disabled: bool
    has_password: bool
    created: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A program that may act for a person.

    Parameters
    ----------
    number : int
        To name it by.
    owner, name : str
        Whose it is, and what for.
    role : str
        At most the owner's.
    created : datetime
        When it was made.
    used : datetime or None
        When it last was used, to the minute.
    """

    number: int
    owner: str
    name: str
    role: str
    created: datetime
    used: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailEntry:
    """One thing that somebody did, or was refused.

    Parameters
    ----------
    who : str
        Name of the account, or as typed where there is none.
    at : datetime
        When.
    address : str
        From where.
    what, subject : str
        What was done, and to what.
    """

    who: str
    at: datetime
    address: str
    what: str
    subject: str
