"""Cutting a lot on a twin: sessions, a measured first piece, wear, time and money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot, inf

import numpy as np

from trialcut.planning.money import PieceTime, lot_cost
from trialcut.planning.study import Study
from trialcut.twins.gauges import GaugeTruth
from trialcut.twins.protocol import FloatArray, TwinPhysics, TwinSession
from trialcut.twins.shop import USUAL_WEAR
from trialcut.twins.walls import (
    BOTTOM,
    DEPTHS,
    TOP,
    EdgeCut,
    Inspection,
    conditions_of,
    inspection_of,
    path_curvature,
    resets,
    wall,
)

SHIFT = 8.0 * 3600.0
"""Longest session; a longer lot goes on the next day, with another setting. [s]"""
JUDGED = 40
"""Most pieces of a lot that are inspected, spread evenly over it."""
CORNER_TURN = 0.1
"""Least turn at which a machine slows down. [rad]"""
CORNER_SLOWING = 3.0
"""Near a corner, over twice the lag, a cut runs so many times slower: our own working value. [-]"""
LEAD = 6e-3
"""Way from a pierce to the part and off it, for every contour; the exit's trail is run on besides. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """Time of one piece as the controller has it. [s]

    Parameters
    ----------
    steady, slow, fixed : float
        Length over speed; what corners add; traverses, lifts and switching. [s]
    contours : int
        Pierces.
    """

    steady: float
    slow: float
    fixed: float
    contours: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LotResult:
    """How a lot came out.

    Parameters
    ----------
    share : float
        Of the inspected pieces, those that are good. [-]
    judged : int
        Inspected pieces.
    sessions : int
        Days that the lot took.
    piece_time : float
        Cycle time of one piece. [s]
    cost : float
        Of the lot, in the shop's currency.
    """

    share: float
    judged: int
    sessions: int
    piece_time: float
    cost: float

    @property
    def cost_each_good(self) -> float:
        """Cost over the share that is good; infinite if none is."""
        return self.cost / self.share if self.share > 0.0 else inf


def cut_lot(
    twin: TwinPhysics,
    study: Study,
    cuts: Sequence[EdgeCut],
    *,
    first_piece: bool,
    gauge: GaugeTruth,
    start: float,
    seed: int,
) -> LotResult:
    """
    Cut a lot as planned, inspect it, and price it.

    Parameters
    ----------
    twin : TwinPhysics
        The cell.
    study : Study
        The part, its demands, prices, quantity.
    cuts : sequence of EdgeCut
        One for each edge.
    first_piece : bool
        At the start of every session a piece is measured at both faces with the shop's gauge, and offset
        (and lean, where tilted) are corrected.
    gauge : GaugeTruth
        That gauge.
    start : float
        Jet-on time since the trial. [s]
    seed : int
        Of the lot's luck.

    Returns
    -------
    LotResult
        Without a slip of the pen: who reads a first piece reads it twice.
    """
    inspection = inspection_of(study)
    random = np.random.default_rng([seed, 3])
    thickness = study.setup.thickness
    program = lot_program(study, cuts, twin.session(start=start, seed=seed))
    day = twin.session(start=start, seed=seed)
    pierces = sum(day.pierce_time(thickness=thickness) for _ in range(program.contours))
    piece_time = day.cycle_time(
        steady=program.steady, slow=program.slow, fixed=program.fixed, pierces=pierces
    )
    jet_time = program.steady + program.slow + pierces
    a_day = max(int(SHIFT / piece_time), 1)
    judged = np.unique(np.linspace(0, study.quantity - 1, min(study.quantity, JUDGED)).astype(int))
    good: list[bool] = []
    first_good: list[bool] = []
    for number, first in enumerate(range(0, study.quantity, a_day)):
        begun = start + first * jet_time
        day = twin.session(start=begun, seed=seed + 7919 * number)
        worn = USUAL_WEAR / 3600.0 * (begun - start) / 2.0
        set_up = [replace(cut, offset=cut.offset + worn) for cut in cuts]
        reset = np.zeros((len(cuts), DEPTHS.size))
        if first_piece:
            walls, holds = _piece(day, set_up, inspection, thickness=thickness, reset=reset)
            first_good.append(holds)
            reset = _read(inspection, walls, set_up, gauge=gauge, random=random)
        done = first
        for piece in judged[(judged >= first) & (judged < first + a_day)]:
            day.run(jet_time=float(piece - done) * jet_time)
            done = int(piece)
            good.append(_piece(day, set_up, inspection, thickness=thickness, reset=reset)[1])
    sessions = -(-study.quantity // a_day)
    return LotResult(
        share=float(np.mean(good)),
        judged=len(good),
        sessions=sessions,
        piece_time=piece_time,
        cost=_price(
            study,
            program,
            pierces=pierces,
            sessions=sessions if first_piece else 0,
            odds=float(np.mean(first_good)) if first_good else 1.0,
        ),
    )


def lot_program(study: Study, cuts: Sequence[EdgeCut], day: TwinSession) -> Program:
    """
    Time of one piece, by one rule for all who plan it.

    Parameters
    ----------
    study : Study
        Part and machine.
    cuts : sequence of EdgeCut
        One for each edge.
    day : TwinSession
        Asked only for the lag, over which corners are passed slowly.

    Returns
    -------
    Program
        Steady, slow and fixed.
    """
    machine, thickness = study.machine, study.setup.thickness
    place = {edge.id: number for number, edge in enumerate(study.part.edges)}
    lengths = [edge.length for edge in study.part.edges]
    steady = sum(length / cut.speed for length, cut in zip(lengths, cuts, strict=True))
    slow = 0.0
    for contour in study.part.contours:
        begin = cuts[place[contour.edges[0].id]]
        steady += (LEAD + _trail(day, begin, thickness=thickness)) / begin.speed
        for corner in contour.corners:
            if abs(corner.turn) < CORNER_TURN:
                continue
            for edge in (corner.before, corner.after):
                cut = cuts[place[edge]]
                late = (CORNER_SLOWING - 1.0) * _trail(day, cut, thickness=thickness)
                slow += 0.5 * cut.speed / machine.acceleration + late / cut.speed
    starts = [contour.edges[0].start for contour in study.part.contours]
    ways = [hypot(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in pairwise(starts)]
    each = machine.switch_time + 2.0 * machine.head_lift / machine.lift_speed
    return Program(
        steady=steady,
        slow=slow,
        fixed=len(starts) * each + sum(ways) / machine.traverse_speed,
        contours=len(starts),
    )


def _trail(day: TwinSession, cut: EdgeCut, *, thickness: float) -> float:
    """How far the exit is from under the entry, lead included. [m]"""
    lag = float(day.lag(conditions_of(cut, thickness=thickness), DEPTHS)[-1])
    return abs(lag - thickness * float(np.tan(cut.lead)))


def _piece(
    day: TwinSession,
    cuts: Sequence[EdgeCut],
    inspection: Inspection,
    *,
    thickness: float,
    reset: FloatArray,
) -> tuple[FloatArray, bool]:
    """Cut the next piece: its walls, shape (E, L), and whether it is good."""
    seen: dict[EdgeCut, tuple[FloatArray, FloatArray, bool]] = {}
    for cut in cuts:
        if cut not in seen:
            conditions = conditions_of(cut, thickness=thickness)
            seen[cut] = (
                wall(day, conditions=conditions, offset=cut.offset, curvature=path_curvature(cut)),
                day.roughness(conditions, DEPTHS),
                bool(day.cuts_through(conditions)),
            )
    scatter = day.wall_scatter(edges=len(cuts))[:, None]
    rougher = day.roughness_scatter(edges=len(cuts))[:, None]
    walls = np.stack([seen[cut][0] for cut in cuts]) + scatter - reset
    finish = np.stack([seen[cut][1] for cut in cuts]) * rougher
    through = np.array([seen[cut][2] for cut in cuts])
    return walls, bool(inspection.holds(walls, finish, through))


def _read(
    inspection: Inspection,
    walls: FloatArray,
    cuts: Sequence[EdgeCut],
    *,
    gauge: GaugeTruth,
    random: np.random.Generator,
) -> FloatArray:
    """Measure a first piece at both faces, and return the corrections that follow, shape (E, L). [m]"""
    sizes = inspection.sizes(walls)
    aimed = inspection.nominal + inspection.weights @ np.array([cut.aim for cut in cuts])
    top, bottom = (
        np.array([gauge.read(value, random) for value in sizes[:, face]]) - aimed for face in (TOP, BOTTOM)
    )
    return resets(inspection, top=top, bottom=bottom, tilted=np.array([cut.tilted for cut in cuts]))


def _price(study: Study, program: Program, *, pierces: float, sessions: int, odds: float) -> float:
    """Price the lot by the plan's own price list; every session past the first is measured again."""
    time = PieceTime(
        cutting=np.array([program.steady + program.slow]),
        traverse=np.array([program.fixed]),
        piercing=np.array([pierces]),
        slow=program.slow,
        edges={},
    )
    lot = lot_cost(study, time, first_piece=sessions > 0, odds_now=odds).lot.mean
    again = max(sessions - 1, 0) * study.prices.machine * study.prices.measuring_time
    return float(lot + again)
