"""A section through a wall: how it runs from the top face to the bottom face, against the drawn wall."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from trialcut.errors import RangeError, UnknownNameError
from trialcut.papers.ascut_look import (
    KEY_TYPE,
    Sign,
    exaggeration,
    key_row,
    layer,
    length_text,
    line,
    polyline_data,
    round_down,
    sheet,
    signed,
    times_drawn,
    words,
)
from trialcut.papers.canvas import Look
from trialcut.papers.dimensions import arrow_points
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, text_width
from trialcut.papers.words import say
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

if TYPE_CHECKING:
    from trialcut.ascut.types import DeviationField

LOOK = Look(width=400.0, height_max=330.0)
"""Size of a section unless another is wished."""
_TOP = 44.0
_BELOW = 58.0
_BODY = 96.0
"""Part to the left of the drawn wall that is shown. [px]"""
_VALUES = 74.0
"""Room for values at the right. [px]"""
_HATCH = 7.0
"""Between lines of the hatching. [px]"""
_LONGEST_BAR = 90.0
"""For deviations. [px]"""

Pixels = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Section:
    """The wall at a place of an edge: its depths [-], deviation, 5th and 95th percentile [m]."""

    edge: str
    fraction: float
    depth: NDArray[np.float64]
    deviation: NDArray[np.float64]
    low: NDArray[np.float64] | None = None
    high: NDArray[np.float64] | None = None


def section_of(field: DeviationField, edge: str, fraction: float) -> Section:
    """
    The wall at a fraction of an edge's length, linear between the samples beside it.

    Parameters
    ----------
    field : DeviationField
        Of one cut, or of many draws: then the median, with the 5th and 95th percentile.
    edge : str
        Id of the edge.
    fraction : float
        Of its length, from zero to one. [-]

    Raises
    ------
    UnknownNameError
        If the field has no such edge.
    RangeError
        If there is no wall at any depth.
    """
    if edge not in field.edges:
        raise UnknownNameError(f"edge {edge} is not in the deviation field; it has {', '.join(field.edges)}")
    rows = np.flatnonzero(field.edge == field.edges.index(edge))
    place = int(np.clip(np.searchsorted(field.fraction[rows], fraction), 1, rows.size - 1))
    before, after = field.fraction[rows[place - 1]], field.fraction[rows[place]]
    share = min(max((fraction - before) / (after - before), 0.0), 1.0)
    beside = field.deviation[rows[place - 1]], field.deviation[rows[place]]
    here = beside[round(share)] if share in (0.0, 1.0) else beside[0] * (1.0 - share) + beside[1] * share
    low = high = None
    if here.ndim == 2:
        with np.errstate(invalid="ignore"):
            low, here, high = np.percentile(here, (5.0, 50.0, 95.0), axis=1)
    known = np.isfinite(here)
    if low is not None and high is not None:
        known &= np.isfinite(low) & np.isfinite(high)
        low, high = low[known], high[known]
    if not known.any():
        raise RangeError(
            f"edge {edge} has no as-cut wall at {100.0 * fraction:g} % of its length: the jet does not cut "
            "through there, or leaves nothing; cut it slower"
        )
    return Section(edge, fraction, field.depth[known], here[known], low, high)


def section_svg(
    field: DeviationField,
    *,
    edge: str,
    fraction: float = 0.5,
    system: str = "metric",
    times: float | None = None,
    look: Look = LOOK,
) -> str:
    """SVG of the wall at one place of an edge; the part lies to the left.

    Parameters
    ----------
    field : DeviationField
        Of one cut, or of many draws, whose spread is then shown.
    edge : str
        Id of the edge.
    fraction : float
        Of its length, from zero to one. [-]
    system : str
        ``"inch"`` or ``"metric"``.
    times : float, optional
        How many times deviations are drawn; a round number that fills the picture unless given.
    look : Look
        Size of the picture.

    Returns
    -------
    str
        One ``<svg>`` element, the same bytes for the same arguments.

    Raises
    ------
    UnknownNameError
        If the field has no such edge.
    RangeError
        If there is no wall at any depth.
    """
    cut = section_of(field, edge, fraction)
    deep = look.height_max - _TOP - _BELOW
    scale = deep / field.thickness
    room = (look.width - _BODY - _VALUES) / 2 - 20.0
    reach = max(float(np.abs(each).max()) for each in (cut.deviation, cut.low, cut.high) if each is not None)
    factor = times or exaggeration(reach, room, scale=scale)
    drawn_x = _BODY + (look.width - _BODY - _VALUES) / 2
    across = factor * scale

    def points(deviation: NDArray[np.float64]) -> Pixels:
        return list(
            zip((drawn_x + across * deviation).tolist(), (_TOP + deep * cut.depth).tolist(), strict=True)
        )

    wall = points(cut.deviation)
    place = f"{number(100.0 * fraction, 1)} %"
    title = say("ascut.section_title", edge=edge, place=place)
    bottom = _TOP + deep
    return sheet(
        title,
        look,
        look.height_max,
        layer("tc-body", _body(wall, bottom, look)),
        layer("tc-spread", _band(cut, points)),
        line(
            (drawn_x, _TOP - 8.0),
            (drawn_x, bottom + 8.0),
            LIGHT.ink,
            0.9,
            dash="7 2.5 1.5 2.5",
            name="tc-drawn",
        ),
        element(
            "path",
            {
                "class": "tc-wall",
                "d": polyline_data(wall),
                "fill": "none",
                "stroke": LIGHT.accent,
                "stroke-width": 2.2,
                "stroke-linejoin": "round",
                "stroke-linecap": "round",
            },
        ),
        layer("tc-values", _values(cut, wall, look, system)),
        words(title, 16.0, 20.0, LIGHT.ink, size=11.0, heavy=True, name="tc-title"),
        layer("tc-scales", _thickness(field.thickness, bottom, system)),
        layer("tc-scales", _bar(factor, across, bottom + 22.0, system)),
        key_row(list(_signs(spread=cut.low is not None)), left=16.0, y=look.height_max - 13.0),
        kind="section",
    )


def _body(wall: Pixels, bottom: float, look: Look) -> Iterator[str]:
    """The part in section, hatched, and its two faces."""
    left = 16.0
    name = f"{look.prefix}-hatch"
    yield element(
        "defs",
        {},
        element(
            "pattern",
            {
                "id": name,
                "width": _HATCH,
                "height": _HATCH,
                "patternUnits": "userSpaceOnUse",
                "patternTransform": "rotate(45)",
            },
            line((0.0, 0.0), (0.0, _HATCH), LIGHT.hair, 1.0),
        ),
    )
    data = polyline_data([(left, wall[0][1]), *wall, (left, wall[-1][1])], closed=True)
    yield element("path", {"class": "tc-material", "d": data, "fill": LIGHT.fill})
    yield element("path", {"d": data, "fill": f"url(#{name})"})
    for (x, y), edge_y in ((wall[0], _TOP), (wall[-1], bottom)):
        if abs(y - edge_y) < 0.01:
            yield line((left, edge_y), (x, y), LIGHT.ink, 1.2)


def _band(cut: Section, points: Callable[[NDArray[np.float64]], Pixels]) -> Iterator[str]:
    if cut.low is None or cut.high is None:
        return
    yield element(
        "path",
        {
            "d": polyline_data([*points(cut.low), *reversed(points(cut.high))], closed=True),
            "fill": LIGHT.accent,
            "fill-opacity": "0.16",
        },
    )


def _values(cut: Section, wall: Pixels, look: Look, system: str) -> Iterator[str]:
    """Deviations at the top, in the middle and at the bottom, beside the wall."""
    x = look.width - 14.0
    for name, depth in (("top", 0.0), ("middle", 0.5), ("bottom", 1.0)):
        if not cut.depth[0] <= depth <= cut.depth[-1]:
            continue
        value = float(np.interp(depth, cut.depth, cut.deviation))
        wall_x = float(np.interp(depth, cut.depth, [px for px, _ in wall]))
        y = float(np.interp(depth, cut.depth, [py for _, py in wall]))
        text = signed(value, system)
        start = x - max(text_width(text, 10.5), text_width(say(f"ascut.{name}"), 9.5)) - 8.0
        yield line((wall_x + 5.0, y), (start, y), LIGHT.soft, 0.5)
        yield element("circle", {"cx": wall_x, "cy": y, "r": 2.6, "fill": LIGHT.accent})
        yield words(say(f"ascut.{name}"), x, y - 4.0, LIGHT.grey, anchor="end")
        yield words(text, x, y + 9.5, LIGHT.ink, anchor="end", size=10.5, name="tc-value")


def _thickness(thickness: float, bottom: float, system: str) -> Iterator[str]:
    """Dimension of the plate's thickness, in the part."""
    x, middle = 30.0, (_TOP + bottom) / 2
    yield line((x, _TOP + 1.0), (x, bottom - 1.0), LIGHT.grey, 0.7)
    for tip, direction in (((x, _TOP), -pi / 2), ((x, bottom), pi / 2)):
        points = " ".join(f"{number(px)},{number(py)}" for px, py in arrow_points(tip, direction))
        yield element("polygon", {"points": points, "fill": LIGHT.grey})
    text = length_text(thickness, system)
    high = text_width(text, KEY_TYPE) + 8.0
    yield element(
        "rect", {"x": x - 7.5, "y": middle - high / 2, "width": 15.0, "height": high, "fill": LIGHT.fill}
    )
    yield element(
        "g",
        {"transform": f"rotate(-90 {number(x)} {number(middle)})"},
        words(text, x, middle + 3.4, LIGHT.ink, anchor="middle"),
    )


