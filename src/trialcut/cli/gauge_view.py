"""A gauge study, and what gauges decide, on the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor, log10

from rich.console import Console
from rich.text import Text

from trialcut.cli.output import BAD, bullets, facts, heading, paragraph, put, table
from trialcut.papers.figures import fixed
from trialcut.planning.conformance import Risks
from trialcut.planning.gauge_choice import GaugeVerdict
from trialcut.planning.gauge_words import limits_text, share_text, uncertainty_text
from trialcut.planning.study import Study
from trialcut.trials.gauges import GaugeStudy, Source
from trialcut.trials.gauges.types import AnovaLine, Interval
from trialcut.units import Kind
from trialcut.units.table import Unit, printed_unit

METHODS = {"anova": "analysis of variance", "range": "averages and ranges"}
SOURCES = {Source.APPRAISERS: "between appraisers", Source.GAUGE: "gauge, all together"}


def show_gauge_study(out: Console, study: GaugeStudy, name: str) -> None:
    """Components, intervals and classes; for an analysis of variance its table."""
    data = study.table
    unit = printed_unit(Kind.LENGTH, data.system)
    who = f"{len(data.appraisers)} appraiser{'s' if len(data.appraisers) != 1 else ''}"
    out.print(
        Text(
            f"{name}: {who}, {len(data.parts)} parts, read {len(data.trials)} times; {METHODS[study.method]}",
            style="bold",
        )
    )
    digits = _digits(study, unit)
    heading(out, "What makes readings differ")
    headers = ["", f"standard\ndeviation\n{unit.symbol}", "of total\nvariation\n%", "of total\nvariance\n%"]
    if study.tolerance is not None:
        headers.append("6 of them,\nof tolerance\n%")
    rows = []
    for each in study.components:
        cells = [
            SOURCES.get(each.source, each.source.value),
            fixed(each.sd / unit.factor, digits),
            fixed(100.0 * each.of_variation, 2),
            fixed(100.0 * each.of_variance, 2),
        ]
        if each.of_tolerance is not None:
            cells.append(fixed(100.0 * each.of_tolerance, 1))
        strong = "bold" if each.source is Source.GAUGE else ""
        rows.append([Text(cell, style=strong) for cell in cells])
    put(out, table(headers, rows))
    out.print()
    put(
        out,
        facts(
            [
                ("gauge", _interval(study.gauge_sd, unit, digits)),
                ("repeatability", _interval(study.repeatability_sd, unit, digits)),
                ("ranges", _ranges(study, unit, digits)),
                ("classes of parts that it tells apart", f"{study.ndc}"),
            ]
        ),
    )
    if study.anova is not None:
        heading(out, "Analysis of variance")
        made = table(_ANOVA_HEADS, [_anova_row(each, unit) for each in study.anova.lines])
        made.columns[0].min_width = max(len(each.source) for each in study.anova.lines)
        put(out, made)
    if study.notes:
        heading(out, "Notes")
        bullets(out, (note.message for note in study.notes))


def show_verdicts(out: Console, study: Study, verdicts: Sequence[GaugeVerdict]) -> None:
    """What the study's gauge decides, like demands together; then the gauges side by side."""
    out.print(Text(f"{study.name}: what the {study.gauge.name} decides", style="bold"))
    if not verdicts:
        paragraph(out, "nothing is asked that a gauge decides")
        return
    alike: dict[str, list[GaugeVerdict]] = {}
    for verdict in verdicts:
        alike.setdefault(verdict.sentence, []).append(verdict)
    for fine in (False, True):
        told = [
            f"{_titles(group)}: {sentence}"
            for sentence, group in alike.items()
            if (group[0].own is not None and group[0].own.fine) is fine
        ]
        if told:
            heading(out, "Decided" if fine else "Needs another gauge, or a second look")
            bullets(out, told, mark="-" if fine else "!", style="" if fine else BAD)
    heading(out, "Gauges side by side")
    blocks = [(_titles(group), list(_side_by_side(group[0], study))) for group in alike.values()]
    widths = [
        max(len(line) for line in (*head.split("\n"), *(row[place] for _, rows in blocks for row in rows)))
        for place, head in enumerate(_VERDICT_HEADS)
    ]
    heads: Sequence[str] = _VERDICT_HEADS
    for (titles, rows), group in zip(blocks, alike.values(), strict=True):
        paragraph(out, f"{titles}, {limits_text(group[0].demand, study.system)}")
        if rows:
            made = table(heads, rows)
            for column, width in zip(made.columns, widths, strict=True):
                column.min_width = width
            put(out, made, indent=4)
            heads = [""] * len(heads)
    paragraph(
        out,
        "u: standard uncertainty of a reading. T/u: tolerance over it. Guard: share of the tolerance to stay "
        "clear of, so that what is accepted conforms with 95 %. Passed/failed: of all pieces, those wrongly "
        "so, by accepting up to the limits and up to the guard, where the process just fits its limits.",
    )


