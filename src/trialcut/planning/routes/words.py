"""Routes in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from trialcut.planning.operations import OperationKind
from trialcut.planning.results import Spread, Stance
from trialcut.planning.routes.results import FinishedGroup, Route
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value


def route_steps(study: Study, groups: Sequence[FinishedGroup], sawn: bool) -> tuple[str, ...]:
    """Return what is done in which order, a sentence each.

    Parameters
    ----------
    study : Study
        Its unit system and operations.
    groups : sequence of FinishedGroup
        Of the route.
    sawn : bool
        The jet cuts nothing.
    """
    steps, order = [], [edge.id for edge in study.part.edges]
    cut = [group for group in groups if group.speed is not None]
    if sawn:
        saw = next((each.name for each in study.operations if each.kind is OperationKind.SAW), None)
        steps.append(f"Start from a blank{f' off the {saw}' if saw else ''}.")
    else:
        steps.append(f"Jet {'; '.join(_jetted(study, group) for group in cut)}.")
    for operation in study.operations:
        on = {edge for group in groups if operation.name in group.operations for edge in group.edges}
        if on:
            named = _named([edge for edge in order if edge in on])
            steps.append(f"{operation.name.capitalize()} at the {operation.station}: {named}.")
    burrs = {each.name for each in study.operations if each.burrs}
    deburr = next((each for each in study.operations if each.kind is OperationKind.DEBURR), None)
    left = {edge for group in groups if burrs & set(group.operations) for edge in group.edges}
    if deburr is not None and left:
        named = _named([edge for edge in order if edge in left])
        steps.append(f"{deburr.name.capitalize()} at the {deburr.station}: {named}.")
    return tuple(steps)


def _jetted(study: Study, group: FinishedGroup) -> str:
    if group.speed is None or group.stance is None:
        raise TypeError(group.edges)
    head = "tilted" if group.stance is Stance.TILTED else "upright"
    text = f"{_named(group.edges)} at {format_value(group.speed, Kind.SPEED, study.system)}, {head}"
    if group.operations:
        left = format_value(group.stock, Kind.LENGTH, study.system, spread=0.1 * group.stock)
        text += f", leaving {left}"
    return text


def _named(edges: Sequence[str]) -> str:
    if len(edges) > 6:
        return f"{', '.join(edges[:5])} and {len(edges) - 5} more"
    return ", ".join(edges)


def comparison_words(routes: Sequence[Route], *, currency: str) -> tuple[str, ...]:
    """Say which route costs least, by how much, and why others do not lead there."""
    able = [route for route in routes if not route.refused and route.good is not None]
    told = []
    if able:
        first = able[0]
        told.append(f"Cheapest: {_lower(first.title)}, {_money(first.good, currency)} for a good piece.")
        told += [_against(first, other) for other in able[1:]]
    else:
        told.append("No route leads to the part with the odds asked.")
    told += [f"{route.title}: {route.refused}." for route in routes if route.refused]
    return tuple(told)


def _against(first: Route, other: Route) -> str:
    if first.good is None or other.good is None:
        raise TypeError(other.name)
    if first.groups and first.groups == other.groups:
        return f"{other.title} comes to the same."
    more = other.good.mean / first.good.mean - 1.0
    gap = max(first.gap, other.gap)
    if more <= gap:
        return f"{other.title} is not told apart from it: the search proves no more than {100.0 * gap:.1f} %."
    return f"{other.title} costs {100.0 * more:.0f} % more, at odds of {format_odds(other.odds)}."


def _money(amount: Spread | None, currency: str) -> str:
    if amount is None:
        return "-"
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency)


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]
