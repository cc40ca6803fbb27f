"""A study before and after a fit: what each demand should come to, against its limits, top and bottom."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trialcut.papers.ascut_look import Sign, key_row, layer, line, sheet, words
from trialcut.papers.canvas import Look
from trialcut.papers.figures import fixed
from trialcut.papers.labels import Box
from trialcut.papers.limits import gauge_limits
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import clip
from trialcut.papers.svg import element, plain, text_width
from trialcut.papers.words import say
from trialcut.planning.demands import Demand, Depth
from trialcut.planning.fit_views import DemandChange, FitChange, PlanOutline
from trialcut.planning.results import Spread
from trialcut.units import Kind, format_odds, format_value
from trialcut.units.table import printed_unit

LOOK = Look(width=760.0, height_max=2000.0)
_TOP = 96.0
_NAMES = 200.0
_ODDS = 124.0
_ROW = 46.0
_STEP = 9.0
"""Between the four bars of a demand. [px]"""
_ROOM = 0.6
"""Shown beyond the limits, in distances between them. [-]"""
MOST_ROWS = 40
Bar = tuple[str, Spread, bool]


@dataclass(frozen=True, slots=True)
class _Rule:
    """Values of one demand to the shared scale: its lower limit at zero, its upper at one."""

    low: float
    high: float
    lower: bool
    upper: bool

    @classmethod
    def of(cls, change: DemandChange) -> _Rule:
        """Both limits; or the one there is, with zero or as far again as the forecast reaches."""
        demand = change.demand
        if demand.lower is not None and demand.upper is not None:
            return cls(demand.lower, demand.upper, True, True)
        if demand.upper is not None:
            return cls(0.0, demand.upper, False, True)
        low = demand.lower or 0.0
        far = max(each.p95 for _, each, _ in _bars(change))
        return cls(low, max(far, low + 1e-9), True, False)

    def __call__(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low)


def fit_change_svg(change: FitChange, *, system: str = "metric", look: Look = LOOK) -> str:
    """
    SVG of what a fit changes for a study: intervals of each demand before and after, against its limits.

    Parameters
    ----------
    change : FitChange
        Forecasts at the same cut.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Its width; it becomes as high as it needs.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    title = say("fit.change_title", study=change.study, fit=change.fit or say("fit.unnamed"))
    rows = _tightest(change.demands)
    plot = Box(16.0 + _NAMES, _TOP, look.width - _ODDS - 16.0, _TOP + _ROW * len(rows))
    name = f"{look.prefix}-fit-change"
    height = plot.bottom + (78.0 if len(rows) < len(change.demands) else 64.0)
    return sheet(
        title,
        look,
        height,
        words(title, 16.0, 22.0, LIGHT.ink, size=12.0, heavy=True, name="tc-title"),
        words(say("fit.change_basis"), 16.0, 40.0, LIGHT.grey),
        layer("tc-legend", [key_row(list(_signs()), left=16.0, y=58.0)]),
        element("defs", {}, clip(name, Box(plot.left, plot.top, plot.right, plot.bottom))),
        layer("tc-scales", _scales(plot)),
        layer(
            "tc-demands",
            (
                _row(each, plot, plot.top + _ROW * k, clip_to=name, system=system)
                for k, each in enumerate(rows)
            ),
        ),
        layer("tc-plans", _plans(change, plot.bottom + 26.0, system)),
        *_left_out(len(change.demands) - len(rows), plot.bottom + 64.0),
        kind="fit-change",
    )


def _tightest(demands: Sequence[DemandChange]) -> list[DemandChange]:
    """All demands, or those with the least odds after the fit, in the order of the study."""
    if len(demands) <= MOST_ROWS:
        return list(demands)
    least = sorted(demands, key=lambda each: each.odds_after)[:MOST_ROWS]
    return [each for each in demands if each in least]


def _left_out(count: int, y: float) -> Iterator[str]:
    if count:
        yield words(say("fit.left_out", count=count), 16.0, y, LIGHT.grey)


def _plans(change: FitChange, y: float, system: str) -> Iterator[str]:
    """Both plans, a line each."""
    for k, (name, one) in enumerate((("plan_before", change.before), ("plan_after", change.after))):
        text = say(
            "fit.plan_line",
            option=one.name,
            stances=say("fit.and").join(stance.value for stance in one.stances),
            speeds=_speeds(one, system),
            time=format_value(one.time.mean, Kind.TIME, system, spread=one.time.sd),
            lot=format_value(one.lot.mean, Kind.MONEY, system, unit=change.currency),
            odds=format_odds(one.odds),
            basis=say("fit.first_piece") if one.first_piece else "",
        )
        tone = LIGHT.accent if k else LIGHT.grey
        yield words(say(f"fit.{name}"), 16.0, y + 16.0 * k, tone, heavy=True, size=10.5)
        yield words(text, 96.0, y + 16.0 * k, LIGHT.ink, size=10.5, name="tc-plan")


def _speeds(one: PlanOutline, system: str) -> str:
    unit = printed_unit(Kind.SPEED, system)
    low, high = (fixed(value / unit.factor, unit.decimals) for value in (one.slowest, one.fastest))
    return f"{low} {unit.symbol}" if low == high else f"{low} – {high} {unit.symbol}"


