"""All that a trial is designed and judged with, made once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.study import Study
from trialcut.planning.trial_candidates import Candidate, candidate_coupons, session_cost, session_time
from trialcut.planning.trial_outcomes import TrialReadings, trial_readings
from trialcut.planning.trial_study import StudyLot, study_lot
from trialcut.planning.trial_targets import TrialProblem, trial_problem
from trialcut.planning.trial_worth import WorthCurve, worth_curve
from trialcut.trials.design.exact import Design, design_of

FloatArray = NDArray[np.float64]

DRAWS = 2048
"""Most draws of a simulation."""
FEWER_DRAWS = 1024
"""The same where there are many kinds of demand."""
MANY_DEMANDS = 10
"""Kinds of demand that count as many."""
PARTS = 8
"""Parts of the draws that odds are counted in, each by itself."""
SPARE = 4
"""Cuts kept beyond those that plans were seen to take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """One kind of demand at the present plan's cut.

    Parameters
    ----------
    alike : tuple of Demand
        What it stands for.
    draws : ndarray, shape (D,)
        Its value, or the logarithm of a roughness. [m or -]
    unit : float
        By which their spread becomes one in metres. [m or -]
    """

    alike: tuple[Demand, ...]
    draws: FloatArray
    unit: float


def watched_demands(lot: StudyLot, picks: Sequence[int]) -> tuple[Watched, ...]:
    """Gather every kind of demand at the cuts that its edges have in a plan."""
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
        found.append(Watched(alike=alike, draws=draws, unit=unit))
    return tuple(found)


@dataclass(frozen=True, kw_only=True)
class TrialWork:
    """All that a design is found and judged with.

    Parameters
    ----------
    study : Study
        With as many draws as are simulated.
    lot : StudyLot
        What readings may sharpen.
    candidates : tuple of Candidate
        Coupons on offer.
    readings : TrialReadings
        What they might read.
    choice : TrialProblem
        The choice between them.
    watched : tuple of Watched
        Demands whose spread is told.
    picks : tuple of int
        Cut of each group of edges in the present plan.
    first_piece : bool
        Whether that plan rests on a corrected first piece.
    setup_cost, setup_time : float
        Of setting up for the trial. [currency, s]
    """

    study: Study
    lot: StudyLot
    candidates: tuple[Candidate, ...]
    readings: TrialReadings
    choice: TrialProblem
    watched: tuple[Watched, ...]
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

    def with_cuts_used(self, largest: Design) -> TrialWork:
        """Return the same with the cuts alone that plans take, without a trial or after the largest."""
        taken = [
            planned.picks
            for planned in self.curve([design_of(self.choice.problem, ()), largest], parts=1).plans
        ]
        first = max(0, min(int(picks.min()) for picks in taken) - SPARE)
        last = min(len(self.lot.cuts) - 1, max(int(picks.max()) for picks in taken) + SPARE)
        return replace(
            self,
            lot=replace(self.lot, lot=self.lot.lot.window(first, last), cuts=self.lot.cuts[first : last + 1]),
            picks=tuple(pick - first for pick in self.picks),
        )

    def thinned(self, step: int) -> TrialWork:
        """Return the same on every so many of the draws alone."""
        draws = np.arange(0, self.study.draws, step)
        return replace(
            self,
            lot=replace(self.lot, lot=self.lot.lot.part(draws)),
            readings=replace(self.readings, values=self.readings.values[:, draws]),
        )

    def curve(
        self, designs: Sequence[Design], *, outcomes: int | None = None, parts: int = PARTS
    ) -> WorthCurve:
        """Simulate what designs save, under a quarter as many outcomes as draws unless told otherwise."""
        return worth_curve(
            self.lot.lot,
            [self.readings.outcomes(design.picks) for design in designs],
            [self.cost(design) for design in designs],
            outcomes=outcomes or max(1, self.study.draws // 4),
            parts=parts,
        )


def prepared_work(
    study: Study,
    *,
    thicknesses: Sequence[float],
    finish_gauge: str,
    finish_uncertainty: float,
    depths: Sequence[float],
    own_setup: bool,
    seed: int,
) -> TrialWork:
    """Make ready what a trial is designed with; the arguments are those of `design_trial`."""
    study = replace(study, draws=min(study.draws, DRAWS))
    preview = Preview(prepare(study))
    lot = study_lot(preview)
    if len(lot.demands) > MANY_DEMANDS and study.draws > FEWER_DRAWS:
        study = replace(study, draws=FEWER_DRAWS)
        preview = Preview(prepare(study))
        lot = study_lot(preview)
    candidates = candidate_coupons(preview, thicknesses=thicknesses, finish_gauge=finish_gauge, depths=depths)
    readings = trial_readings(study, candidates, finish_uncertainty=finish_uncertainty, seed=seed)
    present = worth_curve(lot.lot, [None], [0.0]).plans[0]
    picks = tuple(int(rows[0]) for rows in present.picks)
    setup_time = session_time(study) if own_setup else 0.0
    return TrialWork(
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
        watched=watched_demands(lot, picks),
        picks=picks,
        first_piece=bool(present.first_piece[0]),
        setup_cost=session_cost(study) if own_setup else 0.0,
        setup_time=setup_time,
    )
