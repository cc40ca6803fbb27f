"""The options that describe a study, written once and given to every command that needs them."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from typing import Any

from trialcut.cli import options as o

STUDY_OPTIONS: dict[str, tuple[Any, Any]] = {
    "thickness": (o.Thickness, None),
    "material": (o.MaterialName, None),
    "ask": (o.Sentence, None),
    "size": (o.Size, None),
    "finish": (o.Finish, None),
    "square": (o.Square, None),
    "demands": (o.Demands, None),
    "quantity": (o.Quantity, None),
    "odds": (o.Odds, None),
    "buy_price": (o.BuyPrice, None),
    "guard": (o.Guard, None),
    "part": (o.PartName, None),
    "units": (o.DrawingUnit, None),
    "gap": (o.Gap, None),
    "machine": (o.MachineName, None),
    "pump": (o.PumpName, None),
    "head": (o.HeadName, None),
    "tube": (o.TubeName, None),
    "tube_bore": (o.TubeText, None),
    "lot": (o.LotName, None),
    "abrasive": (o.AbrasiveName, None),
    "abrasive_rate": (o.RateText, None),
    "pressure": (o.PressureText, None),
    "standoff": (o.StandoffText, None),
    "gauge": (o.GaugeName, None),
    "loops": (o.Loops, None),
    "print_in": (o.PrintIn, None),
}
"""Parameter of a command to its option and default."""


def with_study_options(command: Callable[..., None]) -> Callable[..., None]:
    """
    Give a command the options that describe a study.

    Parameters
    ----------
    command : callable
        Its parameter ``choices`` receives what was given.

    Returns
    -------
    callable
        With one parameter for each option in place of ``choices``.
    """
    own = inspect.signature(command, eval_str=True)
    study = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=annotation)
        for name, (annotation, default) in STUDY_OPTIONS.items()
    ]
    parameters = []
    for parameter in own.parameters.values():
        if parameter.name == "choices":
            parameters += study
        else:
            parameters.append(parameter.replace(kind=inspect.Parameter.KEYWORD_ONLY))

    @functools.wraps(command)
    def run(**given: Any) -> None:
        choices = {name: given.pop(name) for name in STUDY_OPTIONS}
        command(choices={name: value for name, value in choices.items() if value is not None}, **given)

    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return run
