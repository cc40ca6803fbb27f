"""What the operator follows at the machine: order of contours, and how each corner is passed."""

from __future__ import annotations

from trialcut.papers.content import Column, Row, Table
from trialcut.papers.figures import exact, fixed, unit_of
from trialcut.papers.words import say
from trialcut.planning.results import Forecast
from trialcut.planning.study import Study
from trialcut.units import Kind
from trialcut.units.table import printed_unit

WIDE = 6.0
"""Weight of the names of corners in a table that needs the whole width."""
_MOST_NARROW = 8
"""Corners of a row that half the width has room for."""
_MOST_IN_ROW = 24
"""Corners that a row names; more begin another."""
_LENGTH_DECIMALS = {"in": 3, "mm": 2}


def order_table(study: Study, forecast: Forecast) -> Table:
    """Contours in cutting order: where each is pierced, in the drawing's coordinates, and where it starts."""
    system, runs = study.system, forecast.path.runs
    length = unit_of(Kind.LENGTH, system)

    def lengths(values: list[float]) -> list[str]:
        return exact(values, Kind.LENGTH, system, decimals=_LENGTH_DECIMALS[length])

    columns = {
        "number": ("", [str(order) for order, _ in enumerate(runs, start=1)]),
        "contour": ("", [run.contour for run in runs]),
        "x": (length, lengths([run.pierce[0] for run in runs])),
        "y": (length, lengths([run.pierce[1] for run in runs])),
        "start": ("", [_start(run.start_edge, run.start_fraction) for run in runs]),
        "traverse": (length, lengths([run.approach for run in runs])),
    }
    return Table(
        say("order.title"),
        tuple(
            Column(
                say(f"order.{key}"),
                unit,
                numeric=bool(unit),
                weight={"number": 0.5, "contour": 0.9, "start": 1.6}.get(key, 1.0),
            )
            for key, (unit, _) in columns.items()
        ),
        tuple(Row(cells) for cells in zip(*(texts for _, texts in columns.values()), strict=True)),
        say("order.remark"),
    )


def _start(edge: str, fraction: float) -> str:
    if fraction <= 0.0:
        return say("order.at_start", edge=edge)
    return say("order.along", edge=edge, percent=f"{100.0 * fraction:.0f}")


def corner_table(forecast: Forecast, system: str) -> Table:
    """How corners are passed; corners that print alike share a row that names all of them."""
    length = printed_unit(Kind.LENGTH, system)
    corners = forecast.corners
    trailing = exact((0.0 if each.looped else each.slow_error for each in corners), Kind.LENGTH, system)
    rows: dict[tuple[str, ...], list[str]] = {}
    for each, trails in zip(corners, trailing, strict=True):
        time = each.loop_time if each.looped and each.loop_time is not None else each.slow_time
        key = (
            say("corners.looped" if each.looped else "corners.slowed"),
            fixed(time, 2),
            trails,
        )
        rows.setdefault(key, []).append(f"{each.before}/{each.after}")
    many = max(map(len, rows.values()), default=0) > _MOST_NARROW
    heads = {
        "corner": ("", WIDE if many else 1.6),
        "passed": ("", 1.4),
        "time": ("s", 0.8),
        "trails": (length.symbol, 1.1),
    }
    return Table(
        say("corners.title"),
        tuple(
            Column(say(f"corners.{key}"), unit, numeric=key in ("time", "trails"), weight=weight)
            for key, (unit, weight) in heads.items()
        ),
        tuple(
            Row((", ".join(names[first : first + _MOST_IN_ROW]), *key))
            for key, names in rows.items()
            for first in range(0, len(names), _MOST_IN_ROW)
        ),
        say("corners.remark"),
    )
