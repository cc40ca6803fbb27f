"""The first piece: what to measure, and what to change for each reading.

A size is nominal plus the sum of its weights times the deviations of its walls, and a wall moves out by what
is added to its offset. Of all changes that take away an excess x, the smallest is ``-x w / sum(w^2)`` for an
edge of weight w: half of x, with a sign, for the two edges of a width and for the one edge of a diameter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import atan, floor, inf, log10

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.figures import exact, fixed, unit_of
from trialcut.papers.limits import decimals_of, gauge_limits
from trialcut.papers.words import capital, say
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.results import DemandForecast, Forecast, Stance
from trialcut.planning.study import Study
from trialcut.units import Kind
from trialcut.units.table import printed_unit

STEPS = 6
"""Readings that the table has a column for."""
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)
_WITHIN = 1e-9


def offset_change(excess: float, weight: float, weights: Sequence[float]) -> float:
    """
    Change of the offset of one edge of a size.

    Parameters
    ----------
    excess : float
        By which the size reads over its aim. [m]
    weight : float
        Of the edge in the size. [-]
    weights : sequence of float
        Of all its edges.

    Returns
    -------
    float
        Positive further into the scrap, which leaves more material. [m]
    """
    return -excess * weight / sum(each**2 for each in weights)


def tilt_change(excess: float, weight: float, weights: Sequence[float], thickness: float) -> float:
    """
    Change of the tilt of one edge of a size.

    Parameters
    ----------
    excess : float
        By which the size reads more at the bottom than at the top. [m]
    weight : float
        Of the edge in the size. [-]
    weights : sequence of float
        Of all its edges.
    thickness : float
        Of the plate. [m]

    Returns
    -------
    float
        Positive further towards the scrap, which takes more off at the bottom. [rad]
    """
    return atan(-offset_change(excess, weight, weights) / thickness)


def sizes_of(forecast: Forecast) -> list[DemandForecast]:
    """Demands that a first piece is corrected by."""
    return [each for each in forecast.demands if each.demand.kind is DemandKind.SIZE]


def tilts(forecast: Forecast, demand: Demand) -> bool:
    """Whether every edge of a size is tilted, so that its lean can be corrected too."""
    return all(forecast.edge(edge).stance is Stance.TILTED for edge in demand.edges)


def aim_of(each: DemandForecast) -> float:
    """What a size should read; the middle of its limits, or its nominal, where the forecast does not say."""
    lower, upper = each.demand.lower, each.demand.upper
    if each.aim is not None:
        return each.aim
    return each.demand.nominal if lower is None or upper is None else 0.5 * (lower + upper)


def readings_table(forecast: Forecast, system: str) -> Table:
    """Sizes to measure on the first piece, what they should read, and room to write."""
    weights = {"name": 2.2, "limits": 1.5, "aim": 0.9, "basis": 0.8}
    written = dict.fromkeys(("top", "bottom", "x", "d"), 0.9)
    return Table(
        say("readings.title"),
        tuple(
            Column(say(f"readings.{key}"), numeric=False, weight=weight)
            for key, weight in (weights | written).items()
        ),
        tuple(
            Row((*_reading(each, tilts(forecast, each.demand), system), *("",) * len(written)))
            for each in sizes_of(forecast)
        ),
        say("readings.remark"),
    )


def _reading(each: DemandForecast, tilted: bool, system: str) -> tuple[str, ...]:
    demand = each.demand
    unit = printed_unit(Kind.LENGTH, system)
    limits = tuple(value / unit.factor for value in (demand.lower, demand.upper) if value is not None)
    digits = decimals_of(limits, unit.symbol) + 1
    return (
        capital(demand.title),
        gauge_limits(demand, system)[1],
        fixed(aim_of(each) / unit.factor, digits),
        say("readings.by_top" if tilted else f"readings.by_{demand.depth.name.lower()}"),
    )


def correction_table(study: Study, forecast: Forecast) -> Table:
    """Change of offset and tilt for round readings; rows only for what this part has."""
    system = study.system
    length, angle = unit_of(Kind.LENGTH, system), unit_of(Kind.ANGLE, system)
    steps = _steps(forecast, system)
    marks = exact(steps, Kind.LENGTH, system)
    rows = [
        Row(
            (
                say("corrections.offset", what=name),
                length,
                *_signed(exact((-share * x for x in steps), Kind.LENGTH, system)),
            )
        )
        for share, name in _shares(forecast, tilted=False)
    ] + [
        Row(
            (
                say("corrections.tilt", what=name),
                angle,
                *_signed(exact((atan(share * d / study.setup.thickness) for d in steps), Kind.ANGLE, system)),
            )
        )
        for share, name in _shares(forecast, tilted=True)
    ]
    return Table(
        say("corrections.title"),
        (
            Column(say("corrections.change"), numeric=False, weight=3.4),
            Column("", numeric=False, weight=0.5),
            *(Column(f"+{mark}", length, weight=0.9) for mark in marks),
        ),
        tuple(rows),
        say("corrections.remark"),
    )


def _signed(texts: Sequence[str]) -> Iterator[str]:
    return (text if text.startswith("−") else f"+{text}" for text in texts)


def _shares(forecast: Forecast, *, tilted: bool) -> Iterator[tuple[float, str]]:
    """Weight over the sum of squared weights, and what has it: alike sizes once."""
    named: dict[tuple[float, str], list[str]] = {}
    for each in sizes_of(forecast):
        demand = each.demand
        if tilted and not tilts(forecast, demand):
            continue
        kind = _kind(demand.weights)
        squares = sum(weight**2 for weight in demand.weights)
        for edge, weight in zip(demand.edges, demand.weights, strict=True):
            if weight:
                edges = named.setdefault((weight / squares, kind), [])
                edges += [edge] if edge not in edges else []
    for (share, kind), edges in named.items():
        yield share, say(f"corrections.{kind}", edges=", ".join(edges))


def _kind(weights: Sequence[float]) -> str:
    if min(weights) < 0.0 < max(weights):
        return "step"
    side = "material" if max(weights) > 0.0 else "opening"
    return f"{side}_radius" if sum(map(abs, weights)) == 1.0 else side


def _steps(forecast: Forecast, system: str) -> list[float]:
    """Round readings up to the widest half tolerance, or to twice the widest spread without two limits."""
    unit = printed_unit(Kind.LENGTH, system)
    reach = 0.0
    for each in sizes_of(forecast):
        lower, upper = each.demand.lower, each.demand.upper
        off = 2.0 * each.bottom.sd if lower is None or upper is None else 0.5 * (upper - lower)
        reach = max(reach, min(off, inf) / unit.factor)
    least = 10.0**-unit.decimals
    wanted = max(reach / STEPS, least)
    power = 10.0 ** floor(log10(wanted) + _WITHIN)
    step = next(power * each for each in _ROUND if power * each >= wanted * (1.0 - _WITHIN))
    return [step * count * unit.factor for count in range(1, STEPS + 1)]
