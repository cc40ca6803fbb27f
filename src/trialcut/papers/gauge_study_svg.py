"""A gauge study as a picture: the readings by part and appraiser, and what makes them differ."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

import numpy as np

from trialcut.papers.ascut_look import Sign, key_row, layer, line, round_down, sheet, words
from trialcut.papers.canvas import Look
from trialcut.papers.figures import fixed
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, plain, text_width
from trialcut.papers.words import say
from trialcut.trials.gauges import GaugeStudy, Source
from trialcut.units.kinds import Kind
from trialcut.units.table import Unit, printed_unit

LOOK = Look(width=720.0, height_max=460.0)
"""Size of the picture unless another is wished."""
_LEFT, _RIGHT = 74.0, 20.0
_TOP = 62.0
_ROW = 21.0
"""Between bars. [px]"""
_BAR = 11.0
_NAMES = 150.0
"""Room for names at the left of bars. [px]"""
_SHARES = 250.0
"""Room for figures at the right of bars. [px]"""
_DOT = 2.9
_TONES = (LIGHT.accent, LIGHT.ink, LIGHT.grey, LIGHT.soft)
_SHAPES = ("circle", "square", "triangle", "diamond")
_MOST_LABELS = 40
_TICKS = 5

_GAUGE_OWN = (Source.REPEATABILITY, Source.APPRAISERS, Source.INTERACTION, Source.GAUGE)


def gauge_study_svg(study: GaugeStudy, *, look: Look = LOOK) -> str:
    """SVG of a gauge study.

    Parameters
    ----------
    study : GaugeStudy
        With its readings.
    look : Look
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    bars = [each for each in study.components if each.source is not Source.TOTAL]
    below = 46.0 + _ROW * len(bars)
    chart = _Chart(study, look, bottom=look.height_max - below - 48.0)
    title = _title(study)
    top_of_bars = look.height_max - below + 30.0
    return sheet(
        title,
        look,
        look.height_max,
        words(title, 16.0, 20.0, LIGHT.ink, size=11.0, heavy=True, name="tc-title"),
        words(say("gauge_study.readings") + f" [{chart.unit.symbol}]", 16.0, 42.0, LIGHT.grey),
        layer("tc-scales", chart.scales()),
        layer("tc-means", chart.means()),
        layer("tc-readings", chart.readings()),
        key_row(list(_signs(study)), left=16.0, y=look.height_max - below - 4.0),
        words(say("gauge_study.shares"), 16.0, top_of_bars - 10.0, LIGHT.grey),
        layer("tc-bars", _bars(study, top_of_bars, look)),
        kind="gauge-study",
    )


class _Chart:
    """Readings less the mean of their part, a column for each part, a place in it for each appraiser."""

    def __init__(self, study: GaugeStudy, look: Look, *, bottom: float) -> None:
        table = study.table
        self.study = study
        self.unit: Unit = printed_unit(Kind.LENGTH, table.system)
        self.values = (table.values - table.values.mean(axis=(0, 2))[None, :, None]) / self.unit.factor
        self.bottom = bottom
        self.right = look.width - _RIGHT
        self.column = (self.right - _LEFT) / len(table.parts)
        reach = float(np.abs(self.values).max())
        self.step = round_down(2.0 * reach / _TICKS)
        self.low = floor(float(self.values.min()) / self.step) * self.step
        self.high = ceil(float(self.values.max()) / self.step) * self.step
        self.wide = {(each.appraiser, each.part) for each in study.ranges.wide}

    def x(self, part: int, appraiser: int) -> float:
        """Middle of an appraiser's place in a part's column. [px]"""
        count = len(self.study.table.appraisers)
        return _LEFT + self.column * (part + 0.5 + 0.72 * ((appraiser + 0.5) / count - 0.5))

    def y(self, value: float) -> float:
        """Height of a value. [px]"""
        return self.bottom - (value - self.low) / (self.high - self.low) * (self.bottom - _TOP)

    def scales(self) -> Iterator[str]:
        """Values at the left, parts below, thin lines between them."""
        decimals = max(0, -floor(np.log10(self.step)))
        for k in range(round((self.high - self.low) / self.step) + 1):
            value = self.low + k * self.step
            zero = abs(value) < 0.5 * self.step
            yield line(
                (_LEFT, self.y(value)), (self.right, self.y(value)), LIGHT.soft if zero else LIGHT.hair, 0.7
            )
            text = fixed(0.0 if zero else value, decimals)
            yield words(text, _LEFT - 8.0, self.y(value) + 3.4, LIGHT.grey, anchor="end")
        parts = self.study.table.parts
        every = max(1, ceil(len(parts) / _MOST_LABELS))
        for p, part in enumerate(parts):
            x = _LEFT + self.column * p
            if p:
                yield line((x, _TOP), (x, self.bottom), LIGHT.hair, 0.7)
            fits = text_width(part, 9.5) <= every * self.column - 4.0
            if p % every == 0:
                yield words(
                    part if fits else str(p + 1),
                    x + self.column / 2,
                    self.bottom + 16.0,
                    LIGHT.ink,
                    anchor="middle",
                )
        yield words(say("gauge_study.part"), _LEFT - 8.0, self.bottom + 16.0, LIGHT.grey, anchor="end")

    def means(self) -> Iterator[str]:
        """A short line at the mean of each cell."""
        half = 0.5 * min(0.72 * self.column / len(self.study.table.appraisers), 16.0)
        for a, _ in enumerate(self.study.table.appraisers):
            for p, _ in enumerate(self.study.table.parts):
                x, y = self.x(p, a), self.y(float(self.values[a, p].mean()))
                yield line((x - half, y), (x + half, y), _tone(a), 1.1)

    def readings(self) -> Iterator[str]:
        """A mark for each reading, ringed where repeats differ too much."""
        for a, appraiser in enumerate(self.study.table.appraisers):
            for p, part in enumerate(self.study.table.parts):
                spots = [(self.x(p, a), self.y(float(value))) for value in self.values[a, p]]
                marks = [_mark(a, x, y) for x, y in spots]
                if (appraiser, part) in self.wide:
                    top, low = min(y for _, y in spots), max(y for _, y in spots)
                    marks.append(
                        element(
                            "rect",
                            {
                                "class": "tc-wide",
                                "x": spots[0][0] - 6.5,
                                "y": top - 6.5,
                                "width": 13.0,
                                "height": low - top + 13.0,
                                "rx": 6.5,
                                "fill": "none",
                                "stroke": LIGHT.warm,
                                "stroke-width": 1.3,
                            },
                        )
                    )
                yield element(
                    "g", {"class": "tc-cell", "data-appraiser": appraiser, "data-part": part}, *marks
                )


