"""What is left of the readings after a fit: reading by reading, by speed, and by depth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from trialcut.papers.ascut_look import KEY_TYPE, Sign, key_row, layer, line, sheet, words
from trialcut.papers.canvas import Look, text_mark
from trialcut.papers.figures import fixed
from trialcut.papers.fit_marks import dodged, dot
from trialcut.papers.labels import Box, Layout
from trialcut.papers.marks import beside
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import Axis, across_frame
from trialcut.papers.svg import element, text_width
from trialcut.papers.words import say
from trialcut.planning.fit_views import FitResidual, FitViews, counts_little
from trialcut.trials.types import ReadingKind
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

LOOK = Look(width=760.0, height_max=560.0)
_TOP, _LEFT, _RIGHT = 84.0, 46.0, 18.0
_HIGH = 158.0
_BELOW = 312.0
"""Where the lower two plots begin. [px]"""
_APART = 54.0
_HEIGHT = _BELOW + _HIGH + 34.0
USUAL = 2.0
"""Spreads within which about 95 % of the readings should lie. [-]"""
LEAST_REACH, MOST_REACH = 3.2, 7.2
"""Of the scale; what is farther out stands at its end, with its value. [-]"""
ALIKE = {
    ReadingKind.LIGHT_GAP: ReadingKind.KERF,
    ReadingKind.RQ: ReadingKind.RA,
    ReadingKind.CYCLE_TIME: ReadingKind.PIERCE_TIME,
}
"""Kinds that share a mark with another."""
KEYS = {
    ReadingKind.SIZE: "size",
    ReadingKind.KERF: "kerf",
    ReadingKind.LAG: "lag_reading",
    ReadingKind.RA: "finish",
    ReadingKind.PIERCE_TIME: "time",
}


def fit_residuals_svg(views: FitViews, *, system: str = "metric", look: Look = LOOK) -> str:
    """
    SVG of what is left of the readings, over the spread that each was forecast with when left out.

    Parameters
    ----------
    views : FitViews
        With its residuals.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Its width.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    title = say("fit.residuals", fit=views.fit or say("fit.unnamed"), machine=views.machine)
    right = look.width - _RIGHT
    middle = _LEFT + (right - _LEFT - _APART) / 2.0
    farthest = max((abs(each.standardised) for each in views.residuals), default=0.0)
    reach = min(max(LEAST_REACH, 1.12 * farthest), MOST_REACH)
    plots = (
        _by_reading(views.residuals, Box(_LEFT, _TOP, right, _TOP + _HIGH), reach),
        _by_speed(views.residuals, Box(_LEFT, _BELOW, middle, _BELOW + _HIGH), reach, system),
        _by_depth(views.residuals, Box(middle + _APART, _BELOW, right, _BELOW + _HIGH), reach),
    )
    return sheet(
        title,
        look,
        _HEIGHT,
        words(title, 16.0, 22.0, LIGHT.ink, size=12.0, heavy=True, name="tc-title"),
        layer("tc-legend", _key(views.residuals)),
        *(element("g", {"class": "tc-panel"}, *plot) for plot in plots),
        kind="fit-residuals",
    )


def _by_reading(residuals: Sequence[FitResidual], plot: Box, reach: float) -> Iterator[str]:
    up = _up(plot, reach)
    coupons = list(dict.fromkeys(each.coupon for each in residuals))
    residuals = sorted(residuals, key=lambda each: coupons.index(each.coupon))
    across = Axis(low=0.0, high=max(len(residuals), 1), start=plot.left, end=plot.right)
    yield words(say("fit.by_reading"), 16.0, plot.top - 10.0, LIGHT.ink, heavy=True, name="tc-key-title")
    first = 0
    taken = plot.left
    for order, (coupon, group) in enumerate(groupby(residuals, key=lambda each: each.coupon)):
        count = len(list(group))
        left, end = across.at(first), across.at(first + count)
        if order % 2 == 0:
            look: dict[str, str | float] = {"class": "tc-coupon", "x": left, "y": plot.top}
            look |= {"width": end - left, "height": plot.bottom - plot.top, "fill": LIGHT.fill}
            yield element("rect", look)
        half = text_width(coupon, KEY_TYPE) / 2.0
        centre = (left + end) / 2.0
        if centre - half > taken + 4.0:
            yield words(coupon, centre, plot.bottom + 14.0, LIGHT.ink, anchor="middle", name="tc-coupon-name")
            taken = centre + half
        first += count
    yield from _lines(plot, up)
    spots = [((across.at(n + 0.5), _height(each, up)), each) for n, each in enumerate(residuals)]
    yield from _marks(spots, plot, up)


