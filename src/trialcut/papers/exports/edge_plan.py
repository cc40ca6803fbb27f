"""The plan of every edge as rows of numbers, for hand-off to the shop's own toolpath program."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import StringIO

from trialcut.planning.results import EdgeForecast, Forecast
from trialcut.units import Kind, System, format_value
from trialcut.units.table import printed_unit


@dataclass(frozen=True, slots=True)
class Number:
    """One number of an edge's plan.

    Parameters
    ----------
    name : str
        For headings.
    kind : Kind
        Of quantity.
    read : callable
        Takes it from the forecast. [SI]
    """

    name: str
    kind: Kind
    read: Callable[[EdgeForecast], float]


NUMBERS = (
    Number("speed", Kind.SPEED, lambda edge: edge.speed),
    Number("offset", Kind.LENGTH, lambda edge: edge.offset),
    Number("tilt", Kind.ANGLE, lambda edge: edge.tilt),
    Number("lead", Kind.ANGLE, lambda edge: edge.lead),
    Number("stock", Kind.LENGTH, lambda edge: edge.stock),
    Number("aim shift", Kind.LENGTH, lambda edge: edge.shift),
    Number("length", Kind.LENGTH, lambda edge: edge.length),
    Number("time", Kind.TIME, lambda edge: edge.time),
)
"""In the order in which they are given."""


def group_of(edge: EdgeForecast, system: str) -> str:
    """
    Name of the group of edges that are cut alike: stance and speed in words.

    Parameters
    ----------
    edge : EdgeForecast
        Of the plan.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    str
        ``"upright 5.9 in per min"``: nothing in it that a layer's name must not have.
    """
    speed = format_value(edge.speed, Kind.SPEED, system).replace("/", " per ")
    return f"{edge.stance.value} {speed}"


def edge_plan_csv(forecast: Forecast, *, system: str) -> str:
    """
    Plan of every edge as comma-separated values, units in the heading, both unit systems side by side.

    Parameters
    ----------
    forecast : Forecast
        Of the option.
    system : str
        ``"inch"`` or ``"metric"``: which comes first.

    Returns
    -------
    str
        One line an edge, in the order of the part.
    """
    other = System.METRIC if System(system) is System.INCH else System.INCH
    columns = [
        (number, each)
        for number in NUMBERS
        for each in (system, other.value)
        if each == system or _unit(number, system) != _unit(number, each)
    ]
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(
        ("edge", "contour", "group", "stance", *(f"{n.name} [{_unit(n, each)}]" for n, each in columns))
    )
    for edge in forecast.edges:
        table.writerow(
            (
                edge.id,
                edge.contour,
                group_of(edge, system),
                edge.stance.value,
                *(_plain(number, edge, each) for number, each in columns),
            )
        )
    return text.getvalue()


def numbers_of(edge: EdgeForecast, system: str) -> Iterator[tuple[str, str]]:
    """Names and values with units of an edge's plan, in the words of a study's system."""
    for number in NUMBERS:
        yield number.name, format_value(number.read(edge), number.kind, system)


def _unit(number: Number, system: str) -> str:
    return printed_unit(number.kind, system).symbol


def _plain(number: Number, edge: EdgeForecast, system: str) -> str:
    unit = printed_unit(number.kind, system)
    return f"{number.read(edge) / unit.factor:.{unit.decimals}f}"
