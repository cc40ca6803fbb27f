"""Small charts of what a machine holds in plates of one material: one for each thing held and each stance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite

from trialcut.papers.ascut_look import KEY_TYPE, Sign, key_row, layer, line, sheet, words
from trialcut.papers.canvas import Look
from trialcut.papers.fit_marks import band, curve, swatch
from trialcut.papers.labels import Box
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import Axis, clip, frame
from trialcut.papers.svg import element, text_width
from trialcut.papers.words import capital, say
from trialcut.planning.capability import MIDDLE, NEAR, Evidence, Held, MaterialCapability
from trialcut.planning.results import Stance
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

LOOK = Look(width=760.0, height_max=2000.0)
DASHES = ("1.5 2.5", "", "6 3")
"""Of the slow, the middle and the fast speed."""
COUNTED = {
    "width": ("sizes",),
    "opening": ("sizes",),
    "square": ("sizes", "leans"),
    "finish": ("finish",),
    "speed": ("through",),
}
"""Readings that stand behind each chart."""
_KINDS = {"finish": Kind.ROUGHNESS, "speed": Kind.SPEED}
_LEFT, _APART = 50.0, 58.0
_TOP = 56.0
_HIGH, _PITCH = 100.0, 140.0
"""Of a plot, and from one row of plots to the next. [px]"""
_COLUMNS = 3
_RUG = 18.0
"""Room for counts of readings. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chart:
    """What one chart shows: low and high of the band, and a line for each speed; SI."""

    name: str
    stance: Stance | None
    low: tuple[float, ...]
    high: tuple[float, ...]
    lines: tuple[tuple[float, ...], ...]


