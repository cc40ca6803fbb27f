"""Readings over what was forecast of them: a panel for each kind of reading and plate, against speed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from trialcut.papers.ascut_look import Sign, key_row, layer, length_text, line, sheet, words
from trialcut.papers.canvas import Look, text_mark
from trialcut.papers.fit_marks import (
    DASHES,
    band,
    bar,
    curve,
    dodged,
    dot,
    form_sign,
    swatch,
)
from trialcut.papers.labels import Box, Layout
from trialcut.papers.marks import beside
from trialcut.papers.palette import LIGHT
from trialcut.papers.plot_axes import Axis, clip, frame, widened
from trialcut.papers.svg import element, number, text_width
from trialcut.papers.words import capital, say
from trialcut.physics.numeric import Array
from trialcut.planning.fit_views import FitPanel, FitPoint, FitViews, Shown, counts_little
from trialcut.trials.types import ReadingKind
from trialcut.units.kinds import Kind
from trialcut.units.table import Unit, printed_unit

LOOK = Look(width=760.0, height_max=2000.0)
_TOP = 92.0
_LEFT, _APART = 62.0, 66.0
_HIGH = 158.0
"""Of a plot. [px]"""
_PITCH = 232.0
"""From one row of plots to the next. [px]"""
_MOST_COLUMNS = 3
_RUG = 15.0
"""Room for passes of a ladder. [px]"""
_FAR = 1.2
"""How far the priors' band may stretch a plot, over what the rest needs. [-]"""
KIND_OF = {
    Shown.HALF_KERF: ReadingKind.SIZE,
    Shown.LAG: ReadingKind.LAG,
    Shown.RA: ReadingKind.RA,
}


