"""What a forecast and a plan hold: the types that services, papers and pages share.

All values are SI. An uncertain quantity is a `Spread`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import isnan, nan, sqrt
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trialcut.motion.path import CutPath
from trialcut.planning.conflict_results import Conflicts
from trialcut.planning.demands import Demand
from trialcut.sources.notes import Note as Note  # noqa: PLC0414, given on from here

FloatArray = NDArray[np.float64]


class Stance(StrEnum):
    """How the head stands on an edge."""

    UPRIGHT = "upright"
    TILTED = "tilted"


NO_SPREAD = 1e-12
"""Spread over mean that is only rounding. [-]"""


@dataclass(frozen=True, slots=True)
class Spread:
    """An uncertain quantity: mean, standard deviation, and the 5th and 95th percentile."""

    mean: float
    sd: float
    p05: float
    p95: float

    @classmethod
    def of(cls, draws: ArrayLike) -> Self:
        """Summarise draws, shape (D,); a single number has no spread."""
        values = np.atleast_1d(np.asarray(draws, dtype=float))
        mean = float(np.add.reduce(values)) / values.size
        away = values - mean
        sd = sqrt(float(np.add.reduce(away * away)) / values.size)
        p05, p95 = (nan, nan) if isnan(mean) else _ends(values)
        return cls(mean, sd if sd > NO_SPREAD * abs(mean) else 0.0, p05, p95)


def _ends(values: FloatArray) -> tuple[float, float]:
    """5th and 95th percentile, straight between two draws: to the last bit `numpy.quantile`, but faster."""
    last = values.size - 1
    places = [share * last for share in (0.05, 0.95)]
    below = [int(place) for place in places]
    above = [min(each + 1, last) for each in below]
    ordered = np.partition(values, sorted({*below, *above}))
    p05, p95 = (
        high - (high - low) * (1.0 - part) if part >= 0.5 else low + (high - low) * part
        for low, high, part in zip(
            ordered[below].tolist(),
            ordered[above].tolist(),
            (place - under for place, under in zip(places, below, strict=True)),
            strict=True,
        )
    )
    return p05, p95


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeForecast:
    """What one edge is cut with, and what it will be like.

    Parameters
    ----------
    id, contour : str
        Edge and its contour.
    length : float
        Drawn length. [m]
    speed : float
        Commanded speed along the edge, away from corners. [m/s]
    stance : Stance
        Upright or tilted.
    separation_speed, speed_ratio : Spread
        Fastest speed that still cuts through [m/s], and the commanded speed over it [-].
    kerf_top, kerf_bottom : Spread
        Full kerf width at the faces. [m]
    taper_per_side : Spread
        Half of kerf top less kerf bottom, before any tilt. [m]
    lag : Spread
        Exit behind entry, along the path. [m]
    finish_ra : Spread
        At the worst depth. [m]
    wall_top, wall_middle, wall_bottom : Spread
        Deviation of the kept wall from the drawn edge, positive where material is left. [m]
    tilt, lead : float
        Head angles: towards the scrap, and against the travel so that the exit leads. [rad]
    offset : float
        From the drawn edge to the path, into the scrap. [m]
    stock : float
        Stock left on purpose for a later operation, within `offset`. [m]
    shift : float
        By which the wall is aimed off its target, within `offset`. [m]
    time : float
        Time on the edge, slow stretches included. [s]
    binds : str
        Id of the demand that holds the speed down, or empty.
    notes : tuple of Note
        What limits the forecast of this edge.
    """

    id: str
    contour: str
    length: float
    speed: float
    stance: Stance
    separation_speed: Spread
    speed_ratio: Spread
    kerf_top: Spread
    kerf_bottom: Spread
    taper_per_side: Spread
    lag: Spread
    finish_ra: Spread
    wall_top: Spread
    wall_middle: Spread
    wall_bottom: Spread
    tilt: float
    lead: float
    offset: float
    stock: float = 0.0
    shift: float = 0.0
    time: float = 0.0
    binds: str = ""
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeValue:
    """What a gauge reads on the as-cut part, all parameters at their medians.

    Parameters
    ----------
    gauge : str
        Gauge and quantity: ``"caliper, outside"``.
    depth : float or None
        Fraction of the thickness; None for a gauge that spans the plate. [-]
    value : float
        [m]
    standard : str
        Meaning of the quantity.
    touched : tuple of (float, float)
        Points of the wall that decide it. [m]
    """

    gauge: str
    depth: float | None
    value: float
    standard: str
    touched: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """How often an inspector would be wrong, where the gauge's error and a guard band count.

    Parameters
    ----------
    band : float
        By which each limit is drawn in; zero for a demand that is judged by its true value. [m]
    consumer : float
        Odds that a piece is accepted and does not conform. [-]
    producer : float
        Odds that a piece is rejected and does conform. [-]
    """

    band: float
    consumer: float
    producer: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DemandForecast:
    """How one demand is expected to come out.

    Parameters
    ----------
    demand : Demand
        What is asked.
    top, middle, bottom : Spread
        The value to expect at three depths. [m]
    odds : float
        Probability that a piece conforms, knowing what is known now. [-]
    odds_corrected : float
        The same once the first piece has been measured top and bottom and offset and tilt corrected. [-]
    shortfall : str
        Why it does not hold at the asked odds and by how much; empty if it holds.
    remedies : tuple of str
        What would make it hold, likeliest first.
    gauge : tuple of GaugeValue
        What an inspector would read on the as-cut part.
    rejected : str
        Why the as-cut part does not hold it although the edges by themselves may; empty if it does.
    judged : Judged or None
        How often its reading would mislead; None where the true size decides.
    aim : float or None
        What a size should read at the face that it must hold at, or as the mean of both, once a first piece
        has been measured and corrected: off the middle of its limits by what walls bow between the faces.
        None for other demands. [m]
    """

    demand: Demand
    top: Spread
    middle: Spread
    bottom: Spread
    odds: float
    odds_corrected: float
    shortfall: str = ""
    remedies: tuple[str, ...] = ()
    gauge: tuple[GaugeValue, ...] = ()
    rejected: str = ""
    judged: Judged | None = None
    aim: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerForecast:
    """How one corner is passed, and what else was weighed.

    Parameters
    ----------
    before, after : str
        Edges that meet there.
    looped : bool
        The jet runs past and loops in the scrap; otherwise it slows down.
    slow_time, slow_error : float
        Time that slowing takes [s], and the lag it leaves at the bottom [m].
    loop_time : float or None
        Time that a loop takes; None where none is possible. It leaves no lag. [s]
    why : str
        What decided, one sentence.
    """

    before: str
    after: str
    looped: bool
    slow_time: float
    slow_error: float
    loop_time: float | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleTime:
    """Time for one piece, and what corners, arcs and acceleration take of it. [s]"""

    cutting: Spread
    piercing: Spread
    traverse: Spread
    total: Spread
    slow: float = 0.0


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the cost breakdown, per piece, in the shop's currency."""

    name: str
    each: Spread
    basis: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a piece and the lot cost, in the shop's currency.

    Parameters
    ----------
    currency : str
        ISO 4217 code.
    each, lot : Spread
        Of pieces as cut.
    lines : tuple of CostLine
        Per piece; they add up to `each`.
    good : Spread or None
        Of a piece that holds every demand, those that do not being cut again; None where hardly any holds.
    """

    currency: str
    each: Spread
    lot: Spread
    lines: tuple[CostLine, ...]
    good: Spread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumption:
    """What one piece uses up."""

    water: float
    """[m^3]"""
    abrasive: float
    """[kg]"""
    energy: float
    """[J]"""
    orifice_share: float
    """Of one orifice's life. [-]"""
    tube_share: float
    """Of one mixing tube's life. [-]"""


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """What a part will measure, look like, take and cost under one assignment of speeds and stances.

    Parameters
    ----------
    edges, demands
        In the order of the part and of the study.
    joint_odds, joint_odds_corrected : float
        Probability that one piece holds every demand at once, over shared draws; as known now, and once
        the first piece has been measured and corrected. [-]
    time, cost, consumption
        For one piece, and the lot.
    corners : tuple of CornerForecast
        Every corner that turns, in the order of the path.
    path : CutPath
        Order, start points, leads and speeds.
    notes : tuple of Note
        What limits the forecast as a whole.
    judged : Judged or None
        How often readings would mislead about a piece; None where true sizes decide.
    """

    edges: tuple[EdgeForecast, ...]
    demands: tuple[DemandForecast, ...]
    joint_odds: float
    joint_odds_corrected: float
    time: CycleTime
    cost: Cost
    consumption: Consumption
    path: CutPath
    corners: tuple[CornerForecast, ...] = ()
    notes: tuple[Note, ...] = ()
    judged: Judged | None = None

    def edge(self, edge_id: str) -> EdgeForecast:
        """Forecast of one edge by id."""
        for edge in self.edges:
            if edge.id == edge_id:
                return edge
        raise KeyError(edge_id)


