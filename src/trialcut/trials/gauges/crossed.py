"""Two-way crossed analysis of variance, both factors random."""

from __future__ import annotations

import numpy as np

from trialcut.trials.gauges.table import GaugeTable
from trialcut.trials.gauges.types import AnovaLine, CrossedAnova, FTest, Pooling, Source

POOLING_LEVEL = 0.25
"""Probability of the interaction's F ratio above which it is pooled: common practice, from memory. [-]"""

ERROR, POOLED_ERROR, TOTAL = "error", "pooled error", "total"


def crossed_anova(
    table: GaugeTable, *, pooling: Pooling = Pooling.BY_LEVEL, level: float = POOLING_LEVEL
) -> CrossedAnova:
    """
    Sums of squares of parts, appraisers, their interaction, and error.

    Parameters
    ----------
    table : GaugeTable
        Readings without gaps.
    pooling : Pooling
        What is done with the interaction.
    level : float
        For ``"by level"``: the interaction is pooled where its probability is above this. [-]

    Returns
    -------
    CrossedAnova
        With the F ratios over every denominator that is in use, each named; a single appraiser leaves
        neither his own line nor an interaction.

    Notes
    -----
    With both factors random, parts and appraisers are weighed against the interaction; once it is pooled,
    against the pooled error. Over the error alone the ratios are those of fixed factors.

    References
    ----------
    AIAG, Measurement Systems Analysis, 4th edition (results of its example by way of public copies).
    """
    values = table.values - table.values[0, 0, 0]
    appraisers, parts, trials = values.shape
    cells = values.mean(axis=2)
    by_appraiser, by_part, grand = cells.mean(axis=1), cells.mean(axis=0), cells.mean()
    part = _line(Source.PARTS, appraisers * trials * np.sum((by_part - grand) ** 2), parts - 1)
    error = _line(ERROR, np.sum((values - cells[:, :, None]) ** 2), appraisers * parts * (trials - 1))
    total = _line(TOTAL, np.sum((values - grand) ** 2), values.size - 1)
    if appraisers == 1:
        return CrossedAnova(
            lines=(_tested(part, (error,)), error, total), pooled=False, level=level, denominator=ERROR
        )
    who = _line(Source.APPRAISERS, parts * trials * np.sum((by_appraiser - grand) ** 2), appraisers - 1)
    leftover = cells - by_appraiser[:, None] - by_part + grand
    mixed = _tested(
        _line(Source.INTERACTION, trials * np.sum(leftover**2), (appraisers - 1) * (parts - 1)), (error,)
    )
    pooled = pooling is Pooling.POOLED or (
        pooling is Pooling.BY_LEVEL and all(test.probability > level for test in mixed.tests)
    )
    together = _line(POOLED_ERROR, mixed.square + error.square, mixed.freedom + error.freedom)
    against = (mixed, error, together) if pooled else (mixed, error)
    return CrossedAnova(
        lines=(
            _tested(part, against),
            _tested(who, against),
            mixed,
            error,
            *((together,) if pooled else ()),
            total,
        ),
        pooled=pooled,
        level=level,
        denominator=POOLED_ERROR if pooled else Source.INTERACTION.value,
    )


def _line(source: str, square: float, freedom: int) -> AnovaLine:
    return AnovaLine(source=str(source), square=float(square), freedom=freedom)


def _tested(line: AnovaLine, against: tuple[AnovaLine, ...]) -> AnovaLine:
    from scipy.special import fdtrc  # noqa: PLC0415 - heavy

    tests = []
    for other in against:
        if other.square > 0.0:
            ratio = line.mean_square / other.mean_square
            tests.append(
                FTest(
                    over=other.source,
                    f_ratio=ratio,
                    probability=float(fdtrc(line.freedom, other.freedom, ratio)),
                )
            )
    return AnovaLine(source=line.source, square=line.square, freedom=line.freedom, tests=tuple(tests))
