"""A program replayed: the jet swept along what was read, by the machine's own law of motion, and compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import atan2, cos, inf, isfinite, sin

import numpy as np

from trialcut.ascut.jet_path import ALMOST_SMOOTH, SPACING, PathSamples, leaned, sample_path
from trialcut.ascut.laid_path import LaidPath
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.types import DeviationField, FloatArray, JetPath
from trialcut.errors import ComputationError
from trialcut.geometry.curves import Arc
from trialcut.motion.cycle import law_of_intervals
from trialcut.motion.intervals import Intervals
from trialcut.motion.machine import Machine
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.prepared import CORNER_TOLERANCE, PreparedPath, corner_speed
from trialcut.papers.program.form import ProgramForm
from trialcut.papers.program.headings import Course, courses
from trialcut.papers.program.moves import ACROSS, Move
from trialcut.papers.program.reading import Program
from trialcut.planning.as_cut import CHECK_DEPTHS, FASTER, WALL_SPACING, AsCut, measured
from trialcut.planning.cut_part import CutPart

SAME_WALL = 2.0e-6
"""Largest difference of the walls between plan and program, beside that of the printed digits. [m]"""
SENSITIVE = 0.01
"""Share of the places on the walls that may differ by more, by up to `FAR_WALL`.

At starts and corners, near the bottom, the as-cut part itself changes by up to 12 um where the samples of the
jet's way are moved by a hair. [-]
"""
FAR_WALL = 2.0e-5
"""Largest difference there, and of a gauge's reading. [m]"""
SAME_TIME = 2.0e-3
"""Largest difference of the cutting time, as a fraction. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """What a program comes to.

    Parameters
    ----------
    jet : JetPath
        As it moves.
    cutting : float
        Time with the jet moving. [s]
    """

    jet: JetPath
    cutting: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How a replayed program differs from its plan.

    Parameters
    ----------
    wall : float
        Difference of the as-cut walls that all but `SENSITIVE` of the places keep within, at all depths. [m]
    allowed : float
        Largest that is let pass. [m]
    worst : float
        Largest difference anywhere. [m]
    reading : float
        Largest difference of what a gauge reads for a demand. [m]
    cutting, planned : float
        Time of cutting, replayed and by the plan's own path. [s]
    """

    wall: float
    allowed: float
    worst: float
    reading: float
    cutting: float
    planned: float


def replay(program: Program, machine: Machine, *, digit: float) -> Replay:
    """
    Move the jet as a program says.

    Parameters
    ----------
    program : Program
        As read.
    machine : Machine
        Whose law of motion holds: acceleration, jerk, rounding of corners.
    digit : float
        Unit of the last digit that places are printed with. [m]

    Returns
    -------
    Replay
        The axes run straight from block to block; the head turns evenly along each.
    """
    moves = [move for run in program.runs for move in run.moves]
    owner = np.repeat(np.arange(len(program.runs)), [len(run.moves) for run in program.runs])
    length = np.array([move.segment.length for move in moves])
    stations = np.concatenate(([0.0], np.cumsum(length)))
    radius = np.array([move.segment.radius if isinstance(move.segment, Arc) else inf for move in moves])
    feed = np.array([move.feed for move in moves])
    lines = _headings(program, digit)
    knot_caps = _knot_caps(moves, owner.tolist(), lines, machine)
    row = np.arange(len(moves))
    path = CutPath(
        runs=tuple(
            PathRun(
                contour=run.title,
                pierce=run.start,
                lead_in=(),
                lead_out=(),
                start_edge="",
                start_fraction=0.0,
                approach=way,
            )
            for run, way in zip(program.runs, program.traverses, strict=True)
        )
    )
    prepared = PreparedPath(
        path=path,
        machine=machine,
        edge_ids=(),
        stations=stations,
        piece_edge=row,
        piece_run=owner,
        piece_radius=radius,
        piece_rolls=np.zeros(len(moves), dtype=bool),
        piece_caps=np.minimum(np.sqrt(machine.acceleration * radius), machine.cut_speed_max),
        station_caps=knot_caps,
        corners={},
        corner_station=np.zeros(0),
        corner_room=np.zeros((0, 2)),
        corner_contour=np.zeros((0, 2)),
        corner_headings=np.zeros((0, 2)),
    )
    intervals = Intervals(
        lengths=length,
        caps=np.minimum(feed, prepared.piece_caps),
        knot_caps=knot_caps,
        edge_index=row,
        run_index=owner,
        unhindered_time=float((length / feed).sum()),
    )
    laid = LaidPath(
        segments=tuple(move.segment for move in moves),
        prepared=prepared,
        held=row,
        following=row,
        off_edge=np.zeros(len(moves), dtype=bool),
        not_cut=(),
        vanished=(),
        left_out={},
    )
    samples = sample_path(laid, intervals, spacing=SPACING)
    samples = replace(samples, direction=_directions(samples, moves, owner.tolist(), lines))
    return Replay(
        jet=leaned(samples, lambda each: _lean(each, program, stations)),
        cutting=law_of_intervals(prepared, intervals).total,
    )


