"""Which coupons to cut for a study, what they are worth, and when to stop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import RangeError
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Note, Stance
from trialcut.planning.study import Study
from trialcut.planning.trial_candidates import Candidate, candidate_coupons, session_cost, session_time
from trialcut.planning.trial_outcomes import TrialReadings, trial_readings
from trialcut.planning.trial_results import ChosenCoupon, DemandSpread, TrialDesign, TrialStep
from trialcut.planning.trial_study import StudyLot, study_lot
from trialcut.planning.trial_targets import TrialProblem, trial_problem
from trialcut.planning.trial_words import listed, verdict, why_words
from trialcut.planning.trial_worth import WorthCurve, update, worth_curve
from trialcut.trials.coupons import LADDER
from trialcut.trials.design.exact import Design, design_of, design_sequence
from trialcut.trials.design.information import precision_of
from trialcut.trials.types import Trial
from trialcut.units import Kind, format_value

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]

MOST_COUPONS = 8
"""Coupons looked at where no budget is given."""
DRAWS = 1024
"""Most draws of a simulation."""
STARTS = 3
"""Of each exchange."""
PREVIEWED = 128
"""Outcomes by which rival designs of one size are told apart."""
REPEATED = "Repeats another coupon: it halves the chance of one piece and shows the scatter."
SPARE = 4
"""Cuts kept beyond those that plans were seen to take."""
FAIR = 0.25
"""Weight of a reason that another coupon has already: our own working value. [-]"""
HARDLY = 0.85
"""Spread after over before above which a trial teaches little about a demand: our own working value. [-]"""


def design_trial(
    study: Study,
    *,
    budget: int | None = None,
    thicknesses: Sequence[float] = (),
    finish_gauge: str = "",
    finish_uncertainty: float = 0.10,
    own_setup: bool = True,
    repeats_from: int | None = None,
    seed: int = 1,
    progress: Progress | None = None,
) -> TrialDesign:
    """Choose the coupons that sharpen a study's demands most, and say what they are worth.

    For 0, 1, 2, ... coupons two designs are found by exchange, the one that gains most and the one that
    gains most per minute of machine time; the one that saves more is kept. What a design saves is simulated:
    each draw in turn is taken as the truth, its coupons are read with errors, the lot is planned anew on what
    is then known, and the good pieces of that plan are priced.

    Parameters
    ----------
    study : Study
        Resolved; its knowledge is what is known before the trial.
    budget : int, optional
        Most coupons to look at; eight unless given.
    thicknesses : sequence of float
        Plates of the same material that the shop has besides. [m]
    finish_gauge : str
        What roughness is read with; it is not read without.
    finish_uncertainty : float
        Relative standard uncertainty of that. [-]
    own_setup : bool
        Whether the machine is set up for the trial alone; otherwise the lot follows in the same setting and
        setting up costs the trial nothing.
    repeats_from : int, optional
        Size from which one coupon must repeat another, so that scatter is seen.
    seed : int
        Of the simulation.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    TrialDesign
        Trials of every size, with the one that is recommended.

    Raises
    ------
    RangeError
        If the budget is negative, or the set-up cannot run.
    """
    say = progress or _silent
    most = MOST_COUPONS if budget is None else budget
    if not 0 <= most <= 10:
        raise RangeError(f"a budget of {most} coupons was given: give 0 to 10", budget=most)
    say("preparing", 0.0)
    work = _prepared(
        replace(study, draws=min(study.draws, DRAWS)),
        thicknesses=thicknesses,
        finish_gauge=finish_gauge,
        finish_uncertainty=finish_uncertainty,
        own_setup=own_setup,
        seed=seed,
    )
    say("choosing coupons", 0.2)
    rivals = [
        [
            each.improved
            for each in design_sequence(
                work.choice.problem,
                largest=most,
                seed=seed,
                starts=STARTS,
                per_cost=per_cost,
                repeats_from=repeats_from,
            )
        ]
        for per_cost in (False, True)
    ]
    say("telling rival trials apart", 0.4)
    work = work.with_cuts_used(rivals[0][-1])
    designs = _better(work, *rivals)
    say("simulating", 0.6)
    curve = work.curve(designs)
    say("writing up", 0.9)
    steps = tuple(_step(work, design, curve, place) for place, design in enumerate(designs))
    recommended = curve.best
    shown = recommended or max(range(len(steps)), key=lambda k: (k > 0, steps[k].worth))
    design = TrialDesign(
        study=study.name,
        currency=study.prices.currency,
        quantity=study.quantity,
        steps=steps,
        recommended=recommended,
        sentence=verdict(
            steps, recommended=recommended, currency=study.prices.currency, quantity=study.quantity
        ),
        cannot_teach=_cannot_teach(work, steps[shown], finish_gauge=finish_gauge) if most else (),
        seed=seed,
        notes=_notes(work),
    )
    say("done", 1.0)
    return design


def trial_of_design(
    design: TrialDesign,
    study: Study,
    *,
    trial_id: str,
    session: str,
    tube: str = "",
    tube_hours: float | None = None,
    lot: str = "",
    count: int | None = None,
) -> Trial:
    """Make a trial of the coupons chosen.

    Parameters
    ----------
    design : TrialDesign
        From `design_trial`.
    study : Study
        The same.
    trial_id : str
        ``"T7"``; coupons are named after it, ``"T7-1"``, in the order in which they are cut.
    session : str
        Day and letter.
    tube, lot : str
        As marked; those of the study unless given.
    tube_hours : float, optional
        Jet-on time that the tube has behind it; that of the study unless given. [s]
    count : int, optional
        Coupons; as recommended unless given.

    Returns
    -------
    Trial
        Ready for the book and the papers.

    Raises
    ------
    RangeError
        If so many coupons were not looked at.
    """
    wanted = design.recommended if count is None else count
    if not 0 <= wanted < len(design.steps):
        raise RangeError(
            f"a trial of {wanted} coupons was asked for, and up to {len(design.steps) - 1} were looked at:"
            " design it anew with a larger budget",
            count=wanted,
        )
    coupons = tuple(
        replace(each.coupon, id=f"{trial_id}-{number}")
        for number, each in enumerate(design.steps[wanted].coupons, start=1)
    )
    context = study.context
    return Trial(
        id=trial_id,
        machine=study.setup_names.get("machine", study.machine.name),
        head=study.setup_names.get("head", ""),
        session=session,
        tube=tube or context.tube,
        tube_hours=context.tube_hours if tube_hours is None else tube_hours,
        tube_bore_new=study.tube_bore_new or study.setup.tube_bore,
        lot=lot or context.lot,
        setup=study.setup,
        coupons=coupons,
        study=study.name,
    )


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""


@dataclass(frozen=True, kw_only=True)
class _Work:
    """All that a design is found and judged with."""

    study: Study
    lot: StudyLot
    candidates: tuple[Candidate, ...]
    readings: TrialReadings
    choice: TrialProblem
    watched: tuple[_Watched, ...]
    picks: tuple[int, ...]
    first_piece: bool
    setup_cost: float
    setup_time: float

    def cost(self, design: Design) -> float:
        """Of a trial. [currency]"""
        own = sum(self.candidates[pick].cost for pick in design.picks)
        return own + self.setup_cost if design.picks else 0.0

    def machine_time(self, design: Design) -> float:
        """Of a trial. [s]"""
        own = sum(self.candidates[pick].machine_time for pick in design.picks)
        return own + self.setup_time if design.picks else 0.0

    def with_cuts_used(self, largest: Design) -> _Work:
        """Return the same with the cuts alone that plans take, without a trial or after the largest."""
        taken = [planned.picks for planned in self.curve([design_of(self.choice.problem, ()), largest]).plans]
        first = max(0, min(int(picks.min()) for picks in taken) - SPARE)
        last = min(len(self.lot.cuts) - 1, max(int(picks.max()) for picks in taken) + SPARE)
        return replace(
            self,
            lot=replace(self.lot, lot=self.lot.lot.window(first, last), cuts=self.lot.cuts[first : last + 1]),
            picks=tuple(pick - first for pick in self.picks),
        )

    def curve(self, designs: Sequence[Design], *, outcomes: int = 512) -> WorthCurve:
        """Simulate what designs save."""
        return worth_curve(
            self.lot.lot,
            [self.readings.outcomes(design.picks) for design in designs],
            [self.cost(design) for design in designs],
            outcomes=outcomes,
        )


def _prepared(
    study: Study,
    *,
    thicknesses: Sequence[float],
    finish_gauge: str,
    finish_uncertainty: float,
    own_setup: bool,
    seed: int,
) -> _Work:
    preview = Preview(prepare(study))
    lot = study_lot(preview)
    candidates = candidate_coupons(preview, thicknesses=thicknesses, finish_gauge=finish_gauge)
    readings = trial_readings(study, candidates, finish_uncertainty=finish_uncertainty, seed=seed)
    present = worth_curve(lot.lot, [None], [0.0]).plans[0]
    picks = tuple(int(rows[0]) for rows in present.picks)
    setup_time = session_time(study) if own_setup else 0.0
    return _Work(
        study=study,
        lot=lot,
        candidates=candidates,
        readings=readings,
        choice=trial_problem(
            lot,
            candidates,
            readings,
            picks=picks,
            first_piece=bool(present.first_piece[0]),
            session_time=setup_time,
        ),
        watched=_watched(lot, picks),
        picks=picks,
        first_piece=bool(present.first_piece[0]),
        setup_cost=session_cost(study) if own_setup else 0.0,
        setup_time=setup_time,
    )


def _better(work: _Work, first: Sequence[Design], second: Sequence[Design]) -> list[Design]:
    """Of two designs of each size keep the one that is worth more."""
    different = [k for k, (a, b) in enumerate(zip(first, second, strict=True)) if a.picks != b.picks]
    if not different:
        return list(first)
    nothing = design_of(work.choice.problem, ())
    rivals = [nothing, *(first[k] for k in different), *(second[k] for k in different)]
    worths = [each.worth for each in work.curve(rivals, outcomes=PREVIEWED).worths[1:]]
    kept = list(first)
    for place, k in enumerate(different):
        if worths[place + len(different)] > worths[place]:
            kept[k] = second[k]
    return kept


def _step(work: _Work, design: Design, curve: WorthCurve, place: int) -> TrialStep:
    worth = curve.worths[place]
    return TrialStep(
        coupons=_coupons(work, design),
        machine_time=work.machine_time(design),
        cost=worth.cost,
        saving=worth.saving,
        saving_error=worth.saving_error,
        price=worth.price,
        odds=worth.odds,
        spreads=_spreads(work, design),
    )


def _coupons(work: _Work, design: Design) -> tuple[ChosenCoupon, ...]:
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


def _reasons(work: _Work, design: Design) -> dict[int, str]:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Watched:
    """One kind of demand at the present plan's cut: its value under the draws, and the unit of that. [m]"""

    alike: tuple[Demand, ...]
    draws: FloatArray
    unit: float


