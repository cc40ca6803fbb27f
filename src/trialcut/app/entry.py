"""How people come to the workbench: from this machine alone, or over a network with accounts."""

from __future__ import annotations

from dataclasses import dataclass

from trialcut.app import LOOPBACK
from trialcut.errors import UsageError
from trialcut.records import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What the gate goes by.

    Parameters
    ----------
    names : tuple of str
        Host names answered beside this machine's own.
    accounts : bool
        Whether people must sign in.
    behind_proxy : bool
        Whether a proxy with TLS stands before: cookies go over TLS alone, and its word for who comes
        from where counts.
    """

    names: tuple[str, ...] = ()
    accounts: bool = False
    behind_proxy: bool = False

    @property
    def answered(self) -> frozenset[str]:
        """All names that are answered."""
        return frozenset((*LOOPBACK, *self.names))

    @property
    def cookie(self) -> str:
        """Name of what a browser holds; browsers keep the prefixed one to TLS and to this host."""
        return "__Host-trialcut" if self.behind_proxy else "trialcut"

    @property
    def door(self) -> str:
        """The same before anybody signs in."""
        return f"{self.cookie}-door"


def entry_of(book: Book, *, host: str, names: tuple[str, ...], behind_proxy: bool, place: str = "") -> Entry:
    """
    Work out who must sign in, and refuse what would leave the door open.

    Parameters
    ----------
    book : Book
        That holds the accounts.
    host : str
        Address that is listened on.
    names : tuple of str
        Host names that people type.
    behind_proxy : bool
        Whether a proxy stands before.
    place : str
        The book as the command was given it, for the remedy.

    Returns
    -------
    Entry
        With accounts, unless there are none and this machine alone is answered.

    Raises
    ------
    UsageError
        There is nobody who could sign in and manage, or no name to be called by.
    """
    beyond = host not in LOOPBACK
    if not (beyond or names or behind_proxy) and not book.accounts.any():
        return Entry()
    if not book.accounts.has_manager():
        option = f" --book {place}" if place else ""
        raise UsageError(
            "nobody can sign in yet, and more than this machine is answered: add somebody with "
            f"'trialcut people add NAME --role manage{option}' first",
            code="no-manager",
        )
    called = tuple(name.lower().rstrip(".") for name in names)
    if beyond and host not in {"0.0.0.0", "::"}:
        called = (*called, host.lower())
    if beyond and not called:
        raise UsageError(
            f"--host {host} needs the name that people type: give it with --name, 'cut.shop.example'",
            code="no-name",
        )
    return Entry(names=called, accounts=True, behind_proxy=behind_proxy)