def agreement(program: Program, part: CutPart, cut: AsCut, *, planned: float, form: ProgramForm) -> Agreement:
    """
    Replay a program through the as-cut part, and hold it against the plan's own.

    Parameters
    ----------
    program : Program
        As read.
    part : CutPart
        The plan's.
    cut : AsCut
        The plan's own, at `planning.as_cut.CHECK_DEPTHS`.
    planned : float
        Cutting time of the plan's path. [s]
    form : ProgramForm
        Whose digits make a difference.

    Returns
    -------
    Agreement
        Within limits.

    Raises
    ------
    ComputationError
        If walls or time differ by more than they may.
    """
    study = part.prepared.study
    played = replay(program, study.machine, digit=form.digit)
    fastest = float(cut.law.speeds[-1])
    if played.jet.speed.max() > fastest:
        raise ComputationError(
            f"the program runs at {played.jet.speed.max():.4g} m/s, the plan at {fastest / FASTER:.4g} m/s"
        )
    field = deviation_field(
        study.part,
        played.jet,
        cut.law,
        depths=CHECK_DEPTHS,
        thickness=study.setup.thickness,
        wall_spacing=WALL_SPACING,
    )
    digits = _of_digits(form, study.setup.thickness)
    wall, worst = _difference(field, cut.field)
    found = Agreement(
        wall=wall,
        allowed=SAME_WALL + digits,
        worst=worst,
        reading=_of_readings(part, cut, replace(cut, jet=played.jet, field=field)),
        cutting=played.cutting,
        planned=planned,
    )
    if not (found.wall <= found.allowed and max(worst, found.reading) <= FAR_WALL + digits):
        raise ComputationError(
            f"the program does not give the plan's part: walls differ by {wall * 1e6:.2f} um, in places by "
            f"{worst * 1e6:.2f} um, readings by {found.reading * 1e6:.2f} um, allowed are "
            f"{found.allowed * 1e6:.2f} um and {(FAR_WALL + digits) * 1e6:.2f} um: give [program] of the "
            "shop file more digits",
            code="program-walls",
            wall=wall,
            worst=worst,
        )
    if not abs(found.cutting - planned) <= SAME_TIME * planned:
        raise ComputationError(
            f"the program takes {found.cutting:.2f} s of cutting, the plan {planned:.2f} s: "
            "give [program] of the shop file more digits",
            code="program-time",
            cutting=found.cutting,
        )
    return found


def _of_digits(form: ProgramForm, thickness: float) -> float:
    """What half a unit of the last digits moves a wall by, at most."""
    angle = form.read_angle(10.0 ** -(form.angle_decimals or 0)) if form.axes else 0.0
    return form.digit + angle * thickness


def _difference(played: DeviationField, planned: DeviationField) -> tuple[float, float]:
    """Differences of two walls, most and all of them; infinite where one has a wall and the other none."""
    ours, theirs = played.deviation, planned.deviation
    away = np.full(theirs.shape, inf)
    away[ours == theirs] = 0.0
    there = np.isfinite(theirs) & np.isfinite(ours)
    away[there] = np.abs(ours[there] - theirs[there])
    return float(np.quantile(away, 1.0 - SENSITIVE, method="higher")), float(away.max())


def _of_readings(part: CutPart, planned: AsCut, played: AsCut) -> float:
    ours, theirs = measured(part, played), measured(part, planned)
    differences = [
        abs(one.value - other.value)
        for name, values in theirs.items()
        for one, other in zip(ours[name], values, strict=True)
        if one.value != other.value
    ]
    return max((each if isfinite(each) else inf for each in differences), default=0.0)


def _headings(program: Program, digit: float) -> list[Course]:
    """Course of every move."""
    return [
        course
        for run in program.runs
        for first, last, course in courses(run.moves, digit)
        for _ in range(first, last)
    ]


def _knot_caps(
    moves: Sequence[Move], owner: Sequence[int], lines: Sequence[Course], machine: Machine
) -> FloatArray:
    """Speed at each joint of the moves as the machine rounds it; zero where the jet is on or off."""
    caps = np.zeros(len(moves) + 1)
    for k in range(1, len(moves)):
        if owner[k - 1] != owner[k]:
            continue
        joint = moves[k].segment.start
        turn = lines[k].heading_at(joint) - lines[k - 1].heading_at(joint)
        caps[k] = corner_speed(
            turn=atan2(sin(turn), cos(turn)), acceleration=machine.acceleration, tolerance=CORNER_TOLERANCE
        )
    return caps


def _lean(samples: PathSamples, program: Program, stations: FloatArray) -> FloatArray:
    """Lean of every sample: even along each move, from that of the move before."""
    leans = np.zeros((samples.station.size, 2))
    first = 0
    for number, run in enumerate(program.runs):
        own = samples.run == number
        nodes = stations[first : first + len(run.moves) + 1]
        ends = np.array([run.lean, *(move.lean for move in run.moves)])
        leans[own, 0] = np.interp(samples.station[own], nodes, ends.real)
        leans[own, 1] = np.interp(samples.station[own], nodes, ends.imag)
        first += len(run.moves)
    return leans


def _directions(
    samples: PathSamples, moves: Sequence[Move], owner: Sequence[int], lines: Sequence[Course]
) -> FloatArray:
    """Direction of travel by the courses, small steps between two offsets passed as `ascut.jet_path` does."""
    direction = samples.direction.copy()
    row = samples.edge
    first = np.searchsorted(row, np.arange(len(moves) + 1))
    k = 0
    for _, own in groupby(lines, key=id):
        last = k + len(list(own))
        on = slice(first[k], first[last])
        direction[on] = lines[k].directions_at(samples.position[on])
        k = last
    k = 0
    while k < len(moves):
        last = k + 1
        if moves[k].label == ACROSS:
            while last < len(moves) and moves[last].label == ACROSS:
                last += 1
            if k > 0 and last < len(moves) and owner[k - 1] == owner[last]:
                before = lines[k - 1].heading_at(moves[k].segment.start)
                turn = lines[last].heading_at(moves[last].segment.start) - before
                turn = atan2(sin(turn), cos(turn))
                if abs(turn) < ALMOST_SMOOTH:
                    on = slice(first[k], first[last])
                    here = samples.station[on]
                    heading = before + turn * (here - here[0]) / (here[-1] - here[0])
                    direction[on] = np.column_stack((np.cos(heading), np.sin(heading)))
        k = last
    return direction
