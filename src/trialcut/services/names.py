"""Finding what a person meant by a name."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import TypeVar

from trialcut.errors import UnknownNameError

T = TypeVar("T")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """
    The known name closest to what was written.

    Parameters
    ----------
    name : str
        As a person wrote it.
    known : iterable of str
        The names there are.

    Returns
    -------
    str or None
        None if none is close.
    """
    by_key = {_key(candidate): candidate for candidate in known}
    found = difflib.get_close_matches(_key(name), by_key, n=1, cutoff=0.55)
    return by_key[found[0]] if found else None


def look_up(
    name: str,
    entries: Mapping[str, T],
    *,
    what: str,
    aliases: Mapping[str, tuple[str, ...]] | None = None,
    within: str = "the shop",
) -> tuple[str, T]:
    """
    Entry by name, by one of its other names, or an error that names the nearest.

    Parameters
    ----------
    name : str
        As a person wrote it; capitals, spaces and dashes do not matter.
    entries : mapping
        By name.
    what : str
        What is looked for, for the message: ``"material"``.
    aliases : mapping, optional
        Other names of each entry.
    within : str
        Where it is looked for, for the message.

    Returns
    -------
    tuple of str and object
        The entry's own name, and the entry.

    Raises
    ------
    UnknownNameError
        If there is none; says the nearest name, or all of them.
    """
    by_key = {_key(own): own for own in entries}
    for own, others in (aliases or {}).items():
        for other in others:
            by_key.setdefault(_key(other), own)
    if _key(name) in by_key:
        own = by_key[_key(name)]
        return own, entries[own]
    guess = nearest(name, by_key)
    meant = by_key[guess] if guess else None
    raise UnknownNameError(
        f"{what} '{name}' is not in {within}: "
        + (f"did you mean '{meant}'?" if meant else f"known are {', '.join(entries)}"),
        what=what,
        name=name,
        nearest=meant,
    )


def _key(name: str) -> str:
    return "".join(character for character in name.lower() if character.isalnum() or character == ".")