def _by_speed(residuals: Sequence[FitResidual], plot: Box, reach: float, system: str) -> Iterator[str]:
    unit = printed_unit(Kind.SPEED, system)
    speeds = [each.speed / unit.factor for each in residuals] or [1.0]
    across = Axis(
        low=min(speeds) / 1.12, high=max(speeds) * 1.12, start=plot.left, end=plot.right, logarithmic=True
    )
    up = _up(plot, reach)
    yield words(
        say("fit.by_speed", unit=unit.symbol),
        plot.left - 30.0,
        plot.top - 10.0,
        LIGHT.ink,
        heavy=True,
        name="tc-key-title",
    )
    yield from across_frame(plot, across)
    yield from _lines(plot, up)
    aside = dodged([each.speed for each in residuals])
    spots = [
        ((across.at(each.speed / unit.factor) + off, _height(each, up)), each)
        for each, off in zip(residuals, aside, strict=True)
    ]
    yield from _marks(spots, plot, up)


def _by_depth(residuals: Sequence[FitResidual], plot: Box, reach: float) -> Iterator[str]:
    across = Axis(low=-0.2, high=1.2, start=plot.left, end=plot.right)
    up = _up(plot, reach)
    yield words(
        say("fit.by_depth"), plot.left - 30.0, plot.top - 10.0, LIGHT.ink, heavy=True, name="tc-key-title"
    )
    yield from _lines(plot, up)
    deep = [each for each in residuals if each.depth is not None]
    for depth in sorted({each.depth or 0.0 for each in deep}):
        text = {0.0: say("ascut.top"), 0.5: say("ascut.middle"), 1.0: say("ascut.bottom")}.get(
            depth, f"{100.0 * depth:.0f} %"
        )
        yield words(text, across.at(depth), plot.bottom + 14.0, LIGHT.grey, anchor="middle")
    yield line((plot.left, plot.bottom), (plot.right, plot.bottom), LIGHT.soft, 0.9)
    side: dict[float, int] = {}
    spots = []
    for each in deep:
        depth = each.depth or 0.0
        count = sum(other.depth == each.depth for other in deep)
        k = side.setdefault(depth, 0)
        side[depth] += 1
        aside = 0.3 * ((k + 0.5) / count - 0.5)
        spots.append(((across.at(depth + aside), _height(each, up)), each))
    yield from _marks(spots, plot, up)


def _up(plot: Box, reach: float) -> Axis:
    return Axis(low=-reach, high=reach, start=plot.bottom, end=plot.top)


def _lines(plot: Box, up: Axis) -> Iterator[str]:
    """Zero, and the spreads that most readings lie within."""
    step = 2 if up.high > 4.0 else 1
    most = step * int(up.high // step)
    for value in range(-most, most + 1, step):
        text = f"{value:+d}".replace("-", "−") if value else "0"
        yield line((plot.left, up.at(value)), (plot.right, up.at(value)), LIGHT.hair, 0.7)
        yield words(text, plot.left - 6.0, up.at(value) + 3.4, LIGHT.grey, anchor="end")
    for usual in (-USUAL, USUAL):
        ends = (plot.left, up.at(usual)), (plot.right, up.at(usual))
        yield line(*ends, LIGHT.accent, 0.9, dash="5 3", name="tc-usual")
    yield line((plot.left, up.at(0.0)), (plot.right, up.at(0.0)), LIGHT.soft, 1.0)


def _height(each: FitResidual, up: Axis) -> float:
    """Where a residual stands: at the end of the scale where it is farther out. [px]"""
    return up.at(min(max(each.standardised, 0.97 * up.low), 0.97 * up.high))


def _name(each: FitResidual, up: Axis) -> str:
    """Coupon and cut, with the value where the scale does not reach it."""
    return each.label if abs(each.standardised) <= up.high else f"{each.label}: {fixed(each.standardised, 1)}"


def _marks(spots: Sequence[tuple[tuple[float, float], FitResidual]], plot: Box, up: Axis) -> Iterator[str]:
    layout = Layout(Box(plot.left + 2.0, plot.top + 1.0, plot.right - 2.0, plot.bottom - 1.0))
    for spot, _ in spots:
        layout.take(Box.around(spot, 7.0, 7.0))
    for spot, each in spots:
        yield dot(
            spot,
            each.kind,
            hollow=counts_little(each.weight),
            title=f"{each.reading}, {each.label}, {each.kind}",
        )
    for spot, each in spots:
        if counts_little(each.weight) or abs(each.standardised) > up.high:
            name = _name(each, up)
            wide = text_width(name, 9.5) + 4.0
            box = layout.first_free(beside(spot, wide, 12.0, (6.0, 10.0, 15.0, 22.0)))
            if box is not None:
                yield text_mark(name, box.centre, "tc-name", LIGHT.warm, size=9.5, heavy=True)


def _key(residuals: Sequence[FitResidual]) -> Iterator[str]:
    kinds = {ALIKE.get(each.kind, each.kind) for each in residuals}
    signs = [
        Sign(say(f"fit.{name}"), 8.0, dot((4.0, 0.0), kind)) for kind, name in KEYS.items() if kind in kinds
    ]
    if any(counts_little(each.weight) for each in residuals):
        signs.append(Sign(say("fit.little"), 8.0, dot((4.0, 0.0), ReadingKind.SIZE, hollow=True)))
    usual = line((0.0, 0.0), (20.0, 0.0), LIGHT.accent, 0.9, dash="5 3")
    signs.append(Sign(say("fit.usual"), 20.0, usual))
    yield key_row(signs, left=16.0, y=44.0)
