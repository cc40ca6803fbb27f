"""Headings of the blocks of a program, told from more than one block where printed digits blur a short one.

A straight or an arc is written in pieces where feed or lean change. Each end is rounded to a digit, so that a
short piece points a little astray, and the jet's trail would be laid astray with it; the axes and the trail
follow the line that the pieces form together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import atan2, pi

import numpy as np

from trialcut.ascut.types import FloatArray
from trialcut.geometry.curves import Arc, Point, Segment
from trialcut.papers.program.moves import Move
from trialcut.papers.program.writing import SHORT_ARC

ACCEPTED = 2.0
"""Digits by which points may lie beside their common line: two roundings, and what a fit makes of them."""


@dataclass(frozen=True, slots=True)
class Course:
    """One straight or circle that several moves lie on within a digit.

    Parameters
    ----------
    heading : float
        Of a straight. [rad]
    centre : Point or None
        Of a circle. [m]
    way : float
        1 counter-clockwise, -1 clockwise.
    """

    heading: float
    centre: Point | None = None
    way: float = 1.0

    def heading_at(self, point: Point) -> float:
        """Direction of travel at a point of the course. [rad]"""
        if self.centre is None:
            return self.heading
        return atan2(point[1] - self.centre[1], point[0] - self.centre[0]) + self.way * 0.5 * pi

    def directions_at(self, points: FloatArray) -> FloatArray:
        """Unit vectors of travel at points of shape (N, 2)."""
        if self.centre is None:
            return np.tile((np.cos(self.heading), np.sin(self.heading)), (len(points), 1))
        out = points - np.array(self.centre)
        out /= np.hypot(out[:, 0], out[:, 1])[:, None]
        return np.asarray(self.way * np.column_stack((-out[:, 1], out[:, 0])))


def courses(moves: Sequence[Move], digit: float) -> Iterator[tuple[int, int, Course]]:
    """
    Courses of the moves of one run.

    Parameters
    ----------
    moves : sequence of Move
        In order.
    digit : float
        Unit of the last printed digit. [m]

    Yields
    ------
    tuple of int, int, Course
        First move, the one after the last, and what they lie on; all moves are covered.
    """
    short = 2.0 * SHORT_ARC * digit
    kinds = [_kind(move.segment, short) for move in moves]
    radii = [move.segment.radius if isinstance(move.segment, Arc) else 0.0 for move in moves]
    points = np.array([moves[0].segment.start, *(move.segment.end for move in moves)])
    middles = np.array([move.segment.point(0.5) for move in moves])
    first = 0
    while first < len(moves):
        most = lead = first
        while most < len(moves) and moves[most].label == moves[first].label:
            if kinds[lead] is None:
                lead = most
            alike = kinds[most] == kinds[lead] and abs(radii[most] - radii[lead]) <= ACCEPTED * digit
            if not alike and kinds[most] is not None:
                break
            most += 1
        kind = kinds[lead] or 0
        fit = _line if kind == 0 else _circle
        last, step = first + 1, 1
        course = _own(moves[first].segment)
        while step and last < most:
            trial = min(last + step, most)
            found = fit(points[first : trial + 1], middles[first:trial], kind, ACCEPTED * digit)
            if found is None:
                step //= 2
            else:
                course, last, step = found, trial, 2 * step
        yield first, last, course
        first = last


def _kind(segment: Segment, short: float) -> int | None:
    """0 for a straight, 1 and -1 for arcs, None for a straight too short to be written as an arc."""
    if isinstance(segment, Arc):
        return 1 if segment.sweep > 0.0 else -1
    return None if segment.length <= short else 0


def _own(segment: Segment) -> Course:
    if isinstance(segment, Arc):
        return Course(0.0, segment.centre, 1.0 if segment.sweep > 0.0 else -1.0)
    return Course(segment.heading())


def _line(points: FloatArray, middles: FloatArray, kind: int, off: float) -> Course | None:  # noqa: ARG001
    """Straight through all points, if they lie on one in the order of travel."""
    mean = points.mean(axis=0)
    axis = np.linalg.svd(points - mean, full_matrices=False)[2][0]
    if axis @ (points[-1] - points[0]) < 0.0:
        axis = -axis
    away = points - mean
    across = away[:, 0] * axis[1] - away[:, 1] * axis[0]
    if np.abs(across).max() > off or np.diff(away @ axis).min() <= 0.0:
        return None
    return Course(float(np.arctan2(axis[1], axis[0])))


def _circle(points: FloatArray, middles: FloatArray, kind: int, off: float) -> Course | None:
    """Circle of least squares through all points and the middles of the arcs, if they lie on one."""
    every = np.vstack((points, middles))
    mean = every.mean(axis=0)
    size = float(np.abs(every - mean).max())
    x, y = ((every - mean) / size).T
    solved, _, rank, _ = np.linalg.lstsq(
        np.column_stack((2.0 * x, 2.0 * y, np.ones(x.size))), x**2 + y**2, rcond=None
    )
    if rank < 3:
        return None
    centre = mean + size * solved[:2]
    radius = size * float(np.sqrt(solved[2] + solved[0] ** 2 + solved[1] ** 2))
    if np.abs(np.hypot(*(every - centre).T) - radius).max() > off:
        return None
    return Course(0.0, (float(centre[0]), float(centre[1])), float(kind))