def fit_svg(views: FitViews, *, system: str = "metric", look: Look = LOOK) -> str:
    """
    SVG of a fit: readings with their gauge bars over the band that it forecasts.

    Parameters
    ----------
    views : FitViews
        Readings and curves.
    system : str
        ``"inch"`` or ``"metric"``.
    look : Look
        Its width; it becomes as high as it needs.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    plates = list(dict.fromkeys((each.material, each.thickness) for each in views.panels))
    columns = min(len(plates), _MOST_COLUMNS) if len(plates) > 1 else min(2, len(views.panels))
    placed = _placed(views.panels, plates, columns)
    rows = 1 + max((row for row, _, _ in placed), default=0)
    wide = (look.width - _LEFT - 18.0 - _APART * (columns - 1)) / max(columns, 1)
    title = say("fit.title", fit=views.fit or say("fit.unnamed"), machine=views.machine)
    drawn = []
    for place, (row, column, panel) in enumerate(placed):
        left = _LEFT + column * (wide + _APART)
        top = _TOP + 26.0 + row * _PITCH
        alike = [other for r, _, other in placed if r == row and other.shown is panel.shown]
        one = _Panel(
            panel=panel,
            plot=Box(left, top, left + wide, top + _HIGH),
            system=system,
            name=f"{look.prefix}-fit-{place}",
            good=views.good,
            alike=alike if len(plates) > 1 else [panel],
        )
        drawn.append(element("g", {"class": "tc-panel"}, *one.marks()))
    height = _TOP + rows * _PITCH - 8.0
    return sheet(
        title,
        look,
        height,
        words(title, 16.0, 22.0, LIGHT.ink, size=12.0, heavy=True, name="tc-title"),
        layer("tc-legend", _key(views)),
        layer("tc-panels", drawn),
        kind="fit",
    )


def _placed(
    panels: Sequence[FitPanel], plates: Sequence[tuple[str, float]], columns: int
) -> list[tuple[int, int, FitPanel]]:
    """Row and column of each panel: a column for each plate, or two where there is only one plate."""
    if len(plates) == 1:
        return [(k // columns, k % columns, panel) for k, panel in enumerate(panels)]
    order = list(Shown)
    kinds = sorted({(order.index(p.shown), p.depth or 0.0) for p in panels})
    placed = []
    for panel in panels:
        plate = plates.index((panel.material, panel.thickness))
        block, column = divmod(plate, columns)
        row = block * len(kinds) + kinds.index((order.index(panel.shown), panel.depth or 0.0))
        placed.append((row, column, panel))
    return placed


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    """One panel on its plot."""

    panel: FitPanel
    plot: Box
    system: str
    name: str
    good: bool
    alike: Sequence[FitPanel]

    @property
    def unit(self) -> Unit:
        """Of the values."""
        return printed_unit(Kind.ROUGHNESS if self.panel.shown is Shown.RA else Kind.LENGTH, self.system)

    @property
    def across(self) -> Axis:
        """Speed."""
        unit = printed_unit(Kind.SPEED, self.system)
        speeds = [*self.panel.speeds.tolist(), *(rung.speed * 1.06 for rung in self.panel.rungs)]
        return Axis(
            low=min(speeds) / unit.factor,
            high=max(speeds) / unit.factor,
            start=self.plot.left,
            end=self.plot.right,
            logarithmic=True,
        )

    @property
    def up(self) -> Axis:
        """What is shown, over all panels that share it."""
        low, high = _reach(self.alike)
        room = _RUG if any(each.rungs for each in self.alike) else 0.0
        return Axis(
            low=low / self.unit.factor,
            high=high / self.unit.factor,
            start=self.plot.bottom - room,
            end=self.plot.top,
        )

    def marks(self) -> Iterator[str]:
        """Everything of the panel, back to front."""
        panel, plot, up = self.panel, self.plot, self.up
        unit = self.unit.symbol
        yield words(
            f"{self.title()}, {unit}",
            plot.left - 46.0,
            plot.top - 11.0,
            LIGHT.ink,
            heavy=True,
            name="tc-key-title",
        )
        plate = f"{length_text(panel.thickness, self.system)} {panel.material}"
        yield words(plate, plot.right, plot.top - 11.0, LIGHT.grey, anchor="end")
        yield layer("tc-scales", frame(plot, self.across, up))
        yield words(
            say("fit.speed", unit=printed_unit(Kind.SPEED, self.system).symbol),
            plot.right,
            plot.bottom + 27.0,
            LIGHT.grey,
            anchor="end",
        )
        yield element("defs", {}, clip(self.name, plot))
        yield element("g", {"clip-path": f"url(#{self.name})"}, *self._curves())
        yield layer("tc-rungs", self._rungs())
        yield layer("tc-readings", self._readings())

    def title(self) -> str:
        """What it shows."""
        panel = self.panel
        if panel.shown is Shown.LAG:
            return say("fit.lag")
        depth = panel.depth or 0.0
        place = {0.0: say("fit.at_top"), 0.5: say("fit.at_middle"), 1.0: say("fit.at_bottom")}.get(
            depth, say("fit.at_depth", depth=f"{number(100.0 * depth, 0)} %")
        )
        return say("fit.half_kerf" if panel.shown is Shown.HALF_KERF else "fit.ra", place=place)

    def _pixels(self, values: Array) -> list[tuple[float, float]]:
        across, up, unit = self.across, self.up, self.unit.factor
        speed = printed_unit(Kind.SPEED, self.system).factor
        return [
            (across.at(v / speed), up.at(y / unit))
            for v, y in zip(self.panel.speeds.tolist(), values.tolist(), strict=True)
        ]

    def _curves(self) -> Iterator[str]:
        panel = self.panel
        yield band(self._pixels(panel.before.low), self._pixels(panel.before.high), before=True)
        if self.good:
            yield band(self._pixels(panel.after.low), self._pixels(panel.after.high))
        for form in reversed(panel.forms):
            yield curve(
                self._pixels(form.median),
                name="tc-form",
                stroke=LIGHT.ink,
                width=0.9,
                dash=DASHES[form.form],
            )
        yield curve(
            self._pixels(panel.after.median),
            name="tc-median",
            stroke=LIGHT.accent,
            width=2.2,
            dash="" if self.good else "3 3",
        )

    def _rungs(self) -> Iterator[str]:
        """Passes of a ladder along the lower edge: a tick where it cut through, a cross where not."""
        speed = printed_unit(Kind.SPEED, self.system).factor
        across = self.across
        for rung in self.panel.rungs:
            yield _rung(across.at(rung.speed / speed), self.plot.bottom - 7.0, through=rung.through)

    def _spot(self, point: FitPoint) -> tuple[float, float]:
        speed = printed_unit(Kind.SPEED, self.system).factor
        return self.across.at(point.speed / speed), self.up.at(point.value / self.unit.factor)

    def _readings(self) -> Iterator[str]:
        layout = Layout(
            Box(self.plot.left + 2.0, self.plot.top + 2.0, self.plot.right - 2.0, self.plot.bottom)
        )
        up, unit = self.up, self.unit.factor
        kind = KIND_OF[self.panel.shown]
        points = self.panel.points
        aside = dodged([point.speed for point in points])
        spots = []
        for point, off in zip(points, aside, strict=True):
            x, y = self._spot(point)
            spots.append((x + off, y))
        for point, (x, y) in zip(points, spots, strict=True):
            layout.take(Box.around((x, y), 8.0, 8.0))
            if point.uncertainty > 0.0:
                ends = [up.at((point.value + sign * point.uncertainty) / unit) for sign in (-1.0, 1.0)]
                low, high = (min(max(end, self.plot.top), self.plot.bottom) for end in ends)
                yield from bar(x, low, high, LIGHT.warm if counts_little(point.weight) else LIGHT.ink)
        for point, spot in zip(points, spots, strict=True):
            yield dot(spot, kind, hollow=counts_little(point.weight), title=point.label)
        for point, spot in zip(points, spots, strict=True):
            if not counts_little(point.weight):
                continue
            wide = text_width(point.label, 9.5) + 4.0
            box = layout.first_free(beside(spot, wide, 12.0, (6.0, 10.0, 15.0, 22.0)))
            if box is not None:
                yield text_mark(point.label, box.centre, "tc-name", LIGHT.warm, size=9.5, heavy=True)


def _reach(panels: Sequence[FitPanel]) -> tuple[float, float]:
    """Ends of the values: readings and the fit's band; of the priors' band what there is room for.

    A bar counts up to the widest of the bands: a reading that says next to nothing does not set the scale.
    """
    widest = max(float((each.after.high - each.after.low).max()) for each in panels)
    low = min(
        min(float(each.after.low.min()), *(p.value - min(p.uncertainty, widest) for p in each.points))
        for each in panels
    )
    high = max(
        max(float(each.after.high.max()), *(p.value + min(p.uncertainty, widest) for p in each.points))
        for each in panels
    )
    room = 0.5 * (_FAR - 1.0) * (high - low) + 1e-9
    far_low = min(float(np.min(each.before.low)) for each in panels)
    far_high = max(float(np.max(each.before.high)) for each in panels)
    return widened(max(min(low, far_low), low - room), min(max(high, far_high), high + room), 0.03)


def _rung(x: float, y: float, *, through: bool) -> str:
    if through:
        return line((x, y - 4.5), (x, y + 4.5), LIGHT.accent, 2.2, name="tc-through")
    marks = [
        line((x - 3.4, y - 3.4), (x + 3.4, y + 3.4), LIGHT.warm, 1.5),
        line((x - 3.4, y + 3.4), (x + 3.4, y - 3.4), LIGHT.warm, 1.5),
    ]
    return element("g", {"class": "tc-not-through"}, *marks)


def _key(views: FitViews) -> Iterator[str]:
    signs = [
        Sign(say("fit.reading"), 10.0, "".join(bar(5.0, -7.0, 7.0)) + dot((5.0, 0.0), ReadingKind.SIZE)),
    ]
    if any(counts_little(point.weight) for panel in views.panels for point in panel.points):
        signs.append(Sign(say("fit.little"), 8.0, dot((4.0, 0.0), ReadingKind.SIZE, hollow=True)))
    if any(panel.rungs for panel in views.panels):
        signs.append(Sign(say("fit.through"), 4.0, _rung(2.0, 0.0, through=True)))
        signs.append(Sign(say("fit.not_through"), 7.0, _rung(3.5, 0.0, through=False)))
    yield key_row(signs, left=16.0, y=42.0)
    median = line((0.0, 0.0), (22.0, 0.0), LIGHT.accent, 2.2)
    bands = [swatch(say("fit.before"), before=True)]
    if views.good:
        bands += [Sign(say("fit.median"), 22.0, median), swatch(say("fit.after"))]
    else:
        bands.append(Sign(say("fit.refused"), 22.0, line((0, 0), (22, 0), LIGHT.accent, 2.2, dash="3 3")))
    yield key_row(bands, left=16.0, y=60.0)
    if views.panels:
        forms = [form_sign(each.form, each.weight) for each in views.panels[0].forms]
        yield words(capital(say("fit.forms")), 16.0, 81.5, LIGHT.grey)
        yield key_row(forms, left=24.0 + text_width(say("fit.forms"), 9.5), y=78.0)
