"""Top and bottom that were written into each other's place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, isfinite
from statistics import median

from trialcut.trials.intake.expect import Expectation
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.telling import told, value_text
from trialcut.trials.types import Reading, ReadingKind

SURE = 10.0
"""Logarithm of how much likelier the swapped values must be. [-]"""
PLAUSIBLE = 3.5
"""How far a swapped value may be off its forecast. [-]"""
OTHERS = 4
"""Least number of other pairs that show what difference is usual here."""
MANY = 40
"""Pairs from which on none is left out of what it is held against."""
SURE_BY_OTHERS = 8.0
"""As `SURE`, by the difference of the other pairs. [-]"""
LEAST_SCATTER = 0.25
"""Of such differences over their spread in the forecast: a few pairs may agree by luck. [-]"""
EVEN = 2.5
"""How far the swapped difference may be off the usual one. [-]"""


@dataclass(frozen=True, slots=True)
class _Pair:
    top: int
    bottom: int
    kind: ReadingKind
    difference: float
    expected: float
    least_scatter: float


def swapped_pairs(
    readings: Sequence[Reading], about: Sequence[Expectation | None]
) -> Iterator[tuple[tuple[int, int], ReadingFinding]]:
    """
    Pairs of top and bottom that are much likelier the other way round, where there is a forecast of both.

    Parameters
    ----------
    readings : sequence of Reading
        Of one trial.
    about : sequence of Expectation or None
        What each should be.

    Yields
    ------
    tuple of int
        Places of top and bottom.
    ReadingFinding
        On the top one.

    Notes
    -----
    By the forecast, where it knows the taper well enough; and by the other pairs of the same kind on the same
    form, whose difference of top and bottom shows what is usual here even where the forecast is wide.
    """
    pairs = list(_pairs(readings, about))
    rest: dict[ReadingKind, list[float]] = {}
    for pair in pairs:
        rest.setdefault(pair.kind, []).append(pair.difference - pair.expected)
    usual = {kind: _Usual(residuals) for kind, residuals in rest.items()}
    for pair in pairs:
        scores = _scores(pair, readings, about)
        if scores.fits and (scores.gain > SURE or _by_others(pair, usual[pair.kind])):
            top, bottom = readings[pair.top], readings[pair.bottom]
            yield (
                (pair.top, pair.bottom),
                told(
                    pair.top,
                    top,
                    code="top-bottom-swapped",
                    problem=f"and {value_text(bottom)} at the bottom are the other way round than expected",
                    cause="top and bottom are swapped",
                    instead=bottom.value,
                    text=value_text(bottom),
                    others=(pair.bottom,),
                    remedy=f"look again; if so, correct the top to {value_text(bottom)} and the bottom to "
                    f"{value_text(top)}",
                ),
            )


def _pairs(readings: Sequence[Reading], about: Sequence[Expectation | None]) -> Iterator[_Pair]:
    tops: dict[tuple[str, str, ReadingKind, str, str], int] = {}
    bottoms: dict[tuple[str, str, ReadingKind, str, str], int] = {}
    for place, reading in enumerate(readings):
        where = (reading.coupon, reading.cut, reading.kind, reading.gauge, reading.place)
        if reading.depth == 0.0:
            tops.setdefault(where, place)
        elif reading.depth == 1.0:
            bottoms.setdefault(where, place)
    for where, top in tops.items():
        bottom = bottoms.get(where)
        if bottom is None:
            continue
        a, b, first, second = readings[top], readings[bottom], about[top], about[bottom]
        if first is None or second is None or not first.forecast or not second.forecast:
            continue
        if not isfinite(a.value - b.value):
            continue
        yield _Pair(
            top,
            bottom,
            a.kind,
            a.value - b.value,
            first.centre - second.centre,
            max(
                hypot(a.standard_uncertainty, b.standard_uncertainty),
                LEAST_SCATTER * hypot(first.spread, second.spread),
            ),
        )


@dataclass(frozen=True, slots=True)
class _Scores:
    """Whether the swapped values fit their forecasts, and how much likelier they are, as a logarithm."""

    fits: bool
    gain: float


def _scores(pair: _Pair, readings: Sequence[Reading], about: Sequence[Expectation | None]) -> _Scores:
    top, bottom = readings[pair.top].value, readings[pair.bottom].value
    first, second = about[pair.top], about[pair.bottom]
    if first is None or second is None:
        return _Scores(False, 0.0)
    swapped = (first.shifted(bottom), second.shifted(top))
    typed = (first.shifted(top), second.shifted(bottom))
    gain = 0.5 * (sum(score**2 for score in typed) - sum(score**2 for score in swapped))
    return _Scores(max(abs(score) for score in swapped) <= PLAUSIBLE, gain)


class _Usual:
    """Median and scatter of the differences of one kind, off their forecast, without one of them."""

    def __init__(self, residuals: Sequence[float]) -> None:
        self.residuals = residuals
        # Among many, one more or less moves neither.
        self.all = _middle(residuals) if len(residuals) > MANY else None

    def without(self, one: float) -> tuple[float, float]:
        """Return median and scatter of the others."""
        if self.all is not None:
            return self.all
        rest = list(self.residuals)
        rest.remove(one)
        return _middle(rest)


def _middle(residuals: Sequence[float]) -> tuple[float, float]:
    usual = median(residuals)
    return usual, 1.4826 * median(abs(each - usual) for each in residuals)


def _by_others(pair: _Pair, usual: _Usual) -> bool:
    if len(usual.residuals) <= OTHERS:
        return False
    middle, scatter = usual.without(pair.difference - pair.expected)
    scatter = max(scatter, pair.least_scatter)
    if scatter <= 0.0:
        return False
    typed = (pair.difference - pair.expected - middle) / scatter
    swapped = (-pair.difference - pair.expected - middle) / scatter
    return abs(swapped) < EVEN and 0.5 * (typed**2 - swapped**2) > SURE_BY_OTHERS
