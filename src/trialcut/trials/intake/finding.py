"""What a person should look at again in a filled form. Nothing is ever left out because of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFinding:
    """One doubt about one reading.

    Parameters
    ----------
    code : str
        Stable identifier of its likeliest cause, ``"inch-as-mm"``.
    message : str
        One line: which reading, what it says, and what was expected.
    cause : str
        The likeliest cause in words.
    remedy : str
        What to do.
    reading : int or None
        Its place among the readings, from 0; None for a finding on the form as a whole.
    others : tuple of int
        Places of the readings it was compared with, where those are few.
    instead : float or None
        The value that it would have if the cause is right. [SI]
    instead_text : str
        The same with its unit; empty where it cannot be told.
    rivals : tuple of str
        Codes of other causes that would explain it as well.
    """

    code: str
    message: str
    cause: str
    remedy: str
    reading: int | None = None
    others: tuple[int, ...] = ()
    instead: float | None = None
    instead_text: str = ""
    rivals: tuple[str, ...] = ()