def capability_svg(shown: MaterialCapability, *, system: str, look: Look = LOOK) -> str:
    """
    SVG of what is held in plates of one material.

    Parameters
    ----------
    shown : MaterialCapability
        Its plates and readings.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Its width; it becomes as high as it needs.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    charts = _charts(shown)
    wide = (look.width - _LEFT - 12.0 - _APART * (_COLUMNS - 1)) / _COLUMNS
    panels = []
    for place, chart in enumerate(charts):
        row, column = divmod(place, _COLUMNS)
        left, top = _LEFT + column * (wide + _APART), _TOP + row * _PITCH
        panel = _Panel(
            chart=chart,
            alike=[each for each in charts if each.name == chart.name],
            plates=tuple(each.thickness for each in shown.plates),
            counts=shown.counts,
            plot=Box(left, top, left + wide, top + _HIGH),
            system=system,
            clip_name=f"{look.prefix}-{place}",
            lowest=place + _COLUMNS >= len(charts),
        )
        panels.append(element("g", {"class": "tc-panel"}, *panel.marks()))
    rows = -(-len(charts) // _COLUMNS)
    height = _TOP + rows * _PITCH - 8.0
    title = say("capability.charts", material=shown.material)
    return sheet(
        title, look, height, layer("tc-legend", _key()), layer("tc-panels", panels), kind="capability"
    )


def _charts(shown: MaterialCapability) -> list[_Chart]:
    plates = shown.plates
    stances = tuple(plates[0].stances)

    def chart(name: str, stance: Stance) -> _Chart:
        held: list[Held] = [getattr(plate.stances[stance], name) for plate in plates]
        return _Chart(
            name=name,
            stance=stance,
            low=tuple(float(each.half[MIDDLE]) for each in held),
            high=tuple(float(each.most[MIDDLE]) for each in held),
            lines=tuple(tuple(float(each.most[k]) for each in held) for k in range(len(DASHES))),
        )

    found = [chart(name, stance) for stance in stances for name in ("width", "square", "finish")]
    found += [chart("opening", stance) for stance in stances]
    speed = _Chart(
        name="speed",
        stance=None,
        low=tuple(plate.separation[0] for plate in plates),
        high=tuple(plate.separation[2] for plate in plates),
        lines=tuple(tuple(float(plate.speeds[k]) for plate in plates) for k in range(len(DASHES))),
    )
    return [*found, speed]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One chart on its plot."""

    chart: _Chart
    alike: Sequence[_Chart]
    plates: tuple[float, ...]
    counts: Sequence[Evidence]
    plot: Box
    system: str
    clip_name: str
    lowest: bool

    @property
    def factor(self) -> float:
        """Of the unit of what is shown. [SI]"""
        return printed_unit(_KINDS.get(self.chart.name, Kind.LENGTH), self.system).factor

    @property
    def across(self) -> Axis:
        """Thickness."""
        unit = printed_unit(Kind.LENGTH, self.system).factor
        return Axis(
            low=self.plates[0] / unit / 1.12,
            high=self.plates[-1] / unit * 1.12,
            start=self.plot.left,
            end=self.plot.right,
            logarithmic=True,
        )

    @property
    def up(self) -> Axis:
        """What is shown, alike in both stances."""
        values = [
            value
            for chart in self.alike
            for row in (chart.low, chart.high, *chart.lines)
            for value in row
            if isfinite(value)
        ]
        return Axis(
            low=min(values) / self.factor / 1.15,
            high=max(values) / self.factor * 1.15,
            start=self.plot.bottom - _RUG,
            end=self.plot.top,
            logarithmic=True,
        )

    def marks(self) -> Iterator[str]:
        """Everything of the panel, back to front."""
        plot, chart = self.plot, self.chart
        unit = printed_unit(_KINDS.get(chart.name, Kind.LENGTH), self.system).symbol
        title = say(f"capability.chart_{chart.name}", unit=unit)
        yield words(title, plot.left - 34.0, plot.top - 10.0, LIGHT.ink, heavy=True, name="tc-key-title")
        if chart.stance is not None:
            stance = say(f"capability.{chart.stance}")
            yield words(stance, plot.right, plot.top - 10.0, LIGHT.accent, anchor="end", name="tc-stance")
        yield layer("tc-scales", frame(plot, self.across, self.up))
        if self.lowest:
            length = printed_unit(Kind.LENGTH, self.system).symbol
            under = say("capability.across", unit=length)
            yield words(under, plot.right, plot.bottom + 27.0, LIGHT.grey, anchor="end")
        yield element("defs", {}, clip(self.clip_name, plot))
        yield element("g", {"clip-path": f"url(#{self.clip_name})"}, *self._curves())
        yield layer("tc-dots", self._dots())
        yield layer("tc-counts", self._rug())

    def _runs(self, *rows: Sequence[float]) -> Iterator[list[tuple[float, ...]]]:
        """Stretches of plates over which all rows are held: x, and y of each. [px]"""
        across, up = self.across, self.up
        unit = printed_unit(Kind.LENGTH, self.system).factor
        run: list[tuple[float, ...]] = []
        for thickness, *values in zip(self.plates, *rows, strict=True):
            if all(isfinite(value) for value in values):
                run.append((across.at(thickness / unit), *(up.at(value / self.factor) for value in values)))
            elif run:
                yield run
                run = []
        if run:
            yield run

    def _curves(self) -> Iterator[str]:
        chart = self.chart
        for run in self._runs(chart.low, chart.high):
            yield band([(x, y) for x, y, _ in run], [(x, y) for x, _, y in run], before=chart.name == "speed")
        for k, values in enumerate(chart.lines):
            for points in self._runs(values):
                yield curve(
                    [(x, y) for x, y in points],
                    name="tc-held",
                    stroke=LIGHT.accent,
                    width=2.0 if k == MIDDLE else 1.3,
                    dash=DASHES[k],
                )

    def _dots(self) -> Iterator[str]:
        across, up = self.across, self.up
        unit = printed_unit(Kind.LENGTH, self.system).factor
        for thickness, value in zip(self.plates, self.chart.lines[MIDDLE], strict=True):
            if isfinite(value):
                near = (e for e in self.counts if abs(e.thickness / thickness - 1.0) <= NEAR)
                behind = sum(self._count(each) for each in near) > 0
                yield _dot(across.at(thickness / unit), up.at(value / self.factor), behind=behind)

    def _count(self, each: Evidence) -> int:
        return sum(getattr(each, name) for name in COUNTED[self.chart.name])

    def _rug(self) -> Iterator[str]:
        """Numbers of readings on the plates that were cut, along the lower edge."""
        across, unit = self.across, printed_unit(Kind.LENGTH, self.system).factor
        taken = -1e9
        for each in self.counts:
            count = self._count(each)
            value = each.thickness / unit
            if count and across.low <= value <= across.high:
                x, half = across.at(value), text_width(str(count), KEY_TYPE) / 2
                yield line((x, self.plot.bottom), (x, self.plot.bottom - 5.0), LIGHT.warm, 1.6)
                if x - half > taken + 3.0:
                    yield words(
                        str(count),
                        x,
                        self.plot.bottom - 7.5,
                        LIGHT.warm,
                        anchor="middle",
                        heavy=True,
                        name="tc-count",
                    )
                    taken = x + half


def _dot(x: float, y: float, *, behind: bool) -> str:
    look: dict[str, str | float] = {"class": "tc-dot", "cx": x, "cy": y, "r": 2.7, "stroke-width": 1.2}
    look |= {"fill": LIGHT.accent if behind else LIGHT.paper, "stroke": LIGHT.accent}
    return element("circle", look)


def _key() -> Iterator[str]:
    def sample(k: int) -> str:
        return line(
            (0.0, 0.0),
            (24.0, 0.0),
            LIGHT.accent,
            2.0 if k == MIDDLE else 1.3,
            **({"dash": DASHES[k]} if DASHES[k] else {}),
        )

    speeds = [
        Sign(say(f"capability.{name}"), 24.0, sample(k)) for k, name in enumerate(("slow", "middle", "fast"))
    ]
    yield key_row(
        [*speeds, swatch(say("capability.band")), swatch(say("capability.band_speed"), before=True)],
        left=16.0,
        y=8.0,
    )
    read = line((4.0, 4.0), (4.0, -1.0), LIGHT.warm, 1.6)
    yield key_row(
        [
            Sign(say("capability.dot"), 8.0, _dot(4.0, 0.0, behind=True)),
            Sign(say("capability.dot_hollow"), 8.0, _dot(4.0, 0.0, behind=False)),
            Sign(capital(say("capability.rug")), 8.0, read),
        ],
        left=16.0,
        y=25.0,
    )
