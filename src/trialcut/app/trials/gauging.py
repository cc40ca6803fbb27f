"""What gauges decide, and what a study of one says, as rows and words for the page."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10
from typing import Any

from trialcut.papers.figures import fixed
from trialcut.planning.gauge_choice import GaugeVerdict
from trialcut.planning.gauge_rating import GaugeRating
from trialcut.planning.gauge_words import limits_text, share_text, uncertainty_text
from trialcut.trials.gauges import GaugeStudy, Source
from trialcut.trials.gauges.types import Interval
from trialcut.units import Kind
from trialcut.units.table import Unit, printed_unit

_SOURCES = {Source.APPRAISERS: "between people", Source.GAUGE: "gauge, all together"}
_MANY = 10.0
"""Ratio from which it is told without a decimal. [-]"""

EXAMPLE = """appraiser\ttrial\tpart\tvalue [in]
Ada\t1\t1\t1.4985
Ada\t2\t1\t1.4990
Ada\t1\t2\t1.5060
Ada\t2\t2\t1.5055
Ada\t1\t3\t1.4925
Ada\t2\t3\t1.4925
Ada\t1\t4\t1.5010
Ada\t2\t4\t1.5005
Ben\t1\t1\t1.4990
Ben\t2\t1\t1.4995
Ben\t1\t2\t1.5060
Ben\t2\t2\t1.5065
Ben\t1\t3\t1.4930
Ben\t2\t3\t1.4935
Ben\t1\t4\t1.5010
Ben\t2\t4\t1.5015"""
"""An invented study: two people, four parts, read twice."""


def verdict_rows(verdicts: Sequence[GaugeVerdict], system: str) -> list[dict[str, Any]]:
    """
    Verdicts, like demands together, those that need another gauge first.

    Parameters
    ----------
    verdicts : sequence of GaugeVerdict
        Of a study.
    system : str
        ``"inch"`` or ``"metric"``.

    Returns
    -------
    list of dict
        Title, limits, sentence, whether it is fine, and the gauges side by side.
    """
    alike: dict[str, list[GaugeVerdict]] = {}
    for verdict in verdicts:
        alike.setdefault(verdict.sentence, []).append(verdict)
    rows = []
    for sentence, group in alike.items():
        first, more = group[0], len(group) - 1
        own = [first.own] if first.own is not None else []
        rows.append(
            {
                "title": first.demand.title + (f" and {more} more alike" if more else ""),
                "limits": limits_text(first.demand, system),
                "sentence": sentence[:1].upper() + sentence[1:].rstrip(".") + ".",
                "fine": first.own is not None and first.own.fine,
                "gauges": [_rating(each, first, system) for each in (*own, *first.others)],
            }
        )
    return sorted(rows, key=lambda row: bool(row["fine"]))


def _rating(rating: GaugeRating, verdict: GaugeVerdict, system: str) -> dict[str, Any]:
    ratio = rating.ratio
    return {
        "gauge": rating.gauge,
        "own": rating is verdict.own,
        "uncertainty": uncertainty_text(rating, verdict.measure, system),
        "ratio": "–" if ratio is None else fixed(ratio, 0 if ratio >= _MANY else 1),
        "guard": "all of it" if rating.guard is None else share_text(rating),
        "fine": rating.fine,
    }


def study_rows(study: GaugeStudy) -> dict[str, Any]:
    """
    A gauge study in words and rows.

    Parameters
    ----------
    study : GaugeStudy
        As it was found.

    Returns
    -------
    dict
        What it is of, its sources of difference, its intervals, its classes and its notes.
    """
    data = study.table
    unit = printed_unit(Kind.LENGTH, data.system)
    digits = max(0, 2 - floor(log10(study.gauge_sd.estimate / unit.factor)))
    people = len(data.appraisers)
    return {
        "of": f"{people} {'person' if people == 1 else 'people'}, {len(data.parts)} parts, read "
        f"{len(data.trials)} times",
        "unit": unit.symbol,
        "components": [
            {
                "source": _SOURCES.get(each.source, each.source.value),
                "sd": fixed(each.sd / unit.factor, digits),
                "of_variation": fixed(100.0 * each.of_variation, 1),
                "of_tolerance": ""
                if each.of_tolerance is None
                else fixed(100.0 * each.of_tolerance, 0 if each.of_tolerance >= 0.1 else 1),
                "gauge": each.source is Source.GAUGE,
            }
            for each in study.components
        ],
        "tolerance": study.tolerance is not None,
        "gauge": _interval(study.gauge_sd, unit, digits),
        "repeatability": _interval(study.repeatability_sd, unit, digits),
        "ndc": study.ndc,
        "wide": [f"{each.appraiser} on part {each.part}" for each in study.ranges.wide],
        "notes": [note.message for note in study.notes],
    }


def _interval(interval: Interval, unit: Unit, digits: int) -> str:
    low, middle, high = (
        fixed(value / unit.factor, digits) for value in (interval.low, interval.estimate, interval.high)
    )
    return f"{middle} {unit.symbol}, with {100.0 * interval.confidence:.0f} % between {low} and {high}"
