"""A plan in sentences: how the part is cut and why, what it costs, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from trialcut.planning.demands import DemandKind
from trialcut.planning.limit_words import limit_words, with_article
from trialcut.planning.results import EdgeForecast, Option, Spread, Stance
from trialcut.planning.sensitivity.results import Lever, Sensitivity
from trialcut.planning.sensitivity.told import percent
from trialcut.planning.study import Study
from trialcut.planning.trial_words import edge_words
from trialcut.units import Kind, format_odds, format_spread, format_value

MOST_GROUPS = 5
"""Groups of edges that are told one by one."""
MOST_LINES = 2
"""Lines of the price that are told."""
MOST_CHANGES = 3
"""Changes that are told."""
TELL_TIME = 0.5
"""Time at corners below which it is only said to be less. [s]"""
BASIS = ("no-readings", "fitted")
"""Notes that say what a forecast rests on."""


def plan_sentences(study: Study, option: Option, *, worth: Sensitivity | None = None) -> tuple[str, ...]:
    """
    Tell an option in plain trade English.

    Parameters
    ----------
    study : Study
        What is asked; for a blank the demands of a blank.
    option : Option
        One of its plan.
    worth : Sensitivity, optional
        What improvements are worth; the two or three that would save most are then told.

    Returns
    -------
    tuple of str
        How every group of edges is cut and what holds it back, the odds and their basis, how near to the best
        the choice is, what a good piece costs, where time goes, how corners are passed, what it rests on.
    """
    return (
        *_groups(study, option),
        _odds(study, option),
        _nearness(option),
        *_money(option),
        _time(study, option),
        *_corners(study, option),
        *(note.message for note in option.forecast.notes if note.code in BASIS),
        *_changes(worth),
    )


def _groups(study: Study, option: Option) -> Iterator[str]:
    """Say how edges are cut, those alike together, the slowest first."""
    groups: dict[tuple[float, Stance, str], list[EdgeForecast]] = {}
    for edge in option.forecast.edges:
        held = "where its walls err least" if option.name == "accurate" else _holder(study, option, edge)
        groups.setdefault((edge.speed, edge.stance, held), []).append(edge)
    told = sorted(groups.items(), key=lambda item: item[0][0])
    for (speed, stance, held), edges in told[:MOST_GROUPS]:
        names = edge_words([edge.id for edge in edges])
        verb = "is" if len(edges) == 1 else "are"
        at = format_value(speed, Kind.SPEED, study.system)
        why = held if len(edges) == 1 else held.replace(" its ", " their ")
        yield f"{names[:1].upper()}{names[1:]} {verb} cut at {at}, {stance.value}, {why}."
    left = [edge for (_, _, _), edges in told[MOST_GROUPS:] for edge in edges]
    if left:
        slow = format_value(min(edge.speed for edge in left), Kind.SPEED, study.system)
        fast = format_value(max(edge.speed for edge in left), Kind.SPEED, study.system)
        yield f"The other {len(left)} edges are cut faster, at {slow} to {fast}."


def _holder(study: Study, option: Option, edge: EdgeForecast) -> str:
    """Say what holds the speed of an edge down."""
    demands = {each.demand.id: each.demand for each in option.forecast.demands}
    if any(note.code == "held-by-lag" for note in edge.notes):
        return "held back by the lag on its arc"
    demand = demands.get(edge.binds)
    if demand is None:
        return _tied(option, edge) or "held back by nothing that is asked"
    if demand.kind is DemandKind.LATER:
        return "held back by the stock that the later operation needs"
    if demand.kind is not DemandKind.SIZE and demand.edges == (edge.id,):
        return f"held back by its {demand.kind.value}, {limit_words(demand, study.system)}"
    return f"held back by {with_article(demand.title)}, {limit_words(demand, study.system)}"


def _tied(option: Option, edge: EdgeForecast) -> str:
    """Say which demand keeps an edge at the speed of another that is held back; empty if none does."""
    for each in option.forecast.demands:
        if edge.id in each.demand.edges:
            others = [option.forecast.edge(name) for name in each.demand.edges if name != edge.id]
            if any(other.binds and other.speed == edge.speed for other in others):
                return f"kept at that speed by {with_article(each.demand.title)}"
    return ""


def _odds(study: Study, option: Option) -> str:
    found = option.forecast
    asked = format_odds(study.asked_odds)
    if option.first_piece:
        text = (
            f"The first piece is measured and offset and tilt are corrected by it: then a piece holds "
            f"everything with odds of {format_odds(found.joint_odds_corrected)}, {asked} asked; uncorrected "
            f"it would with {format_odds(found.joint_odds)}"
        )
    else:
        text = (
            f"No first piece is needed: a piece holds everything with odds of "
            f"{format_odds(found.joint_odds)} as known now, {asked} asked"
        )
    return f"{text}." if option.holds else f"{text}. It does not hold what it must."


def _nearness(option: Option) -> str:
    if not isfinite(option.gap):
        return "How near this is to the best choice is not proven."
    what = "errs less" if option.name == "accurate" else "costs less"
    return f"On the grid of speeds no choice {what} by more than {gap_words(option.gap)}, which is proven."


def gap_words(gap: float) -> str:
    """Say a proven gap, rounded up: ``"0.7 %"``."""
    tenths = max(1, int(-(-1000.0 * gap // 1.0)))
    return f"{tenths / 10.0:.1f} %"


def _money(option: Option) -> Iterator[str]:
    cost = option.forecast.cost
    each = cost.each.mean
    if cost.good is None:
        yield (
            f"A piece as cut costs {_amount(cost.each, cost.currency)}; hardly any piece is good, so that no "
            "price of a good one is given."
        )
    else:
        again = cost.good.mean - each
        yield (
            f"A good piece costs {_amount(cost.good, cost.currency)}, of which "
            f"{percent(again / cost.good.mean)} is for pieces that fail and are cut again."
        )
    largest = sorted(cost.lines, key=lambda line: -line.each.mean)[:MOST_LINES]
    said = " and ".join(f"{line.name} is {percent(line.each.mean / each)}" for line in largest)
    yield f"Of what a piece costs as cut, {said}."


def _time(study: Study, option: Option) -> str:
    time = option.forecast.time
    total, cutting = (
        format_value(each.mean, Kind.TIME, study.system, spread=each.sd or None)
        for each in (time.total, time.cutting)
    )
    text = f"One piece takes {total}, {cutting} of it cutting"
    if time.slow > 0.0 and time.cutting.mean > 0.0:
        share = percent(time.slow / time.cutting.mean)
        text += f"; corners, arcs and getting up to speed are {share} of the cutting"
    return f"{text}."


def _corners(study: Study, option: Option) -> Iterator[str]:
    corners = option.forecast.corners
    if not corners:
        return
    looped = sum(corner.looped for corner in corners)
    slowed = len(corners) - looped
    count = f"{len(corners)} corner{'s' if len(corners) > 1 else ''}"
    if not looped:
        lost = sum(corner.slow_time for corner in corners)
        time = format_value(max(lost, TELL_TIME), Kind.TIME, study.system, spread=TELL_TIME)
        time = time if lost >= TELL_TIME else f"less than {time}"
        yield f"At {count} the jet slows down, which takes {time} a piece."
    elif not slowed:
        yield f"The jet runs past {count} and loops in the scrap."
    else:
        yield f"Of {count} the jet runs past {looped} and loops in the scrap; at {slowed} it slows down."


def _changes(worth: Sensitivity | None) -> Iterator[str]:
    """Say which changes would save most: tolerances one at a time, gauge, tube, trial; not prices."""
    if worth is None or worth.good is None:
        return
    able = worth.of(Lever.ASK, Lever.DEMAND, Lever.GAUGE, Lever.TUBE, Lever.TRIAL)
    saving = [each for each in able if each.told and (each.lot or 0.0) > 0.0][:MOST_CHANGES]
    yield from (each.sentence for each in saving)


def _amount(amount: Spread, currency: str) -> str:
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency)
