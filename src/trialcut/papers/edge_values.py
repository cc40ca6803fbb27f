"""What the edges of a drawing can be coloured by, out of a forecast."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

from trialcut.papers.legend import EdgeValues
from trialcut.papers.svg import number
from trialcut.papers.words import say
from trialcut.planning.results import EdgeForecast, Forecast
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit


class ColourBy(StrEnum):
    """Quantities that edges can be coloured by."""

    SPEED = "speed"
    SPEED_RATIO = "speed_ratio"
    TAPER = "taper"
    FINISH = "finish"
    LAG = "lag"


_VALUE: dict[ColourBy, tuple[Kind, Callable[[EdgeForecast], float]]] = {
    ColourBy.SPEED: (Kind.SPEED, lambda edge: edge.speed),
    ColourBy.SPEED_RATIO: (Kind.PLAIN, lambda edge: edge.speed_ratio.mean),
    ColourBy.TAPER: (Kind.LENGTH, lambda edge: edge.taper_per_side.mean),
    ColourBy.FINISH: (Kind.ROUGHNESS, lambda edge: edge.finish_ra.mean),
    ColourBy.LAG: (Kind.LENGTH, lambda edge: edge.lag.mean),
}
_RATIO_DECIMALS = 3


def edge_values(forecast: Forecast, system: str, *, by: ColourBy = ColourBy.SPEED) -> EdgeValues:
    """Values of all edges of a forecast, with the title and unit of their scale.

    Parameters
    ----------
    forecast : Forecast
        Whose edges are shown; means of uncertain quantities.
    system : str
        ``"inch"`` or ``"metric"``.
    by : ColourBy
        Which quantity.
    """
    kind, read = _VALUE[by]
    unit = printed_unit(kind, system)
    digits = _RATIO_DECIMALS if kind is Kind.PLAIN else unit.decimals
    return EdgeValues(
        title=say(f"drawing.{by.value}"),
        unit=unit.symbol,
        values={edge.id: read(edge) for edge in forecast.edges},
        number=lambda value: number(value / unit.factor, digits),
    )
