"""What the next improvement is worth, everything side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from trialcut.planning.decision.decide import choose
from trialcut.planning.eased_study import eased_study
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.sensitivity.base import Base
from trialcut.planning.sensitivity.knowing import TUBE_IS_NEW, new_tube, one_coupon, sharper_gauge
from trialcut.planning.sensitivity.prices import price_steps
from trialcut.planning.sensitivity.results import Improvement, Lever, Sensitivity
from trialcut.planning.sensitivity.told import in_words
from trialcut.planning.sensitivity.tolerances import tolerance_steps, tolerances
from trialcut.planning.study import Study
from trialcut.planning.trial_results import TrialStep

Progress = Callable[[str, float], None]


def sensitivity(
    study: Study, *, trial_worth: TrialStep | None = None, progress: Progress | None = None
) -> Sensitivity:
    """
    Find what the next improvement is worth, on a good piece and on the lot.

    Parameters
    ----------
    study : Study
        What is asked.
    trial_worth : TrialStep, optional
        A designed trial of one coupon; left out without it.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Sensitivity
        Every price ten per cent to either side, a gauge of half the uncertainty, a new tube, one coupon, and
        every ask and demand dropped, tighter and wider. Cuts are chosen on the grid of speeds, with their
        exact joint odds, and not cut in full.
    """
    say = progress or _silent
    say("looking at all cuts", 0.0)
    eased = eased_study(Preview(prepare(study)))
    base = Base(eased=eased, best=eased.cheapest({}))
    found: list[Improvement] = []
    say("prices", 0.2)
    if base.best is not None:
        rivals = [choose(each.scaled({}), asked=study.asked_odds) for each in eased.bases]
        found += price_steps(base, [each for each in rivals if each is not None])
    say("gauge and tube", 0.3)
    found += _knowing(base, trial_worth)
    wanted = tolerances(eased)
    for done, tolerance in enumerate(wanted):
        say(f"easing {tolerance.title}", 0.4 + 0.6 * done / len(wanted))
        found += tolerance_steps(base, [tolerance])
    say("done", 1.0)
    tube = any(each.lever is Lever.TUBE for each in found)
    return Sensitivity(
        currency=study.prices.currency,
        quantity=study.quantity,
        good=None if base.best is None else base.best.good,
        gap=base.gap,
        improvements=tuple(sorted((in_words(base, each) for each in found), key=_worth_most)),
        notes=() if tube else (TUBE_IS_NEW,),
    )


def _knowing(base: Base, trial_worth: TrialStep | None) -> Iterator[Improvement]:
    yield sharper_gauge(base)
    tube = new_tube(base)
    if tube is not None:
        yield tube
    coupon = None if trial_worth is None else one_coupon(base, trial_worth)
    if coupon is not None:
        yield coupon


def _worth_most(each: Improvement) -> tuple[bool, float]:
    """Sort by what is saved on the lot; where nothing held before, by what a good piece then costs."""
    if each.lot is not None:
        return not each.told, -each.lot
    return True, inf if each.good is None else each.good


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""
