"""Where a value came from, so that an error about it can say so: a line of a file, or an option given."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, Protocol, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from trialcut.errors import FileFormatError, TrialcutError, UsageError
from trialcut.services.names import nearest
from trialcut.services.toml_lines import Location, line_numbers, line_of

M = TypeVar("M", bound=BaseModel)


class Place(Protocol):
    """Somewhere that values come from."""

    def order(self, location: Location) -> int:
        """Position, to tell problems in the order in which a reader meets them."""

    def tell(self, location: Location, message: str) -> str:
        """The message with the place of the value before it."""

    def error(self, problems: Sequence[str]) -> TrialcutError:
        """One error for all problems."""


class FilePlace:
    """A TOML file: tells line, table and key.

    Parameters
    ----------
    name : str
        Of the file, as messages call it.
    text : str
        Its text.
    """

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.lines = line_numbers(text)

    def order(self, location: Location) -> int:
        """Line, or zero."""
        return line_of(location, self.lines) or 0

    def tell(self, location: Location, message: str) -> str:
        """``shop.toml line 12: [machine.north] acceleration: …``."""
        line = line_of(location, self.lines)
        where = f"{self.name} line {line}" if line else self.name
        return f"{where}: {_label(location)}: {message}"

    def error(self, problems: Sequence[str]) -> TrialcutError:
        """The first problem as message, all of them as facts."""
        return FileFormatError(_first(problems), problems=tuple(problems))


class OptionPlace:
    """Options of a command: tells the option.

    Parameters
    ----------
    options : mapping
        From the path of a value in the study to the option that gives it.
    """

    def __init__(self, options: Mapping[Location, str]) -> None:
        self.options = options

    def order(self, location: Location) -> int:
        """Position of the option in the help."""
        return list(self.options).index(location) if location in self.options else 0

    def tell(self, location: Location, message: str) -> str:
        """``--thickness: …``."""
        option = self.options.get(location, self.options.get(location[:-1], location[-1]))
        return f"{option}: {message}" if option else message

    def error(self, problems: Sequence[str]) -> TrialcutError:
        """The first problem as message, all of them as facts."""
        return UsageError(_first(problems), problems=tuple(problems))


@contextmanager
def telling(place: Place, location: Location) -> Iterator[None]:
    """Put the place of a value before the message of an error that it leads to."""
    try:
        yield
    except TrialcutError as error:
        error.message = place.tell(location, error.message)
        raise


def validate(model: type[M], content: Mapping[str, Any], *, place: Place) -> M:
    """
    Content as a model, or one error that carries all its problems.

    Parameters
    ----------
    model : type
        A pydantic model that forbids unknown keys.
    content : mapping
        What was written.
    place : Place
        Where it was written.

    Returns
    -------
    BaseModel
        The valid content.

    Raises
    ------
    TrialcutError
        Of the place's kind. Says the first problem; ``facts["problems"]`` has one line for each.
    """
    try:
        return model.model_validate(content)
    except ValidationError as error:
        told: list[tuple[bool, int, str]] = []
        for detail in error.errors():
            location = tuple(str(piece) for piece in detail["loc"])
            missing = detail["type"] == "missing"  # last: it may be what an unknown key was meant to be
            message = place.tell(location, _reason(model, location, detail))
            told.append((missing, place.order(location), message))
        raise place.error([message for *_, message in sorted(told)]) from None


def _first(problems: Sequence[str]) -> str:
    more = len(problems) - 1
    return problems[0] + (f" (and {more} more problem{'s' if more > 1 else ''})" if more else "")


def _label(location: Location) -> str:
    table, key = location[:-1], location[-1]
    if key.isdigit() and table:
        table, key = table[:-1], f"{table[-1]} number {int(key) + 1}"
    return f"[{'.'.join(table)}] {key}" if table else key


def _reason(model: type[BaseModel], location: Location, detail: Any) -> str:
    kind = detail["type"]
    if kind == "extra_forbidden":
        known = fields_at(model, location[:-1])
        guess = nearest(location[-1], known)
        remedy = f"did you mean '{guess}'?" if guess else f"known here are {', '.join(sorted(known))}"
        return f"is not a known key: {remedy}"
    if kind == "missing":
        return "is missing: add it"
    if kind == "value_error":
        return str(detail["ctx"]["error"])
    message = detail["msg"]
    return f"{message[0].lower()}{message[1:]}, not {detail['input']!r}"


def fields_at(model: type[BaseModel], location: Location) -> list[str]:
    """
    Names of the keys that may stand in a table.

    Parameters
    ----------
    model : type
        Of the whole file.
    location : tuple of str
        Path of the table.

    Returns
    -------
    list of str
        Empty if it is no table.
    """
    here: Any = model
    for piece in location:
        inner = _model_in(here)
        here = (
            inner.model_fields[piece].annotation
            if inner and piece in inner.model_fields
            else get_args(here)[-1]
        )
    inner = _model_in(here)
    return list(inner.model_fields) if inner else []


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return None
