"""What a gauge study finds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from trialcut.sources.notes import Note
from trialcut.trials.gauges.table import GaugeTable


class Method(StrEnum):
    """How the components are found."""

    ANOVA = "anova"
    """Two-way crossed analysis of variance, appraisers and parts random."""
    RANGE = "range"
    """Averages and ranges."""


class Pooling(StrEnum):
    """What is to be done with the interaction of appraisers and parts."""

    BY_LEVEL = "by level"
    """Pooled with the error unless its F test says that it is there."""
    POOLED = "pooled"
    """Counted as error."""
    KEPT = "kept"
    """A component of its own."""


class Source(StrEnum):
    """What makes readings differ."""

    REPEATABILITY = "repeatability"
    """One appraiser, one part, again."""
    APPRAISERS = "appraisers"
    """One appraiser reads higher than another."""
    INTERACTION = "interaction"
    """Appraisers differ on some parts more than on others."""
    GAUGE = "gauge"
    """The three above together."""
    PARTS = "parts"
    """The parts themselves."""
    TOTAL = "total"
    """All together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """How much one source makes readings differ.

    Parameters
    ----------
    source : Source
        What it is.
    sd : float
        Standard deviation. [m]
    of_variation : float
        Over the total standard deviation. [-]
    of_variance : float
        Its variance over the total variance. [-]
    of_tolerance : float or None
        Six standard deviations over the width of the tolerance; None without one. [-]
    """

    source: Source
    sd: float
    of_variation: float
    of_variance: float
    of_tolerance: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A standard deviation with its confidence interval.

    Parameters
    ----------
    estimate, low, high : float
        [m]
    confidence : float
        That the interval holds the true one. [-]
    """

    estimate: float
    low: float
    high: float
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FTest:
    """One F ratio and what it was taken over.

    Parameters
    ----------
    over : str
        Denominator: ``"interaction"``, ``"error"`` or ``"pooled error"``.
    f_ratio : float
        [-]
    probability : float
        That chance alone gives one as large. [-]
    """

    over: str
    f_ratio: float
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaLine:
    """One line of the table of an analysis of variance.

    Parameters
    ----------
    source : str
        ``"parts"``, ``"appraisers"``, ``"interaction"``, ``"error"``, ``"pooled error"``, ``"total"``.
    square : float
        Sum of squares. [m^2]
    freedom : int
        Degrees of freedom.
    tests : tuple of FTest
        Its mean square over each denominator that could be meant.
    """

    source: str
    square: float
    freedom: int
    tests: tuple[FTest, ...] = ()

    @property
    def mean_square(self) -> float:
        """Sum of squares over degrees of freedom. [m^2]"""
        return self.square / self.freedom


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedAnova:
    """Two-way crossed analysis of variance.

    Parameters
    ----------
    lines : tuple of AnovaLine
        Of the table.
    pooled : bool
        Whether the interaction was counted as error.
    level : float
        Probability of its F ratio above which it is pooled. [-]
    denominator : str
        What appraisers and parts were weighed against.
    """

    lines: tuple[AnovaLine, ...]
    pooled: bool
    level: float
    denominator: str

    def line(self, source: str) -> AnovaLine:
        """One line of the table by its source."""
        for each in self.lines:
            if each.source == source:
                return each
        raise KeyError(source)


@dataclass(frozen=True, slots=True, kw_only=True)
class WideRange:
    """A cell whose repeats differ more than chance allows: appraiser, part, and the range [m]."""

    appraiser: str
    part: str
    range: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeChart:
    """Averages and ranges.

    Parameters
    ----------
    mean_range : float
        Of all cells. [m]
    mean_ranges, means : tuple of float
        Of each appraiser: mean range, and mean of all readings. [m]
    appraiser_difference : float
        Largest less least of the appraisers' means. [m]
    part_range : float
        Largest less least of the parts' means. [m]
    limit : float
        Beyond which a range is out of control. [m]
    wide : tuple of WideRange
        Which are.
    """

    mean_range: float
    mean_ranges: tuple[float, ...]
    means: tuple[float, ...]
    appraiser_difference: float
    part_range: float
    limit: float
    wide: tuple[WideRange, ...]


@dataclass(frozen=True, kw_only=True)
class GaugeStudy:
    """What a gauge study found.

    Parameters
    ----------
    table : GaugeTable
        The readings.
    method : Method
        How the components were found.
    components : tuple of Component
        Repeatability, appraisers, perhaps interaction, gauge, parts, total.
    gauge_sd, repeatability_sd : Interval
        Of the gauge in anybody's hands, and of repeats by one hand.
    ndc : int
        Number of classes of parts that the gauge can tell apart, truncated. [-]
    tolerance : float or None
        Width of the tolerance that `of_tolerance` refers to. [m]
    anova : CrossedAnova or None
        For that method.
    ranges : RangeChart
        For both.
    notes : tuple of Note
        What a reader must know.
    """

    table: GaugeTable
    method: Method
    components: tuple[Component, ...]
    gauge_sd: Interval
    repeatability_sd: Interval
    ndc: int
    tolerance: float | None
    anova: CrossedAnova | None
    ranges: RangeChart
    notes: tuple[Note, ...]

    def component(self, source: str) -> Component:
        """One component by its source."""
        for each in self.components:
            if each.source == source:
                return each
        raise KeyError(source)
