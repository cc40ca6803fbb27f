"""A part cut in thought: every edge's state, and every demand's outcome, over the shared draws."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.corners import CornerPolicy, loops_of
from trialcut.ascut.stance import solve_stance
from trialcut.ascut.stance_types import Stance as SolvedStance
from trialcut.errors import RangeError, UsageError
from trialcut.geometry.curves import Segment
from trialcut.motion.starts import CornerKey
from trialcut.physics.cut import CutTable
from trialcut.planning.corner_choice import corner_choice
from trialcut.planning.demands import DemandKind
from trialcut.planning.evaluate import DemandOutcome, EdgeState, outcome
from trialcut.planning.lag_limits import arc_speed_limits, corner_lags, corner_zones
from trialcut.planning.prepared import BOTTOM, PreparedStudy
from trialcut.planning.results import EdgeForecast, Note, Stance
from trialcut.planning.stock import clean_up_stock
from trialcut.planning.walls import bare_walls, edge_wall
from trialcut.units import Kind, format_value


@dataclass(frozen=True, slots=True)
class Cut:
    """How one edge is cut.

    Parameters
    ----------
    speed : float
        Commanded. [m/s]
    stance : Stance
        Upright or tilted.
    shift : float
        Added to where its wall is aimed, into the scrap: where limits or spreads are lopsided. [m]
    """

    speed: float
    stance: Stance
    shift: float = 0.0


Assignment = Mapping[str, Cut]


def cuts_of(edges: Iterable[EdgeForecast]) -> dict[str, Cut]:
    """Return the cuts that a forecast was made with, by edge id."""
    return {edge.id: Cut(edge.speed, edge.stance, edge.shift) for edge in edges}


@dataclass(frozen=True, kw_only=True)
class CutPart:
    """A part cut in thought: every edge's state over the shared draws.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    assignment : dict
        Edge id to `Cut`, after the lag limits of arcs.
    held_by_lag : frozenset of str
        Edges that had to be slowed for lag.
    tables : dict
        For each stance its table, and the row of each speed.
    head_notes : tuple of Note
        Where the head could not stand as asked, and what was done.
    """

    prepared: PreparedStudy
    assignment: dict[str, Cut]
    held_by_lag: frozenset[str]
    tables: dict[Stance, tuple[CutTable, dict[float, int]]]
    head_notes: tuple[Note, ...] = ()
    _states: dict[str, EdgeState] = field(default_factory=dict)
    _stock: dict[str, float] = field(default_factory=dict)

    @property
    def speeds(self) -> dict[str, float]:
        """Commanded speed of every edge. [m/s]"""
        return {edge: cut.speed for edge, cut in self.assignment.items()}

    @cached_property
    def corners(self) -> dict[CornerKey, CornerPolicy]:
        """What was weighed at every real corner, whether loops are allowed or not."""
        return corner_choice(self.prepared, self.speeds)

    @cached_property
    def loops(self) -> dict[CornerKey, tuple[Segment, ...]]:
        """Loops that are run, if the study allows them."""
        return loops_of(self.corners) if self.prepared.study.loops else {}

    @cached_property
    def zones(self) -> dict[CornerKey, tuple[tuple[float, float], ...]]:
        """Stairs of speed limits at the corners that are slowed."""
        return {key: steps for key, steps in corner_zones(self.prepared).items() if key not in self.loops}

    @cached_property
    def head(self) -> SolvedStance:
        """The head's tilt and lead on every edge and at every corner."""
        prepared = self.prepared
        return solve_stance(
            prepared.study.part,
            prepared.prepared_path,
            law=prepared.lean_law,
            speed=self.speeds,
            tilted={edge: cut.stance is Stance.TILTED for edge, cut in self.assignment.items()},
            half_kerf=prepared.half_kerf,
            corner_zone=self.zones,
            loops=self.loops,
        )

    def row(self, edge: str) -> tuple[CutTable, int]:
        """Return the table of an edge's stance, and the row of its speed."""
        cut = self.assignment[edge]
        table, rows = self.tables[cut.stance]
        return table, rows[cut.speed]

    def stock(self, edge: str) -> float:
        """Return the stock left on an edge that is machined later, zero otherwise. [m]"""
        self.state(edge)
        return self._stock[edge]

    def state(self, edge: str) -> EdgeState:
        """Return wall, finish and cut-through of one edge."""
        if edge not in self._states:
            prepared, position = self.prepared, self.prepared.index[edge]
            table, row = self.row(edge)
            bare = bare_walls(table, float(prepared.path_curvature[position]))[row]
            finish = prepared.finish(table, row) * prepared.scatter.finish[position]
            self._stock[edge] = (
                clean_up_stock(prepared, edge=position, bare=bare, finish=finish[BOTTOM])
                if edge in prepared.later
                else 0.0
            )
            self._states[edge] = EdgeState(
                wall=edge_wall(
                    prepared,
                    edge=position,
                    bare=bare,
                    stance=self.assignment[edge].stance,
                    stock=self._stock[edge] + self.assignment[edge].shift,
                ),
                finish=finish,
                through=table.through[row],
            )
        return self._states[edge]


