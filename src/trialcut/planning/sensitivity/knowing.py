"""What a sharper gauge, a new tube, and one more coupon are worth."""

from __future__ import annotations

from dataclasses import replace

from trialcut.planning.eased_study import Priced, eased_study
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.sensitivity.base import Base
from trialcut.planning.sensitivity.results import Improvement, Lever
from trialcut.planning.study import Gauge, Study
from trialcut.planning.trial_results import TrialStep
from trialcut.trials.knowledge import Context, FittedKnowledge

SHARPER = 0.5
"""Uncertainty of the sharper gauge, over the present one. [-]"""
TUBE_IS_NEW = "No worth of a new mixing tube: the tube is taken as new."


def sharper_gauge(base: Base) -> Improvement:
    """Return what half the gauge's uncertainty is worth."""
    gauge = base.study.gauge
    found = _decided(base, replace(base.study, gauge=_sharpened(gauge)))
    return base.improvement(Lever.GAUGE, f"gauge '{gauge.name}'", "half the uncertainty", found)


def new_tube(base: Base) -> Improvement | None:
    """Return what a new mixing tube is worth; None where the present one is taken as new."""
    study = base.study
    worn = study.tube_bore_given and 0.0 < study.tube_bore_new < study.setup.tube_bore
    if not worn:
        return None
    context = replace(study.context, tube="", tube_hours=0.0)
    found = _decided(base, _with_tube(study, context))
    return base.improvement(Lever.TUBE, "mixing tube", "a new one", found)


def one_coupon(base: Base, step: TrialStep) -> Improvement | None:
    """Return what a first coupon is worth, as simulated; None where nothing can be compared."""
    if base.best is None:
        return None
    quantity = base.study.quantity
    saving = step.saving / quantity
    return Improvement(
        lever=Lever.TRIAL,
        title="one trial coupon" if step.count == 1 else f"trial of {step.count} coupons",
        change="cut, read and fitted",
        good=base.best.good - saving,
        saving=saving,
        share=saving / base.best.good,
        lot=step.saving - step.cost,
        cost=step.cost,
        told=abs(step.worth) > step.saving_error,
    )


def _decided(base: Base, study: Study) -> Priced | None:
    known = () if base.best is None else (base.best,)
    return eased_study(Preview(prepare(study))).cheapest({}, known=known)


def _sharpened(gauge: Gauge) -> Gauge:
    def half(value: float | None) -> float | None:
        return None if value is None else SHARPER * value

    return replace(
        gauge,
        standard_uncertainty=SHARPER * gauge.standard_uncertainty,
        resolution=half(gauge.resolution),
        largest_error=half(gauge.largest_error),
        repeatability=half(gauge.repeatability),
        inside_extra=SHARPER * gauge.inside_extra,
    )


def _with_tube(study: Study, context: Context) -> Study:
    knowledge = study.knowledge
    if isinstance(knowledge, FittedKnowledge):
        knowledge = replace(knowledge, context=context)
    return replace(
        study,
        setup=replace(study.setup, tube_bore=study.tube_bore_new),
        context=context,
        knowledge=knowledge,
    )
