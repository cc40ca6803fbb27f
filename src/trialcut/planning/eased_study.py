"""The cheapest way to cut a part under tolerances other than those asked, and whether there is one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import inf

from trialcut.planning.decision.decide import choose, cost_of_decision
from trialcut.planning.decision.eased import EasedChoices, eased_choices
from trialcut.planning.decision.fails import on_walls
from trialcut.planning.decision.found import Decision, evaluated
from trialcut.planning.decision.problem import ground_of
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.limit_words import eased_limits, half_width
from trialcut.planning.preview import Preview


@dataclass(frozen=True, kw_only=True)
class Priced:
    """A way to cut the part, with what a good piece of it costs. [currency]"""

    decision: Decision
    good: float


@dataclass(frozen=True, kw_only=True)
class DemandUnit:
    """Demands that nobody would ease apart: of one kind, with the same limits, on edges cut alike.

    Parameters
    ----------
    demands : tuple of Demand
        A size stands alone.
    """

    demands: tuple[Demand, ...]

    @property
    def ids(self) -> tuple[str, ...]:
        """Of its demands."""
        return tuple(demand.id for demand in self.demands)

    @property
    def title(self) -> str:
        """Name for people: ``"finish of A1 and A3"``."""
        first = self.demands[0]
        if len(self.demands) == 1:
            return first.title
        if first.kind is DemandKind.CORNER:
            return f"corners {named(['/'.join(demand.edges) for demand in self.demands])}"
        edges = [edge for demand in self.demands for edge in demand.edges]
        return f"{first.title.removesuffix(' and '.join(first.edges))}{named(edges)}"


@dataclass(frozen=True, kw_only=True)
class EasedStudy:
    """A study whose every thinkable cut has been looked at, on both bases.

    Parameters
    ----------
    preview : Preview
        Of the study.
    bases : tuple of EasedChoices
        After a corrected first piece, and as known now.
    """

    preview: Preview
    bases: tuple[EasedChoices, ...]
    _held: dict[frozenset[tuple[str, float]], bool] = field(default_factory=dict)

    @property
    def asked(self) -> float:
        """Joint odds asked for. [-]"""
        return self.preview.prepared.study.asked_odds

    def holds(self, widths: Mapping[str, float]) -> bool:
        """Say whether any thinkable cut holds what is asked under some tolerances, on either basis."""
        key = frozenset(widths.items())
        if key not in self._held:
            self._held[key] = any(
                choose(base.scaled(widths), asked=self.asked) is not None for base in self.bases
            )
        return self._held[key]

    def cheapest(self, widths: Mapping[str, float], *, known: Iterable[Priced] = ()) -> Priced | None:
        """
        Find the cut whose good pieces cost least under some tolerances.

        Parameters
        ----------
        widths : mapping
            Demand id to how many times as wide its tolerance is taken, infinite to drop it. [-]
        known : iterable of Priced
            Cuts found under narrower tolerances; none that is dearer is returned.

        Returns
        -------
        Priced or None
            None where no cut holds.
        """
        found = [choose(base.scaled(widths), asked=self.asked) for base in self.bases]
        for each in known:
            again = evaluated(
                self.preview,
                dict(each.decision.part.assignment),
                first_piece=each.decision.first_piece,
                gap=each.decision.gap,
                widths=widths,
            )
            found.append(again if again.odds >= self.asked else None)
        priced = [_priced(decision) for decision in found if decision is not None]
        return min((each for each in priced if each is not None), key=lambda each: each.good, default=None)

    def units(self) -> tuple[DemandUnit, ...]:
        """Return what can be eased: all demands that walls or corners decide, those alike together."""
        units: dict[tuple[object, ...], list[Demand]] = {}
        for place, group in enumerate(self.bases[0].laid_out.groups):
            for demand in on_walls(group):
                if can_be_eased(demand):
                    units.setdefault((place, *likeness(demand)), []).append(demand)
        for demand in self.preview.prepared.study.demands:
            if demand.kind is DemandKind.CORNER and can_be_eased(demand):
                units.setdefault(likeness(demand), []).append(demand)
        return tuple(DemandUnit(demands=tuple(demands)) for demands in units.values())


def eased_study(preview: Preview) -> EasedStudy:
    """Look at every thinkable cut of a study, once."""
    ground = ground_of(preview)
    bases = tuple(eased_choices(ground, corrected=corrected) for corrected in (True, False))
    return EasedStudy(preview=preview, bases=bases)


def dropped(demands: Iterable[Demand]) -> dict[str, float]:
    """Return the widths that drop some demands."""
    return {demand.id: inf for demand in demands}


def with_width(demand: Demand, width: float) -> Demand:
    """Return a demand with another width, for what its limits alone decide: how corners are passed."""
    lower, upper = eased_limits(demand, width)
    return replace(demand, lower=lower, upper=upper)


def likeness(demand: Demand) -> tuple[object, ...]:
    """Return what demands share that are eased together; a size shares nothing with another."""
    own = demand.id if demand.kind is DemandKind.SIZE else ""
    return demand.kind, demand.text, demand.lower, demand.upper, demand.finish_is_rms, demand.depth, own


def can_be_eased(demand: Demand) -> bool:
    """Say whether a demand has a tolerance: stock for a later operation has none."""
    return demand.kind is not DemandKind.LATER and half_width(demand) > 0.0


def named(names: list[str]) -> str:
    """Join names, of many only the first: ``"A1, A2 and 5 more"``."""
    if len(names) == 1:
        return names[0]
    if len(names) <= 4:
        return f"{', '.join(names[:-1])} and {names[-1]}"
    return f"{names[0]}, {names[1]} and {len(names) - 2} more"


def _priced(decision: Decision) -> Priced | None:
    good = cost_of_decision(decision).good
    return None if good is None else Priced(decision=decision, good=good.mean)
