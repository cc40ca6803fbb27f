"""Rival set-ups on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.console import Console

from trialcut.cli.output import heading, money, paragraph, put, table
from trialcut.planning.setup_choice import SetupTried
from trialcut.planning.study import Study
from trialcut.services.setup_search import Free, SetupSearch
from trialcut.units import Kind, format_odds, format_value

MOST = 8
"""Set-ups that are shown."""


def show_setups(out: Console, search: SetupSearch, *, system: str) -> None:
    """The best set-ups that were tried, and how many cannot run."""
    heading(out, f"Set-ups, free to choose: {', '.join(each.value for each in search.free)}")
    able = [each for each in search.tried if not each.refused]
    columns = [each for each in COLUMNS if each.shown_for & set(search.free)]
    headers = [*(each.title for each in columns), "a good one", "time", "odds"]
    put(out, table(headers, [_row(each, columns, system) for each in able[:MOST]]))
    out.print()
    refused = [each for each in search.tried if each.refused]
    told = f"{len(search.tried)} set-ups tried, {len(able)} can run; the first is planned in full below."
    paragraph(out, told)
    for reason in list(dict.fromkeys(each.refused for each in refused))[:3]:
        paragraph(out, f"Cannot run: {reason}")


def _row(tried: SetupTried, columns: Sequence[_Column], system: str) -> tuple[str, ...]:
    currency = tried.study.prices.currency
    return (
        *(each.cell(tried.study, system) for each in columns),
        "-" if tried.good is None else money(tried.good.mean, currency),
        format_value(tried.time, Kind.TIME, system, spread=1.0),
        format_odds(tried.odds) + ("" if tried.holds else ", falls short"),
    )


@dataclass(frozen=True, slots=True)
class _Column:
    """A part of the set-up, shown where one of some is free."""

    title: str
    shown_for: frozenset[Free]
    cell: Callable[[Study, str], str]


def _named(what: str) -> Callable[[Study, str], str]:
    return lambda study, _: study.setup_names[what]


def _pressure(study: Study, system: str) -> str:
    return format_value(study.setup.pressure, Kind.PRESSURE, system)


def _rate(study: Study, system: str) -> str:
    rate = study.setup.abrasive_rate
    return format_value(rate, Kind.MASS_FLOW, system, spread=0.05 * rate)


COLUMNS = (
    _Column("machine", frozenset({Free.MACHINE}), _named("machine")),
    _Column("pump", frozenset({Free.PUMP}), _named("pump")),
    _Column("head", frozenset({Free.ORIFICE, Free.TUBE}), _named("head")),
    _Column("abrasive", frozenset({Free.ABRASIVE}), _named("abrasive")),
    _Column("pressure", frozenset({Free.PRESSURE}), _pressure),
    _Column("rate", frozenset({Free.ABRASIVE, Free.PRESSURE, Free.ORIFICE}), _rate),
)
