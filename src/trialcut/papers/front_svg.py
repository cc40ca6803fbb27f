"""A trade-off as a picture: what a good piece costs against how tight its tolerances are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trialcut.papers.ascut_look import Sign, key_row, layer, line, sheet, words
from trialcut.papers.canvas import Look
from trialcut.papers.fit_marks import curve
from trialcut.papers.house import PLAIN, money
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import Axis, frame, widened
from trialcut.papers.svg import element, plain, text_width
from trialcut.papers.words import say
from trialcut.planning.front.types import Point, Series, TradeOff
from trialcut.planning.results import Stance
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

LOOK = Look(width=760.0, height_max=470.0)
_LEFT, _RIGHT, _TOP, _BELOW = 66.0, 24.0, 92.0, 108.0
_STRIP = 24.0
"""Height of the strip that says what binds. [px]"""
_SIGN = 4.2
_STYLE: dict[Stance | None, tuple[str, str, float]] = {
    Stance.UPRIGHT: (LIGHT.grey, "5 3", 1.2),
    Stance.TILTED: (LIGHT.warm, "1.5 3", 1.4),
    None: (LIGHT.accent, "", 1.8),
}
"""Colour, dashes and width of each series; its marks are another shape besides."""
_SHADES = (LIGHT.hair, LIGHT.fill)


def front_svg(found: TradeOff, *, title: str = "", system: str = "metric", look: Look = LOOK) -> str:
    """
    SVG of cost against accuracy: head free, all upright, all tilted; what binds along it.

    Parameters
    ----------
    found : TradeOff
        With at least one point.
    title : str
        Name of the study.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    chart = _Chart(found, system, look)
    heading = say("front.title", study=title)
    told = " ".join(found.sentences)
    return sheet(
        heading,
        look,
        look.height_max,
        element("desc", {}, plain(told)),
        words(heading, 16.0, 22.0, LIGHT.ink, size=12.0, heavy=True, name="tc-title"),
        key_row(list(_signs(found)), left=16.0, y=46.0),
        words(say("front.cost", currency=found.currency), 16.0, _TOP - 16.0, LIGHT.grey),
        layer("tc-scales", frame(chart.plot, chart.across, chart.up)),
        words(
            say("front.tolerance", demand=found.accuracy, unit=chart.unit.symbol),
            (chart.plot.left + chart.plot.right) / 2.0,
            chart.plot.bottom + 33.0,
            LIGHT.grey,
            anchor="middle",
        ),
        layer("tc-curves", (chart.curve(series) for series in reversed(found.series))),
        layer("tc-named", chart.named()),
        layer("tc-binding", chart.strip()),
        kind="front",
    )


