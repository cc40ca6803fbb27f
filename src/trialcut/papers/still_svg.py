"""A still of the cut: the jet's path coloured by speed, the head's tilt, where it pierces and travels."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trialcut.geometry.contours import Part
from trialcut.papers.ascut_look import (
    MARGIN,
    Floats,
    Sign,
    along_line,
    fitted,
    key_row,
    layer,
    line,
    polyline_data,
    sheet,
)
from trialcut.papers.canvas import Look, text_mark
from trialcut.papers.dimensions import arrow_points
from trialcut.papers.frame import Frame, bounds
from trialcut.papers.labels import Box, Layout
from trialcut.papers.legend import EdgeValues, legend, legend_height
from trialcut.papers.marks import beside
from trialcut.papers.palette import LIGHT
from trialcut.papers.scale import ON_LIGHT, ValueScale, colour
from trialcut.papers.svg import element, number, path_data, text_width
from trialcut.papers.words import say
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

if TYPE_CHECKING:
    from trialcut.ascut.types import JetPath

_SHADES = 96
"""Steps of the speed scale on the path; finer than the eye."""
_TRACK = 2.6
"""Width of the path. [px]"""
_LEAD = 1.3
"""Width of a lead. [px]"""
_PIN = 13.0
"""Length at which the largest tilt is drawn. [px]"""
_PITCH = 22.0
"""Between pins along the path. [px]"""
_FEWEST = 6
"""Pins on a small opening."""
_UPRIGHT = 2.0e-4
"""Angles below are not drawn: about a hundredth of a degree. [rad]"""

Flags = NDArray[np.bool_]


def still_svg(
    part: Part, jet: JetPath, *, system: str = "metric", title: str = "", look: Look | None = None
) -> str:
    """SVG of the jet's path over the part it leaves.

    Parameters
    ----------
    part : Part
        As drawn.
    jet : JetPath
        Its path in order of travel.
    system : str
        ``"inch"`` or ``"metric"``.
    title : str
        For screen readers; the part's id unless given.
    look : Look, optional
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    from trialcut.ascut.playback import tilt_and_lead  # noqa: PLC0415

    look = look or Look()
    drawn = [segment for edge in part.edges for segment in edge.segments]
    extent = bounds(drawn, [(float(x), float(y)) for x, y in jet.position])
    below = legend_height(0.0)
    frame, height = fitted(extent, look, below=below, margin=MARGIN + _PIN)
    leads = _leads(jet)
    cutting = ~leads
    speeds = jet.speed[cutting] if cutting.any() else jet.speed
    unit = printed_unit(Kind.SPEED, system)
    low, high = float(speeds.min()), float(speeds.max())
    values = EdgeValues(
        title=say("ascut.speed"),
        unit=unit.symbol,
        values={"slowest": low, "fastest": high},
        number=lambda value: number(value / unit.factor, unit.decimals),
    )
    tilt, lead = tilt_and_lead(jet)
    largest, most_lead = (float(np.abs(each[cutting]).max(initial=0.0)) for each in (tilt, lead))
    pixel = _pixels(frame, jet.position)
    layout = Layout(Box(4.0, 4.0, look.width - 4.0, height))
    for run in _runs(jet):
        layout.keep_off(zip(*along_line(pixel[run]), strict=True))
    key = legend(
        values,
        top=height,
        width=look.width,
        notes=(),
        prefix=f"{look.prefix}-still",
        path=False,
        findings=False,
        later=False,
        page=look.theme == "page",
    )
    row = 11.5 if values.scale.flat else 45.5
    right = look.width - 24.0 if values.scale.flat else None
    signs = key_row(list(_signs(largest, most_lead)), right=right, y=height + row)
    return sheet(
        title or say("ascut.still_title", part=part.id),
        look,
        height + (row + 14.0),
        element(
            "path",
            {
                "class": "tc-body",
                "d": "".join(
                    path_data([s for e in contour.edges for s in e.segments], frame, closed=True)
                    for contour in part.contours
                ),
                "fill": LIGHT.fill,
                "fill-rule": "evenodd",
                "stroke": LIGHT.soft,
                "stroke-width": 0.6,
            },
        ),
        layer("tc-traverses", _traverses(jet, pixel)),
        layer("tc-tilts", _tilts(jet, pixel, leads, tilt, largest)),
        layer("tc-track", _track(jet, pixel, leads, values.scale)),
        layer("tc-jets", _pierces(jet, pixel, layout)),
        key.markup,
        layer("tc-legend", [signs]),
        kind="still",
    )


def _pixels(frame: Frame, points: Floats) -> Floats:
    return np.column_stack(
        (
            frame.left + (points[:, 0] - frame.x_min) * frame.scale,
            frame.top + (frame.y_max - points[:, 1]) * frame.scale,
        )
    )


def _runs(jet: JetPath) -> Iterator[slice]:
    ends = np.flatnonzero(np.diff(jet.run)) + 1
    for first, last in zip((0, *ends), (*ends, jet.run.size), strict=True):
        yield slice(int(first), int(last))


def _leads(jet: JetPath) -> Flags:
    """Samples before the first and after the last that lies on an edge of its run."""
    leads = np.ones(jet.run.size, dtype=bool)
    for run in _runs(jet):
        on_edge = run.start + np.flatnonzero(jet.edge[run] >= 0)
        if on_edge.size:
            leads[on_edge[0] : on_edge[-1] + 1] = False
    return leads


