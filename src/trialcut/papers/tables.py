"""The tables of a cut sheet."""

from __future__ import annotations

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.figures import exact, fixed, uncertain, unit_of
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.papers.words import say
from trialcut.planning.demands import DemandKind
from trialcut.planning.results import DemandForecast, EdgeForecast, Forecast, Spread, Stance
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value
from trialcut.units.table import GALLON, printed_unit

_LITRE = 1e-3
_KILOWATT_HOUR = 3.6e6
_LENGTH_DECIMALS = {"in": 3, "mm": 2}


def edge_table(forecast: Forecast, system: str) -> Table:
    """What every edge is cut with, and what it will be like."""
    edges = forecast.edges
    length, angle = printed_unit(Kind.LENGTH, system), printed_unit(Kind.ANGLE, system)
    roughness = printed_unit(Kind.ROUGHNESS, system)
    columns = {
        "edge": [edge.id for edge in edges],
        "length": exact(
            (edge.length for edge in edges),
            Kind.LENGTH,
            system,
            decimals=_LENGTH_DECIMALS[length.symbol],
        ),
        "speed": exact((edge.speed for edge in edges), Kind.SPEED, system),
        "stance": [
            say("edges.tilted" if edge.stance is Stance.TILTED else "edges.upright") for edge in edges
        ],
        "offset": exact((edge.offset for edge in edges), Kind.LENGTH, system),
        "tilt": exact((edge.tilt for edge in edges), Kind.ANGLE, system),
        "lead": exact((edge.lead for edge in edges), Kind.ANGLE, system),
        "kerf_top": uncertain([edge.kerf_top for edge in edges], length),
        "kerf_bottom": uncertain([edge.kerf_bottom for edge in edges], length),
        "taper": uncertain([edge.taper_per_side for edge in edges], length),
        "finish": uncertain([edge.finish_ra for edge in edges], roughness),
    }
    units = {
        "length": length.symbol,
        "speed": unit_of(Kind.SPEED, system),
        "offset": length.symbol,
        "tilt": angle.symbol,
        "lead": angle.symbol,
        "kerf_top": length.symbol,
        "kerf_bottom": length.symbol,
        "taper": length.symbol,
        "finish": roughness.symbol,
    }
    return Table(
        say("edges.title"),
        tuple(
            Column(say(f"edges.{key}"), units.get(key, ""), numeric=key not in ("edge", "stance"))
            for key in columns
        ),
        tuple(
            Row(cells, below=_stock(edge, system))
            for edge, cells in zip(edges, zip(*columns.values(), strict=True), strict=True)
        ),
        say("edges.remark"),
    )


def _stock(edge: EdgeForecast, system: str) -> str:
    if edge.stock <= 0.0:
        return ""
    return say("edges.stock", value=format_value(edge.stock, Kind.LENGTH, system))


def demand_table(forecast: Forecast, system: str) -> Table:
    """What every demand asks, and how it is expected to come out."""
    heads = ("name", "nominal", "limits", "top", "middle", "bottom", "odds", "odds_first")
    return Table(
        say("demand.title"),
        tuple(Column(say(f"demand.{key}"), numeric=key not in ("name", "limits")) for key in heads),
        tuple(_demand_row(each, system) for each in forecast.demands),
        say("demand.remark"),
    )


def _demand_row(each: DemandForecast, system: str) -> Row:
    demand = each.demand
    nominal, limits = gauge_limits(demand, system)
    values = uncertain([each.top, each.middle, each.bottom], demand_unit(demand, system))
    below = each.shortfall
    if each.remedies:
        below = f"{below} {say('demand.would_help', remedies='; '.join(each.remedies))}".strip()
    return Row(
        (
            demand.title,
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

    def amount(spread: Spread) -> str:
        text = format_spread(spread.mean, spread.sd, Kind.MONEY, study.system, unit=cost.currency)
        return text.removesuffix(f" {cost.currency}")

    rows = [Row((line.name, line.basis, amount(line.each))) for line in cost.lines]
    rows.append(Row((say("cost.each"), "", amount(cost.each))))
    rows.append(Row((say("cost.lot", count=study.quantity), "", amount(cost.lot))))
    return Table(
        say("cost.title"),
        (
            Column(say("cost.name"), numeric=False),
            Column(say("cost.basis"), numeric=False),
            Column(say("cost.value", currency=cost.currency)),
        ),
        tuple(rows),
    )


def consumption_table(forecast: Forecast, system: str) -> Table:
    """What a piece uses up."""
    used = forecast.consumption
    volume, symbol = (GALLON, "gal") if system == "inch" else (_LITRE, "l")
    amounts = {
        "water": f"{fixed(used.water / volume, 2)} {symbol}",
        "abrasive": format_value(used.abrasive, Kind.MASS, system),
        "energy": f"{fixed(used.energy / _KILOWATT_HOUR, 2)} kWh",
        "orifice": f"{fixed(100.0 * used.orifice_share, 3)} %",
        "tube": f"{fixed(100.0 * used.tube_share, 3)} %",
    }
    return Table(
        say("consumption.title"),
        (Column(say("consumption.name"), numeric=False), Column(say("consumption.value"))),
        tuple(Row((say(f"consumption.{key}"), text)) for key, text in amounts.items()),
    )


def readings_table(study: Study | None) -> Table:
    """Sizes to measure on the first piece, with room to write; no rows without a study."""
    columns = tuple(
        Column(say(f"readings.{key}"), numeric=False) for key in ("name", "limits", "top", "bottom")
    )
    sizes = [demand for demand in study.demands if demand.kind is DemandKind.SIZE] if study else []
    rows = tuple(
        Row((demand.title, gauge_limits(demand, study.system)[1], "", "")) for demand in sizes if study
    )
    return Table(say("readings.title"), columns, rows)
