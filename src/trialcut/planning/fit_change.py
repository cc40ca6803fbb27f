"""What a fit changes for a study: the same cut forecast without it and with it, and both plans."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from trialcut.planning.cut_part import cuts_of
from trialcut.planning.demands import DemandKind
from trialcut.planning.fit_views import DemandChange, FitChange, PlanOutline
from trialcut.planning.forecast import forecast
from trialcut.planning.plan import plan
from trialcut.planning.results import Option, Plan
from trialcut.planning.study import Study
from trialcut.trials.fit_types import Fit
from trialcut.trials.knowledge import PriorKnowledge

SHOWN = frozenset((DemandKind.SIZE, DemandKind.SQUARENESS, DemandKind.FINISH))
"""Kinds of demand that have a value to expect and limits."""


def fit_change(
    study: Study,
    fitted: Study,
    fit: Fit,
    *,
    choose: Callable[[Plan], Option],
    progress: Callable[[str, float], None] | None = None,
) -> FitChange:
    """
    Plan a study without a fit and with it, and forecast the second plan's cut both ways.

    Parameters
    ----------
    study : Study
        Whatever it knows is put aside for the priors.
    fitted : Study
        The same with the fit.
    fit : Fit
        That it has.
    choose : callable
        Gives the option of a plan that is compared.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    FitChange
        Demand by demand, and both options.
    """
    plain = replace(study, knowledge=PriorKnowledge())

    def halves(start: float) -> Callable[[str, float], None] | None:
        return None if progress is None else lambda name, part: progress(name, start + 0.5 * part)

    before = choose(plan(plain, find_conflicts=False, progress=halves(0.0)))
    after = choose(plan(fitted, find_conflicts=False, progress=halves(0.5)))
    assignment = cuts_of(after.forecast.edges)
    without = forecast(plain, assignment=assignment)
    with_fit = forecast(fitted, assignment=assignment)
    return FitChange(
        study=study.name,
        fit=fit.id,
        currency=study.prices.currency,
        asked=study.asked_odds,
        demands=tuple(
            DemandChange(
                demand=one.demand,
                top_before=one.top,
                bottom_before=one.bottom,
                top_after=other.top,
                bottom_after=other.bottom,
                odds_before=one.odds,
                odds_after=other.odds,
            )
            for one, other in zip(without.demands, with_fit.demands, strict=True)
            if one.demand.kind in SHOWN
        ),
        before=outline(before),
        after=outline(after),
    )


def outline(option: Option) -> PlanOutline:
    """
    What an option comes to.

    Parameters
    ----------
    option : Option
        Of a plan.

    Returns
    -------
    PlanOutline
        Its odds, time and cost.
    """
    found = option.forecast
    speeds = [edge.speed for edge in found.edges]
    return PlanOutline(
        name=option.name,
        holds=option.holds,
        first_piece=option.first_piece,
        odds=found.joint_odds_corrected if option.first_piece else found.joint_odds,
        time=found.time.total,
        lot=found.cost.lot,
        slowest=min(speeds),
        fastest=max(speeds),
        stances=tuple(dict.fromkeys(edge.stance for edge in found.edges)),
    )