def cut_in_thought(
    prepared: PreparedStudy, assignment: Assignment, *, tables: Mapping[Stance, CutTable] | None = None
) -> CutPart:
    """Cut the part in thought, slowing arcs to what their lag allows.

    Parameters
    ----------
    prepared : PreparedStudy
        The study.
    assignment : mapping
        Every edge id to its `Cut`.
    tables : mapping, optional
        Tables already computed; they are used where they hold all the speeds wanted.

    Returns
    -------
    CutPart
        States are computed when asked for.

    Raises
    ------
    UsageError
        If an edge has no cut.
    RangeError
        If a speed is not above zero, or above what the machine can do, or the head cannot tilt.
    """
    _check(prepared, assignment)
    stances = {cut.stance for cut in assignment.values()}
    limits = {stance: arc_speed_limits(prepared, stance) for stance in stances}
    slowed: dict[str, Cut] = {}
    for position, edge in enumerate(prepared.edges):
        cut = assignment[edge.id]
        slowed[edge.id] = replace(cut, speed=min(cut.speed, float(limits[cut.stance][position])))
    slowed, notes = _as_the_head_can(prepared, slowed)
    used = {}
    for stance in {cut.stance for cut in slowed.values()}:
        speeds = sorted({cut.speed for cut in slowed.values() if cut.stance is stance})
        table = (tables or {}).get(stance)
        if table is None or not set(speeds) <= set(table.speeds.tolist()):
            table = prepared.table(stance, speeds)
        used[stance] = (table, {float(speed): row for row, speed in enumerate(table.speeds)})
    return CutPart(
        prepared=prepared,
        assignment=slowed,
        held_by_lag=frozenset(edge for edge, cut in slowed.items() if cut.speed < assignment[edge].speed),
        tables=used,
        head_notes=notes,
    )


def _as_the_head_can(
    prepared: PreparedStudy, assignment: dict[str, Cut]
) -> tuple[dict[str, Cut], tuple[Note, ...]]:
    """Return the cuts as the head can make them: slower, or upright, where it cannot turn with the path."""
    leaned = {edge: cut.stance is Stance.TILTED for edge, cut in assignment.items()}
    if not any(leaned.values()):
        return assignment, ()
    solved = solve_stance(
        prepared.study.part,
        prepared.prepared_path,
        law=prepared.lean_law,
        speed={edge: cut.speed for edge, cut in assignment.items()},
        tilted=leaned,
        half_kerf=prepared.half_kerf,
        corner_zone=corner_zones(prepared),
    )
    able = {
        edge: Cut(
            solved.edges[edge].speed,
            Stance.TILTED if solved.edges[edge].tilted else Stance.UPRIGHT,
            cut.shift,
        )
        for edge, cut in assignment.items()
    }
    return able, solved.notes


def _check(prepared: PreparedStudy, assignment: Assignment) -> None:
    machine, system = prepared.study.machine, prepared.study.system
    for edge in prepared.edges:
        cut = assignment.get(edge.id)
        if cut is None:
            raise UsageError(f"edge {edge.id} has no speed: give one for every edge", edge=edge.id)
        if not cut.speed > 0.0:
            raise RangeError("the speed must be greater than zero", code="speed", speed=cut.speed)
        if cut.speed > machine.cut_speed_max * (1.0 + 1e-9):
            raise RangeError(
                f"speed {format_value(cut.speed, Kind.SPEED, system)} is more than machine '{machine.name}'"
                f" cuts at, {format_value(machine.cut_speed_max, Kind.SPEED, system)}: ask for less",
                code="speed",
                speed=cut.speed,
            )
        if cut.stance is Stance.TILTED and not machine.can_tilt:
            raise RangeError(
                f"machine '{machine.name}' has no tilting head: cut upright, or choose one that tilts",
                code="head-cannot-tilt",
                machine=machine.name,
            )


def demand_outcomes(part: CutPart) -> list[DemandOutcome]:
    """Evaluate every demand of the study over the shared draws."""
    prepared = part.prepared
    lags = corner_lags(prepared, part.zones, part.speeds) if _has_corners(prepared) else {}
    lags.update({key: np.zeros(prepared.study.draws) for key in part.loops})
    rms = np.asarray(prepared.parameters.rq_over_ra)
    return [
        outcome(
            demand,
            state=part.state,
            corner_lag=lags,
            rms_over_ra=rms,
            acceptance=prepared.acceptance.get(demand.id),
        )
        for demand in prepared.study.demands
    ]


def all_through(part: CutPart) -> NDArray[np.bool_]:
    """Return where every edge is cut through, shape (D,)."""
    rows = {(id(table), row): table.through[row] for table, row in map(part.row, part.assignment)}
    through: NDArray[np.bool_] = np.logical_and.reduce(list(rows.values()))
    return through


def _has_corners(prepared: PreparedStudy) -> bool:
    return any(demand.kind is DemandKind.CORNER for demand in prepared.study.demands)
