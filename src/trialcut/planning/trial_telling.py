"""What is told of a trial: its coupons and their reasons, spreads before and after, what it cannot teach."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.demands import DemandKind
from trialcut.planning.results import Note, Stance
from trialcut.planning.trial_results import ChosenCoupon, DemandSpread, TrialStep
from trialcut.planning.trial_words import listed, why_words
from trialcut.planning.trial_work import TrialWork
from trialcut.planning.trial_worth import WorthCurve, update
from trialcut.trials.coupons import LADDER
from trialcut.trials.design.exact import Design
from trialcut.trials.design.information import precision_of
from trialcut.units import Kind, format_value

FloatArray = NDArray[np.float64]

REPEATED = "Repeats another coupon: it halves the chance of one piece and shows the scatter."
FAIR = 0.25
"""Weight of a reason that another coupon has already: our own working value. [-]"""
HARDLY = 0.85
"""Spread after over before above which a trial teaches little about a demand: our own working value. [-]"""


def trial_step(work: TrialWork, design: Design, curve: WorthCurve, place: int) -> TrialStep:
    """Tell of one trial, which stands at a place of the curve."""
    worth = curve.worths[place]
    return TrialStep(
        coupons=chosen_coupons(work, design),
        machine_time=work.machine_time(design),
        cost=worth.cost,
        saving=worth.saving,
        saving_error=worth.saving_error,
        price=worth.price,
        odds=worth.odds,
        spreads=demand_spreads(work, design),
    )


def chosen_coupons(work: TrialWork, design: Design) -> tuple[ChosenCoupon, ...]:
    """Return the coupons in the order in which they are cut."""
    order = np.random.default_rng(work.readings.seed).permutation(len(design.picks))
    reasons = _reasons(work, design)
    chosen: list[ChosenCoupon] = []
    seen: set[int] = set()
    for place in order.tolist():
        pick = design.picks[place]
        candidate = work.candidates[pick]
        chosen.append(
            ChosenCoupon(
                coupon=candidate.coupon,
                kind=candidate.coupon.kind,
                speed=candidate.speed,
                stance=candidate.stance,
                thickness=candidate.coupon.thickness,
                session="1",
                repeat=pick in seen,
                why=REPEATED if pick in seen else reasons[pick],
                lines=candidate.lines,
                machine_time=candidate.machine_time,
                cost=candidate.cost,
            )
        )
        seen.add(pick)
    return tuple(chosen)


def _reasons(work: TrialWork, design: Design) -> dict[int, str]:
    """Say of each coupon what would be lost most without it, another thing for each where that is fair."""
    rows = work.choice.aspect_rows
    size = rows.shape[1]

    def variances(picks: Sequence[int]) -> FloatArray:
        covariance = np.linalg.inv(precision_of(work.choice.problem, picks))[:size, :size]
        return np.asarray(np.einsum("kp,pq,kq->k", rows, covariance, rows))

    before, with_all = variances(()), variances(design.picks)
    # a share of what was unknown at first, so that what the coupons hardly touch does not count
    share = 1.0 / np.where(before > 0.0, before, np.inf)
    lost = {
        pick: (variances([each for each in design.picks if each != pick]) - with_all) * share
        for pick in sorted(set(design.picks))
    }
    taken: set[int] = set()
    said = {}
    for pick in sorted(lost, key=lambda each: -float(lost[each].max())):
        left = np.where(np.isin(np.arange(len(before)), list(taken)), FAIR * lost[pick], lost[pick])
        aspect = int(np.argmax(left))
        taken.add(aspect)
        said[pick] = why_words(
            work.choice.aspects[aspect], kind=work.candidates[pick].coupon.kind, system=work.study.system
        )
    return said


def demand_spreads(work: TrialWork, design: Design) -> tuple[DemandSpread, ...]:
    """Compare the spread of every kind of demand before and after a trial."""
    if not work.watched:
        return ()
    before = np.stack([each.draws for each in work.watched])
    after = update(before, work.readings.outcomes(design.picks)).left
    return tuple(
        DemandSpread(
            demand=each.alike[0].id,
            title=each.alike[0].title,
            alike=len(each.alike),
            before=each.unit * float(old.std()),
            after=each.unit * float(new.std()),
        )
        for each, old, new in zip(work.watched, before, after, strict=True)
    )


def cannot_teach(work: TrialWork, step: TrialStep, *, finish_gauge: str) -> tuple[str, ...]:
    """Say what stays unknown after a trial."""
    said = []
    demands = work.study.demands
    finish = any(demand.kind is DemandKind.FINISH for demand in demands)
    if finish and not finish_gauge:
        said.append("The finish: nothing to read roughness with is named, so no coupon tells it.")
    dull = [
        each.title
        for each, alike in zip(step.spreads, work.lot.demands, strict=True)
        if each.after > HARDLY * each.before and not (alike[0].kind is DemandKind.FINISH and not finish_gauge)
    ]
    if dull:
        said.append(f"Little about {listed(dull[:4])}{' and others' if len(dull) > 4 else ''}.")
    if any(demand.kind is DemandKind.CORNER for demand in demands):
        said.append("The corners: what the lag leaves there is told by the coupons' lag at best.")
    blocks = [each for each in step.coupons if each.kind != LADDER and not _other_plate(work, each)]
    cuts = [work.lot.cuts[pick] for pick in work.picks]
    if any(cut.stance is Stance.TILTED for cut in cuts) and not any(
        each.stance is Stance.TILTED for each in blocks
    ):
        said.append("How true the head's tilt is: no coupon is cut tilted.")
    if blocks:
        slowest, fastest = min(each.speed for each in blocks), max(each.speed for each in blocks)
        if any(not 0.99 * slowest <= cut.speed <= 1.01 * fastest for cut in cuts):
            ends = [format_value(each, Kind.SPEED, work.study.system) for each in (slowest, fastest)]
            between = ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
            said.append(f"Speeds away from {between}: beyond the coupons' speeds the model's form decides.")
    if not any(each.repeat for each in step.coupons):
        said.append("How much pieces differ among themselves: no coupon is repeated.")
    said.append("How the machine differs from day to day: all coupons are cut in one session.")
    return tuple(said)


def _other_plate(work: TrialWork, coupon: ChosenCoupon) -> bool:
    return abs(coupon.thickness - work.study.setup.thickness) > 1e-9


def trial_notes(work: TrialWork) -> tuple[Note, ...]:
    """Say what the figures rest on."""
    basis = "after a corrected first piece" if work.first_piece else "as known now"
    return (
        Note(
            "trial-worth",
            f"The present plan holds {basis}; savings are those of this lot alone: what the trial teaches for"
            " later work is not in them.",
        ),
    )