def _tone(appraiser: int) -> str:
    """Another tone for the same shape, once the shapes are used up."""
    return _TONES[(appraiser + appraiser // len(_SHAPES)) % len(_TONES)]


def _mark(appraiser: int, x: float, y: float) -> str:
    tone = _tone(appraiser)
    look: dict[str, str | float] = {"class": "tc-reading", "fill": tone, "fill-opacity": "0.8"}
    corners: tuple[tuple[float, float], ...]
    match _SHAPES[appraiser % len(_SHAPES)]:
        case "circle":
            return element("circle", look | {"cx": x, "cy": y, "r": _DOT})
        case "square":
            side = 1.75 * _DOT
            return element(
                "rect", look | {"x": x - side / 2, "y": y - side / 2, "width": side, "height": side}
            )
        case "triangle":
            corners = ((0.0, -1.25), (1.15, 0.85), (-1.15, 0.85))
        case _:
            corners = ((0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0))
    points = " ".join(f"{number(x + _DOT * dx)},{number(y + _DOT * dy)}" for dx, dy in corners)
    return element("polygon", look | {"points": points})


def _signs(study: GaugeStudy) -> Iterator[Sign]:
    for a, name in enumerate(study.table.appraisers[:8]):
        yield Sign(name, 8.0, _mark(a, 4.0, 0.0))
    yield Sign(say("gauge_study.mean"), 14.0, line((0.0, 0.0), (14.0, 0.0), LIGHT.grey, 1.1))
    if study.ranges.wide:
        ring: dict[str, str | float] = {"x": 0.0, "y": -5.0, "width": 10.0, "height": 10.0, "rx": 5.0}
        ring |= {"fill": "none", "stroke": LIGHT.warm, "stroke-width": 1.3}
        yield Sign(say("gauge_study.wide"), 10.0, element("rect", ring))


def _bars(study: GaugeStudy, top: float, look: Look) -> Iterator[str]:
    left, room = 16.0 + _NAMES, look.width - 16.0 - _NAMES - _SHARES
    for row, each in enumerate(each for each in study.components if each.source is not Source.TOTAL):
        y = top + _ROW * row
        whole = each.source is Source.GAUGE
        tone = LIGHT.accent if each.source in _GAUGE_OWN else LIGHT.soft
        name = say(f"gauge_study.{each.source.value}")
        yield words(name, 16.0, y + 0.82 * _BAR, LIGHT.ink, size=10.5, heavy=whole)
        yield element(
            "rect",
            {
                "class": "tc-bar",
                "data-source": each.source.value,
                "x": left,
                "y": y,
                "width": room * each.of_variation,
                "height": _BAR,
                "fill": tone,
                "fill-opacity": "1" if whole or tone == LIGHT.soft else "0.55",
            },
            element("title", {}, plain(name)),
        )
        text = say("gauge_study.of_variation", share=fixed(100.0 * each.of_variation, 1))
        if each.of_tolerance is not None and each.source in _GAUGE_OWN:
            text += ", " + say("gauge_study.of_tolerance", share=fixed(100.0 * each.of_tolerance, 1))
        yield words(
            text, left + room * each.of_variation + 8.0, y + 0.82 * _BAR, LIGHT.ink, size=10.5, heavy=whole
        )


def _title(study: GaugeStudy) -> str:
    table = study.table
    count = len(table.appraisers)
    return say(
        "gauge_study.title",
        appraisers=say("gauge_study.one_appraiser")
        if count == 1
        else say("gauge_study.many_appraisers", count=count),
        parts=say("gauge_study.many_parts", count=len(table.parts)),
        times=len(table.trials),
    )
