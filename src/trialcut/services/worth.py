"""What the next improvement of a study is worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace
from typing import Any

from trialcut.planning.results import Plan
from trialcut.planning.sensitivity.results import Sensitivity
from trialcut.planning.sensitivity.worth import sensitivity
from trialcut.planning.study import Study
from trialcut.planning.telling import plan_sentences
from trialcut.services.shop import Shop
from trialcut.services.trials import design_trial

COUPON_SHARE = 0.3
"""Of the progress, spent on simulating a coupon. [-]"""


def study_worth(
    study: Study, *, shop: Shop, progress: Callable[[str, float], None] | None = None
) -> Sensitivity:
    """
    What prices, a sharper gauge, a new tube, a trial coupon and every tolerance are worth.

    Parameters
    ----------
    study : Study
        The study.
    shop : Shop
        Whose gauge a coupon's roughness would be read with.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Sensitivity
        On a good piece and on the lot, those worth most first.
    """

    def later(what: str, fraction: float) -> None:
        if progress is not None:
            progress(what, COUPON_SHARE + (1.0 - COUPON_SHARE) * fraction)

    def first(what: str, fraction: float) -> None:
        if progress is not None:
            progress(what, COUPON_SHARE * fraction)

    design = design_trial(study, shop=shop, budget=1, progress=first)
    return sensitivity(study, trial_worth=design.step(1), progress=later)


def tell_worth(study: Study, plan: Plan, found: Sensitivity) -> Plan:
    """
    A plan whose words for the cheapest option say which changes would save most.

    Parameters
    ----------
    study : Study
        The study.
    plan : Plan
        Its plan.
    found : Sensitivity
        From `study_worth`.

    Returns
    -------
    Plan
        The same, told anew.
    """
    options = tuple(
        replace(each, told=plan_sentences(study, each, worth=found)) if each.name == "cheapest" else each
        for each in plan.options
    )
    return replace(plan, options=options)


def worth_block(found: Sensitivity) -> dict[str, Any]:
    """
    What improvements are worth as the block ``worth`` of a document.

    Parameters
    ----------
    found : Sensitivity
        From `study_worth`.

    Returns
    -------
    dict
        As `WorthBlock` has it.
    """
    return {
        **asdict(found),
        "gap": None if found.good is None else found.gap,
        "improvements": [{**asdict(each), "lever": each.lever.value} for each in found.improvements],
    }
