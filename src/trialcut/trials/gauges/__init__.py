"""Gauges: how far a reading can be trusted, from a study of repeated readings."""

from trialcut.trials.gauges.crossed import POOLING_LEVEL, crossed_anova
from trialcut.trials.gauges.instrument import Measure, instrument_uncertainty
from trialcut.trials.gauges.one_way import OneWay, one_way_anova, one_way_from_summaries
from trialcut.trials.gauges.study import study_gauge
from trialcut.trials.gauges.table import GaugeReading, GaugeTable, gauge_table
from trialcut.trials.gauges.text import read_gauge_table
from trialcut.trials.gauges.types import GaugeStudy, Method, Pooling, Source

__all__ = [
    "POOLING_LEVEL",
    "GaugeReading",
    "GaugeStudy",
    "GaugeTable",
    "Measure",
    "Method",
    "OneWay",
    "Pooling",
    "Source",
    "crossed_anova",
    "gauge_table",
    "instrument_uncertainty",
    "one_way_anova",
    "one_way_from_summaries",
    "read_gauge_table",
    "study_gauge",
]
