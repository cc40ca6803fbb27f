"""Odds of every demand on a grid of speeds and stances, all edges of a demand cut alike.

Fast and slightly conservative: where a demand's walls curve differently the extremes of each are added as
if they met at one depth. Chance is played by three stand-ins, so that edges which look alike get the same
odds and the plan treats them alike. The plan that comes of it is evaluated exactly afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import EdgeKind
from trialcut.physics.cut import CutTable
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.lag_limits import arc_speed_limits
from trialcut.planning.prepared import PreparedStudy, lot_scatter
from trialcut.planning.results import Stance
from trialcut.planning.walls import bare_walls, extremes, reset_wall

FloatArray = NDArray[np.float64]

GRID_SIZE = 24
SLOWEST, FASTEST = 0.04, 0.6
"""Span of the grid, over the median separation speed: our own working values; half of separation is about the
fastest that is tried in thick aluminium (common practice, no source). [-]"""


@dataclass(frozen=True, slots=True)
class Extremes:
    """Highest and lowest point of a wall aimed at the drawn edge, shape (S, D) each. [m]"""

    high: FloatArray
    low: FloatArray

    @property
    def out_of_square(self) -> FloatArray:
        """Highest less lowest. [m]"""
        return self.high - self.low


class Preview:
    """Grid of speeds in every stance the machine offers.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.

    Attributes
    ----------
    speeds : ndarray, shape (S,)
        Rising, rounded to two figures in the unit the study is written in. [m/s]
    tables : dict
        `CutTable` of each stance.
    """

    def __init__(self, prepared: PreparedStudy) -> None:
        self.prepared = prepared
        self.speeds = speed_grid(prepared)
        self.tables: dict[Stance, CutTable] = {
            stance: prepared.table(stance, self.speeds) for stance in prepared.stances()
        }
        self.limits = {stance: arc_speed_limits(prepared, stance) for stance in self.tables}
        self._chance = lot_scatter(prepared.study, prepared.central, closed=[False, False, True])
        self._extremes: dict[tuple[Stance, float, Depth, bool], Extremes] = {}
        self._odds: dict[tuple[object, ...], FloatArray] = {}
        self._errors: dict[tuple[object, ...], FloatArray] = {}

    def allowed(self, stance: Stance, edge: int) -> NDArray[np.bool_]:
        """Speeds that the lag on an arc lets pass, shape (S,); the slowest always."""
        allowed: NDArray[np.bool_] = self.speeds <= self.limits[stance][edge]
        allowed[0] = True
        return allowed

    def slower(self, speed: float) -> float:
        """Return the next slower speed of the grid, or the speed itself at its slow end. [m/s]"""
        below = self.speeds[self.speeds < speed * (1.0 - 1e-9)]
        return float(below[-1]) if below.size else speed

    def extremes(self, stance: Stance, edge: int, *, depth: Depth, corrected: bool) -> Extremes:
        """Return the extremes of an edge's wall over the depths that count, shape (S, D)."""
        curvature = float(self.prepared.path_curvature[edge])
        key = (stance, curvature, depth, corrected)
        if key not in self._extremes:
            self._extremes[key] = _wall_extremes(self.tables[stance], curvature, stance, depth, corrected)
        return self._extremes[key]

    def odds(self, demand: Demand, stance: Stance, *, corrected: bool) -> FloatArray:
        """Return the odds of one demand at each speed, shape (S,). Demands that look alike are equal."""
        edges = [self.prepared.index[edge] for edge in demand.edges]
        key = (stance, corrected, *self.demand_likeness(demand))
        if key not in self._odds:
            self._odds[key] = self._count(demand, edges, stance, corrected=corrected)
        return self._odds[key]

    def demand_likeness(self, demand: Demand) -> tuple[object, ...]:
        """Return all that a preview knows of a demand: those with the same have the same odds."""
        return (
            demand.kind,
            demand.depth,
            demand.weights,
            demand.finish_is_rms,
            None if demand.lower is None else demand.lower - demand.nominal,
            None if demand.upper is None else demand.upper - demand.nominal,
            tuple(self.likeness(self.prepared.index[edge]) for edge in demand.edges),
        )

    def worst_error(self, edge: int, stance: Stance) -> FloatArray:
        """Return the error of a wall that 95 of 100 stay below once corrected, shape (S,). [m]"""
        key = (stance, self.likeness(edge))
        if key not in self._errors:
            walls = self.extremes(stance, edge, depth=Depth.EVERY, corrected=True)
            high, low = self.luck(edge, 0, stance, corrected=True)
            error = np.maximum(np.abs(walls.high + high), np.abs(walls.low + low))
            self._errors[key] = np.quantile(error, 0.95, axis=1)
        return self._errors[key]

    def likeness(self, edge: int) -> tuple[float, float, bool]:
        """Return all that a preview knows of an edge: curvature, aim, and whether it is a whole contour."""
        prepared = self.prepared
        return float(prepared.path_curvature[edge]), float(prepared.targets[edge]), self._closed(edge)

    def _closed(self, edge: int) -> bool:
        return self.prepared.edges[edge].kind is EdgeKind.CIRCLE

    def _count(self, demand: Demand, edges: list[int], stance: Stance, *, corrected: bool) -> FloatArray:
        table = self.tables[stance]
        if demand.kind is DemandKind.SIZE:
            holds = self._size_holds(demand, edges, stance, corrected=corrected)
        elif demand.kind is DemandKind.SQUARENESS:
            lean = self.extremes(stance, edges[0], depth=Depth.EVERY, corrected=corrected).out_of_square
            lean = lean + self.lean_luck(edges[0], stance, corrected=corrected)
            holds = lean <= _upper(demand)
        elif demand.kind is DemandKind.FINISH:
            rms = np.asarray(self.prepared.parameters.rq_over_ra) if demand.finish_is_rms else 1.0
            holds = table.finish_ra * self.finish_luck(edges[0]) * rms <= _upper(demand)
        else:
            return np.ones(self.speeds.size)
        odds: FloatArray = (holds & table.through).mean(axis=1)
        return odds

    def _size_holds(
        self, demand: Demand, edges: list[int], stance: Stance, *, corrected: bool
    ) -> NDArray[np.bool_]:
        high = np.full((self.speeds.size, self.prepared.study.draws), demand.nominal)
        low = high.copy()
        for order, (weight, edge) in enumerate(zip(demand.weights, edges, strict=True)):
            walls = self.extremes(stance, edge, depth=demand.depth, corrected=corrected)
            luck_high, luck_low = self.luck(edge, order, stance, corrected=corrected)
            upper = walls.high + luck_high + self.prepared.targets[edge]
            lower = walls.low + luck_low + self.prepared.targets[edge]
            high += weight * (upper if weight > 0.0 else lower)
            low += weight * (lower if weight > 0.0 else upper)
        holds = np.ones_like(high, dtype=bool)
        if demand.upper is not None:
            holds &= high <= demand.upper
        if demand.lower is not None:
            holds &= low >= demand.lower
        return holds

    def lean_luck(self, edge: int, stance: Stance, *, corrected: bool) -> FloatArray:
        """Return the lean that a correction of the tilt adds by chance, shape (D,). [m]"""
        place = self._place(edge, 0)
        misread: FloatArray = np.abs(self._chance.first_top[place] - self._chance.first_bottom[place])
        return misread if corrected and stance is Stance.TILTED else np.zeros_like(misread)

    def finish_luck(self, edge: int) -> FloatArray:
        """Return the factor of chance on the roughness of an edge, shape (D,). [-]"""
        factor: FloatArray = self._chance.finish[self._place(edge, 0)]
        return factor

    def _place(self, edge: int, order: int) -> int:
        """Return which stand-in plays an edge: one for whole contours, two for the walls of a size."""
        return 2 if self._closed(edge) else order

    def luck(
        self, edge: int, order: int, stance: Stance, *, corrected: bool
    ) -> tuple[FloatArray, FloatArray]:
        """Return the chance part of a wall's highest and lowest point, shape (D,) each."""
        place = self._place(edge, order)
        wall = self._chance.wall[place]
        if not corrected:
            return wall, wall
        top, bottom = self._chance.first_top[place], self._chance.first_bottom[place]
        if stance is Stance.TILTED:
            return wall - np.minimum(top, bottom), wall - np.maximum(top, bottom)
        middle = 0.5 * (top + bottom)
        return wall - middle, wall - middle


def speed_grid(prepared: PreparedStudy) -> FloatArray:
    """Return speeds between a crawl and the edge of separation that an operator can type in. [m/s]"""
    unit = 0.0254 / 60.0 if prepared.study.system == "inch" else 1e-3 / 60.0
    separation = float(np.median(prepared.separation_speed))
    fastest = min(FASTEST * separation, prepared.study.machine.cut_speed_max)
    raw = np.geomspace(min(SLOWEST * separation, 0.5 * fastest), fastest, GRID_SIZE) / unit
    step = 10.0 ** (np.floor(np.log10(raw)) - 1.0)
    return unit * np.unique(np.round(np.floor(raw / step * (1.0 + 1e-12)) * step, 9))


def _wall_extremes(
    table: CutTable, curvature: float, stance: Stance, depth: Depth, corrected: bool
) -> Extremes:
    walls = bare_walls(table, curvature)
    if corrected:
        walls = reset_wall(walls, stance=stance, depth=depth)
    high, low = extremes(walls, depth)
    aim = np.median(0.5 * (high + low), axis=1)[:, None]
    return Extremes(high - aim, low - aim)


def _upper(demand: Demand) -> float:
    return np.inf if demand.upper is None else demand.upper