_ANOVA_HEADS = ("", "freedom", "sum of\nsquares", "mean\nsquare", "F ratio", "over", "chance")
_VERDICT_HEADS = ("", "u", "T/u", "guard", "passed/failed\nto the limits", "\nto the guard")


def _side_by_side(verdict: GaugeVerdict, study: Study) -> Iterator[tuple[str, ...]]:
    """A row for each gauge that measures what is asked, the study's own first."""
    for rating in [*([verdict.own] if verdict.own is not None else []), *verdict.others]:
        risks = (verdict.plain, verdict.guarded) if rating is verdict.own else (None, None)
        yield (
            rating.gauge,
            uncertainty_text(rating, verdict.measure, study.system),
            "–" if rating.ratio is None else fixed(rating.ratio, 0 if rating.ratio >= 10.0 else 1),
            "all" if rating.guard is None else share_text(rating).replace("less than ", "<"),
            *map(_risks, risks),
        )


def _digits(study: GaugeStudy, unit: Unit) -> int:
    """Decimals that give the gauge's standard deviation three digits."""
    return max(0, 2 - floor(log10(study.gauge_sd.estimate / unit.factor)))


def _interval(interval: Interval, unit: Unit, digits: int) -> str:
    low, middle, high = (
        fixed(value / unit.factor, digits) for value in (interval.low, interval.estimate, interval.high)
    )
    return f"{middle} {unit.symbol}, with {100.0 * interval.confidence:.0f} % between {low} and {high}"


def _ranges(study: GaugeStudy, unit: Unit, digits: int) -> str:
    mean, limit = (
        fixed(value / unit.factor, digits) for value in (study.ranges.mean_range, study.ranges.limit)
    )
    return f"mean {mean} {unit.symbol}, in control up to {limit}; beyond: {len(study.ranges.wide) or 'none'}"


def _anova_row(line: AnovaLine, unit: Unit) -> tuple[str, ...]:
    square = unit.factor**2
    return (
        line.source,
        str(line.freedom),
        f"{line.square / square:.4g}",
        f"{line.mean_square / square:.4g}",
        "\n".join(f"{test.f_ratio:.4g}" for test in line.tests),
        "\n".join(test.over for test in line.tests),
        "\n".join(_chance(test.probability) for test in line.tests),
    )


def _chance(probability: float) -> str:
    return "<0.0001" if probability < 1e-4 else fixed(probability, 4)


def _titles(group: Sequence[GaugeVerdict]) -> str:
    names = [verdict.demand.title for verdict in group]
    more = len(names) - 1
    return names[0] + (f" and {more} more alike" if more else "")


def _risks(risks: Risks | None) -> str:
    return "" if risks is None else f"{_percent(risks.consumer)} / {_percent(risks.producer)}"


def _percent(share: float) -> str:
    return "<0.01 %" if share < 1e-4 else f"{100.0 * share:.2g} %"
