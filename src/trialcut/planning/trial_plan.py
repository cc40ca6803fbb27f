"""Which coupons to cut for a study, what they are worth, and when to stop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from trialcut.errors import RangeError
from trialcut.planning.study import Study
from trialcut.planning.trial_results import TrialDesign
from trialcut.planning.trial_telling import cannot_teach, trial_notes, trial_step
from trialcut.planning.trial_words import verdict
from trialcut.planning.trial_work import TrialWork, prepared_work
from trialcut.trials.design.exact import Design, design_of, design_sequence
from trialcut.trials.intake.form import USUAL_DEPTHS
from trialcut.trials.types import Trial

Progress = Callable[[str, float], None]

MOST_COUPONS = 8
"""Coupons looked at where no budget is given."""
STARTS = 3
"""Of each exchange."""
PREVIEWED, THINNED = 128, 4
"""Outcomes by which rival designs of one size are told apart, and on which of so many draws each."""


def design_trial(
    study: Study,
    *,
    budget: int | None = None,
    thicknesses: Sequence[float] = (),
    finish_gauge: str = "",
    finish_uncertainty: float = 0.10,
    depths: Sequence[float] = USUAL_DEPTHS,
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
    depths : sequence of float
        At which sizes will be read, as fractions of the thickness; the form must ask for the same. [-]
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
    work = prepared_work(
        study,
        thicknesses=thicknesses,
        finish_gauge=finish_gauge,
        finish_uncertainty=finish_uncertainty,
        depths=depths,
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
    steps = tuple(trial_step(work, design, curve, place) for place, design in enumerate(designs))
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
        cannot_teach=cannot_teach(work, steps[shown], finish_gauge=finish_gauge) if most else (),
        seed=seed,
        notes=trial_notes(work),
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


def _better(work: TrialWork, first: Sequence[Design], second: Sequence[Design]) -> list[Design]:
    """Of two designs of each size keep the one that is worth more."""
    different = [k for k, (a, b) in enumerate(zip(first, second, strict=True)) if a.picks != b.picks]
    if not different:
        return list(first)
    nothing = design_of(work.choice.problem, ())
    rivals = [nothing, *(first[k] for k in different), *(second[k] for k in different)]
    curve = work.thinned(THINNED).curve(rivals, outcomes=PREVIEWED, parts=1)
    worths = [each.worth for each in curve.worths[1:]]
    kept = list(first)
    for place, k in enumerate(different):
        if worths[place + len(different)] > worths[place]:
            kept[k] = second[k]
    return kept
