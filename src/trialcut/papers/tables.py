"""The tables of a cut sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.figures import exact, fixed, uncertain, unit_of
from trialcut.papers.house import amount, currency_sign
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.papers.words import capital, say, sentence
from trialcut.planning.demands import Demand
from trialcut.planning.results import DemandForecast, Forecast, Spread
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value
from trialcut.units.table import GALLON, printed_unit

_LITRE = 1e-3
_KILOWATT_HOUR = 3.6e6
_EDGE = "\0"
"""Stands for the edge in a demand's title while equal rows are gathered."""
_LENGTH_DECIMALS = {"in": 3, "mm": 2}


def edge_table(forecast: Forecast, system: str) -> Table:
    """What every edge is cut with, and what it will be like; the stock only where some is left."""
    edges = forecast.edges
    length, roughness = printed_unit(Kind.LENGTH, system), printed_unit(Kind.ROUGHNESS, system)
    speed, angle = unit_of(Kind.SPEED, system), unit_of(Kind.ANGLE, system)
    decimals = _LENGTH_DECIMALS[length.symbol]
    columns = {
        "edge": (0.55, "", [edge.id for edge in edges]),
        "length": (
            0.75,
            length.symbol,
            exact((edge.length for edge in edges), Kind.LENGTH, system, decimals=decimals),
        ),
        "speed": (0.75, speed, exact((edge.speed for edge in edges), Kind.SPEED, system)),
        "stance": (0.8, "", [say(f"edges.{edge.stance.value}") for edge in edges]),
        "offset": (0.8, length.symbol, exact((edge.offset for edge in edges), Kind.LENGTH, system)),
        "stock": (0.8, length.symbol, exact((edge.stock for edge in edges), Kind.LENGTH, system)),
        "tilt": (0.55, angle, exact((edge.tilt for edge in edges), Kind.ANGLE, system)),
        "lead": (0.55, angle, exact((edge.lead for edge in edges), Kind.ANGLE, system)),
        "kerf_top": (1.45, length.symbol, uncertain([edge.kerf_top for edge in edges], length)),
        "kerf_bottom": (1.45, length.symbol, uncertain([edge.kerf_bottom for edge in edges], length)),
        "taper": (1.45, length.symbol, uncertain([edge.taper_per_side for edge in edges], length)),
        "finish": (1.0, roughness.symbol, uncertain([edge.finish_ra for edge in edges], roughness)),
    }
    if not any(edge.stock > 0.0 for edge in edges):
        del columns["stock"]
    cells = (texts for _, _, texts in columns.values())
    return Table(
        say("edges.title"),
        tuple(
            Column(say(f"edges.{key}"), unit, numeric=key not in ("edge", "stance"), weight=weight)
            for key, (weight, unit, _) in columns.items()
        ),
        tuple(Row(row) for row in zip(*cells, strict=True)),
        say("edges.remark"),
    )


def demand_table(forecast: Forecast, system: str) -> Table:
    """What every demand asks, and how it is expected to come out.

    Demands that differ in nothing printed but the one edge they are on share a row that names all edges.
    """
    heads = ("name", "nominal", "limits", "top", "middle", "bottom", "odds", "odds_first")
    return Table(
        say("demand.title"),
        tuple(
            Column(
                say(f"demand.{key}"),
                numeric=key not in ("name", "limits"),
                weight=1.0 if key == "name" else 0.0,
            )
            for key in heads
        ),
        rows_together((each.demand, _demand_row(each, system)) for each in forecast.demands),
        say("demand.remark"),
    )


def rows_together(demands: Iterable[tuple[Demand, Row]]) -> tuple[Row, ...]:
    """Rows of demands, those alike but for the one edge in their first cell made one that names all."""
    rows: dict[object, tuple[Row, str, list[str]]] = {}
    for demand, row in demands:
        name, *rest = row.cells
        edge = demand.edges[0] if len(demand.edges) == 1 else ""
        alone = not edge or name.count(edge) != 1 or row.below
        pattern = name if alone else name.replace(edge, _EDGE)
        key = demand.id if alone else (pattern, *rest)
        rows.setdefault(key, (row, pattern, []))[2].append(edge)
    return tuple(
        replace(row, cells=(pattern.replace(_EDGE, ", ".join(edges)), *row.cells[1:]))
        for row, pattern, edges in rows.values()
    )


def _demand_row(each: DemandForecast, system: str) -> Row:
    demand = each.demand
    nominal, limits = gauge_limits(demand, system)
    values = uncertain([each.top, each.middle, each.bottom], demand_unit(demand, system))
    below = sentence(each.shortfall)
    if each.remedies:
        below = f"{below} {say('demand.would_help', remedies='; '.join(each.remedies))}".strip()
    return Row(
        (
            capital(demand.title),
            nominal,
            limits,
            *values,
            format_odds(each.odds),
            format_odds(each.odds_corrected),
        ),
        below=below,
        missed=bool(each.shortfall),
    )


def time_table(forecast: Forecast, system: str) -> Table:
    """Time of a piece, step by step."""
    time = forecast.time
    steps = {
        "cutting": time.cutting,
        "piercing": time.piercing,
        "traverse": time.traverse,
        "total": time.total,
    }
    return Table(
        say("time.title"),
        (Column(say("time.name"), numeric=False), Column(say("time.value"))),
        tuple(
            Row((say(f"time.{key}"), format_spread(step.mean, step.sd, Kind.TIME, system)))
            for key, step in steps.items()
        ),
    )


def cost_table(forecast: Forecast, study: Study) -> Table:
    """Cost of a piece line by line, and of the lot."""
    cost = forecast.cost

    def told(spread: Spread) -> str:
        return amount(spread.mean, spread.sd, cost.currency)

    rows = [Row((capital(line.name), line.basis, told(line.each))) for line in cost.lines]
    rows.append(Row((say("cost.each"), "", told(cost.each))))
    rows.append(Row((say("cost.lot", count=study.quantity), "", told(cost.lot))))
    return Table(
        say("cost.title"),
        (
            Column(say("cost.name"), numeric=False),
            Column(say("cost.basis"), numeric=False),
            Column(say("cost.value", currency=currency_sign(study.house, cost.currency))),
        ),
        tuple(rows),
    )


def consumption_table(forecast: Forecast, study: Study) -> Table:
    """What a piece and the lot use up."""
    used, count = forecast.consumption, study.quantity
    volume, symbol = (GALLON, "gal") if study.system == "inch" else (_LITRE, "l")

    def rows(pieces: int) -> dict[str, str]:
        return {
            "water": f"{fixed(pieces * used.water / volume, 2)} {symbol}",
            "abrasive": format_value(pieces * used.abrasive, Kind.MASS, study.system),
            "energy": f"{fixed(pieces * used.energy / _KILOWATT_HOUR, 2)} kWh",
            "orifice": f"{fixed(100.0 * pieces * used.orifice_share, 3)} %",
            "tube": f"{fixed(100.0 * pieces * used.tube_share, 3)} %",
        }

    each, lot = rows(1), rows(count)
    return Table(
        say("consumption.title"),
        (
            Column(say("consumption.name"), numeric=False),
            Column(say("consumption.value")),
            Column(say("consumption.lot", count=count)),
        ),
        tuple(Row((say(f"consumption.{key}"), text, lot[key])) for key, text in each.items()),
    )
