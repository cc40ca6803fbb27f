"""Ids as people write them, ``T7``, ``R12``, and the numbers that the tables have."""

from __future__ import annotations

import re

from trialcut.errors import UnknownNameError

TRIAL, READING, FIT, GAUGE_STUDY, STUDY, PLAN, JOB = "T", "R", "F", "G", "S", "P", "J"
_WORDS = {
    READING: "reading",
    FIT: "fit",
    GAUGE_STUDY: "gauge study",
    STUDY: "study",
    PLAN: "plan",
    JOB: "job",
}


def as_id(letter: str, number: int) -> str:
    """Return ``R12`` for 12."""
    return f"{letter}{number}"


def as_number(letter: str, text: str) -> int:
    """
    Return 12 for ``R12``.

    Parameters
    ----------
    letter : str
        That such ids start with.
    text : str
        As typed.

    Raises
    ------
    UnknownNameError
        The text is no such id.
    """
    found = re.fullmatch(rf"{letter}([1-9][0-9]{{0,8}})", text.strip(), re.IGNORECASE | re.ASCII)
    if found is None:
        raise UnknownNameError(
            f"'{text}' is not the id of a {_WORDS[letter]}: those are {letter}1, {letter}2 and so on"
        )
    return int(found.group(1))


def unknown(letter: str, text: str) -> UnknownNameError:
    """Return the error for an id that the book does not have."""
    return UnknownNameError(f"{_WORDS[letter]} '{text}' is not in the book: see which there are")
