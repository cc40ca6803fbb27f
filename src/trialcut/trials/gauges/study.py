"""Repeatability and reproducibility of a gauge."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, sqrt, trunc

import numpy as np

from trialcut.errors import ComputationError, RangeError
from trialcut.sources.notes import Note
from trialcut.trials.gauges.crossed import ERROR, POOLED_ERROR, POOLING_LEVEL, crossed_anova
from trialcut.trials.gauges.intervals import Term, sd_interval
from trialcut.trials.gauges.range_constants import (
    range_freedom,
    range_limit_factor,
    repeat_factor,
    spread_factor,
)
from trialcut.trials.gauges.table import GaugeTable
from trialcut.trials.gauges.types import (
    Component,
    CrossedAnova,
    GaugeStudy,
    Method,
    Pooling,
    RangeChart,
    Source,
    WideRange,
)
from trialcut.units import Kind, format_value

CLASS_FACTOR = 1.41
"""Of the number of classes, as AIAG prints the square root of two. [-]"""
TOLERANCE_SPAN = 6.0
"""Standard deviations that are held against a tolerance. [-]"""

FEWEST_VALUES = 5
"""That ranges in control must be able to take; one less for two repeats (D. J. Wheeler, from memory)."""

_SHOWN = 5
_SAME = 1e-6
"""Differences below this share of all are rounding, not steps. [-]"""
_CLAMPED = {
    Source.APPRAISERS: "appraisers differ less than their repeats explain: their variance came out below "
    "zero and is taken as zero",
    Source.INTERACTION: "the interaction is smaller than the repeats explain: its variance came out below "
    "zero and is taken as zero",
    Source.PARTS: "the parts differ less than the gauge explains: their variance came out below zero "
    "and is taken as zero; choose parts that span what is made",
}


@dataclass(frozen=True, slots=True)
class _Found:
    """Variances before those below zero are set to zero, and what the intervals are made of."""

    variances: dict[Source, float]
    gauge: tuple[Term, ...]
    repeats: Term
    anova: CrossedAnova | None = None


def study_gauge(
    table: GaugeTable,
    *,
    method: Method = Method.ANOVA,
    pooling: Pooling = Pooling.BY_LEVEL,
    level: float = POOLING_LEVEL,
    tolerance: float | None = None,
    confidence: float = 0.95,
) -> GaugeStudy:
    """
    How much a gauge adds to what it reads, and where that comes from.

    Parameters
    ----------
    table : GaugeTable
        Every appraiser, every part, the same number of times.
    method : Method
        Analysis of variance, or averages and ranges.
    pooling : Pooling
        What an analysis of variance does with the interaction.
    level : float
        Probability above which it is pooled by level. [-]
    tolerance : float, optional
        Width between the limits that the gauge has to decide. [m]
    confidence : float
        Of the intervals. [-]

    Returns
    -------
    GaugeStudy
        Components, intervals, number of classes, and notes.

    Raises
    ------
    RangeError
        If the tolerance, level or confidence is out of its range.
    ComputationError
        If all repeats read the same, so that there is nothing to see.

    Notes
    -----
    The number of classes is 1.41 times the parts' standard deviation over the gauge's, truncated. The two
    methods may truncate to different numbers on the same readings.

    References
    ----------
    AIAG, Measurement Systems Analysis, 4th edition (results of its example by way of public copies).
    """
    if tolerance is not None and not tolerance > 0.0:
        raise RangeError(f"tolerance is {tolerance:g} m: its width must be greater than zero")
    for name, share in (("level", level), ("confidence", confidence)):
        if not 0.0 < share < 1.0:
            raise RangeError(f"{name} is {share:g}: it must lie between 0 and 1")
    if not table.ranges.any():
        raise ComputationError(
            "every repeat reads the same: the gauge's step is too coarse to show its scatter; "
            "read one more digit, or state the gauge by its resolution"
        )
    chart = _range_chart(table)
    found = (
        _by_ranges(table, chart)
        if method is Method.RANGE
        else _by_anova(table, crossed_anova(table, pooling=pooling, level=level))
    )
    notes = [
        Note("variance-below-zero", _CLAMPED[source])
        for source, variance in found.variances.items()
        if variance < 0.0
    ]
    variances = {source: max(variance, 0.0) for source, variance in found.variances.items()}
    components = _components(variances, tolerance)
    gauge = next(each for each in components if each.source is Source.GAUGE)
    parts = variances[Source.PARTS]
    return GaugeStudy(
        table=table,
        method=method,
        components=components,
        gauge_sd=sd_interval(found.gauge, estimate=gauge.sd, confidence=confidence),
        repeatability_sd=sd_interval(
            (found.repeats,), estimate=sqrt(variances[Source.REPEATABILITY]), confidence=confidence
        ),
        ndc=trunc(CLASS_FACTOR * sqrt(parts) / gauge.sd),
        tolerance=tolerance,
        anova=found.anova,
        ranges=chart,
        notes=(*_method_notes(table, found.anova), *notes, *_wide_notes(chart), *_step_notes(table, chart)),
    )


def _by_anova(table: GaugeTable, anova: CrossedAnova) -> _Found:
    appraisers, parts, trials = table.values.shape
    error = anova.line(POOLED_ERROR if anova.pooled else ERROR)
    repeats = Term(error.mean_square, error.freedom)
    part = anova.line(Source.PARTS).mean_square
    variances = {Source.REPEATABILITY: error.mean_square}
    if appraisers == 1:
        variances[Source.PARTS] = (part - error.mean_square) / trials
        return _Found(variances, (repeats,), repeats, anova)
    who, many = anova.line(Source.APPRAISERS), parts * trials
    against = error
    gauge = [Term(who.mean_square / many, who.freedom)]
    if anova.pooled:
        gauge.append(Term(error.mean_square * (1.0 - 1.0 / many), error.freedom))
    else:
        against = anova.line(Source.INTERACTION)
        gauge.append(Term(against.mean_square * (parts - 1) / many, against.freedom))
        gauge.append(Term(error.mean_square * (1.0 - 1.0 / trials), error.freedom))
    variances[Source.APPRAISERS] = (who.mean_square - against.mean_square) / many
    if not anova.pooled:
        variances[Source.INTERACTION] = (against.mean_square - error.mean_square) / trials
    variances[Source.PARTS] = (part - against.mean_square) / (appraisers * trials)
    return _Found(variances, tuple(gauge), repeats, anova)


def _by_ranges(table: GaugeTable, chart: RangeChart) -> _Found:
    appraisers, parts, trials = table.values.shape
    repeat = (chart.mean_range * repeat_factor(trials)) ** 2
    repeats = Term(repeat, range_freedom(size=trials, samples=appraisers * parts))
    variances = {Source.REPEATABILITY: repeat}
    gauge: tuple[Term, ...] = (repeats,)
    if appraisers > 1:
        difference = (chart.appraiser_difference * spread_factor(appraisers)) ** 2
        many = parts * trials
        variances[Source.APPRAISERS] = difference - repeat / many
        gauge = (
            Term(difference, range_freedom(size=appraisers, samples=1)),
            Term(repeat * (1.0 - 1.0 / many), repeats.freedom),
        )
    variances[Source.PARTS] = (chart.part_range * spread_factor(parts)) ** 2
    return _Found(variances, gauge, repeats)


def _components(variances: dict[Source, float], tolerance: float | None) -> tuple[Component, ...]:
    rows = dict(variances)
    parts = rows.pop(Source.PARTS)
    gauge = sum(rows.values())
    total = gauge + parts
    rows |= {Source.GAUGE: gauge, Source.PARTS: parts, Source.TOTAL: total}
    return tuple(
        Component(
            source=source,
            sd=sqrt(variance),
            of_variation=sqrt(variance / total),
            of_variance=variance / total,
            of_tolerance=None if tolerance is None else TOLERANCE_SPAN * sqrt(variance) / tolerance,
        )
        for source, variance in rows.items()
    )


def _range_chart(table: GaugeTable) -> RangeChart:
    ranges = table.ranges
    means, part_means = table.values.mean(axis=(1, 2)), table.values.mean(axis=(0, 2))
    limit = range_limit_factor(len(table.trials)) * float(ranges.mean())
    return RangeChart(
        mean_range=float(ranges.mean()),
        mean_ranges=tuple(map(float, ranges.mean(axis=1))),
        means=tuple(map(float, means)),
        appraiser_difference=float(np.ptp(means)),
        part_range=float(np.ptp(part_means)),
        limit=limit,
        wide=tuple(
            WideRange(appraiser=table.appraisers[a], part=table.parts[p], range=float(ranges[a, p]))
            for a, p in np.argwhere(ranges > limit)
        ),
    )


def _method_notes(table: GaugeTable, anova: CrossedAnova | None) -> list[Note]:
    if len(table.appraisers) == 1:
        return [
            Note(
                "one-appraiser",
                "one appraiser: how much another hand would change the readings was not seen, "
                "and is not in the gauge's figure",
            )
        ]
    if anova is None:
        return [
            Note("no-interaction", "averages and ranges do not see an interaction of appraisers and parts")
        ]
    tests = anova.line(Source.INTERACTION).tests
    chance = f"its F ratio has probability {_rounded(tests[0].probability)}; " if tests else ""
    done = "pooled with the error" if anova.pooled else "kept as a component"
    return [
        Note(
            "interaction",
            f"the interaction is {done}: {chance}above {anova.level:g} it is usually pooled "
            f"(common practice); appraisers and parts are weighed against the {anova.denominator}",
        )
    ]


def _rounded(probability: float) -> str:
    return "below 0.001" if probability < 0.001 else f"{probability:.3f}"


def _wide_notes(chart: RangeChart) -> list[Note]:
    if not chart.wide:
        return []
    where = ", ".join(f"{each.appraiser} on part {each.part}" for each in chart.wide[:_SHOWN])
    if len(chart.wide) > _SHOWN:
        where += f" and {len(chart.wide) - _SHOWN} more"
    return [
        Note(
            "range-out-of-control",
            f"repeats differ more than chance allows: {where}; "
            "find out why and read again before the figures are used",
        )
    ]


def _step_notes(table: GaugeTable, chart: RangeChart) -> list[Note]:
    """Whether the scatter is seen through steps too coarse for it."""
    gaps = np.diff(np.sort(table.values, axis=None))
    step = float(gaps[gaps > _SAME * np.ptp(table.values)].min())
    count = floor(chart.limit / step * (1.0 + _SAME)) + 1
    if count >= FEWEST_VALUES - (len(table.trials) == 2):
        return []
    shown = format_value(step, Kind.LENGTH, table.system, spread=step)
    return [
        Note(
            "coarse-steps",
            f"readings come in steps of {shown}, so that a range in control takes only {count} "
            f"value{'s' if count != 1 else ''}: their scatter is known roughly; read a finer scale, "
            "or let the step count in the shop file as resolution",
        )
    ]
