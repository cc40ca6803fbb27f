"""Forecast a study, and plan it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from enum import StrEnum

from trialcut.planning.cut_part import Cut
from trialcut.planning.decision.problem import Objective
from trialcut.planning.demands import Depth
from trialcut.planning.forecast import forecast
from trialcut.planning.plan import plan
from trialcut.planning.results import Forecast, Note, Option, Plan, Stance
from trialcut.planning.study import Study
from trialcut.services.names import look_up

TOP_OFFSET = Note(
    "offset-at-top",
    "The offsets put the top face right, half a kerf from the drawn edge there; a plan centres each size "
    "over the depth instead.",
)


class OffsetRule(StrEnum):
    """How the kerf offset of a forecast is set."""

    TOP = "top"
    CENTRED = "centred"


def forecast_study(
    study: Study, *, speed: float, stance: Stance | str, offset: OffsetRule | str = OffsetRule.TOP
) -> Forecast:
    """
    What the part will measure, look like, take and cost at one speed on every edge.

    Parameters
    ----------
    study : Study
        The study.
    speed : float
        Commanded on every edge; arcs and corners are slowed as far as the jet's lag asks. [m/s]
    stance : Stance or str
        ``"upright"`` or ``"tilted"``.
    offset : OffsetRule or str
        ``"top"``: half a kerf as measured at the top face, so that sizes are on their middle there, whatever
        the speed. ``"centred"``: each size in the middle of its limits over the depth, as a plan does it.

    Returns
    -------
    Forecast
        With its spread and odds.

    Raises
    ------
    RangeError
        If the machine cannot move so fast, or its head cannot tilt.
    """
    cuts = {edge.id: Cut(speed, Stance(stance)) for edge in study.part.edges}
    if OffsetRule(offset) is OffsetRule.CENTRED:
        return forecast(study, assignment=cuts)
    found = forecast(study, assignment=cuts, offset_at=Depth.TOP)
    return replace(found, notes=(*found.notes, TOP_OFFSET))


def plan_study(
    study: Study,
    *,
    least: str = "money",
    find_conflicts: bool = True,
    rivals: bool = True,
    progress: Callable[[str, float], None] | None = None,
) -> Plan:
    """
    Rival plans for a study: the most accurate, the cheapest that holds, the fastest square blank.

    Parameters
    ----------
    study : Study
        The study.
    least : str
        What the option called cheapest makes small: ``"money"`` per good piece, or ``"time"`` of a piece.
    find_conflicts : bool
        Whether to look, where nothing holds, for the demands that stand in each other's way.
    rivals : bool
        Whether the other two are planned beside a cheapest that holds.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    Plan
        The options side by side.
    """
    objective = Objective.TIME if least == "time" else Objective.COST
    return plan(study, objective=objective, find_conflicts=find_conflicts, rivals=rivals, progress=progress)


def choose_option(plan: Plan, name: str | None) -> Option:
    """
    An option by name; without one the cheapest if it holds, otherwise the most accurate.

    Parameters
    ----------
    plan : Plan
        Rival plans.
    name : str or None
        Of the option.

    Returns
    -------
    Option
        That option.

    Raises
    ------
    UnknownNameError
        If there is none of that name; says the nearest.
    """
    options = {option.name: option for option in plan.options}
    if name is not None:
        return look_up(name, options, what="option", within="the plan")[1]
    cheapest = options.get("cheapest")
    return cheapest if cheapest is not None and cheapest.holds else plan.options[0]
