"""Axes of a small chart: from values to pixels, even or by logarithm, with round ticks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, floor, log, log10

from trialcut.papers.ascut_look import KEY_TYPE, line, words
from trialcut.papers.figures import fixed
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, text_width

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
LOG_TICKS = ((1.0, 2.0, 5.0), (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0))
"""Of each power of ten; the closer ones where the sparse ones are too few."""
FEWEST = 3
NARROW = 2.5
"""Ratio of ends below which a logarithmic axis gets even ticks. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One axis.

    Parameters
    ----------
    low, high : float
        Values at its ends, in the unit that is printed.
    start, end : float
        Where they are. [px]
    logarithmic : bool
        Equal ratios are equally far apart.
    """

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Where a value is. [px]"""
        if self.logarithmic:
            share = log(value / self.low) / log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)

    def ticks(self, *, most: int = 5) -> list[float]:
        """Round values on it."""
        if self.logarithmic and self.high / self.low > NARROW:
            for factors in LOG_TICKS:
                found = list(self._log_ticks(factors))
                if len(found) >= FEWEST:
                    return found
        step = round_step((self.high - self.low) / most)
        first = ceil(self.low / step - 1e-9)
        return [k * step for k in range(first, floor(self.high / step + 1e-9) + 1)]

    def _log_ticks(self, factors: Iterable[float]) -> Iterator[float]:
        chosen = tuple(factors)
        for power in range(floor(log10(self.low)), ceil(log10(self.high)) + 1):
            for factor in chosen:
                value = factor * 10.0**power
                if self.low * (1.0 - 1e-9) <= value <= self.high * (1.0 + 1e-9):
                    yield value


def round_step(value: float) -> float:
    """Least round step that is not below a positive value."""
    power = 10.0 ** floor(log10(value))
    return min(step * power for step in STEPS if step * power >= value * (1.0 - 1e-12))


def tick_texts(ticks: list[float]) -> list[str]:
    """Ticks with no more decimals than tell them apart."""
    for decimals in range(7):
        if all(abs(tick - round(tick, decimals)) <= 1e-6 * max(abs(tick), 1e-9) for tick in ticks):
            return [fixed(tick, decimals) for tick in ticks]
    return [fixed(tick, 6) for tick in ticks]


def widened(low: float, high: float, share: float = 0.06) -> tuple[float, float]:
    """Ends with some room beyond them."""
    room = share * (high - low) or 0.1 * abs(high) or 1.0
    return low - room, high + room


def frame(plot: Box, across: Axis, up: Axis) -> Iterator[str]:
    """Grid, ticks and their values about a plot."""
    ticks = up.ticks(most=4)
    taken = 1e9
    for tick, text in zip(ticks, tick_texts(ticks), strict=True):
        y = up.at(tick)
        yield line((plot.left, y), (plot.right, y), LIGHT.hair, 0.7)
        if abs(taken - y) >= KEY_TYPE + 1.5:
            yield words(text, plot.left - 6.0, y + 3.4, LIGHT.grey, anchor="end")
            taken = y
    yield from across_frame(plot, across)


def across_frame(plot: Box, across: Axis) -> Iterator[str]:
    """Lower edge of a plot, its ticks and their values."""
    ticks = across.ticks(most=6)
    taken = -1e9
    for tick, text in zip(ticks, tick_texts(ticks), strict=True):
        x, half = across.at(tick), text_width(text, KEY_TYPE) / 2
        yield line((x, plot.bottom), (x, plot.bottom + 3.5), LIGHT.soft, 0.8)
        if x - half > taken + 4.0:
            yield words(text, x, plot.bottom + 14.0, LIGHT.grey, anchor="middle")
            taken = x + half
    yield line((plot.left, plot.bottom), (plot.right, plot.bottom), LIGHT.soft, 0.9)


def clip(name: str, plot: Box) -> str:
    """Definition of a clip to a plot."""
    return element(
        "clipPath",
        {"id": name},
        element(
            "rect",
            {
                "x": plot.left,
                "y": plot.top,
                "width": plot.right - plot.left,
                "height": plot.bottom - plot.top,
            },
        ),
    )
