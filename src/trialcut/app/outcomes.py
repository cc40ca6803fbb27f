"""Demands as rows of a table: what is asked alike of many edges stands on one row, by its worst."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from trialcut.planning.demands import DemandKind
from trialcut.planning.results import DemandForecast

FEW = 3
"""So many demands that are alike still stand on rows of their own."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One row.

    Parameters
    ----------
    title : str
        Which demand, or how many and where the worst of them is.
    worst : DemandForecast
        The least likely.
    count : int
        How many demands the row stands for.
    """

    title: str
    worst: DemandForecast
    count: int


def outcomes(forecasts: Iterable[DemandForecast]) -> list[Outcome]:
    """
    Rows of a table, the least likely first.

    Parameters
    ----------
    forecasts : iterable of DemandForecast
        As a forecast has them.

    Returns
    -------
    list of Outcome
        A size has a row of its own; other demands share one with those of the same words.
    """
    alike: dict[tuple[str, ...], list[DemandForecast]] = {}
    for each in sorted(forecasts, key=lambda forecast: forecast.odds):
        demand = each.demand
        key = (demand.id,) if demand.kind is DemandKind.SIZE else (demand.kind, demand.text)
        alike.setdefault(key, []).append(each)
    rows = []
    for group in alike.values():
        if len(group) <= FEW:
            rows += [Outcome(each.demand.title, each, 1) for each in group]
        else:
            worst = group[0]
            where = "–".join(worst.demand.edges)
            title = f"{worst.demand.kind}, {len(group)} times, worst at {where}"
            rows.append(Outcome(title, worst, len(group)))
    return sorted(rows, key=lambda row: row.worst.odds)
