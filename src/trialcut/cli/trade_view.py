"""A trade-off on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console

from trialcut.cli.output import QUIET, bullets, heading, paragraph, put, table
from trialcut.cli.study_view import show_head
from trialcut.papers.figures import exact, unit_of
from trialcut.planning.front.types import Point, TradeOff
from trialcut.planning.results import Spread
from trialcut.planning.study import Study
from trialcut.units import Kind, format_odds, format_spread, format_value

KEY = "* what the drawing asks; ^ the knee; wall and Ra: 95 of 100 stay below; odds: now, after a first piece"


def show_trade_off(out: Console, study: Study, found: TradeOff) -> None:
    """The curves as tables, and what they say."""
    show_head(out, study)
    main = found.series[0].points
    if main:
        heading(out, f"Cost against accuracy, told by {found.accuracy}")
        _show_points(out, study, found, main)
        heading(out, "The same in one stance all around")
        _show_stances(out, found)
    if found.finish:
        heading(out, "Cost against finish")
        _show_points(out, study, found, found.finish)
    heading(out, "What it says")
    bullets(out, found.sentences)
    if main:
        out.print()
        bullets(out, [f"plan a point in full: --pick NUMBER, 1 to {len(found.points)}"], mark=">")


def _show_points(out: Console, study: Study, found: TradeOff, points: Sequence[Point]) -> None:
    system = study.system
    length, rough = unit_of(Kind.LENGTH, system), unit_of(Kind.ROUGHNESS, system)
    headers = [
        "point",
        "tolerance",
        f"good piece\n{found.currency}",
        "time",
        f"wall\n{length}",
        f"Ra\n{rough}",
        "odds",
        "tilt",
    ]
    walls = exact((point.wall_error for point in points), Kind.LENGTH, system)
    finish = exact((point.finish for point in points), Kind.ROUGHNESS, system)
    rows = [
        (
            _name(point, found),
            point.tolerance,
            _money(point.good, found.currency).removesuffix(f" {found.currency}"),
            format_value(point.time.mean, Kind.TIME, "metric", spread=point.time.sd or None),
            wall,
            ra,
            f"{format_odds(point.odds_now)[:-2]}/{format_odds(point.odds_corrected)}",
            f"{100.0 * point.tilted:.0f} %",
        )
        for point, wall, ra in zip(points, walls, finish, strict=True)
    ]
    put(out, table(headers, rows, left=0))
    if points is found.series[0].points:
        paragraph(out, KEY, style=QUIET)


def _money(amount: Spread, currency: str) -> str:
    return format_spread(amount.mean, amount.sd, Kind.MONEY, "metric", unit=currency)


def _name(point: Point, found: TradeOff) -> str:
    mark = "* " if point.drawing else "^ " if point.number == found.knee.number else ""
    return f"{mark}{point.number}"


def _show_stances(out: Console, found: TradeOff) -> None:
    rows = [
        (
            "" if series.stance is None else series.stance.value,
            point.tolerance,
            _money(point.good, found.currency),
            format_value(point.time.mean, Kind.TIME, "metric", spread=point.time.sd or None),
        )
        for series in found.series[1:]
        for point in series.points
    ]
    put(out, table(["stance", "tolerance", "a good piece", "time"], rows))