def _watched(lot: StudyLot, picks: Sequence[int]) -> tuple[_Watched, ...]:
    found = []
    for place, (alike, condition) in enumerate(zip(lot.demands, lot.lot.now, strict=True)):
        row = next(
            pick for group, pick in zip(lot.lot.groups, picks, strict=True) if place in group.conditions
        )
        draws, unit = condition.spread[row], 1.0
        if condition.centre is not None:
            draws = condition.centre[row] + 0.5 * draws
        if alike[0].kind is DemandKind.FINISH:
            unit = float(np.exp(np.median(draws)))
        found.append(_Watched(alike=alike, draws=draws, unit=unit))
    return tuple(found)


def _spreads(work: _Work, design: Design) -> tuple[DemandSpread, ...]:
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


def _cannot_teach(work: _Work, step: TrialStep, *, finish_gauge: str) -> tuple[str, ...]:
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


def _other_plate(work: _Work, coupon: ChosenCoupon) -> bool:
    return abs(coupon.thickness - work.study.setup.thickness) > 1e-9


def _notes(work: _Work) -> tuple[Note, ...]:
    basis = "after a corrected first piece" if work.first_piece else "as known now"
    return (
        Note(
            "trial-worth",
            f"The present plan holds {basis}; savings are those of this lot alone: what the trial teaches for"
            " later work is not in them.",
        ),
    )
