"""The outline of the as-cut part at one depth against the drawing, deviations drawn many times their size."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from trialcut.geometry.contours import Part
from trialcut.papers.ascut_look import (
    MARGIN,
    Floats,
    Sign,
    along_line,
    exaggeration,
    fitted,
    key_row,
    layer,
    length_text,
    line,
    polyline_data,
    sheet,
    signed,
    times_drawn,
    usual_range,
    words,
)
from trialcut.papers.canvas import Look, text_mark
from trialcut.papers.frame import Frame, along, bounds
from trialcut.papers.labels import Box, Layout
from trialcut.papers.marks import beside
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, path_data, text_width
from trialcut.papers.words import capital, say

if TYPE_CHECKING:
    from trialcut.ascut.types import DeviationField

_ROOM = 13.0
"""At which the largest deviation is drawn. [px]"""
_FARTHEST = 1.8
"""How far beyond that a rare larger one is drawn before it is cut off."""
_BELOW = 44.0
_TYPE = 10.0


def layer_svg(
    part: Part,
    field: DeviationField,
    *,
    depth: float = 1.0,
    draw: int | None = None,
    system: str = "metric",
    times: float | None = None,
    title: str = "",
    look: Look | None = None,
) -> str:
    """SVG of the as-cut outline at a depth: what is left standing, what is cut away, and the extremes.

    Parameters
    ----------
    part : Part
        As drawn.
    field : DeviationField
        Its as-cut walls.
    depth : float
        As a fraction of the thickness, linear between the layers beside it. [-]
    draw : int, optional
        Which draw, of a field of draws.
    system : str
        ``"inch"`` or ``"metric"``.
    times : float, optional
        How many times deviations are drawn; a round number that suits the picture unless given.
    title : str
        For screen readers.
    look : Look, optional
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.
    """
    from trialcut.ascut.mending import unfold  # noqa: PLC0415
    from trialcut.ascut.rings import rings_of  # noqa: PLC0415

    look = look or Look()
    rings = rings_of(part, field, draw=draw)
    heights = [_at(ring.deviation[:, :, None], field.depth, depth)[:, 0] for ring in rings]
    extent = bounds(segment for edge in part.edges for segment in edge.segments)
    frame, height = fitted(extent, look, below=_BELOW, margin=MARGIN + _ROOM)
    usual = usual_range([each[:, None] for each in heights], [ring.drawn for ring in rings])
    factor = times or exaggeration(max(map(abs, usual)), _ROOM, scale=frame.scale)
    drawn = [_pixels(frame, ring.drawn) for ring in rings]
    limit = _FARTHEST * _ROOM / (factor * frame.scale)
    cut = []
    for ring, each in zip(rings, heights, strict=True):
        share = np.minimum(limit / np.maximum(np.abs(each), 1e-12), 1.0)
        off = _at(ring.position, field.depth, depth) - ring.drawn
        shown = replace(ring, position=(ring.drawn + factor * share[:, None] * off)[:, None])
        unfold(shown, 0)
        cut.append(_pixels(frame, shown.position[:, 0]))
    layout = Layout(Box(4.0, 4.0, look.width - 4.0, height))
    layout.keep_off(along((s for edge in part.edges for s in edge.segments), frame, 4.0))
    for wall in cut:
        layout.keep_off(zip(*along_line(np.concatenate((wall, wall[:1]))), strict=True))
    place = _place(depth)
    thickness = length_text(field.thickness, system)
    note = say("ascut.outline_note", place=capital(place), thickness=thickness) + " " + times_drawn(factor)
    if any(np.abs(each).max() > limit for each in heights):
        note += " " + say("ascut.outline_cut_off", limit=length_text(limit, system))
    return sheet(
        title or say("ascut.outline_title", part=part.id, place=place),
        look,
        height + _BELOW,
        element(
            "path",
            {
                "class": "tc-body",
                "d": "".join(polyline_data(each.tolist(), closed=True) for each in cut),
                "fill": LIGHT.fill,
                "fill-rule": "evenodd",
            },
        ),
        layer("tc-bands", _bands(drawn, cut, heights)),
        element(
            "path",
            {
                "class": "tc-drawn",
                "d": "".join(
                    path_data([s for e in contour.edges for s in e.segments], frame, closed=True)
                    for contour in part.contours
                ),
                "fill": "none",
                "stroke": LIGHT.ink,
                "stroke-width": 0.8,
                "stroke-dasharray": "7 2.5 1.5 2.5",
            },
        ),
        layer("tc-walls", (_wall(each) for each in cut)),
        layer("tc-values", _extremes(heights, cut, layout, system)),
        layer("tc-legend", [key_row(list(_signs()), y=height + 8.0)]),
        words(note, 24.0, height + 28.0, LIGHT.grey),
        kind="outline",
    )


def _place(depth: float) -> str:
    if depth in (0.0, 1.0):
        return say("ascut.top_face" if depth == 0.0 else "ascut.bottom_face")
    return say("ascut.at_depth", depth=f"{number(100.0 * depth, 1)} %")


def _at(values: Floats, depths: Floats, depth: float) -> Floats:
    """Values of shape (N, L, K) at a depth, linear between layers: shape (N, K)."""
    if depths.size == 1:
        return values[:, 0]
    below = int(np.clip(np.searchsorted(depths, depth, side="right") - 1, 0, depths.size - 2))
    share = (depth - depths[below]) / (depths[below + 1] - depths[below])
    return np.asarray(values[:, below] * (1.0 - share) + values[:, below + 1] * share)


def _pixels(frame: Frame, points: Floats) -> Floats:
    return np.array([frame.to_view((x, y)) for x, y in points.tolist()])


def _wall(points: Floats) -> str:
    return element(
        "path",
        {
            "class": "tc-wall",
            "d": polyline_data(points.tolist(), closed=True),
            "fill": "none",
            "stroke": LIGHT.ink,
            "stroke-width": 1.5,
            "stroke-linejoin": "round",
        },
    )


def _bands(drawn: Sequence[Floats], cut: Sequence[Floats], heights: Sequence[Floats]) -> Iterator[str]:
    """Between drawn and as-cut wall, stretch by stretch of one sign."""
    for inner, outer, height in zip(drawn, cut, heights, strict=True):
        left = height >= 0.0
        after = np.roll(left, -1)
        count = len(height)
        if left.all() or not left.any():
            spans = [(0, count)]
        else:
            turns = np.flatnonzero(left != after) + 1
            spans = [
                (int(a), int(b) if b > a else int(b) + count)
                for a, b in zip(turns, np.roll(turns, -1), strict=True)
            ]
        for first, last in spans:
            place = np.arange(first, last + 1) % count
            edge = [*inner[place].tolist(), *reversed(outer[place].tolist())]
            yield element(
                "path",
                {
                    "class": "tc-left" if left[first % count] else "tc-away",
                    "d": polyline_data(edge, closed=True),
                    "fill": LIGHT.accent if left[first % count] else LIGHT.warm,
                    "fill-opacity": "0.38",
                },
            )


def _extremes(heights: Sequence[Floats], cut: Sequence[Floats], layout: Layout, system: str) -> Iterator[str]:
    """The largest and the smallest deviation, with their values."""
    points, every = np.concatenate(cut), np.concatenate(heights)
    for place in dict.fromkeys((int(every.argmax()), int(every.argmin()))):
        x, y = points[place].tolist()
        tone = LIGHT.accent if every[place] >= 0.0 else LIGHT.warm
        text = signed(float(every[place]), system)
        yield element(
            "circle", {"cx": x, "cy": y, "r": 3.4, "fill": "none", "stroke": tone, "stroke-width": 1.3}
        )
        wide = text_width(text, _TYPE) + 4.0
        box = layout.first_free(beside((x, y), wide, _TYPE + 3.0, (7.0, 12.0, 18.0, 28.0, 40.0)))
        if box is not None:
            layout.take(box)
            yield text_mark(text, box.centre, "tc-value", tone, size=_TYPE, heavy=True)


def _signs() -> Iterator[Sign]:
    yield Sign(say("ascut.drawn"), 18.0, line((0.0, 0.0), (18.0, 0.0), LIGHT.ink, 0.8, dash="7 2.5 1.5 2.5"))
    yield Sign(say("ascut.as_cut"), 18.0, line((0.0, 0.0), (18.0, 0.0), LIGHT.ink, 1.5))
    for key, tone in (("left", LIGHT.accent), ("away", LIGHT.warm)):
        swatch: dict[str, str | float] = {"x": 0.0, "y": -4.0, "width": 18.0, "height": 8.0}
        yield Sign(
            say(f"ascut.{key}"), 18.0, element("rect", swatch | {"fill": tone, "fill-opacity": "0.38"})
        )
