"""Constants with their source, the digits as printed, and how sure they are."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cache
from typing import Any, TypeVar

from trialcut.sources.files import constant_tables

FLAGS = {
    "P": "published, read",
    "M": "published, quoted from memory",
    "D": "derived here",
    "O": "our own form or prior, to be replaced by trial cuts",
    "C": "common practice, no source",
}
"""What the letter beside a constant means."""

SPREAD_KEYS = ("sd", "log_sd", "lower", "upper")
_HEAD = {"source", "flag", "about", "tested"}

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One number from outside.

    Parameters
    ----------
    name : str
        Within its set.
    value : float
        In `unit`.
    unit : str
        SI, or the printed unit where an equation is kept as printed; ``"-"`` for none.
    printed : str
        The digits as printed in the source.
    where : str
        Place in the source, or the derivation.
    source : str
        Bibliography id.
    flag : str
        One of `FLAGS`.
    sd, log_sd : float or None
        Standard deviation of the value, or of its logarithm.
    lower, upper : float or None
        Limits that a draw never passes.
    """

    name: str
    value: float
    unit: str
    printed: str
    where: str
    source: str
    flag: str
    sd: float | None = None
    log_sd: float | None = None
    lower: float | None = None
    upper: float | None = None


@cache
def constant_set(set_id: str) -> dict[str, Constant]:
    """Constants of one set.

    Parameters
    ----------
    set_id : str
        Table name in the files of this room.

    Returns
    -------
    dict
        Name to constant, in the order of the file.
    """
    table = constant_tables()[set_id]
    return {
        name: Constant(name=name, **{"source": table["source"], "flag": table["flag"]} | entry)
        for name, entry in table.items()
        if name not in _HEAD
    }


def machinability() -> dict[str, Constant]:
    """Machinability numbers by material, as the table names it.

    Returns
    -------
    dict
        `Constant` with the number as `value` and how sure it is as `log_sd`.
    """
    return constant_set("machinability")


def load(kind: type[T], set_id: str) -> T:
    """Values of one set as an instance of a frozen dataclass.

    Parameters
    ----------
    kind : type
        Frozen dataclass whose field names are names in the set.
    set_id : str
        Table name in the files of this room.

    Returns
    -------
    object
        Instance of `kind`.
    """
    constants = constant_set(set_id)
    values: dict[str, Any] = {field.name: constants[field.name].value for field in fields(kind)}  # type: ignore[arg-type]
    return kind(**values)


def validity_ranges(set_id: str) -> dict[str, tuple[float, float]]:
    """Range of each input within which a set has evidence.

    Parameters
    ----------
    set_id : str
        Table name in the files of this room.

    Returns
    -------
    dict
        Argument name to least and largest tested value, in SI.
    """
    tested = constant_tables()[set_id].get("tested", {})
    return {name: (float(entry["range"][0]), float(entry["range"][1])) for name, entry in tested.items()}