@dataclass(frozen=True, kw_only=True)
class Option:
    """One rival plan.

    Parameters
    ----------
    name : str
        ``"accurate"``, ``"cheapest"`` or ``"blank"``.
    title : str
        For people.
    summary : str
        One sentence: what it is and what it rests on.
    forecast : Forecast
        Everything it is expected to give.
    first_piece : bool
        It rests on measuring the first piece and correcting offset and tilt.
    holds : bool
        Whether every demand holds at the asked odds, on that basis.
    gap : float
        By how much, at most, a better choice on the grid of speeds could do better, proven; infinite where
        nothing holds or nothing was proven. [-]
    told : tuple of str
        All of it in sentences: how the part is cut and why, what it costs, and what it rests on.
    """

    name: str
    title: str
    summary: str
    forecast: Forecast
    first_piece: bool
    holds: bool
    gap: float = float("inf")
    told: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Rival plans for one study, side by side.

    Parameters
    ----------
    options : tuple of Option
        Most accurate, cheapest that holds, fastest square blank.
    asked_odds : float
        Level the plan was asked to hold. [-]
    abrasive_rate_of_least_cost : float
        Abrasive rate at which a length of cut costs least on this set-up. [kg/s]
    notes : tuple of Note
        What a reader must know about all of them.
    conflicts : Conflicts or None
        Which demands stand in each other's way; None where all can be held, or nobody looked.
    """

    options: tuple[Option, ...]
    asked_odds: float
    abrasive_rate_of_least_cost: float
    notes: tuple[Note, ...] = ()
    conflicts: Conflicts | None = None

    def option(self, name: str) -> Option:
        """One option by name."""
        for option in self.options:
            if option.name == name:
                return option
        raise KeyError(name)