def _track(jet: JetPath, pixel: Floats, leads: Flags, scale: ValueScale) -> Iterator[str]:
    """The path in pieces of one shade each, leads thinner."""
    from trialcut.ascut.thinning import kept_samples  # noqa: PLC0415

    share = np.array([scale.fraction(float(v)) for v in jet.speed])
    for run in _runs(jet):
        points, lead = pixel[run], leads[run]
        shade = np.clip(share[run], 0.0, 1.0) * _SHADES
        along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
        kept = kept_samples(along, np.column_stack((points, shade)), (0.1, 0.1, 0.5))
        kept[:-1] |= lead[1:] != lead[:-1]
        points, shade, lead = points[kept], shade[kept], lead[kept]
        middle = np.rint((shade[1:] + shade[:-1]) / 2).astype(int)
        thin = lead[1:] | lead[:-1]
        code = np.where(thin, middle + 2 * _SHADES, middle)
        ends = np.flatnonzero(np.diff(code)) + 1
        for first, last in zip((0, *ends), (*ends, code.size), strict=True):
            yield element(
                "path",
                {
                    "class": "tc-lead" if thin[first] else "tc-cut",
                    "d": polyline_data(points[first : last + 1].tolist()),
                    "fill": "none",
                    "stroke": colour(int(middle[first]) / _SHADES, name=scale.name, stretch=ON_LIGHT),
                    "stroke-width": _LEAD if thin[first] else _TRACK,
                    "stroke-linecap": "round",
                    "stroke-linejoin": "round",
                },
            )


def _tilts(jet: JetPath, pixel: Floats, leads: Flags, tilt: Floats, largest: float) -> Iterator[str]:
    """Pins from evenly spaced places of the path towards the side to which the head is tilted."""
    if largest <= _UPRIGHT:
        return
    for run in _runs(jet):
        cut = run.start + np.flatnonzero(~leads[run])
        if cut.size < 2:
            continue
        part = slice(int(cut[0]), int(cut[-1]) + 1)
        length = float(np.hypot(*np.diff(pixel[part], axis=0).T).sum())
        pitch = min(_PITCH, length / _FEWEST)
        if pitch < _PIN:
            continue
        # To the right of travel, y downwards on the picture.
        aside = _PIN / largest * tilt[part, None] * jet.direction[part, ::-1]
        columns = along_line(pixel[part], np.arange(pitch / 2, length, pitch), *aside.T)
        for x, y, to_x, to_y in zip(*(column.tolist() for column in columns), strict=True):
            if hypot(to_x, to_y) > _PIN * _UPRIGHT / largest:
                yield _pin(x, y, x + to_x, y + to_y)


def _pin(x: float, y: float, to_x: float, to_y: float) -> str:
    return line((x, y), (to_x, to_y), LIGHT.grey, 0.8) + element(
        "circle", {"cx": to_x, "cy": to_y, "r": 1.3, "fill": LIGHT.grey}
    )


def _traverses(jet: JetPath, pixel: Floats) -> Iterator[str]:
    for before, after in pairwise(_runs(jet)):
        start, end = pixel[before.stop - 1].tolist(), pixel[after.start].tolist()
        yield line(start, end, LIGHT.soft, 0.7, dash="2.5 3")


def _pierces(jet: JetPath, pixel: Floats, layout: Layout) -> Iterator[str]:
    runs = list(_runs(jet))
    for run in runs:
        layout.take(Box.around(tuple(pixel[run.start].tolist()), 6.0, 6.0))
    for order, run in enumerate(runs, start=1):
        x, y = pixel[run.start].tolist()
        tip = _first_on_edge(jet, run)
        marks = [element("circle", {"class": "tc-pierce", "cx": x, "cy": y, "r": 2.6, "fill": LIGHT.warm})]
        if tip is not None:
            dx, dy = jet.direction[tip].tolist()
            corners = arrow_points(tuple(pixel[tip].tolist()), float(np.arctan2(-dy, dx)))
            points = " ".join(f"{number(px)},{number(py)}" for px, py in corners)
            marks.append(element("polygon", {"class": "tc-start", "points": points, "fill": LIGHT.warm}))
        text = str(order)
        box = layout.first_free(beside((x, y), text_width(text, 9.0), 9.0, (5.0, 9.0, 14.0, 20.0)))
        if box is not None:
            marks.append(text_mark(text, box.centre, "tc-order-text", LIGHT.warm, size=9.0, heavy=True))
        yield element("g", {"class": "tc-jet"}, *marks)


def _first_on_edge(jet: JetPath, run: slice) -> int | None:
    on_edge = np.flatnonzero(jet.edge[run] >= 0)
    return run.start + int(on_edge[0]) if on_edge.size else None


def _signs(tilt: float, lead: float) -> Iterator[Sign]:
    dot = element("circle", {"cx": 3.0, "cy": 0.0, "r": 2.6, "fill": LIGHT.warm})
    yield Sign(say("drawing.pierce"), 6.0, dot)
    yield Sign(say("ascut.traverse"), 20.0, line((0.0, 0.0), (20.0, 0.0), LIGHT.soft, 0.7, dash="2.5 3"))
    if tilt > _UPRIGHT:
        yield Sign(say("ascut.tilt", angle=_angle(tilt)), _PIN + 1.3, _pin(0.0, 0.0, _PIN, 0.0))
    if lead > _UPRIGHT:
        yield Sign(say("ascut.lead", angle=_angle(lead)), 0.0, "")
    if max(tilt, lead) <= _UPRIGHT:
        yield Sign(say("ascut.upright"), 0.0, "")


def _angle(value: float) -> str:
    unit = printed_unit(Kind.ANGLE, "metric")
    return f"{number(value / unit.factor, unit.decimals)}{unit.symbol}"
