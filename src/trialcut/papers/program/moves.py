"""The way of the jet as a program has it: runs of moves, each with one feed, and the lean at its end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from trialcut.ascut.jet_path import SPACING, PathSamples, leaned, sample_path, stance_lean
from trialcut.ascut.laid_path import LaidPath, lay_path
from trialcut.ascut.types import FloatArray
from trialcut.geometry.crossings import piece
from trialcut.geometry.curves import Arc, Point, Segment
from trialcut.motion.cycle import law_of_intervals
from trialcut.motion.intervals import Intervals, path_intervals
from trialcut.planning.cut_part import CutPart
from trialcut.planning.part_time import lead_speeds, path_of

ComplexArray = NDArray[np.complex128]

BOTTOM_ERROR = 1.0e-6
"""Largest distance at the bottom face between a lean that bends and its chords between moves. [m]"""
MOST_SWEEP = 0.75 * np.pi
"""An arc that sweeps more is written in pieces, so that a radius says which arc it is. [rad]"""
LEAST_MOVE = 1.0e-7
"""Changes of feed and lean closer to one another, or to a joint, than this are one. [m]"""
ACROSS = "across"
"""Label of a way across a corner."""
LEAD = "lead"
"""Label of a lead."""


@dataclass(frozen=True, slots=True)
class Move:
    """One cut, at one feed.

    Parameters
    ----------
    segment : Line or Arc
        Of the jet at the top face. [m]
    feed : float
        [m/s]
    lean : complex
        At its end: shift of the jet per depth along X, and along Y as the imaginary part. [-]
    label : str
        Id of the edge, ``"lead"`` or ``"across"``.
    """

    segment: Segment
    feed: float
    lean: complex = 0j
    label: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """From jet on to jet off.

    Parameters
    ----------
    title : str
        Id of the contour.
    start : Point
        Where the jet goes through. [m]
    lean : complex
        Of the head before the jet is on. [-]
    moves : tuple of Move
        In order.
    """

    title: str
    start: Point
    lean: complex
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JetMoves:
    """Every run of a plan, and what the plan says of it.

    Parameters
    ----------
    runs : tuple of Run
        In cutting order.
    cutting : float
        Time along them by the machine's law, jet on. [s]
    not_cut : tuple of str
        Contours that the jet does not fit into.
    """

    runs: tuple[Run, ...]
    cutting: float
    not_cut: tuple[str, ...]


def jet_moves(part: CutPart) -> JetMoves:
    """
    Runs of the jet's real way, with its feeds and leans: that from which the as-cut part is swept.

    Parameters
    ----------
    part : CutPart
        As planned.

    Returns
    -------
    JetMoves
        Offsets, leads, starts, overlaps, slow zones, loops and leans are all in it.
    """
    study = part.prepared.study
    laid = lay_path(
        study.part,
        path_of(part),
        machine=study.machine,
        offsets={edge: part.state(edge).wall.offset for edge in part.assignment},
        loops=part.loops,
    )
    stance = part.head
    intervals = path_intervals(
        laid.prepared,
        speed=part.speeds,
        lead_speed=lead_speeds(part),
        corner_zone=part.zones,
        lean=stance.lean,
        edge_cap=stance.edge_cap,
        swing_zone=stance.swing_zone,
    )
    samples, lean = None, np.zeros(0, dtype=complex)
    if stance.lean:
        samples = sample_path(laid, intervals, spacing=SPACING, straight=SPACING)
        slopes = leaned(samples, stance_lean(stance)).lean
        lean = slopes[:, 0] + 1j * slopes[:, 1]
    tolerance = BOTTOM_ERROR / study.setup.thickness
    return JetMoves(
        runs=tuple(_runs(laid, intervals, samples, lean, tolerance)),
        cutting=law_of_intervals(laid.prepared, intervals).total,
        not_cut=laid.not_cut,
    )


def _runs(
    laid: LaidPath, intervals: Intervals, samples: PathSamples | None, lean: ComplexArray, tolerance: float
) -> Iterator[Run]:
    prepared = laid.prepared
    ends, edges = prepared.stations, prepared.edge_ids
    speeds_at = np.concatenate(([0.0], np.cumsum(intervals.lengths)))
    changes = speeds_at[1:-1][intervals.caps[1:] != intervals.caps[:-1]]
    arcs = np.concatenate([np.zeros(0), *_arc_knots(laid)])
    for number in np.unique(prepared.piece_run).tolist():
        course = _Course.of(samples, lean, number)
        knots = _apart(np.unique(np.concatenate((changes, arcs, course.bends(tolerance)))), ends)
        pieces = np.flatnonzero(prepared.piece_run == number).tolist()
        moves = []
        for row in pieces:
            low, high = float(ends[row]), float(ends[row + 1])
            marks = [low, *knots[(knots > low) & (knots < high)].tolist(), high]
            for begin, end in pairwise(marks):
                segment = laid.segments[row]
                if len(marks) > 2:
                    segment = piece(segment, (begin - low) / (high - low), (end - low) / (high - low))
                middle = np.searchsorted(speeds_at, 0.5 * (begin + end), side="right") - 1
                moves.append(
                    Move(segment, float(intervals.caps[middle]), course.at(end), _label(laid, row, edges))
                )
        yield Run(
            prepared.path.runs[number].contour,
            moves[0].segment.start,
            course.first(),
            tuple(moves),
        )


@dataclass(frozen=True, slots=True)
class _Course:
    """Lean along one run."""

    station: FloatArray
    lean: ComplexArray

    @classmethod
    def of(cls, samples: PathSamples | None, lean: ComplexArray, run: int) -> _Course:
        if samples is None:
            return cls(np.zeros(0), lean)
        own = samples.run == run
        return cls(samples.station[own], lean[own])

    def first(self) -> complex:
        return complex(self.lean[0]) if self.lean.size else 0j

    def at(self, station: float) -> complex:
        """Lean on arriving there."""
        if not self.lean.size:
            return 0j
        place = int(np.searchsorted(self.station, station))
        if place < self.station.size and self.station[place] == station:
            return complex(self.lean[place])
        return complex(np.interp(station, self.station, self.lean))

    def bends(self, tolerance: float) -> FloatArray:
        """Stations between which the lean runs straight along the path, within a tolerance."""
        station, lean = self.station, self.lean
        kept, waiting = [], [(0, lean.size - 1)]
        while waiting:
            first, last = waiting.pop()
            if last - first < 2:
                continue
            inside = slice(first + 1, last)
            span = station[last] - station[first]
            share = (station[inside] - station[first]) / span if span > 0.0 else 0.0
            error = np.abs(lean[inside] - lean[first] - share * (lean[last] - lean[first]))
            worst = int(np.argmax(error))
            if error[worst] > tolerance:
                middle = first + 1 + worst
                kept.append(middle)
                waiting += [(first, middle), (middle, last)]
        return station[sorted(kept)] if kept else np.zeros(0)


def _label(laid: LaidPath, row: int, edges: tuple[str, ...]) -> str:
    if not laid.off_edge[row]:
        return edges[int(laid.prepared.piece_edge[row])]
    return LEAD if laid.prepared.piece_edge[row] < 0 else ACROSS


def _apart(knots: FloatArray, ends: FloatArray) -> FloatArray:
    """Knots that leave no move too short to be written."""
    if not knots.size:
        return knots
    place = np.clip(np.searchsorted(ends, knots), 1, ends.size - 1)
    near = np.minimum(np.abs(knots - ends[place - 1]), np.abs(knots - ends[place]))
    knots = knots[near > LEAST_MOVE]
    return knots[np.concatenate(([True], np.diff(knots) > LEAST_MOVE))] if knots.size else knots


def _arc_knots(laid: LaidPath) -> Iterator[FloatArray]:
    """Stations at which long arcs are divided."""
    for row, segment in enumerate(laid.segments):
        if isinstance(segment, Arc) and abs(segment.sweep) > MOST_SWEEP:
            count = int(np.ceil(abs(segment.sweep) / MOST_SWEEP))
            low, high = laid.prepared.stations[row : row + 2]
            yield low + (high - low) * np.arange(1, count) / count
