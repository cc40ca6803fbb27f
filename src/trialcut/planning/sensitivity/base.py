"""The cut that all improvements are held against."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from trialcut.planning.eased_study import EasedStudy, Priced
from trialcut.planning.sensitivity.results import Improvement, Lever
from trialcut.planning.study import Study

EQUAL = 1e-6
"""Share of a cost within which two are the same, whatever is proven. [-]"""


@dataclass(frozen=True, kw_only=True)
class Base:
    """A study, all its thinkable cuts, and the cheapest of them.

    Parameters
    ----------
    eased : EasedStudy
        Every cut, under any tolerances.
    best : Priced or None
        The cheapest that holds; None where none does.
    """

    eased: EasedStudy
    best: Priced | None

    @property
    def study(self) -> Study:
        """What is asked."""
        return self.eased.preview.prepared.study

    @property
    def gap(self) -> float:
        """Proven gap of the cheapest; infinite where nothing holds. [-]"""
        return inf if self.best is None else self.best.decision.gap

    def saving(self, good: float | None) -> float | None:
        """Return what is saved on a good piece; None where there is nothing to compare. [currency]"""
        return None if good is None or self.best is None else self.best.good - good

    def told(self, found: Priced | None) -> bool:
        """Say whether two costs differ by more than their proven gaps leave open."""
        if found is None or self.best is None:
            return found is not self.best
        known = max(self.gap, found.decision.gap, EQUAL)
        return abs(self.best.good - found.good) > known * self.best.good

    def improvement(
        self,
        lever: Lever,
        title: str,
        change: str,
        found: Priced | None,
        *,
        demands: tuple[str, ...] = (),
    ) -> Improvement:
        """Return what a change is worth that leads to another cheapest cut."""
        good = None if found is None else found.good
        saving = self.saving(good)
        return Improvement(
            lever=lever,
            title=title,
            change=change,
            demands=demands,
            good=good,
            saving=saving,
            share=None if saving is None or self.best is None else saving / self.best.good,
            lot=None if saving is None else saving * self.study.quantity,
            told=self.told(found),
        )
