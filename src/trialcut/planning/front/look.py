"""The cheapest cuts that hold under some tolerances, all widths from one look at every thinkable cut."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from trialcut.planning.decision.decide import choose, cost_of_decision
from trialcut.planning.decision.eased import EasedChoices, eased_choices
from trialcut.planning.decision.found import Decision, evaluated
from trialcut.planning.decision.problem import Decisions, Ground, ground_of
from trialcut.planning.decision.programme import quick_choices
from trialcut.planning.front.types import Held
from trialcut.planning.part_time import piece_time
from trialcut.planning.preview import Preview
from trialcut.planning.results import Spread, Stance

Masks = tuple[NDArray[np.bool_], ...]


@dataclass(frozen=True, kw_only=True)
class Look:
    """Every thinkable cut of a study, on both bases.

    Parameters
    ----------
    preview : Preview
        Of the study.
    ground : Ground
        What both bases share.
    bases : tuple of EasedChoices
        After a corrected first piece, and as known now.
    """

    preview: Preview
    ground: Ground
    bases: tuple[EasedChoices, ...]

    @property
    def asked(self) -> float:
        """Joint odds asked for. [-]"""
        return self.preview.prepared.study.asked_odds

    def only(self, stance: Stance | None) -> tuple[Masks | None, ...]:
        """Return, for each basis, the choices of one stance; None for all."""
        if stance is None:
            return (None,) * len(self.bases)
        return tuple(
            tuple(np.array([each.stance is stance for each in choices]) for choices in base.laid_out.choices)
            for base in self.bases
        )

    def holds(self, widths: Mapping[str, float], *, stance: Stance | None = None) -> bool:
        """Say whether any cut holds under some tolerances: at a quick look, or after a thorough one."""
        laid_out = [base.scaled(widths) for base in self.bases]
        masks = self.only(stance)
        return any(
            self._holds_at_once(each, keep) for each, keep in zip(laid_out, masks, strict=True)
        ) or any(
            choose(each, asked=self.asked, keep=keep) is not None
            for each, keep in zip(laid_out, masks, strict=True)
        )

    def _holds_at_once(self, laid_out: Decisions, keep: Masks | None) -> bool:
        found = quick_choices(laid_out.problem(asked=self.asked, keep=keep))
        if found is None:
            return False
        cuts = laid_out.cuts(found.picks)
        trial = evaluated(self.preview, cuts, first_piece=laid_out.corrected, widths=laid_out.widths)
        return trial.odds >= self.asked

    def cheapest(
        self, widths: Mapping[str, float], *, stance: Stance | None = None, known: Iterable[Held] = ()
    ) -> Held | None:
        """
        Find the cuts whose good pieces cost least under some tolerances.

        Parameters
        ----------
        widths : mapping
            Demand id to how many times as wide its tolerance is taken, infinite to leave it out. [-]
        stance : Stance, optional
            Of every edge.
        known : iterable of Held
            Found under narrower tolerances: what holds them holds these, so that nothing dearer is returned.

        Returns
        -------
        Held or None
            None where no cut holds.
        """
        found: list[Decision] = []
        for base, keep in zip(self.bases, self.only(stance), strict=True):
            decision = choose(base.scaled(widths), asked=self.asked, keep=keep)
            if decision is not None:
                found.append(decision)
        held = [each for decision in found if (each := _held(decision)) is not None]
        least = min((each.good.mean for each in held), default=inf)
        for before in known:
            if before.good.mean <= least:
                again = evaluated(
                    self.preview,
                    dict(before.decision.part.assignment),
                    first_piece=before.decision.first_piece,
                    gap=before.decision.gap,
                    widths=widths,
                )
                held += [each for each in [_held(again)] if each is not None and again.odds >= self.asked]
        return min(held, key=lambda each: each.good.mean, default=None)


def look_at(preview: Preview) -> Look:
    """Look at every thinkable cut of a study, once."""
    ground = ground_of(preview)
    bases = tuple(eased_choices(ground, corrected=corrected) for corrected in (True, False))
    return Look(preview=preview, ground=ground, bases=bases)


def _held(decision: Decision) -> Held | None:
    time = piece_time(decision.part)
    cost = cost_of_decision(decision, time)
    if cost.good is None:
        return None
    whole = Spread.of(time.cutting + time.traverse + time.piercing)
    return Held(decision=decision, good=cost.good, each=cost.each, time=whole)
