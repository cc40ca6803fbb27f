"""Trials as text, in a versioned form that gives back exactly what was put in."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, fields, is_dataclass
from enum import Enum
from types import UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from trialcut.records.errors import DamagedBookError, NewerBookError
from trialcut.trials.types import Trial

T = TypeVar("T")

TRIAL_FORMAT = "trialcut/trial/1"
"""To raise, and to go on reading, when a stored type changes in a way that its defaults do not cover."""


def json_text(content: Any) -> str:
    """Return JSON text that is the same for the same content, whoever writes it."""
    return json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def trial_text(trial: Trial) -> str:
    """Return a trial with its set-up and coupons as JSON text."""
    return json_text({"format": TRIAL_FORMAT, **asdict(trial)})


def read_trial(text: str) -> Trial:
    """
    Return the trial that a text holds.

    Parameters
    ----------
    text : str
        As `trial_text` gave it.

    Returns
    -------
    Trial
        Equal to the one that was written.

    Raises
    ------
    DamagedBookError
        It is no such text.
    NewerBookError
        It has a format that this version does not know.
    """
    try:
        content = json.loads(text)
        found = content.pop("format")
        if found != TRIAL_FORMAT:
            raise NewerBookError(
                f"a trial in the book has the format '{found}', and this version reads '{TRIAL_FORMAT}': "
                "use the newest Trialcut"
            )
        return from_plain(Trial, content)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        if isinstance(error, NewerBookError):
            raise
        raise DamagedBookError(
            f"a trial in the book cannot be read ({type(error).__name__}: {error}): restore the book "
            "from a backup"
        ) from error


def from_plain(kind: type[T], content: Mapping[str, Any]) -> T:
    """
    Return a frozen dataclass from what `dataclasses.asdict` made of one.

    Parameters
    ----------
    kind : type
        The dataclass; its fields may be dataclasses, tuples of them, enums, or plain values.
    content : mapping
        Field name to value; fields with a default may be missing.

    Returns
    -------
    dataclass
        Of that kind.
    """
    hints = get_type_hints(kind)
    names = {each.name for each in fields(kind)}  # type: ignore[arg-type]
    unknown = sorted(set(content) - names)
    if unknown:
        raise ValueError(f"{kind.__name__} has no {', '.join(unknown)}")
    return kind(**{name: _value(hints[name], value) for name, value in content.items()})


def _value(hint: Any, value: Any) -> Any:
    if get_origin(hint) is UnionType:
        if value is None:
            return None
        hint = next(each for each in get_args(hint) if each is not type(None))
    if get_origin(hint) is tuple:
        first, *rest = get_args(hint)
        kinds = [first] * len(value) if rest == [Ellipsis] else [first, *rest]
        return tuple(_value(each, item) for each, item in zip(kinds, value, strict=True))
    if get_origin(hint) is not None:
        return value
    if is_dataclass(hint):
        return from_plain(hint, value)  # type: ignore[arg-type]
    if issubclass(hint, Enum):
        return hint(value)
    return float(value) if hint is float else value
