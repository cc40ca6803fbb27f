"""Three plans side by side: the most accurate part, the cheapest that holds, the fastest square blank."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.as_cut import with_gauge
from trialcut.planning.conflicts import conflicts
from trialcut.planning.decision.decide import decide
from trialcut.planning.decision.found import Decision
from trialcut.planning.decision.problem import Objective
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.forecast import forecast_of
from trialcut.planning.money import least_cost_abrasive_rate
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Option, Plan
from trialcut.planning.shortfall import explain
from trialcut.planning.study import Study
from trialcut.planning.telling import plan_sentences
from trialcut.units import format_odds

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]

TITLES = {Objective.COST: "Cheapest that holds", Objective.TIME: "Quickest that holds"}
"""Of the option that holds with the least money, or in the least time."""
BLANK_OUT_OF_SQUARE = 0.25e-3
"""Out-of-squareness that a blank for a later operation may have: common practice, no source. [m]"""


def plan(
    study: Study,
    *,
    objective: Objective = Objective.COST,
    find_conflicts: bool = True,
    rivals: bool = True,
    progress: Progress | None = None,
) -> Plan:
    """Plan how to cut a part: the most accurate, the cheapest that holds, the fastest square blank.

    Speed and stance of every group of edges are chosen together, so that all demands hold with the odds
    asked for over shared draws and the lot costs least. This is done twice, for odds as known now and for
    odds after a first piece has been measured and corrected, and the cheaper lot is kept.

    Parameters
    ----------
    study : Study
        The enquiry.
    objective : Objective
        What the option called cheapest makes small: money per good piece, or time of a piece.
    find_conflicts : bool
        Whether to look, where nothing holds, for the demands that stand in each other's way.
    rivals : bool
        Whether the other two are planned beside a cheapest that holds.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Plan
        Three options, or the cheapest alone.
    """
    say = progress or _silent
    say("preparing", 0.0)
    prepared = prepare(study)
    say("trying speeds", 0.1)
    preview = Preview(prepared)
    title = TITLES[objective]
    say(title.lower(), 0.3)
    cheapest = _option("cheapest", title, preview, decide(preview, objective=objective))
    if cheapest.holds and not rivals:
        return Plan(
            options=(cheapest,),
            asked_odds=study.asked_odds,
            abrasive_rate_of_least_cost=least_cost_abrasive_rate(study),
        )
    say("most accurate", 0.5)
    accurate = decide(preview, objective=Objective.ERROR)
    say("square blank", 0.7)
    blank_preview = Preview(prepare(study_of_option(study, "blank")))
    blank = decide(blank_preview)
    say("writing up", 0.9)
    options = (
        _option("accurate", "Most accurate", preview, accurate),
        cheapest,
        _option("blank", "Fastest square blank", blank_preview, blank),
    )
    found = None
    if find_conflicts and not cheapest.holds:
        say("looking for what is in conflict", 0.95)
        found = conflicts(preview)
    say("done", 1.0)
    return Plan(
        options=options,
        conflicts=found,
        asked_odds=study.asked_odds,
        abrasive_rate_of_least_cost=least_cost_abrasive_rate(study),
    )


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""


def study_of_option(study: Study, name: str) -> Study:
    """Return the study under the demands that an option answers: its own, or those of a blank."""
    return _blank_study(study) if name == "blank" else study


def _blank_study(study: Study) -> Study:
    """Return the same enquiry as a blank: every edge machined later, square enough to clamp."""
    edges = [edge.id for edge in study.part.edges]
    return replace(study, demands=tuple(_blank_demands(edges)))


def _blank_demands(edges: Iterable[str]) -> Iterable[Demand]:
    for edge in edges:
        yield Demand(
            id=f"later-{edge}",
            kind=DemandKind.LATER,
            title=f"{edge}, stock for a later operation",
            text="cleans up everywhere",
            edges=(edge,),
        )
        yield Demand(
            id=f"square-{edge}",
            kind=DemandKind.SQUARENESS,
            title=f"{edge}, squareness of the blank",
            text="square enough to clamp",
            edges=(edge,),
            upper=BLANK_OUT_OF_SQUARE,
        )


def _option(name: str, title: str, preview: Preview, choice: Decision) -> Option:
    asked = preview.prepared.study.asked_odds
    found = forecast_of(choice.part, first_piece=choice.first_piece)
    found = explain(found, choice.part, preview, first_piece=choice.first_piece)
    found = with_gauge(found, choice.part, choice.readings)
    rejected = [each for each in found.demands if each.rejected]
    holds = choice.odds >= asked and not rejected
    option = Option(
        name=name,
        title=title,
        summary=_summary(name, choice, rejected=len(rejected), asked=asked),
        forecast=found,
        first_piece=choice.first_piece,
        holds=holds,
        gap=choice.gap,
    )
    return replace(option, told=plan_sentences(preview.prepared.study, option))


_WHAT = {
    "accurate": "The least error of every wall that this jet can make",
    "cheapest": "The fastest cut of each edge at which all demands hold together",
    "blank": "Every edge left with just the stock that cleans up, square enough to clamp",
}


def _summary(name: str, choice: Decision, *, rejected: int, asked: float) -> str:
    basis = "once the first piece is measured and corrected" if choice.first_piece else "as known now"
    verdict = (
        f"holds with odds of {format_odds(choice.odds)} {basis}"
        if choice.odds >= asked
        else f"does not reach the asked {format_odds(asked)}: {format_odds(choice.odds)} {basis}"
    )
    if rejected:
        verdict += (
            f"; but the part as cut fails {rejected} of its demands, which edges by themselves do not show"
        )
    return f"{_WHAT[name]}; it {verdict}."
