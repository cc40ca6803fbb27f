"""The values that the edges of the drawing can be painted by."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from trialcut.papers.legend import EdgeValues
from trialcut.papers.scale import ValueScale
from trialcut.planning.results import EdgeForecast, Option
from trialcut.units import Kind, format_value

SCALE = "cividis"


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """One value of an edge.

    Parameters
    ----------
    name, title : str
        In an address, and for people.
    kind : Kind
        Of the quantity.
    value : callable
        From an option and one of its edges to the value, in SI; None if the edge has none.
    """

    name: str
    title: str
    kind: Kind
    value: Callable[[Option, EdgeForecast], float | None]


def edge_odds(option: Option, edge: EdgeForecast) -> float | None:
    """Least odds among the demands that an edge takes part in, on the option's own basis."""
    odds = [
        demand.odds_corrected if option.first_piece else demand.odds
        for demand in option.forecast.demands
        if edge.id in demand.demand.edges
    ]
    return min(odds, default=None)


def largest_deviation(edge: EdgeForecast) -> float:
    """Expected deviation of the wall where it is largest. [m]"""
    walls = (edge.wall_top, edge.wall_middle, edge.wall_bottom)
    return max(abs(wall.mean - edge.stock) for wall in walls)


PAINTS = {
    paint.name: paint
    for paint in (
        Paint(name="speed", title="Speed", kind=Kind.SPEED, value=lambda _, edge: edge.speed),
        Paint(name="odds", title="Odds", kind=Kind.PLAIN, value=edge_odds),
        Paint(
            name="finish", title="Finish Ra", kind=Kind.ROUGHNESS, value=lambda _, edge: edge.finish_ra.mean
        ),
        Paint(
            name="deviation",
            title="Deviation",
            kind=Kind.LENGTH,
            value=lambda _, edge: largest_deviation(edge),
        ),
        Paint(name="time", title="Time", kind=Kind.TIME, value=lambda _, edge: edge.time),
    )
}


def painted(option: Option, paint: Paint, system: str) -> EdgeValues | None:
    """
    Values of all edges under one option.

    Parameters
    ----------
    option : Option
        What the edges are cut with.
    paint : Paint
        The value.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    EdgeValues or None
        None if no edge has the value.
    """
    values = {
        edge.id: value for edge in option.forecast.edges if (value := paint.value(option, edge)) is not None
    }
    if not values:
        return None
    unit, number = _printer(paint.kind, system)
    return EdgeValues(
        title=paint.title,
        unit=unit,
        values=values,
        number=number,
        scale=ValueScale.over(values.values(), name=SCALE),
    )


def _printer(kind: Kind, system: str) -> tuple[str, Callable[[float], str]]:
    if kind is Kind.PLAIN:
        return "%", lambda value: f"{100.0 * value:.0f}"
    if kind is Kind.TIME:
        return "s", lambda value: f"{value:.0f}" if value >= 10.0 else f"{value:.1f}"
    unit = format_value(0.0, kind, system).partition(" ")[2]
    return unit, lambda value: format_value(value, kind, system).removesuffix(unit).strip()
