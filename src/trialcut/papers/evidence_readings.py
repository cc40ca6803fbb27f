"""The readings of an evidence report, by id."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.words import say
from trialcut.planning.evidence import UsedReading
from trialcut.planning.fit_panels import TWICE, label_of
from trialcut.planning.fit_views import counts_little
from trialcut.trials.intake.form import depth_word
from trialcut.trials.types import ReadingKind
from trialcut.units import Kind, format_spread, format_value

_TIMES = (ReadingKind.PIERCE_TIME, ReadingKind.CYCLE_TIME)
_ROUGH = (ReadingKind.RA, ReadingKind.RQ)


def id_list(ids: Iterable[str]) -> str:
    """Ids with runs drawn together: ``"R1–R4, R7"``."""
    runs: list[list[str]] = []
    for each in sorted(dict.fromkeys(ids), key=_order):
        last = runs[-1][-1] if runs else ""
        (head, number), (before, count) = _order(each), _order(last)
        if runs and head == before and number == count + 1 and number >= 0:
            runs[-1].append(each)
        else:
            runs.append([each])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)


def _order(name: str) -> tuple[str, int]:
    found = re.fullmatch(r"(.*?)([0-9]{1,9})", name)
    return (found[1], int(found[2])) if found else (name, -1)


def readings_table(used: Sequence[UsedReading], system: str, *, elsewhere: int) -> Table:
    """All readings in the part's material: a row for each, with twice its standard uncertainty."""
    columns = (
        Column(say("evidence.reading"), numeric=False, weight=0.8),
        Column(say("evidence.coupon"), numeric=False, weight=1.2),
        Column(say("evidence.plate"), weight=1.2),
        Column(say("evidence.speed"), weight=1.4),
        Column(say("evidence.head"), numeric=False, weight=0.9),
        Column(say("evidence.what"), numeric=False, weight=2.3),
        Column(say("evidence.value"), weight=2.0),
        Column(say("evidence.gauge"), numeric=False, weight=1.6),
        Column(say("evidence.day"), numeric=False, weight=1.1),
    )
    remark = say("evidence.readings_remark")
    if elsewhere:
        remark = f"{remark} {say('evidence.elsewhere', count=elsewhere)}"
    return Table(
        say("evidence.readings_title", count=len(used)),
        columns,
        tuple(_row(each, system) for each in used),
        remark,
    )


def _row(used: UsedReading, system: str) -> Row:
    reading, cut = used.reading, used.cut
    what = reading.kind.value
    if reading.depth is not None:
        what = f"{what}, {depth_word(reading.depth)}"
    little = counts_little(used.weight)
    if little:
        what = f"{what}, {say('evidence.little')}"
    return Row(
        (
            reading.id,
            label_of(reading),
            format_value(used.coupon.thickness, Kind.LENGTH, system),
            "" if cut is None else format_value(cut.speed, Kind.SPEED, system),
            "" if cut is None else say(f"edges.{used.stance.value}"),
            what,
            value_text(used, system),
            reading.gauge,
            reading.when.date().isoformat(),
        ),
        missed=little,
    )


def value_text(used: UsedReading, system: str) -> str:
    """A reading with twice its standard uncertainty; yes or no for a pass through the plate."""
    reading = used.reading
    if reading.kind is ReadingKind.THROUGH:
        return say("evidence.yes" if reading.value > 0.5 else "evidence.no")
    kind = Kind.TIME if reading.kind in _TIMES else Kind.ROUGHNESS if reading.kind in _ROUGH else Kind.LENGTH
    unit = "s" if kind is Kind.TIME else None
    return format_spread(reading.value, TWICE * reading.standard_uncertainty, kind, system, unit=unit)
