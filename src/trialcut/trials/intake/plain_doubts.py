"""Doubts that need no forecast: a thing read twice, a gauge that cannot show it, a ladder out of order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import floor, log10

from trialcut.trials.intake.expect import Key, key_of
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.form import FormGauge
from trialcut.trials.intake.slips import Typed, typed_number
from trialcut.trials.intake.telling import in_typed_unit, told, value_text
from trialcut.trials.types import Reading, ReadingKind, Trial
from trialcut.units.text import tidy

STEPS = (1.0, 2.0, 5.0, 10.0)
"""Leading digits that a scale or a display counts in."""
NEAR = 1e-6
"""Part of a step by which a typed decimal may be off a whole number of them. [-]"""


def duplicates(readings: Sequence[Reading]) -> Iterator[ReadingFinding]:
    """
    Readings of one thing with one gauge at one place that are there more than once.

    Parameters
    ----------
    readings : sequence of Reading
        Of one trial.

    Yields
    ------
    ReadingFinding
        On each but the first.
    """
    first: dict[tuple[Key, str, str], int] = {}
    for place, reading in enumerate(readings):
        where = (key_of(reading), reading.gauge, reading.place)
        before = first.setdefault(where, place)
        if before == place:
            continue
        same = readings[before].value == reading.value
        yield told(
            place,
            reading,
            code="duplicate",
            problem="stands on the form already"
            if same
            else f"stands on the form already, as {value_text(readings[before])}",
            cause="the same line was typed twice"
            if same
            else "it was read twice, or one line has a wrong id",
            remedy="take one away, or say in the column place where on the piece each was read",
            others=(before,),
        )


def gauge_conflicts(readings: Sequence[Reading], gauges: Mapping[str, FormGauge]) -> Iterator[ReadingFinding]:
    """
    Readings that their gauge cannot show.

    Parameters
    ----------
    readings : sequence of Reading
        Of one trial.
    gauges : mapping of name to FormGauge
        With resolution and range, where those are known.

    Yields
    ------
    ReadingFinding
        On digits finer than the gauge's, and on values beyond its range.
    """
    for place, reading in enumerate(readings):
        gauge = gauges.get(reading.gauge)
        if gauge is None:
            continue
        low, high = gauge.least, gauge.largest
        if (low is not None and 0.0 < reading.value < low) or (high is not None and reading.value > high):
            ends = " to ".join(in_typed_unit(end, reading) for end in (low or 0.0, high) if end is not None)
            yield told(
                place,
                reading,
                code="beyond-gauge",
                problem=f"is beyond the range of {gauge.name}, {ends}",
                cause="another gauge was used, or the value is typed wrong",
                remedy="name the gauge that was used, or read it once more",
            )
            continue
        typed = typed_number(reading)
        if gauge.resolution and typed and _finer(typed, gauge.resolution):
            yield told(
                place,
                reading,
                code="finer-than-gauge",
                problem=f"has digits that {gauge.name} does not show: it counts in steps of "
                f"{tidy(_step(gauge.resolution, typed)):g} {typed.unit.symbol}",
                cause="several readings were averaged, another gauge was used, or a digit is wrong",
                remedy="write what the gauge showed, each reading on its own line, or name the gauge",
            )


def _step(resolution: float, typed: Typed) -> float:
    """Return the gauge's step in the typed unit: its own, or the round one nearest to it."""
    own = resolution / typed.unit.factor
    decade = 10.0 ** floor(log10(own) + 1e-9)
    return min((step * decade for step in STEPS), key=lambda step: abs(log10(step / own)))


def _finer(typed: Typed, resolution: float) -> bool:
    count = float(typed.digits) / _step(resolution, typed)
    return abs(count - round(count)) > NEAR * max(1.0, count)


def ladders(readings: Sequence[Reading], *, trial: Trial) -> Iterator[ReadingFinding]:
    """
    Steps of a ladder that cut through although slower ones did not, or the reverse.

    Parameters
    ----------
    readings : sequence of Reading
        Of one trial.
    trial : Trial
        With the speeds of its steps.

    Yields
    ------
    ReadingFinding
        On each step that stands out of order; on all that may, where that cannot be told.
    """
    rungs: dict[str, list[tuple[float, int]]] = {}
    for place, reading in enumerate(readings):
        if reading.kind is ReadingKind.THROUGH and reading.cut:
            speed = trial.coupon(reading.coupon).cut(reading.cut).speed
            rungs.setdefault(reading.coupon, []).append((speed, place))
    for steps in rungs.values():
        steps.sort()
        for place in _out_of_order([(speed, readings[place].value > 0.5, place) for speed, place in steps]):
            through = readings[place].value > 0.5
            yield told(
                place,
                readings[place],
                code="ladder-out-of-order",
                problem="does not go with the steps beside it: "
                + ("slower ones did not cut through" if through else "faster ones cut through"),
                cause="yes and no are mixed up, or two steps are",
                instead=0.0 if through else 1.0,
                text="no" if through else "yes",
            )


def _out_of_order(steps: Sequence[tuple[float, bool, int]]) -> list[int]:
    """Return the fewest steps whose turning puts the ladder in order; all of them where there are ties."""
    # Steps of one speed may differ: they are cut at the edge of what goes through.
    limits = sorted({speed for speed, _, _ in steps})
    wrong = [
        [place for speed, through, place in steps if through != (speed <= limit)]
        for limit in (float("-inf"), *limits)
    ]
    equal = [
        [place for speed, through, place in steps if speed != limit and through != (speed < limit)]
        for limit in limits
        if len({through for speed, through, _ in steps if speed == limit}) > 1
    ]
    cases = wrong + equal
    fewest = min(len(case) for case in cases)
    if fewest == 0:
        return []
    return sorted({place for case in cases if len(case) == fewest for place in case})
