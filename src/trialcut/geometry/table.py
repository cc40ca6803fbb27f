"""Many closed runs of segments as arrays, for everything that is asked of all of them at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, tau

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.curves import Arc, Line, Segment

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(slots=True)
class SegmentTable:
    """Segments of several loops, one row each, loop after loop.

    Parameters
    ----------
    offsets : array, shape (m + 1,)
        First row of each of m loops, and the number of rows.
    is_arc : array, shape (n,)
        Arcs, as against lines.
    start, end, centre : array, shape (n, 2)
        Of a line, the centre is its start. [m]
    radius : array, shape (n,)
        Zero for a line. [m]
    angle, sweep : array, shape (n,)
        As in `Arc`; zero for a line. [rad]
    """

    offsets: Ints
    is_arc: Flags
    start: Floats
    end: Floats
    centre: Floats
    radius: Floats
    angle: Floats
    sweep: Floats

    @classmethod
    def of(cls, loops: Sequence[Sequence[Segment]]) -> SegmentTable:
        """Build the table of loops, none of them empty."""
        segments = [segment for loop in loops for segment in loop]
        n = len(segments)
        is_arc = np.fromiter((type(segment) is Arc for segment in segments), dtype=bool, count=n)
        straight = np.array([s.start + s.end for s in segments if type(s) is Line], dtype=float).reshape(
            -1, 4
        )
        round_ = np.array(
            [(*s.centre, s.radius, s.start_angle, s.sweep) for s in segments if type(s) is Arc], dtype=float
        ).reshape(-1, 5)
        start, end, centre = np.empty((n, 2)), np.empty((n, 2)), np.empty((n, 2))
        radius, angle, sweep = np.zeros(n), np.zeros(n), np.zeros(n)
        line = ~is_arc
        start[line], end[line] = straight[:, :2], straight[:, 2:]
        centre[line] = straight[:, :2]
        centre[is_arc] = round_[:, :2]
        radius[is_arc], angle[is_arc], sweep[is_arc] = round_[:, 2], round_[:, 3], round_[:, 4]
        first, last = round_[:, 3], round_[:, 3] + round_[:, 4]
        start[is_arc] = round_[:, :2] + round_[:, 2:3] * np.column_stack((np.cos(first), np.sin(first)))
        end[is_arc] = round_[:, :2] + round_[:, 2:3] * np.column_stack((np.cos(last), np.sin(last)))
        offsets = np.zeros(len(loops) + 1, dtype=np.int64)
        np.cumsum([len(loop) for loop in loops], out=offsets[1:])
        return cls(offsets, is_arc, start, end, centre, radius, angle, sweep)

    def __len__(self) -> int:
        return len(self.is_arc)

    @property
    def loop(self) -> Ints:
        """Loop of each row, shape (n,)."""
        return np.repeat(np.arange(len(self.offsets) - 1), np.diff(self.offsets))

    @property
    def following(self) -> Ints:
        """Row that follows each row round its loop, shape (n,)."""
        rows = np.arange(1, len(self) + 1)
        rows[self.offsets[1:] - 1] = self.offsets[:-1]
        return rows

    @property
    def length(self) -> Floats:
        """Lengths, shape (n,). [m]"""
        chord = np.hypot(self.end[:, 0] - self.start[:, 0], self.end[:, 1] - self.start[:, 1])
        return np.where(self.is_arc, self.radius * np.abs(self.sweep), chord)

    def heading(self, *, at_end: bool) -> Floats:
        """Direction of travel at one end of each row, shape (n,). [rad]"""
        straight = np.arctan2(self.end[:, 1] - self.start[:, 1], self.end[:, 0] - self.start[:, 0])
        quarter = np.where(self.sweep > 0.0, pi / 2, -pi / 2)
        return np.where(self.is_arc, self.angle + (self.sweep if at_end else 0.0) + quarter, straight)

    def turns(self) -> Floats:
        """Signed turn from each row to the following one, in (-pi, pi], shape (n,). [rad]"""
        turn = (self.heading(at_end=False)[self.following] - self.heading(at_end=True)) % tau
        return np.where(turn > pi, turn - tau, turn)

    def apart(self) -> Floats:
        """Distance from the end of each row to the start of the following one, shape (n,). [m]"""
        step = self.start[self.following] - self.end
        return np.hypot(step[:, 0], step[:, 1])

    def covers(self, angle: Floats) -> Flags:
        """Whether each arc covers a polar angle, shape (n,); meaningless for lines. [rad]"""
        return arc_covers(self.angle, self.sweep, angle)

    def boxes(self) -> Floats:
        """Left, bottom, right, top of each row, shape (n, 4). [m]"""
        low, high = np.minimum(self.start, self.end), np.maximum(self.start, self.end)
        for quarter, (axis, sign) in enumerate(((0, 1.0), (1, 1.0), (0, -1.0), (1, -1.0))):
            reached = self.is_arc & self.covers(np.full(len(self), quarter * pi / 2))
            value = self.centre[:, axis] + sign * self.radius
            if sign > 0.0:
                high[:, axis] = np.where(reached, np.maximum(high[:, axis], value), high[:, axis])
            else:
                low[:, axis] = np.where(reached, np.minimum(low[:, axis], value), low[:, axis])
        return np.hstack((low, high))

    def loop_boxes(self) -> Floats:
        """Left, bottom, right, top of each loop, shape (m, 4). [m]"""
        boxes = self.boxes()
        first = self.offsets[:-1]
        return np.hstack(
            (
                np.minimum.reduceat(boxes[:, :2], first, axis=0),
                np.maximum.reduceat(boxes[:, 2:], first, axis=0),
            )
        )

    def areas_and_centroids(self) -> tuple[Floats, Floats]:
        """Signed area [m^2] and centroid [m] of each loop, shapes (m,) and (m, 2).

        The polygon of the chords, and a circular segment over every arc.
        """
        first, loop = self.offsets[:-1], self.loop
        origin = self.start[first]
        x, y = (self.start - origin[loop]).T
        xn, yn = x[self.following], y[self.following]
        cross = 0.5 * (x * yn - xn * y)
        half = 0.5 * self.sweep
        cap = 0.5 * self.radius**2 * (self.sweep - np.sin(self.sweep))
        # First moment of a circular segment about the centre, along its bisector.
        moment = 2.0 / 3.0 * self.radius**3 * np.sin(half) ** 3
        cx, cy = (self.centre - origin[loop]).T
        middle = self.angle + half
        mx = cross * (x + xn) / 3.0 + cap * cx + moment * np.cos(middle)
        my = cross * (y + yn) / 3.0 + cap * cy + moment * np.sin(middle)
        area = np.add.reduceat(cross + cap, first)
        safe = np.where(np.abs(area) > 0.0, area, np.inf)
        centroid = (
            origin + np.column_stack((np.add.reduceat(mx, first), np.add.reduceat(my, first))) / safe[:, None]
        )
        return area, centroid

    def flattened(self, *, tolerance: float) -> tuple[Floats, Ints]:
        """Points along each row, its end left out, and how many there are to each row.

        Parameters
        ----------
        tolerance : float
            Largest distance between an arc and its chords. [m]

        Returns
        -------
        array, shape (p, 2)
            Row after row. [m]
        array, shape (n,)
            Points of each row.
        """
        sagitta = np.minimum(tolerance / np.where(self.is_arc, self.radius, 1.0), 1.0)
        step = np.minimum(4.0 * np.arcsin(np.sqrt(0.5 * sagitta)), pi / 2)
        counts = np.where(self.is_arc, np.ceil(np.abs(self.sweep) / step), 1.0).astype(np.int64)
        counts = np.maximum(counts, 1)
        row = np.repeat(np.arange(len(self)), counts)
        place = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
        angle = self.angle[row] + self.sweep[row] * place / counts[row]
        away = self.radius[row][:, None] * np.column_stack((np.cos(angle), np.sin(angle)))
        return self.centre[row] + np.where(self.is_arc[row][:, None], away, 0.0), counts

    def joined(self, other: SegmentTable) -> SegmentTable:
        """Return a table with the loops of another behind its own."""
        return SegmentTable(
            np.concatenate((self.offsets, other.offsets[1:] + len(self))),
            np.concatenate((self.is_arc, other.is_arc)),
            np.vstack((self.start, other.start)),
            np.vstack((self.end, other.end)),
            np.vstack((self.centre, other.centre)),
            np.concatenate((self.radius, other.radius)),
            np.concatenate((self.angle, other.angle)),
            np.concatenate((self.sweep, other.sweep)),
        )

    def flipped(self, flip: Flags) -> tuple[SegmentTable, Ints]:
        """Return the table with some loops, shape (m,), travelled the other way, and each row's old row."""
        loop = self.loop
        rows = np.arange(len(self))
        turned = flip[loop]
        rows = np.where(turned, self.offsets[loop] + self.offsets[loop + 1] - 1 - rows, rows)
        swap = turned[:, None]
        table = SegmentTable(
            self.offsets,
            self.is_arc[rows],
            np.where(swap, self.end[rows], self.start[rows]),
            np.where(swap, self.start[rows], self.end[rows]),
            np.where(swap & ~self.is_arc[rows][:, None], self.end[rows], self.centre[rows]),
            self.radius[rows],
            self.angle[rows] + np.where(turned, self.sweep[rows], 0.0),
            np.where(turned, -self.sweep[rows], self.sweep[rows]),
        )
        return table, rows


def arc_covers(angle: Floats, sweep: Floats, polar: Floats, *, slack: float = 1.0e-12) -> Flags:
    """Whether arcs from `angle` over `sweep` cover the polar angles, all of one shape. [rad]"""
    ahead = np.where(sweep >= 0.0, polar - angle, angle - polar) % tau
    return np.asarray((ahead <= np.abs(sweep) + slack) | (ahead >= tau - slack))
