"""What would make a part cheaper, for its buyer."""

from __future__ import annotations

from collections.abc import Iterator

from trialcut.papers.words import capital, say
from trialcut.planning.routes.results import RouteComparison
from trialcut.planning.sensitivity.results import EasedStep, Improvement, Lever, Sensitivity
from trialcut.planning.sensitivity.told import percent

MOST = 3
"""Changes of tolerances that are told."""
_LIKELY = 1.5
"""How many times as wide a tolerance is proposed, if that saves something. [-]"""


def cheaper(found: Sensitivity | None) -> tuple[str, ...]:
    """
    Tolerances that would save most if they were wider, in sentences.

    Parameters
    ----------
    found : Sensitivity or None
        What easing each would save; None says nothing.

    Returns
    -------
    tuple of str
        Up to three. Each takes half as much again of the tolerance, or the next width that saves something.
    """
    if found is None or found.good is None:
        return ()
    said = []
    for each in found.of(Lever.ASK, Lever.DEMAND):
        step = _proposed(each)
        share = 0.0 if step is None else (step.saving or 0.0) / found.good
        if step is not None and round(100.0 * share) > 0:
            said.append(
                say("offer.change", what=capital(each.title), limits=step.limits, share=percent(share))
            )
    return tuple(said[:MOST])


def other_route(found: RouteComparison | None) -> Iterator[str]:
    """
    The shop's cheapest route, where it is another than the jet alone and the difference can be told.

    Parameters
    ----------
    found : RouteComparison or None
        All routes; None says nothing.

    Yields
    ------
    str
        One sentence or none.
    """
    if found is None:
        return
    best, jet = next(each for each in found.routes if each.name != "bought"), found.route("jet")
    if best.good is None or jet.good is None or best.groups == jet.groups:
        return
    if jet.good.mean / best.good.mean - 1.0 > max(best.gap, jet.gap):
        share = percent(1.0 - best.good.mean / jet.good.mean)
        yield say("offer.other_route", route=say(f"offer_route.{best.name}"), share=share)


def _proposed(each: Improvement) -> EasedStep | None:
    wider = (
        step for step in each.steps if step.width >= _LIKELY and step.told and (step.saving or 0.0) > 0.0
    )
    return next(wider, None)
