"""Rival set-ups for one study, each planned quickly and put in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from trialcut.errors import TrialcutError
from trialcut.planning.decision.decide import cost_of_decision, decide
from trialcut.planning.part_time import piece_time
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Spread
from trialcut.planning.study import Study

Progress = Callable[[str, float], None]

FEW_DRAWS = 512
"""Draws of the first look at every set-up."""
FINAL = 4
"""Set-ups that are looked at again with all draws."""


@dataclass(frozen=True, kw_only=True)
class SetupTried:
    """One set-up and what it would give.

    Parameters
    ----------
    study : Study
        The enquiry on it.
    good : Spread or None
        Cost of a piece that holds every demand; None where hardly any does, or where it cannot run.
    time : float
        Of one piece. [s]
    odds : float
        That a piece holds, on the basis that decided. [-]
    first_piece : bool
        It rests on measuring and correcting a first piece.
    holds : bool
        The odds asked for are reached.
    refused : str
        Why it cannot run; empty if it can.
    """

    study: Study
    good: Spread | None = None
    time: float = float("nan")
    odds: float = 0.0
    first_piece: bool = False
    holds: bool = False
    refused: str = ""


def rank_setups(studies: Sequence[Study], *, progress: Progress | None = None) -> tuple[SetupTried, ...]:
    """
    Plan one enquiry on rival set-ups, and put them in order.

    Parameters
    ----------
    studies : sequence of Study
        The enquiry on each set-up.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    tuple of SetupTried
        Those that hold first, cheapest good piece first; then those that do not, likeliest first; those that
        cannot run last. All are looked at with few draws, the best again with all; parts are not cut in full.
    """
    say = progress or _silent
    total = len(studies) + FINAL
    coarse = []
    for number, study in enumerate(studies):
        say("trying set-ups", number / total)
        few = min(study.draws, FEW_DRAWS)
        coarse.append(replace(_tried(replace(study, draws=few)), study=study))
    coarse.sort(key=_order)
    fine = []
    for number, each in enumerate(coarse[:FINAL]):
        say("looking again at the best", (len(studies) + number) / total)
        fine.append(each if each.refused else _tried(each.study))
    say("done", 1.0)
    return (*sorted(fine, key=_order), *coarse[FINAL:])


def _silent(_what: str, _fraction: float) -> None:
    """Take no notice."""


def _tried(study: Study) -> SetupTried:
    try:
        decision = decide(Preview(prepare(study)), checked=False)
    except TrialcutError as refusal:
        return SetupTried(study=study, refused=str(refusal))
    time = piece_time(decision.part)
    return SetupTried(
        study=study,
        good=cost_of_decision(decision, time).good,
        time=float((time.cutting + time.piercing + time.traverse).mean()),
        odds=decision.odds,
        first_piece=decision.first_piece,
        holds=decision.odds >= study.asked_odds,
    )


def _order(tried: SetupTried) -> tuple[bool, bool, float]:
    worth = -tried.odds if not tried.holds or tried.good is None else tried.good.mean
    return (bool(tried.refused), not tried.holds, worth)
