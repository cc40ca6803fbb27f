"""A plan and a forecast on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import degrees, isfinite
from pathlib import Path

from rich.console import Console
from rich.text import Text

from trialcut.cli.output import BAD, GOOD, bullets, heading, money, paragraph, put, table
from trialcut.cli.study_view import show_head, show_notes, show_other_findings, show_urgent
from trialcut.papers.figures import exact, fixed, uncertain, unit_of
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.planning.demands import DemandKind
from trialcut.planning.results import (
    Cost,
    DemandForecast,
    EdgeForecast,
    Forecast,
    Judged,
    Option,
    Plan,
    Spread,
    Stance,
)
from trialcut.planning.study import Study
from trialcut.planning.telling import gap_words
from trialcut.units import Kind, format_odds, format_spread, format_value
from trialcut.units.table import Unit, printed_unit


def show_plan(out: Console, study: Study, plan: Plan, chosen: Option) -> None:
    """The options side by side, and one of them edge by edge."""
    show_head(out, study)
    show_urgent(out, (*study.drawing.findings, *chosen.forecast.path.findings))
    heading(out, f"Options, asked to hold with odds of {format_odds(plan.asked_odds)}")
    _show_options(out, study, plan.options)
    if plan.conflicts is not None:
        heading(out, "What is in conflict")
        bullets(out, plan.conflicts.sentences, mark="!", style=BAD)
    heading(out, f"Option '{chosen.name}': {chosen.title}")
    paragraph(out, chosen.summary)
    heading(out, "In words")
    bullets(out, chosen.told)
    show_forecast_blocks(out, study, chosen.forecast)
    rate = format_value(plan.abrasive_rate_of_least_cost, Kind.MASS_FLOW, study.system)
    heading(out, "Money")
    _show_cost(out, study, chosen.forecast)
    paragraph(out, f"Abrasive rate of least cost per length of cut: {rate}")
    show_notes(out, (*study.notes, *plan.notes, *chosen.forecast.notes), chosen.forecast.edges)
    show_other_findings(out, study.drawing.findings)


def show_forecast(out: Console, study: Study, forecast: Forecast) -> None:
    """A forecast at one speed."""
    show_head(out, study)
    show_urgent(out, (*study.drawing.findings, *forecast.path.findings))
    heading(out, "Forecast")
    put(out, table(["", ""], [(name, cell(forecast)) for name, cell in _summary(study)], left=1))
    show_forecast_blocks(out, study, forecast)
    heading(out, "Money")
    _show_cost(out, study, forecast)
    show_notes(out, (*study.notes, *forecast.notes), forecast.edges)
    show_other_findings(out, study.drawing.findings)


def show_forecast_blocks(out: Console, study: Study, forecast: Forecast) -> None:
    """What each demand and each edge is expected to come to."""
    if forecast.demands:
        heading(out, "What is asked, and what to expect")
        _show_demands(out, study, forecast.demands)
    heading(out, "Edge by edge")
    _show_edges(out, study, forecast.edges)


def show_papers(out: Console, papers: Sequence[Path]) -> None:
    """Where the papers lie."""
    heading(out, "Papers")
    for path in papers:
        out.print(Text(f"  {path}"), soft_wrap=True)


def _summary(study: Study) -> list[tuple[str, Callable[[Forecast], Text | str]]]:
    asked = study.asked_odds
    return [
        ("Odds now", lambda each: _odds(each.joint_odds, asked)),
        ("  after first piece", lambda each: _odds(each.joint_odds_corrected, asked)),
        ("Time for one", lambda each: _time(each.time.total)),
        ("  of it cutting", lambda each: _time(each.time.cutting)),
        ("Cost of one", lambda each: _money(each.cost.each, each.cost.currency)),
        ("  of a good one", lambda each: _good(each.cost)),
        ("Cost of the lot", lambda each: _money(each.cost.lot, each.cost.currency)),
        ("Speeds", lambda each: _speeds(each.edges, study.system)),
        ("Head", lambda each: _stances(each.edges)),
    ]


def _show_options(out: Console, study: Study, options: Sequence[Option]) -> None:
    rows: list[list[str | Text]] = [
        ["Holds what it must", *(_holds(option) for option in options)],
        ["Within", *(_nearness(option) for option in options)],
        *([name, *(cell(option.forecast) for option in options)] for name, cell in _summary(study)),
    ]
    put(out, table(["", *(option.name for option in options)], rows))


def _holds(option: Option) -> Text:
    if option.holds:
        return Text("after first piece" if option.first_piece else "yes", style=GOOD)
    return Text("no", style=BAD)


def _nearness(option: Option) -> str:
    return f"{gap_words(option.gap)} of the best" if isfinite(option.gap) else "not proven"


def _good(cost: Cost) -> str:
    return "-" if cost.good is None else _money(cost.good, cost.currency)


def _odds(odds: float, asked: float) -> Text:
    return Text(format_odds(odds), style=GOOD if odds >= asked else BAD)


def _time(time: Spread) -> str:
    return format_value(time.mean, Kind.TIME, "metric", spread=time.sd or None)


def _money(amount: Spread, currency: str) -> str:
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency)


def _speeds(edges: Sequence[EdgeForecast], system: str) -> str:
    slow, fast = min(edge.speed for edge in edges), max(edge.speed for edge in edges)
    text = format_value(fast, Kind.SPEED, system)
    return text if slow == fast else f"{format_value(slow, Kind.SPEED, system).partition(' ')[0]} – {text}"


def _stances(edges: Sequence[EdgeForecast]) -> str:
    tilted = sum(edge.stance is Stance.TILTED for edge in edges)
    return (
        "upright" if not tilted else "tilted" if tilted == len(edges) else f"{tilted} of {len(edges)} tilted"
    )


def _show_demands(out: Console, study: Study, demands: Sequence[DemandForecast]) -> None:
    system, asked = study.system, study.asked_odds
    rows = []
    for each, count in _worst_of_a_kind(demands):
        demand = each.demand
        values = _means([each.top, each.middle, each.bottom], demand_unit(demand, system))
        rows.append(
            (
                demand.title if count == 1 else f"{demand.title}, the worst of {count}",
                gauge_limits(demand, system)[1],
                values[0],
                values[-1],
                _odds(each.odds, asked),
                _odds(each.odds_corrected, asked),
            )
        )
    headers = ["demand", "limits", "top", "bottom", "odds\nnow", "odds after\nfirst piece"]
    put(out, table(headers, rows))
    judged = [_judged(each.demand.title, each.judged, system) for each in demands if each.judged]
    if judged:
        out.print()
        bullets(out, judged)
    short = [each for each in demands if each.shortfall]
    if short:
        out.print()
        bullets(out, (_shortfall(each) for each in short), mark="!", style=BAD)


def _worst_of_a_kind(demands: Sequence[DemandForecast]) -> list[tuple[DemandForecast, int]]:
    """Sizes one by one; of every other kind with the same limit only the worst, and how many there are."""
    groups: dict[object, list[DemandForecast]] = {}
    for each in demands:
        demand = each.demand
        if demand.kind is DemandKind.SIZE:
            groups[demand.id] = [each]
        elif demand.kind is not DemandKind.LATER:
            alike = (demand.kind, demand.text, demand.lower, demand.upper, demand.finish_is_rms)
            groups.setdefault(alike, []).append(each)
    return [(min(group, key=_closeness), len(group)) for group in groups.values()]


def _closeness(each: DemandForecast) -> tuple[float, float]:
    upper = each.demand.upper or 1.0
    return (each.odds, -max(each.top.mean, each.middle.mean, each.bottom.mean) / upper)


def _judged(title: str, judged: Judged, system: str) -> str:
    band = format_value(judged.band, Kind.LENGTH, system, spread=0.5 * judged.band)
    return (
        f"{title}, as the gauge reads it, limits drawn in by {band}: {100.0 * judged.consumer:.1f} % "
        f"accepted though bad, {100.0 * judged.producer:.1f} % rejected though good"
    )


def _shortfall(each: DemandForecast) -> str:
    text = f"{each.demand.title}: {each.shortfall}"
    return f"{text}. What would help: {'; '.join(each.remedies)}" if each.remedies else text


def _means(spreads: Sequence[Spread], unit: Unit) -> list[str]:
    """Means alone, with the digits that their standard deviations justify."""
    return [cell.partition(" ± ")[0] for cell in uncertain(spreads, unit)]


def _show_edges(out: Console, study: Study, edges: Sequence[EdgeForecast]) -> None:
    system = study.system
    length, speed, finish = (unit_of(kind, system) for kind in (Kind.LENGTH, Kind.SPEED, Kind.ROUGHNESS))
    headers = [
        "edge",
        f"length\n{length}",
        f"speed\n{speed}",
        "tilt\n°",
        f"offset\n{length}",
        f"wall top\n{length}",
        f"bottom\n{length}",
        f"finish\nRa {finish}",
        "held by",
    ]
    lengths = printed_unit(Kind.LENGTH, system)
    rows = zip(
        [edge.id for edge in edges],
        exact((edge.length for edge in edges), Kind.LENGTH, system),
        exact((edge.speed for edge in edges), Kind.SPEED, system),
        [fixed(degrees(edge.tilt), 2) if edge.stance is Stance.TILTED else "-" for edge in edges],
        exact((edge.offset for edge in edges), Kind.LENGTH, system),
        _means([edge.wall_top for edge in edges], lengths),
        _means([edge.wall_bottom for edge in edges], lengths),
        _means([edge.finish_ra for edge in edges], printed_unit(Kind.ROUGHNESS, system)),
        [edge.binds for edge in edges],
        strict=True,
    )
    made = table(headers, rows)
    made.columns[-1].justify = "left"
    made.columns[-1].no_wrap = False
    put(out, made)


def _show_cost(out: Console, study: Study, forecast: Forecast) -> None:
    cost = forecast.cost
    rows = [(line.name, money(line.each.mean, cost.currency), line.basis) for line in cost.lines]
    made = table(["for one piece", "", ""], rows)
    made.columns[-1].justify = "left"
    made.columns[-1].no_wrap = False
    put(out, made)
    each, lot = _money(cost.each, cost.currency), _money(cost.lot, cost.currency)
    paragraph(out, f"{each} for one, {lot} for {study.quantity}")
