"""What a reading should about be, and how far off it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, inf, isfinite, log, log1p, sqrt
from statistics import median

from trialcut.trials.intake.slips import typed_number
from trialcut.trials.types import Reading, ReadingKind, Trial

Key = tuple[str, str, ReadingKind, float | None]
"""Coupon, cut, kind and depth of a reading."""
Expected = Mapping[Key, tuple[float, float]]
"""Mean and standard deviation of readings. [SI]"""

BY_RATIO = frozenset(
    (ReadingKind.LAG, ReadingKind.RA, ReadingKind.RQ, ReadingKind.PIERCE_TIME, ReadingKind.CYCLE_TIME)
)
"""Readings whose spread is a ratio, so that they are judged by their logarithm."""
USUAL = {
    ReadingKind.KERF: (1.0e-3, 0.3e-3),
    ReadingKind.RA: (3.5e-6, 2.0e-6),
    ReadingKind.RQ: (4.4e-6, 2.5e-6),
}
"""What is taken where no forecast says better: our own working values. [m]"""
SIZE_SD = 0.3e-3
"""Standard deviation of a size about its drawn one, where no forecast says better: likewise. [m]"""
CYCLE_RATIO = (1.2, 0.4)
"""Cycle time without piercing over its unfitted parts, and its standard deviation: likewise. [-]"""
SHIFTED = 1.5
"""A common shift of a kind's readings, in their spreads, from which on they are judged about it. [-]"""
MOST_SHIFT, MOST_STRETCH = 12.0, 4.0
"""Of a common shift that a wrong forecast may explain; beyond, the form itself is wrong: likewise. [-]"""
ENOUGH = 5
"""Readings of one kind that show a common shift."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """Mean and standard deviation, of the logarithm where `by_ratio`; with the common shift of its kind.

    The `shift` is in standard deviations; `stretch` widens them about it. Not `forecast` where our own
    working values stand in.
    """

    mean: float
    sd: float
    by_ratio: bool
    forecast: bool
    shift: float = 0.0
    stretch: float = 1.0

    def score(self, value: float) -> float:
        """How many standard deviations a value is off the forecast; ``inf`` if it is impossible. [-]"""
        if not isfinite(value):
            return inf
        if self.by_ratio:
            return (log(value) - self.mean) / self.sd if value > 0.0 else -inf
        return (value - self.mean) / self.sd

    def shifted(self, value: float) -> float:
        """The same about the common shift. [-]"""
        return (self.score(value) - self.shift) / self.stretch

    def off(self, value: float) -> float:
        """The smaller of both, without sign. [-]"""
        return min(abs(self.score(value)), abs(self.shifted(value)))

    @property
    def centre(self) -> float:
        """Expected value. [SI]"""
        return exp(self.mean) if self.by_ratio else self.mean

    @property
    def spread(self) -> float:
        """Its standard deviation, about. [SI]"""
        return exp(self.mean) * self.sd if self.by_ratio else self.sd


def key_of(reading: Reading) -> Key:
    """Coupon, cut, kind and depth. The keys of what is expected."""
    return reading.coupon, reading.cut, reading.kind, reading.depth


def expectations(
    readings: Sequence[Reading], *, trial: Trial, expected: Expected | None
) -> list[Expectation | None]:
    """
    What each reading should about be.

    Parameters
    ----------
    readings : sequence of Reading
        Of the trial.
    trial : Trial
        With its coupons.
    expected : mapping of (coupon, cut, kind, depth) to (mean, sd), optional
        From the forecast or the fit; drawn sizes and our own working values stand in where it says nothing.

    Returns
    -------
    list of Expectation or None
        None where nothing is known.
    """
    alone = [expectation(key_of(each), each, trial=trial, expected=expected) for each in readings]
    groups: dict[ReadingKind, list[float]] = {}
    for reading, one in zip(readings, alone, strict=True):
        if one is not None and isfinite(score := one.score(reading.value)):
            groups.setdefault(reading.kind, []).append(score)
    shifts = {kind: _shift(scores) for kind, scores in groups.items()}
    return [
        None
        if one is None
        else replace(one, shift=shifts[reading.kind][0], stretch=shifts[reading.kind][1])
        if reading.kind in shifts
        else one
        for reading, one in zip(readings, alone, strict=True)
    ]


def _shift(scores: Sequence[float]) -> tuple[float, float]:
    if len(scores) < ENOUGH:
        return 0.0, 1.0
    middle = median(scores)
    scatter = 1.4826 * median(abs(score - middle) for score in scores)
    if not SHIFTED <= abs(middle) <= MOST_SHIFT or scatter > MOST_STRETCH:
        return 0.0, 1.0
    return middle, max(1.0, scatter)


def expectation(key: Key, reading: Reading, *, trial: Trial, expected: Expected | None) -> Expectation | None:
    """
    What a reading of this gauge and these digits would be at a key.

    Parameters
    ----------
    key : tuple
        Coupon, cut, kind, depth.
    reading : Reading
        Whose gauge and last digit widen the spread.
    trial : Trial
        With its coupons.
    expected : mapping, optional
        As for `expectations`.

    Returns
    -------
    Expectation or None
        None where nothing is known.
    """
    known = expected.get(key) if expected else None
    forecast = known is not None
    if known is None:
        known = _usual(key, trial)
    if known is None or not (isfinite(known[0]) and isfinite(known[1])):
        return None
    mean, sd = known
    typed = typed_number(reading)
    sd = hypot(sd, reading.standard_uncertainty, 0.29 * typed.step if typed else 0.0)
    if sd <= 0.0:
        return None
    if reading.kind in BY_RATIO and mean > 0.0:
        return Expectation(log(mean), sqrt(log1p((sd / mean) ** 2)), True, forecast)
    return Expectation(mean, sd, False, forecast)


def _usual(key: Key, trial: Trial) -> tuple[float, float] | None:
    coupon_id, cut_id, kind, _ = key
    if kind in USUAL:
        return USUAL[kind]
    try:
        coupon = trial.coupon(coupon_id)
        if kind is ReadingKind.SIZE:
            return coupon.cut(cut_id).nominal, SIZE_SD
    except KeyError:
        return None
    if kind is ReadingKind.CYCLE_TIME and coupon.cycle is not None:
        moves = coupon.cycle.steady + coupon.cycle.slow + coupon.cycle.fixed
        return CYCLE_RATIO[0] * moves, CYCLE_RATIO[1] * moves
    return None
