"""Where nothing holds: the smallest set of demands in conflict, and the price of easing each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from math import inf

from trialcut.planning.conflict_results import Conflicting, Conflicts, Easing
from trialcut.planning.demands import Demand
from trialcut.planning.eased_study import DemandUnit, EasedStudy, can_be_eased, dropped, eased_study, named
from trialcut.planning.limit_words import limit_words, written_widths
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_value

WIDEST = 64.0
"""Widest easing that is looked for: beyond it a demand is as good as dropped. [-]"""
FACTOR_STEP = 0.05
"""Step of a common factor. [-]"""
MOST_SETS = 80
"""Sets of demands that are tried for a smaller conflict."""


def conflicts(asked: Preview | Study | EasedStudy) -> Conflicts | None:
    """
    Find which demands stand in each other's way.

    Parameters
    ----------
    asked : Preview, Study or EasedStudy
        What is asked.

    Returns
    -------
    Conflicts or None
        None where all demands can be held together at the odds asked for.

    Notes
    -----
    Demands that no thinkable cut holds by itself come first: each of them is a conflict of one. Where there
    is none, demands are left out as long as the rest is still in conflict (a deletion filter, by halves);
    what stays is irreducible. Smaller sets are then looked for one by one where they are few.
    """
    study = asked if isinstance(asked, EasedStudy) else eased_study(_preview(asked))
    if study.holds({}):
        return None
    units = study.units()
    if not _hold(study, units, ()):
        return _not_through(study)
    alone = [unit for unit in units if not _hold(study, units, (unit,))]
    kept, smallest = (alone, True) if alone else _least_set(study, units)
    found = tuple(
        Conflicting(
            title=unit.title,
            demands=unit.ids,
            asked=limit_words(unit.demands[0], study.preview.prepared.study.system),
            easing=_easing(study, unit.demands, unit.title),
        )
        for unit in kept
    )
    asks = _asks(study, kept)
    none_helps = not asks and all(one.easing is None for one in found)
    result = Conflicts(
        alone=bool(alone),
        demands=found,
        asks=asks,
        together=_together(study, kept) if none_helps else None,
        currency=study.preview.prepared.study.prices.currency,
        smallest=smallest,
        sentences=(),
    )
    return replace(result, sentences=_sentences(study, result))


def _preview(asked: Preview | Study) -> Preview:
    return asked if isinstance(asked, Preview) else Preview(prepare(asked))


def _hold(study: EasedStudy, units: Sequence[DemandUnit], kept: Iterable[DemandUnit]) -> bool:
    """Say whether some of the units can be held together, all others dropped."""
    ids = {name for unit in kept for name in unit.ids}
    return study.holds(dropped(demand for unit in units for demand in unit.demands if demand.id not in ids))


def _least_set(study: EasedStudy, units: Sequence[DemandUnit]) -> tuple[list[DemandUnit], bool]:
    """Return a set in conflict of which none can be left out, and whether none is smaller."""
    kept = _irreducible(study, units, list(units))
    tried = 0
    for size in range(2, len(kept)):
        for some in combinations(units, size):
            tried += 1
            if tried > MOST_SETS:
                return kept, False
            if not _hold(study, units, some):
                return list(some), True
    return kept, True


def _irreducible(study: EasedStudy, units: Sequence[DemandUnit], kept: list[DemandUnit]) -> list[DemandUnit]:
    """Leave out blocks of units while the rest is in conflict, then halves of them, then one by one."""
    block = max(len(kept) // 2, 1)
    while True:
        start = 0
        while start < len(kept):
            rest = kept[:start] + kept[start + block :]
            if _hold(study, units, rest):
                start += block
            else:
                kept = rest
        if block == 1:
            return kept
        block = max(min(block // 2, len(kept) // 2), 1)


def _easing(study: EasedStudy, demands: Sequence[Demand], title: str) -> Easing | None:
    """Return the least written width of some demands, eased alike, at which all holds."""
    if not study.holds(dropped(demands)):
        return None
    system = study.preview.prepared.study.system
    tightest = max(demands, key=lambda demand: written_widths(demand, system)[0])
    step, low = written_widths(tightest, system)

    def widths(count: int) -> dict[str, float]:
        return {demand.id: count * step * (1.0 + 1e-9) for demand in demands}

    low, high = low - 1, low
    while not study.holds(widths(high)):
        low, high = high, 2 * high
        if high * step > WIDEST:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        if study.holds(widths(middle)):
            high = middle
        else:
            low = middle
    best = study.cheapest(widths(high))
    return Easing(
        title=title,
        demands=tuple(demand.id for demand in demands),
        width=high * step,
        asked=limit_words(tightest, system),
        limits=limit_words(tightest, system, width=high * step),
        good=inf if best is None else best.good,
    )


def _asks(study: EasedStudy, kept: Sequence[DemandUnit]) -> tuple[Easing, ...]:
    """Return the whole asks, as written, whose easing everywhere makes all hold."""
    found = []
    units = {unit.ids for unit in kept}
    for text in dict.fromkeys(demand.text for unit in kept for demand in unit.demands):
        demands = [
            demand
            for demand in study.preview.prepared.study.demands
            if demand.text == text and can_be_eased(demand)
        ]
        if not text or tuple(demand.id for demand in demands) in units:
            continue
        easing = _easing(study, demands, f"'{text}'")
        if easing is not None:
            found.append(easing)
    return tuple(sorted(found, key=lambda each: each.good))


def _not_through(study: EasedStudy) -> Conflicts:
    """Nothing holds although nothing is asked: the jet does not surely cut through, or stock is short."""
    asked = study.preview.prepared.study
    return Conflicts(
        alone=False,
        demands=(),
        asks=(),
        together=None,
        currency=asked.prices.currency,
        smallest=True,
        sentences=(
            f"No tolerance is to blame: without any of them still no speed of the grid cuts the part out, or "
            f"leaves stock enough, with odds of {format_odds(asked.asked_odds)}.",
        ),
    )


def _together(study: EasedStudy, kept: Sequence[DemandUnit]) -> Easing | None:
    """Return the least easing of all that is in conflict, by one factor everywhere, at which all holds."""
    texts = {demand.text for unit in kept for demand in unit.demands}
    demands = [each for each in study.preview.prepared.study.demands if each.text in texts]
    demands = [each for each in demands if can_be_eased(each)]
    low, high = round(1.0 / FACTOR_STEP), round(WIDEST / FACTOR_STEP)

    def widths(count: int) -> dict[str, float]:
        return dict.fromkeys((demand.id for demand in demands), count * FACTOR_STEP)

    if not study.holds(widths(high)):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if study.holds(widths(middle)):
            high = middle
        else:
            low = middle
    best = study.cheapest(widths(high))
    return Easing(
        title="all of them",
        demands=tuple(demand.id for demand in demands),
        width=high * FACTOR_STEP,
        asked="1.00",
        limits=f"{high * FACTOR_STEP:.2f} times as wide as asked",
        good=inf if best is None else best.good,
    )


def _sentences(study: EasedStudy, found: Conflicts) -> tuple[str, ...]:
    odds, names = format_odds(study.asked), _names(found.demands)
    if found.alone:
        said = [f"No cut that this jet can make holds {names} with odds of {odds}, whatever else is asked."]
    elif len(found.demands) > 1:
        said = [f"Each can be held by itself, but not together with odds of {odds}: {names}."]
    else:
        said = [f"Nothing holds {names} with odds of {odds}."]
    helping = [one for one in found.demands if one.easing is not None]
    said += [_easing_words(study, one.title, one.easing, "alone") for one in helping if one.easing]
    if not helping:
        which = "any one of them" if len(found.demands) > 1 else "it"
        said.append(f"No easing of {which} alone helps.")
    else:
        said += [
            f"{_capital(one.title)}: no easing of this one alone helps."
            for one in found.demands
            if one.easing is None
        ]
    said += [_easing_words(study, each.title, each, "everywhere") for each in found.asks]
    if found.together is not None:
        said.append(_easing_words(study, "all that is in conflict", found.together, "together"))
    elif not helping and not found.asks:
        said.append("More must change than these: another set-up, or edges that are machined later.")
    return tuple(said)


def _easing_words(study: EasedStudy, title: str, easing: Easing, how: str) -> str:
    prices = study.preview.prepared.study.prices
    good = format_value(easing.good, Kind.MONEY, "metric", unit=prices.currency)
    eased = f"eased {how} from {easing.asked} to {easing.limits}"
    return f"{_capital(title)}, {eased}: all holds, at {good} a good piece."


def _names(found: Sequence[Conflicting]) -> str:
    """Name demands with their limits, of many alike only the first."""
    alike: dict[str, list[str]] = {}
    for each in found:
        alike.setdefault(each.asked, []).append(each.title)
    names = [f"{named(titles)} ({asked})" for asked, titles in alike.items()]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
