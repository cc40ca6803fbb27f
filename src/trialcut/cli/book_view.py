"""The book on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rich.console import Console
from rich.text import Text

from trialcut.cli.output import facts, heading, put, table
from trialcut.records import BookInfo, ReadingVersion, TubeEntry
from trialcut.trials.intake.telling import place_text
from trialcut.trials.types import Reading
from trialcut.units import Kind, format_value

COUNTED = {
    "trials": "trials, with corrections",
    "coupons": "coupons",
    "readings": "readings, with corrections",
    "withdrawals": "readings set aside",
    "fits": "fits",
    "tube_log": "entries of mixing tubes",
    "gauge_studies": "gauge studies",
    "studies": "studies",
    "plans": "issued plans",
    "drafts": "studies at the workbench",
    "draft_edits": "editions of them",
    "drawings": "drawings",
}
"""Table to what its rows are, in the order shown."""


def show_info(out: Console, info: BookInfo) -> None:
    """Where a book is and what it holds."""
    out.print(Text(f"{info.place}: {info.engine}, form {info.revision}", style="bold"))
    named = [
        ("machines", ", ".join(info.machines) or "none"),
        ("mixing tubes", ", ".join(info.tubes) or "none"),
    ]
    put(out, facts([*named, *((words, str(info.rows[name])) for name, words in COUNTED.items())]))


def show_readings(out: Console, readings: Sequence[Reading]) -> None:
    """Readings, a line each."""
    out.print(Text(f"Readings that count: {len(readings)}", style="bold"))
    if readings:
        put(
            out,
            table(
                ["", "where", "value", "gauge", "who", "when", "remark"],
                [
                    (
                        each.id,
                        place_text(each),
                        each.text,
                        each.gauge,
                        each.who,
                        _moment(each.when),
                        each.remark,
                    )
                    for each in readings
                ],
                left=7,
            ),
        )


def show_history(out: Console, entries: Sequence[ReadingVersion]) -> None:
    """Every entry of a reading, the first first."""
    out.print(Text(place_text(entries[0].reading), style="bold"))
    rows = []
    for each in entries:
        who = each.changed_by if each.supersedes else each.reading.who
        rows.append((each.reading.id, each.reading.text, who, _moment(each.entered), each.reason))
        if each.withdrawn:
            rows.append(("", "set aside", each.withdrawn_by, "", each.withdrawn))
    put(out, table(["", "value", "who", "entered", "why"], rows, left=5))


def show_tube(out: Console, tube: str, entries: Sequence[TubeEntry]) -> None:
    """The log of a mixing tube."""
    total = sum(each.hours for each in entries)
    out.print(Text(f"Mixing tube {tube}: {_hours(total)} of use", style="bold"))
    if not entries:
        return
    heading(out, "Entries")
    put(
        out,
        table(
            ["when", "gained", "bore", "who", "remark"],
            [
                (
                    _moment(each.when),
                    _hours(each.hours),
                    "" if each.bore is None else _both(each.bore),
                    each.who,
                    each.remark,
                )
                for each in entries
            ],
            left=5,
        ),
    )


def _both(length: float) -> str:
    """A length in both systems: the book belongs to no study."""
    inch, metric = (format_value(length, Kind.LENGTH, system) for system in ("inch", "metric"))
    return f"{inch} ({metric})"


def _hours(value: float) -> str:
    return format_value(value, Kind.TIME, "metric", unit="h")


def _moment(when: datetime) -> str:
    return f"{when.astimezone():%Y-%m-%d %H:%M}"