class _Chart:
    def __init__(self, found: TradeOff, system: str, look: Look) -> None:
        self.found = found
        self.unit = printed_unit(Kind.LENGTH, system)
        every = [point for series in found.series for point in series.points]
        self.plot = Box(_LEFT, _TOP, look.width - _RIGHT, look.height_max - _BELOW)
        tolerances = [point.tightest / self.unit.factor for point in every]
        low, high = min(tolerances) * 0.96, max(tolerances) * 1.05
        self.across = Axis(low=low, high=high, start=self.plot.left, end=self.plot.right, logarithmic=True)
        costs = [point.good.mean for point in every]
        floor, top = widened(min(costs), max(costs), 0.08)
        floor -= 0.16 * (max(costs) - min(costs))  # room for the knee's name
        self.up = Axis(low=max(floor, 0.0), high=top, start=self.plot.bottom, end=self.plot.top)

    def at(self, point: Point) -> tuple[float, float]:
        return self.across.at(point.tightest / self.unit.factor), self.up.at(point.good.mean)

    def curve(self, series: Series) -> str:
        """A series: its line, and a mark at each point that tells it when it is pointed at."""
        tone, dash, width = _STYLE[series.stance]
        spots = [self.at(point) for point in series.points]
        marks = [
            curve(spots, name="tc-series", stroke=tone, width=width, dash=dash) if len(spots) > 1 else ""
        ]
        for point, spot in zip(series.points, spots, strict=True):
            cost = money(PLAIN, point.good.mean, self.found.currency)
            number = say("front.point", number=point.number) if point.number else ""
            marks.append(_mark(series.stance, spot, f"{number}{point.tolerance}: {cost}", point.number))
        name = "free" if series.stance is None else series.stance.value
        return element("g", {"class": f"tc-{name}"}, *marks)

    def named(self) -> Iterator[str]:
        """The drawing's own point, and the knee."""
        main = self.found.series[0].points
        knee = self.found.knee.number
        drawing = next((point for point in main if point.drawing), None)
        if drawing is not None:
            x, y = self.at(drawing)
            yield line((x, self.plot.top), (x, self.plot.bottom - 24.0), LIGHT.ink, 0.9, dash="2 3")
            yield element(
                "circle",
                {"cx": x, "cy": y, "r": 7.0, "fill": "none", "stroke": LIGHT.ink, "stroke-width": 1.4},
            )
            yield self._label(
                say("front.drawing", tolerance=drawing.tolerance), x + 6.0, self.plot.top + 10.0
            )
        for point in main:
            if point.number == knee:
                x, y = self.at(point)
                side = 6.5
                yield element(
                    "rect",
                    {
                        "x": x - side,
                        "y": y - side,
                        "width": 2.0 * side,
                        "height": 2.0 * side,
                        "fill": "none",
                        "stroke": LIGHT.warm,
                        "stroke-width": 1.4,
                    },
                )
                low = self.plot.bottom - 10.0
                yield line((x, y + side), (x, low - 12.0), LIGHT.warm, 0.8)
                text = say("front.knee", number=point.number, tolerance=point.tolerance)
                yield self._label(text, max(x - 20.0, self.plot.left + 4.0), low)

    def _label(self, text: str, x: float, y: float, *, end: bool = False) -> str:
        past = not end and x + text_width(text, 10.5) > self.plot.right
        anchor = "end" if end or past else "start"
        return words(text, x - 12.0 if past else x, y, LIGHT.ink, anchor=anchor, size=10.5)

    def strip(self) -> Iterator[str]:
        """What binds, stretch by stretch, below the plot."""
        main = self.found.series[0].points
        place = {point.number: k for k, point in enumerate(main)}
        top = self.plot.bottom + 50.0
        yield words(say("front.binds"), self.plot.left - 8.0, top + 15.0, LIGHT.grey, anchor="end")
        spots = [self.at(point)[0] for point in main]
        left_out: list[str] = []
        for k, stretch in enumerate(self.found.stretches):
            first, last = place[stretch.first], place[stretch.last]
            start = self.plot.left if first == 0 else (spots[first - 1] + spots[first]) / 2.0
            end = self.plot.right if last == len(main) - 1 else (spots[last] + spots[last + 1]) / 2.0
            yield element(
                "rect",
                {
                    "x": start,
                    "y": top,
                    "width": end - start,
                    "height": _STRIP,
                    "fill": _SHADES[k % 2],
                    "stroke": LIGHT.soft,
                    "stroke-width": 0.6,
                },
                element("title", {}, plain(stretch.sentence)),
            )
            text = main[first].binding
            short = text if text_width(text, 9.5) < end - start - 8.0 else str(len(left_out) + 1)
            if short != text:
                left_out.append(text)
            yield words(short, (start + end) / 2.0, top + 15.5, LIGHT.ink, anchor="middle", name="tc-binds")
        key: list[str] = []
        for k, text in enumerate(left_out, start=1):
            key.append(f"{k} {text}")
        joined = ";  ".join(key)
        if joined:
            yield words(
                _cut(joined, self.plot.right - self.plot.left),
                self.plot.left,
                top + _STRIP + 16.0,
                LIGHT.grey,
            )


def _cut(text: str, room: float) -> str:
    while text_width(text, 9.5) > room and len(text) > 8:
        text = text[:-2].rstrip() + "…"
    return text


def _mark(stance: Stance | None, spot: tuple[float, float], title: str, number: int = 0) -> str:
    """A disc for the free head, a hollow square upright, a triangle tilted; numbered if it can be picked."""
    x, y = spot
    inside = element("title", {}, plain(title))
    tone = _STYLE[stance][0]
    if stance is None:
        own: dict[str, str | float] = {"class": "tc-point"} | ({"data-point": number} if number else {})
        return element("circle", own | {"cx": x, "cy": y, "r": 3.2, "fill": tone}, inside)
    if stance is Stance.UPRIGHT:
        corners: Sequence[tuple[float, float]] = ((-0.8, -0.8), (0.8, -0.8), (0.8, 0.8), (-0.8, 0.8))
    else:
        corners = ((0.0, -1.1), (1.0, 0.75), (-1.0, 0.75))
    points = " ".join(f"{x + _SIGN * dx:.1f},{y + _SIGN * dy:.1f}" for dx, dy in corners)
    look: dict[str, str | float] = {"class": "tc-point", "points": points, "fill": LIGHT.paper}
    return element("polygon", look | {"stroke": tone, "stroke-width": 1.2}, inside)


def _signs(found: TradeOff) -> Iterator[Sign]:
    for series in found.series:
        tone, dash, width = _STYLE[series.stance]
        name = "free" if series.stance is None else series.stance.value
        drawn = line((0.0, 0.0), (30.0, 0.0), tone, width, **({"dash": dash} if dash else {}))
        yield Sign(
            say(f"front.{name}"), 30.0, drawn + _mark(series.stance, (15.0, 0.0), say(f"front.{name}"))
        )
