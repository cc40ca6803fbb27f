"""The list of correlations: what each gives, where it comes from, and where it has been tested."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np

from trialcut import physics
from trialcut.sources import Note, validity_ranges

F = TypeVar("F", bound=Callable[..., Any])

WORDS = {
    "thickness": ("thickness", 1e-3, "mm"),
    "pressure": ("pressure", 1e6, "MPa"),
    "orifice": ("orifice", 1e-3, "mm"),
    "tube_bore": ("mixing tube bore", 1e-3, "mm"),
}
"""How a note names an argument: words, unit in SI, unit's name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """One registered correlation.

    Parameters
    ----------
    name, quantity : str
        Function name, and the glossary name of what it gives.
    source : str
        Bibliography id.
    constants : tuple of str
        Constant sets that it uses by default.
    function : callable
        The kernel.
    validity : mapping
        Argument name to tested range in SI.
    """

    name: str
    quantity: str
    source: str
    constants: tuple[str, ...]
    function: Callable[..., Any]
    validity: Mapping[str, tuple[float, float]] = field(default_factory=dict)


MODELS: dict[str, Model] = {}
"""Correlations registered so far, by function name; `all_models` gives every one."""


def all_models() -> dict[str, Model]:
    """Give every correlation of this room, loading the modules that have not been needed yet.

    Returns
    -------
    dict
        Function name to model.
    """
    for module in pkgutil.iter_modules(physics.__path__):
        importlib.import_module(f"{physics.__name__}.{module.name}")
    return MODELS


def model(*, quantity: str, source: str, constants: tuple[str, ...] = ()) -> Callable[[F], F]:
    """Register a kernel.

    Parameters
    ----------
    quantity : str
        Glossary name of what it gives.
    source : str
        Bibliography id.
    constants : tuple of str
        Constant sets that it uses by default; their tested ranges become its validity.

    Returns
    -------
    callable
        Decorator that gives the kernel back unchanged.
    """

    def register(function: F) -> F:
        arguments = inspect.signature(function).parameters
        validity = {
            argument: limits
            for set_id in constants
            for argument, limits in validity_ranges(set_id).items()
            if argument in arguments
        }
        name = function.__name__
        MODELS[name] = Model(
            name=name,
            quantity=quantity,
            source=source,
            constants=constants,
            function=function,
            validity=validity,
        )
        return function

    return register


def notes_beyond(name: str, **inputs: float) -> tuple[Note, ...]:
    """Notes for inputs outside the range that a model has been tested in.

    Parameters
    ----------
    name : str
        Function name of the model.
    **inputs : float
        Arguments in SI; those without a tested range are passed over.

    Returns
    -------
    tuple of Note
        One for each input out of range.
    """
    entry = MODELS[name]
    notes = []
    for argument, value in inputs.items():
        if argument not in entry.validity:
            continue
        low, high = entry.validity[argument]
        slack = 1e-3 * high
        if low - slack <= value <= high + slack:
            continue
        words, unit, unit_name = WORDS[argument]
        limit = low if value < low else high
        side = "below" if value < low else "beyond"
        quantity = entry.quantity.replace("_", " ")
        notes.append(
            Note(
                f"{side}-{argument.replace('_', '-')}",
                f"{words} {_short(value / unit)} {unit_name} is {side} the {_short(limit / unit)} {unit_name}"
                f" tested for {quantity}: the result is an extrapolation",
                entry.source,
            )
        )
    return tuple(notes)


def _short(value: float) -> str:
    return np.format_float_positional(value, precision=4, fractional=False, trim="-")
