"""The root error and the few concrete ones.

A message is one line: what was given, how much, what is allowed, and what to do about it.
``code`` is stable and is what the JSON error shape, the exit status and the pages go by.
"""

from __future__ import annotations

from typing import Any, ClassVar


class TrialcutError(Exception):
    """Root of all errors that a person can put right.

    Parameters
    ----------
    message : str
        One line with name, value, unit, rule and remedy.
    code : str, optional
        Stable identifier of the case, ``"pump-overloaded"``; the class's own code unless given.
    **facts
        The values that the message speaks of, for programs.
    """

    code: ClassVar[str] = "error"
    exit_status: ClassVar[int] = 4

    def __init__(self, message: str, *, code: str | None = None, **facts: Any) -> None:
        super().__init__(message)
        self.message = message
        self.case = code or type(self).code
        self.facts: dict[str, Any] = facts

    def __str__(self) -> str:
        return self.message


class UsageError(TrialcutError, ValueError):
    """The command or call was put wrongly."""

    code = "usage"
    exit_status = 2


class QuantityError(UsageError):
    """A text that should be a quantity is not one, or lacks its unit."""

    code = "quantity"


class DataError(TrialcutError, ValueError):
    """A file or its content cannot be used."""

    code = "data"
    exit_status = 3


class DrawingError(DataError):
    """A drawing cannot be read, or holds no part."""

    code = "drawing"


class FileFormatError(DataError):
    """A study or shop file is not valid; the message names file and line."""

    code = "file-format"


class UnknownNameError(DataError, LookupError):
    """A name that the shop or the part does not have; the message names the nearest."""

    code = "unknown-name"


class RangeError(TrialcutError, ArithmeticError):
    """A value that is physically impossible, or a set-up that cannot run."""

    code = "range"
    exit_status = 4


class ComputationError(TrialcutError, RuntimeError):
    """A computation that could not be carried through."""

    code = "computation"
    exit_status = 4
