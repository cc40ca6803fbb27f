"""Routes to the finished part on the terminal."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rich.console import Console

from trialcut import services
from trialcut.cli.output import bullets, console, heading, paragraph, put, table
from trialcut.cli.study_view import show_head
from trialcut.cli.work import progress_bar, study_of, with_book
from trialcut.planning.results import Spread
from trialcut.planning.routes.results import Route, RouteComparison
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value


def compare_and_show(
    source: Path,
    choices: Mapping[str, Any],
    *,
    shop: Path | None,
    book: str | None,
    no_book: bool,
    as_json: bool,
) -> None:
    """``trialcut routes``."""
    study = with_book(study_of(source, choices, shop), book, no_book=no_book)
    with progress_bar("comparing routes") as progress:
        found = services.compare_routes(study, progress=progress)
    if as_json:
        sys.stdout.write(services.document_text(services.routes_document(study, found)))
        return
    out = console()
    show_head(out, study)
    _show(out, study, found)


def _show(out: Console, study: Study, found: RouteComparison) -> None:
    heading(out, f"Routes to the finished part, asked to hold with odds of {format_odds(found.asked_odds)}")
    able = [route for route in found.routes if not route.refused]
    money = f"\n{found.currency}"
    headers = ["route", f"a good piece{money}", f"the lot{money}", "time\nof one", "of it\njetting", "odds"]
    if able:
        made = table(headers, [_row(route, found.currency) for route in able])
        made.columns[0].no_wrap = True
        put(out, made)
        out.print()
    bullets(out, found.told)
    for route in able:
        if route.name == "bought":
            continue
        heading(out, route.title)
        for number, step in enumerate(route.steps, start=1):
            paragraph(out, f"{number}. {step}")
        bullets(out, [note.message for note in route.notes], mark="!")
        if route.name in (able[0].name, "jet"):
            rows = [_line(line.name, line.each, line.basis, found.currency) for line in route.lines]
            put(out, table(["for one piece", "", ""], rows, left=3))
    if study.buy_price is None:
        out.print()
        paragraph(out, "Say what it costs elsewhere with --buy-price, to have that compared as well.")


def _row(route: Route, currency: str) -> tuple[str, ...]:
    return (
        route.title,
        _money(route.good, currency),
        _money(route.lot, currency),
        "-" if route.time is None else format_value(route.time.mean, Kind.TIME, "metric", spread=1.0),
        "-" if not route.jet_time else format_value(route.jet_time, Kind.TIME, "metric", spread=1.0),
        format_odds(route.odds),
    )


def _line(name: str, each: Spread, basis: str, currency: str) -> tuple[str, ...]:
    return name, format_value(each.mean, Kind.MONEY, "metric", unit=currency), basis


def _money(amount: Spread | None, currency: str) -> str:
    if amount is None:
        return "-"
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency).removesuffix(
        f" {currency}"
    )
