"""What every tolerance costs, and what a wider one would save."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf, isfinite

from trialcut.planning.decision.found import evaluated
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.eased_study import EasedStudy, Priced, can_be_eased, eased_study, with_width
from trialcut.planning.limit_words import limit_words
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.sensitivity.base import Base
from trialcut.planning.sensitivity.results import EasedStep, Improvement, Lever

TIGHTER = 0.8
"""The narrower tolerance that is tried, over the one asked. [-]"""
WIDER = (1.25, 1.5, 2.0)
"""The wider ones. [-]"""


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """Demands that are eased together: those alike on edges cut alike, or all of one ask."""

    lever: Lever
    title: str
    demands: tuple[Demand, ...]

    @property
    def ids(self) -> tuple[str, ...]:
        """Of its demands."""
        return tuple(demand.id for demand in self.demands)


def tolerances(eased: EasedStudy) -> tuple[Tolerance, ...]:
    """Return every ask that is on more than one thing, and everything that it is on."""
    units = [Tolerance(lever=Lever.DEMAND, title=unit.title, demands=unit.demands) for unit in eased.units()]
    known = {frozenset(unit.ids) for unit in units}
    asks = []
    demands = [each for each in eased.preview.prepared.study.demands if can_be_eased(each)]
    for text in dict.fromkeys(demand.text for demand in demands if demand.text):
        own = tuple(demand for demand in demands if demand.text == text)
        if frozenset(demand.id for demand in own) not in known:
            asks.append(Tolerance(lever=Lever.ASK, title=f"'{text}'", demands=own))
    return (*asks, *units)


def tolerance_steps(base: Base, wanted: Sequence[Tolerance]) -> Iterator[Improvement]:
    """
    Decide anew without each tolerance, and with each tighter and wider.

    Parameters
    ----------
    base : Base
        With the cheapest cut, if any holds.
    wanted : sequence of Tolerance
        What is eased.

    Yields
    ------
    Improvement
        Its saving is that of dropping the tolerance: what it costs.
    """
    for each in wanted:
        yield _improvement(base, each)


def _improvement(base: Base, tolerance: Tolerance) -> Improvement:
    system = base.study.system
    first = tolerance.demands[0]
    known = () if base.best is None else (base.best,)
    without = _cheapest(base, tolerance, inf, known)
    steps: list[tuple[float, Priced | None]] = [(TIGHTER, _tighter(base, tolerance))]
    if base.told(without):
        for width in WIDER:
            found = _cheapest(base, tolerance, width, known)
            known = known if found is None else (found,)
            steps.append((width, found))
        without = _cheapest(base, tolerance, inf, [*known, *([without] if without else [])])
    found_steps = tuple(
        EasedStep(
            width=width,
            limits=limit_words(first, system, width=width),
            good=None if found is None else found.good,
            saving=base.saving(None if found is None else found.good),
            told=base.told(found),
        )
        for width, found in steps
    )
    made = base.improvement(tolerance.lever, tolerance.title, "dropped", without, demands=tolerance.ids)
    tight = found_steps[0].saving
    return replace(made, steps=found_steps, worse=None if tight is None else 0.0 - tight)


def _tighter(base: Base, tolerance: Tolerance) -> Priced | None:
    """Return the cheapest cut under the tighter tolerance, never cheaper than as asked."""
    if base.best is None:
        return None
    if not _on_corners(tolerance):
        best = base.best.decision
        widths = dict.fromkeys(tolerance.ids, TIGHTER)
        again = evaluated(
            base.eased.preview,
            dict(best.part.assignment),
            first_piece=best.first_piece,
            gap=best.gap,
            widths=widths,
        )
        if again.odds == best.odds:
            return base.best
    found = _cheapest(base, tolerance, TIGHTER, ())
    return None if found is None else replace(found, good=max(found.good, base.best.good))


def _cheapest(base: Base, tolerance: Tolerance, width: float, known: Sequence[Priced]) -> Priced | None:
    if not _on_corners(tolerance):
        return base.eased.cheapest(dict.fromkeys(tolerance.ids, width), known=known)
    ids = set(tolerance.ids)
    demands = tuple(
        with_width(demand, width) if demand.id in ids else demand
        for demand in base.study.demands
        if isfinite(width) or demand.id not in ids
    )
    other = eased_study(Preview(prepare(replace(base.study, demands=demands))))
    return other.cheapest({}, known=known)


def _on_corners(tolerance: Tolerance) -> bool:
    """Corners limit speeds on the path, which a width alone does not change: they are prepared anew."""
    return any(demand.kind is DemandKind.CORNER for demand in tolerance.demands)