def _at(plot: Box, share: float) -> float:
    return plot.left + (share + _ROOM) / (1.0 + 2.0 * _ROOM) * (plot.right - plot.left)


def _scales(plot: Box) -> Iterator[str]:
    """Ground between the limits, and the limits."""
    left, right = _at(plot, 0.0), _at(plot, 1.0)
    look: dict[str, str | float] = {"x": left, "y": plot.top, "width": right - left}
    yield element("rect", look | {"height": plot.bottom - plot.top, "fill": LIGHT.fill})
    yield line(((left + right) / 2, plot.top), ((left + right) / 2, plot.bottom), LIGHT.hair, 0.9, dash="2 3")
    yield words(say("fit.lower"), left, plot.top - 8.0, LIGHT.grey, anchor="middle")
    yield words(say("fit.upper"), right, plot.top - 8.0, LIGHT.grey, anchor="middle")
    yield words(say("fit.odds_column"), plot.right + 14.0, plot.top - 8.0, LIGHT.grey)


def _row(change: DemandChange, plot: Box, top: float, *, clip_to: str, system: str) -> str:
    demand, rule = change.demand, _Rule.of(change)
    marks = [line((16.0, top + _ROW), (plot.right + _ODDS, top + _ROW), LIGHT.hair, 0.7)]
    marks += _names(demand, top, system)
    for share, wanted in ((0.0, rule.lower), (1.0, rule.upper)):
        if wanted:
            x = _at(plot, share)
            marks.append(line((x, top + 2.0), (x, top + _ROW - 2.0), LIGHT.ink, 1.3, name="tc-limit"))
    bars = _bars(change)
    first = top + _ROW / 2 - _STEP * (len(bars) - 1) / 2
    for k, (place, spread, after) in enumerate(bars):
        y = first + _STEP * k + (1.5 if k >= len(bars) / 2 and len(bars) > 2 else -1.5)
        marks.append(
            element(
                "g",
                {"clip-path": f"url(#{clip_to})"},
                *_interval(plot, rule, spread, y, after=after),
            )
        )
        if place and not after:
            marks.append(words(say(f"ascut.{place}"), plot.left - 8.0, y + 7.5, LIGHT.grey, anchor="end"))
    middle = top + _ROW / 2 + 3.5
    before, after_text = format_odds(change.odds_before), format_odds(change.odds_after)
    marks.append(words(f"{before} →", plot.right + 14.0, middle, LIGHT.grey))
    tone = LIGHT.accent if change.odds_after >= change.odds_before else LIGHT.warm
    marks.append(
        words(
            after_text,
            plot.right + 20.0 + text_width(f"{before} →", 9.5),
            middle,
            tone,
            size=10.5,
            heavy=True,
            name="tc-value",
        )
    )
    return element(
        "g",
        {"class": "tc-demand", "data-demand": demand.id},
        element("title", {}, plain(demand.text)),
        *marks,
    )


def _names(demand: Demand, top: float, system: str) -> list[str]:
    title = demand.title
    while text_width(title, 10.5) > _NAMES - 50.0 and len(title) > 8:
        title = title[:-2].rstrip() + "…"
    nominal, limits = gauge_limits(demand, system)
    asked = limits if not nominal else f"{nominal}:  {limits}"
    return [
        words(title, 16.0, top + _ROW / 2 - 2.5, LIGHT.ink, size=10.5),
        words(asked, 16.0, top + _ROW / 2 + 11.0, LIGHT.grey),
    ]


def _bars(change: DemandChange) -> list[Bar]:
    """Top and bottom, before and after each; only one of them where the demand is on one face."""
    top: list[Bar] = [("top", change.top_before, False), ("top", change.top_after, True)]
    bottom: list[Bar] = [("bottom", change.bottom_before, False), ("bottom", change.bottom_after, True)]
    if change.demand.depth is Depth.TOP:
        return top
    if change.demand.depth is Depth.BOTTOM:
        return bottom
    if change.top_before == change.bottom_before:
        return [("", each, after) for _, each, after in top]
    return [*top, *bottom]


def _interval(plot: Box, rule: _Rule, spread: Spread, y: float, *, after: bool) -> Iterator[str]:
    tone, wide = (LIGHT.accent, 4.6) if after else (LIGHT.soft, 4.6)
    low, mean, high = (_at(plot, rule(value)) for value in (spread.p05, spread.mean, spread.p95))
    yield element(
        "line",
        {
            "class": "tc-after" if after else "tc-before",
            "x1": low,
            "y1": y,
            "x2": max(high, low + 1.0),
            "y2": y,
            "stroke": tone,
            "stroke-width": wide,
            "stroke-opacity": "0.75" if after else "0.65",
        },
    )
    yield line((mean, y - 3.4), (mean, y + 3.4), LIGHT.ink, 1.4)


def _signs() -> Iterator[Sign]:
    for name, tone in (("change_before", LIGHT.soft), ("change_after", LIGHT.accent)):
        mark = line((0.0, 0.0), (26.0, 0.0), tone, 4.6) + line((13.0, -3.4), (13.0, 3.4), LIGHT.ink, 1.4)
        yield Sign(say(f"fit.{name}"), 26.0, mark)
    yield Sign(say("fit.limits"), 3.0, line((1.5, -5.0), (1.5, 5.0), LIGHT.ink, 1.3))
