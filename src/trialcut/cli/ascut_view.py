"""The as-cut part on the terminal: what gauges read on it, against what is asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite

from rich.console import Console
from rich.text import Text

from trialcut.ascut.gauge.reading import GaugeReading
from trialcut.cli.output import BAD, heading, paragraph, put, table
from trialcut.cli.study_view import show_other_findings, show_urgent
from trialcut.papers.figures import unit_of
from trialcut.papers.limits import gauge_limits
from trialcut.planning.demands import Demand
from trialcut.services import AsCutPart
from trialcut.units import Kind, format_value

FACES = (0.0, 0.5, 1.0)
PLACES = ("top", "middle", "bottom", "through")


def show_as_cut(out: Console, as_cut: AsCutPart) -> None:
    """Readings of what is demanded, then of all edges, and what is wrong."""
    study = as_cut.study
    system = study.system
    symbol = unit_of(Kind.LENGTH, system)
    show_urgent(out, as_cut.findings)
    demands = {demand.id: demand for demand in study.demands}
    asked = [reading for reading in as_cut.readings if reading.characteristic in demands]
    if asked:
        heading(out, f"What is asked, as gauges read it on the as-cut part, {symbol}")
        put(out, table(("", "limits", *PLACES), _rows(asked, demands, system), left=1))
    others = [reading for reading in as_cut.readings if reading.characteristic not in demands]
    if others:
        heading(out, f"Whatever was asked, {symbol}")
        put(out, table(("", "", *PLACES), _rows(others, demands, system), left=1))
    paragraph(out, "All parameters at their medians: the spread is in the forecast.")
    show_other_findings(out, as_cut.findings, title="Noticed on the as-cut part")


def _number(value: float | None, system: str) -> str:
    return "" if value is None else format_value(value, Kind.LENGTH, system).rpartition(" ")[0]


def _rows(
    readings: Sequence[GaugeReading], demands: dict[str, Demand], system: str
) -> Iterable[list[str | Text]]:
    """A row for each characteristic, and one for each gauge under it; of several places the worst."""
    at: dict[str, dict[str, dict[float | None, list[float]]]] = {}
    for reading in readings:
        gauges = at.setdefault(reading.characteristic, {})
        gauges.setdefault(reading.kind, {}).setdefault(reading.depth, []).append(float(reading.value))
    for name, gauges in at.items():
        demand = demands.get(name)
        limits = "" if demand is None else gauge_limits(demand, system)[1].rpartition(" ")[0]
        yield [demand.title if demand is not None else name, limits, "", "", "", ""]
        for gauge, depths in gauges.items():
            cells = (_cell(depths.get(depth, []), demand, system) for depth in (*FACES, None))
            yield [f"  {gauge}", "", *cells]


def _cell(values: Sequence[float], demand: Demand | None, system: str) -> Text:
    if not values:
        return Text("")
    worst = max(values, key=lambda value: _outside(value, demand))
    text = _number(worst, system) if isfinite(worst) else "no wall"
    return Text(text, style=BAD if not isfinite(worst) or _outside(worst, demand) > 0.0 else "")


def _outside(value: float, demand: Demand | None) -> float:
    """How far a value is outside its limits; its size where there are none."""
    if not isfinite(value):
        return float("inf")
    if demand is None:
        return -1.0 / (1.0 + abs(value))
    over = -float("inf") if demand.upper is None else value - demand.upper
    under = -float("inf") if demand.lower is None else demand.lower - value
    return max(over, under)
