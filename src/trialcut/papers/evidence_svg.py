"""Figures of an evidence report: squareness and finish against speed, and what time and money go into."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from trialcut.papers.ascut_look import Sign, key_row, layer, line, sheet, words
from trialcut.papers.canvas import Look
from trialcut.papers.fit_marks import band, bar, curve, dot
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import Axis, clip, frame
from trialcut.papers.svg import element, text_width
from trialcut.papers.words import capital, say
from trialcut.physics.numeric import Array
from trialcut.planning.demands import DemandKind
from trialcut.planning.evidence import EvidencePanel, EvidencePoint, EvidenceViews
from trialcut.planning.fit_views import counts_little
from trialcut.planning.results import Spread, Stance
from trialcut.trials.types import ReadingKind
from trialcut.units.kinds import Kind
from trialcut.units.table import Unit, printed_unit

LOOK = Look(width=760.0, height_max=2000.0)
_LEFT, _APART, _TOP, _HIGH = 50.0, 62.0, 62.0, 190.0
_MARK = {Stance.UPRIGHT: ReadingKind.KERF, Stance.TILTED: ReadingKind.SIZE}
"""Squares for upright, discs for tilted."""
_TONE = {Stance.UPRIGHT: LIGHT.warm, Stance.TILTED: LIGHT.accent}
_KIND = {DemandKind.SQUARENESS: Kind.LENGTH, DemandKind.FINISH: Kind.ROUGHNESS}
_WORST = {DemandKind.SQUARENESS: "square", DemandKind.FINISH: "finish"}
_ROW = 20.0
_NAMES, _VALUES = 148.0, 92.0
"""Beside a bar. [px]"""


def speed_svg(views: EvidenceViews, *, known: bool, system: str, look: Look = LOOK) -> str:
    """
    SVG of squareness and finish against speed, upright and tilted, readings over the forecast.

    Parameters
    ----------
    views : EvidenceViews
        Panels.
    known : bool
        Whether readings are in the forecast; without them its bands are hatched by dashes, and it says so.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Its width.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    wide = (look.width - 2 * _LEFT - 12.0 - _APART) / 2
    drawn = []
    for place, panel in enumerate(views.panels):
        left = _LEFT + 8.0 + place * (wide + _APART)
        one = _Panel(
            panel=panel,
            views=views,
            plot=Box(left, _TOP, left + wide, _TOP + _HIGH),
            system=system,
            known=known,
            name=f"{look.prefix}-evidence-{place}",
        )
        drawn.append(element("g", {"class": "tc-panel"}, *one.marks()))
    title = say("evidence.speed_title")
    return sheet(
        title,
        look,
        _TOP + _HIGH + 36.0,
        layer("tc-legend", _key(views, known=known)),
        layer("tc-panels", drawn),
        kind="evidence",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One panel on its plot."""

    panel: EvidencePanel
    views: EvidenceViews
    plot: Box
    system: str
    known: bool
    name: str

    @property
    def unit(self) -> Unit:
        """Of the values."""
        return printed_unit(_KIND[self.panel.kind], self.system)

    @property
    def speed(self) -> Unit:
        """Of the speeds."""
        return printed_unit(Kind.SPEED, self.system)

    @property
    def across(self) -> Axis:
        """Speeds that are of interest, by logarithm."""
        at = [*(speed for _, speed in self.views.chosen), *(each.speed for each in self.panel.points)]
        low = min(max(0.55 * min(at), float(self.panel.speeds[0])), 0.96 * min(at))
        high = min(max(1.9 * max(at), *at), max(float(self.panel.speeds[-1]), *at))
        return Axis(
            low=low / self.speed.factor,
            high=high / self.speed.factor,
            start=self.plot.left,
            end=self.plot.right,
            logarithmic=True,
        )

    @property
    def up(self) -> Axis:
        """From nothing up."""
        across = self.across
        near = [
            k
            for k, v in enumerate(self.panel.speeds.tolist())
            if across.low * 0.99 <= v / self.speed.factor <= across.high * 1.01
        ]
        tops = [float(each.high[k]) for each in self.panel.bands.values() for k in near]
        tops += [point.value + point.uncertainty for point in self.panel.points]
        if self.panel.limit is not None:
            tops.append(1.15 * self.panel.limit)
        return Axis(
            low=0.0, high=1.04 * max(tops) / self.unit.factor, start=self.plot.bottom, end=self.plot.top
        )

    def marks(self) -> Iterator[str]:
        """Everything of the panel, back to front."""
        plot, up = self.plot, self.up
        title = f"{say(f'evidence.{_WORST[self.panel.kind]}_axis')}, {self.unit.symbol}"
        yield words(title, plot.left - 40.0, plot.top - 12.0, LIGHT.ink, heavy=True, name="tc-key-title")
        yield layer("tc-scales", frame(plot, self.across, up))
        yield words(
            say("fit.speed", unit=self.speed.symbol),
            plot.right,
            plot.bottom + 28.0,
            LIGHT.grey,
            anchor="end",
        )
        yield element("defs", {}, clip(self.name, plot))
        yield element("g", {"clip-path": f"url(#{self.name})"}, *self._curves())
        yield layer("tc-limits", self._limit())
        yield layer("tc-chosen", self._chosen())
        yield layer("tc-readings", self._readings())
        if not self.known:
            yield words(
                say("evidence.no_readings"),
                plot.left + 8.0,
                plot.top + 13.0,
                LIGHT.warm,
                heavy=True,
                name="tc-no-readings",
            )

    def _pixels(self, values: Array) -> list[tuple[float, float]]:
        across, up = self.across, self.up
        return [
            (across.at(v / self.speed.factor), up.at(y / self.unit.factor))
            for v, y in zip(self.panel.speeds.tolist(), values.tolist(), strict=True)
        ]

    def _curves(self) -> Iterator[str]:
        for stance, each in self.panel.bands.items():
            low, high = self._pixels(each.low), self._pixels(each.high)
            yield _tinted(low, high, _TONE[stance], faint=not self.known)
            if not self.known:
                for edge in (low, high):
                    yield curve(edge, name="tc-edge-of", stroke=_TONE[stance], width=0.8, dash="2 3")
        for stance, each in self.panel.bands.items():
            yield curve(
                self._pixels(each.median),
                name="tc-median",
                stroke=_TONE[stance],
                width=2.0,
                dash="" if self.known else "5 4",
            )

    def _limit(self) -> Iterator[str]:
        if self.panel.limit is not None:
            y = self.up.at(self.panel.limit / self.unit.factor)
            yield line((self.plot.left, y), (self.plot.right, y), LIGHT.ink, 1.1, dash="7 3", name="tc-limit")
            yield words(say("evidence.limit"), self.plot.left + 4.0, y - 4.0, LIGHT.ink)

    def _chosen(self) -> Iterator[str]:
        for stance, speed in self.views.chosen:
            x, foot = self.across.at(speed / self.speed.factor), self.plot.bottom
            corners = f"{x:.2f},{foot - 8.5:.2f} {x - 4.2:.2f},{foot:.2f} {x + 4.2:.2f},{foot:.2f}"
            yield element(
                "polygon",
                {
                    "class": "tc-chosen-speed",
                    "points": corners,
                    "fill": _TONE[stance],
                    "stroke": LIGHT.paper,
                    "stroke-width": 0.8,
                },
            )

    def _readings(self) -> Iterator[str]:
        for point in self.panel.points:
            x = self.across.at(point.speed / self.speed.factor)
            ends = [
                min(
                    self.up.at(max(point.value + sign * point.uncertainty, 0.0) / self.unit.factor),
                    self.plot.bottom,
                )
                for sign in (-1.0, 1.0)
            ]
            yield from bar(x, ends[0], ends[1], LIGHT.ink)
        for point in self.panel.points:
            x = self.across.at(point.speed / self.speed.factor)
            y = self.up.at(point.value / self.unit.factor)
            yield _reading((x, y), point)


def _reading(at: tuple[float, float], point: EvidencePoint) -> str:
    title = f"{point.label}: {', '.join(point.readings)}"
    return dot(at, _MARK[point.stance], hollow=counts_little(point.weight), title=title)


def _tinted(
    low: Sequence[tuple[float, float]], high: Sequence[tuple[float, float]], tone: str, *, faint: bool
) -> str:
    plain = band(low, high, before=faint)
    grey = LIGHT.grey if faint else LIGHT.accent
    return plain.replace(grey, tone)


def _key(views: EvidenceViews, *, known: bool) -> Iterator[str]:
    signs = []
    for stance in views.panels[0].bands:
        tone = _TONE[stance]
        look: dict[str, str | float] = {"x": 0.0, "y": -5.0, "width": 24.0, "height": 10.0}
        mark = element("rect", look | {"fill": tone, "fill-opacity": "0.18"})
        mark += line((0.0, 0.0), (24.0, 0.0), tone, 2.0, **({} if known else {"dash": "5 4"}))
        signs.append(Sign(say("evidence.key_band", stance=say(f"edges.{stance.value}")), 24.0, mark))
    read = {point.stance for panel in views.panels for point in panel.points}
    for stance in sorted(read):
        mark = "".join(bar(5.0, -7.0, 7.0)) + dot((5.0, 0.0), _MARK[stance])
        signs.append(Sign(say("evidence.key_reading", stance=say(f"edges.{stance.value}")), 10.0, mark))
    triangle = element("polygon", {"points": "4,-4.5 -0.5,4.5 8.5,4.5", "fill": LIGHT.ink})
    signs.append(Sign(say("evidence.key_chosen"), 8.5, triangle))
    yield key_row(signs[: len(views.panels[0].bands)] + signs[-1:], left=16.0, y=12.0)
    if read:
        yield key_row(signs[len(views.panels[0].bands) : -1], left=16.0, y=30.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """One set of bars: title with its unit, and name, amount and its text of each."""

    title: str
    rows: tuple[tuple[str, Spread, str], ...]


def bars_svg(sets: Sequence[Bars], *, known: bool, title: str, look: Look = LOOK) -> str:
    """
    SVG of amounts as bars, sets side by side, each amount with its 5 to 95 % and its value.

    Parameters
    ----------
    sets : sequence of Bars
        Up to two.
    known : bool
        Whether readings are in the forecast.
    title : str
        Of the whole, for those who do not see it.
    look : Look
        Its width.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    wide = (look.width - 32.0 - 36.0 * (len(sets) - 1)) / len(sets)
    drawn = []
    for place, each in enumerate(sets):
        drawn.append(layer("tc-bars", _bars(each, 16.0 + place * (wide + 36.0), wide, known=known)))
    height = 34.0 + _ROW * max(len(each.rows) for each in sets)
    return sheet(title, look, height, *drawn, kind="evidence-bars")


def _bars(this: Bars, left: float, wide: float, *, known: bool) -> Iterator[str]:
    yield words(this.title, left, 14.0, LIGHT.ink, heavy=True, name="tc-key-title")
    most = max(max(spread.p95, spread.mean) for _, spread, _ in this.rows) or 1.0
    start, room = left + _NAMES, wide - _NAMES - _VALUES
    for k, (name, spread, text) in enumerate(this.rows):
        y = 34.0 + _ROW * k
        shown = capital(name)
        while text_width(shown, 9.5) > _NAMES - 10.0 and len(shown) > 8:
            shown = shown[:-2].rstrip() + "…"
        yield words(shown, left, y + 3.4, LIGHT.grey)
        look: dict[str, str | float] = {"x": start, "y": y - 5.5, "height": 11.0}
        look |= {"width": max(room * spread.mean / most, 0.6), "fill": LIGHT.accent}
        look |= {"fill-opacity": "0.75" if known else "0.32"}
        yield element("rect", look)
        if spread.sd > 0.0:
            low, high = (start + room * max(end, 0.0) / most for end in (spread.p05, spread.p95))
            yield line((low, y), (high, y), LIGHT.ink, 1.0)
            for x in (low, high):
                yield line((x, y - 2.6), (x, y + 2.6), LIGHT.ink, 1.0)
        yield words(text, left + wide, y + 3.4, LIGHT.ink, anchor="end", name="tc-value")