def _bar(factor: float, across: float, y: float, system: str) -> Iterator[str]:
    """A bar for deviations, and how many times they are drawn."""
    unit = printed_unit(Kind.LENGTH, system).factor
    bar = round_down(_LONGEST_BAR / across / unit) * unit
    left, right = 17.0, 17.0 + bar * across
    yield line((left, y), (right, y), LIGHT.ink, 0.9)
    for end in (left, right):
        yield line((end, y - 3.0), (end, y + 3.0), LIGHT.ink, 0.9)
    yield words(f"{length_text(bar, system)}.  {times_drawn(factor)}", right + 9.0, y + 3.4, LIGHT.grey)


def _signs(*, spread: bool) -> Iterator[Sign]:
    yield Sign(say("ascut.drawn"), 18.0, line((0.0, 0.0), (18.0, 0.0), LIGHT.ink, 0.9, dash="7 2.5 1.5 2.5"))
    yield Sign(
        say("ascut.as_cut_median" if spread else "ascut.as_cut"),
        18.0,
        line((0.0, 0.0), (18.0, 0.0), LIGHT.accent, 2.2),
    )
    if spread:
        swatch: dict[str, str | float] = {"x": 0.0, "y": -4.0, "width": 18.0, "height": 8.0}
        swatch |= {"fill": LIGHT.accent, "fill-opacity": "0.16"}
        yield Sign(say("ascut.spread"), 18.0, element("rect", swatch))
