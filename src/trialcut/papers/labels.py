"""Where texts go: next to what they name, on nothing else."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import ceil, hypot

from trialcut.geometry.curves import Point

_CELL = 16.0


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle in pixels."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def around(cls, centre: Point, width: float, height: float) -> Box:
        """Box of a size about its centre."""
        x, y = centre
        return cls(x - width / 2, y - height / 2, x + width / 2, y + height / 2)

    @property
    def centre(self) -> Point:
        """Middle."""
        return ((self.left + self.right) / 2, (self.top + self.bottom) / 2)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def holds(self, point: Point) -> bool:
        """Whether a point lies in it."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom


@dataclass(slots=True)
class Layout:
    """What is already on the picture, and a search for free places.

    Parameters
    ----------
    area : Box
        Nothing may leave it.
    """

    area: Box
    boxes: list[Box] = field(default_factory=list)
    _points: dict[tuple[int, int], list[Point]] = field(default_factory=lambda: defaultdict(list))
    _faint: dict[tuple[int, int], list[Point]] = field(default_factory=lambda: defaultdict(list))
    _boxes: dict[tuple[int, int], list[Box]] = field(default_factory=lambda: defaultdict(list))

    def keep_off(self, points: Iterable[Point], *, faint: bool = False) -> None:
        """Mark points of lines that no text may cover; `faint` ones it may, if there is no other place."""
        marked = self._faint if faint else self._points
        for point in points:
            marked[int(point[0] // _CELL), int(point[1] // _CELL)].append(point)

    def take(self, box: Box) -> None:
        """Mark a box as used."""
        self.boxes.append(box)
        for cell in _cells(box):
            self._boxes[cell].append(box)

    def free(self, box: Box, *, over_faint: bool = False) -> bool:
        """Whether a box lies in the area, on no line and on no other box."""
        area = self.area
        if box.left < area.left or box.right > area.right or box.top < area.top or box.bottom > area.bottom:
            return False
        for cell in _cells(box):
            if any(box.overlaps(other) for other in self._boxes.get(cell, ())):
                return False
            if any(box.holds(point) for point in self._points.get(cell, ())):
                return False
            if not over_faint and any(box.holds(point) for point in self._faint.get(cell, ())):
                return False
        return True

    def clear(self, start: Point, end: Point, *, lines: bool = False) -> bool:
        """Whether a straight leader between two points runs over no text, and with `lines` over no line.

        The line at its very start, which it leads away from, does not count.
        """
        long = hypot(end[0] - start[0], end[1] - start[1])
        steps = max(2, ceil(long / 2.0))
        for k in range(1, steps):
            x = start[0] + (end[0] - start[0]) * k / steps
            y = start[1] + (end[1] - start[1]) * k / steps
            cell = (int(x // _CELL), int(y // _CELL))
            if any(box.holds((x, y)) for box in self._boxes.get(cell, ())):
                return False
            if lines and long * k / steps > 5.0:
                near = Box.around((x, y), 4.0, 4.0)
                if any(near.holds(p) for c in _cells(near) for p in self._points.get(c, ())):
                    return False
        return True

    def first_free(self, candidates: Iterable[Box], *, over_faint: bool = False) -> Box | None:
        """Take the first free candidate; none if all are taken."""
        for box in candidates:
            if self.free(box, over_faint=over_faint):
                self.take(box)
                return box
        return None


def _cells(box: Box) -> Iterable[tuple[int, int]]:
    for i in range(int(box.left // _CELL), int(box.right // _CELL) + 1):
        for j in range(int(box.top // _CELL), int(box.bottom // _CELL) + 1):
            yield i, j
