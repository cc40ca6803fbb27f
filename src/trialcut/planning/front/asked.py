"""What is eased along the curves of a trade-off, and the study that a point of one asks for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite

from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.eased_study import can_be_eased
from trialcut.planning.front.types import Curve, Point
from trialcut.planning.limit_words import eased_limits, half_width, limit_words
from trialcut.planning.study import Study

ACCURATE = frozenset({DemandKind.SIZE, DemandKind.SQUARENESS})
"""Demands whose tolerances are accuracy."""
WALL = 0.1e-3
"""Width of a wall's own limits at width 1, where a drawing asks no accuracy. [m]"""
ROUGH = 3.2e-6
"""Ra at width 1, where a drawing asks no finish. [m]"""


@dataclass(frozen=True, kw_only=True)
class Axis:
    """The demands that are eased together along one curve.

    Parameters
    ----------
    curve : Curve
        Which.
    demands : tuple of Demand
        As the drawing has them, or added to look at.
    asked : bool
        Whether the drawing asks them.
    """

    curve: Curve
    demands: tuple[Demand, ...]
    asked: bool

    @property
    def tightest(self) -> Demand:
        """The demand with the least room."""
        return min(self.demands, key=half_width)

    def widths(self, width: float) -> dict[str, float]:
        """Return the same width for each of its demands."""
        return {demand.id: width for demand in self.demands}


def axes_of(study: Study) -> tuple[Axis, Axis]:
    """Return what is eased for accuracy, and for finish.

    Parameters
    ----------
    study : Study
        Where it asks no size or squareness every wall gets limits about the drawn line in their place, and
        where it asks no finish every edge gets one; edges that are machined later get none.
    """
    own = [demand for demand in study.demands if can_be_eased(demand)]
    accurate = tuple(demand for demand in own if demand.kind in ACCURATE)
    smooth = tuple(demand for demand in own if demand.kind is DemandKind.FINISH)
    later = {edge for each in study.demands if each.kind is DemandKind.LATER for edge in each.edges}
    edges = [edge.id for edge in study.part.edges if edge.id not in later]
    return (
        Axis(
            curve=Curve.ACCURACY,
            demands=accurate or tuple(map(_wall, edges)),
            asked=bool(accurate),
        ),
        Axis(curve=Curve.FINISH, demands=smooth or tuple(map(_finish, edges)), asked=bool(smooth)),
    )


def _wall(edge: str) -> Demand:
    return Demand(
        id=f"wall-{edge}",
        kind=DemandKind.SIZE,
        title=f"wall of {edge}",
        text="every wall near the drawn line",
        edges=(edge,),
        weights=(1.0,),
        lower=-WALL,
        upper=WALL,
    )


def _finish(edge: str) -> Demand:
    return Demand(
        id=f"smooth-{edge}",
        kind=DemandKind.FINISH,
        title=f"finish of {edge}",
        text="every edge as smooth",
        edges=(edge,),
        upper=ROUGH,
    )


def looked_at(study: Study, axes: tuple[Axis, ...]) -> Study:
    """Return the study with the demands that are only looked at added to its own."""
    added = [demand for axis in axes if not axis.asked for demand in axis.demands]
    return replace(study, demands=(*study.demands, *added))


def study_at(study: Study, point: Point) -> Study:
    """
    Return the study that a point of its trade-off asks for, to be planned in full.

    Parameters
    ----------
    study : Study
        As it was traded off.
    point : Point
        Of its trade-off.

    Returns
    -------
    Study
        The tolerances of the point in its demands; their texts say what the drawing had.
    """
    added = [
        demand
        for axis in axes_of(study)
        for demand in axis.demands
        if not axis.asked and isfinite(point.widths.get(demand.id, inf))
    ]
    demands = (*study.demands, *added)
    return replace(
        study,
        demands=tuple(_eased(demand, point.widths.get(demand.id, 1.0), study.system) for demand in demands),
    )


def _eased(demand: Demand, width: float, system: str) -> Demand:
    if width == 1.0:
        return demand
    lower, upper = eased_limits(demand, width)
    words = limit_words(demand, system, width=width)
    return replace(demand, lower=lower, upper=upper, text=f"{words} in place of '{demand.text}'")
