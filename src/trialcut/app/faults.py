"""Errors for the page: which answer each is about, in words that fit there."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from trialcut.errors import TrialcutError, UsageError

_PLACE = re.compile(r"^--(?P<option>[a-z-]+)(?: number \d+)?: (?P<message>.*)$", re.DOTALL)
_MORE = re.compile(r" \(and \d+ more problems?\)$")
_FIELDS = {
    "demand": "demands",
    "units": "unit",
    "abrasive-rate": "abrasive_rate",
    "tube-bore": "head",
    "ask": "sentence",
}
_STATUS = {
    "role": 403,
    "no-such-account": 404,
    "no-such-token": 404,
    "no-such-drawing": 404,
    "no-such-part": 404,
    "no-such-study": 404,
    "no-such-job": 404,
    "no-such-paper": 404,
    "conflict": 409,
    "too-large": 413,
    "too-many-entities": 413,
    "too-slow": 408,
    "empty-file": 422,
}


@dataclass(frozen=True, slots=True)
class Fault:
    """One error, beside its cause.

    Parameters
    ----------
    field : str
        The answer that it is about; empty if about none.
    message : str
        One sentence with the remedy.
    code : str
        Stable identifier.
    """

    field: str
    message: str
    code: str


def fault_of(error: TrialcutError) -> Fault:
    """Put an error beside the answer it is about."""
    field, message = str(error.facts.get("field", "")), _MORE.sub("", error.message)
    while found := _PLACE.match(message):
        option = found["option"]
        field, message = field or _FIELDS.get(option, option), found["message"]
    return Fault(field, message, error.case)


def status_of(error: TrialcutError) -> int:
    """HTTP status of an error."""
    return _STATUS.get(error.case, 400 if isinstance(error, UsageError) else 422)


def error_body(error: TrialcutError) -> dict[str, Any]:
    """The one shape of an error: code, message, facts."""
    return {"code": error.case, "message": error.message, "facts": _plain(error.facts)}


def _plain(value: Any) -> Any:
    """Facts as JSON can hold them."""
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(each) for each in value]
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float):
        return value if value == value and abs(value) != float("inf") else str(value)  # noqa: PLR0124, NaN
    return str(value)
