"""What the pictures of the as-cut part share: numbers with signs, round exaggerations, frames, key rows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import floor, log10

import numpy as np
from numpy.typing import NDArray

from trialcut.papers.canvas import LABEL, Look
from trialcut.papers.figures import fixed
from trialcut.papers.frame import Bounds, Frame
from trialcut.papers.palette import LIGHT
from trialcut.papers.part_svg import FONT
from trialcut.papers.svg import element, number, plain, text_width
from trialcut.papers.words import say
from trialcut.units.kinds import Kind
from trialcut.units.table import printed_unit

Floats = NDArray[np.float64]

MARGIN = 26.0
"""About a picture. [px]"""
RARE = 0.02
"""Share of the walls that may go beyond a scale, as corners do. [-]"""
KEY_TYPE = 9.5
"""Type size of a key. [px]"""


def signed(value: float, system: str, *, unit: bool = True) -> str:
    """A deviation with its sign, ``"+0.031 mm"``; nothing before zero."""
    printed = printed_unit(Kind.LENGTH, system)
    text = fixed(value / printed.factor, printed.decimals)
    if value > 0.0 and float(text) != 0.0:
        text = f"+{text}"
    return f"{text} {printed.symbol}" if unit else text


def length_text(value: float, system: str) -> str:
    """A length with its unit, no more digits than it needs."""
    printed = printed_unit(Kind.LENGTH, system)
    return f"{number(value / printed.factor, printed.decimals)} {printed.symbol}"


def round_down(value: float) -> float:
    """Largest of 1, 2, 5, 10, 20 and on, and of their fractions, that is not above a positive value."""
    power = 10.0 ** floor(log10(value))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= value * (1.0 + 1e-12))


def exaggeration(largest: float, room: float, *, scale: float, most: float = 1000.0) -> float:
    """How many times a deviation is drawn so that the largest fits a room. [m], [px], [px/m]"""
    if largest <= 0.0:
        return 1.0
    return max(1.0, min(round_down(room / (largest * scale)), most))


def times_drawn(factor: float) -> str:
    """A sentence that says how many times deviations are drawn."""
    if factor == 1.0:
        return say("ascut.true_size")
    return say("ascut.times_drawn", times=number(factor, 2))


def usual_range(heights: Sequence[Floats], drawn: Sequence[Floats]) -> tuple[float, float]:
    """Deviations between which all but a `RARE` share of the walls' length lies at either end. [m]

    Parameters
    ----------
    heights : sequence of ndarray, shape (N, L)
        Deviations of each closed wall.
    drawn : sequence of ndarray, shape (N, 2)
        Where its columns stand. [m]
    """
    weights = []
    for height, points in zip(heights, drawn, strict=True):
        step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
        weights.append(np.repeat((step + np.roll(step, 1)) / 2.0, height.shape[1]))
    values, weight = np.concatenate([height.ravel() for height in heights]), np.concatenate(weights)
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order]) / weight.sum()
    first, last = np.searchsorted(share, (RARE, 1.0 - RARE))
    return float(values[order[first]]), float(values[order[min(last, order.size - 1)]])


def fitted(extent: Bounds, look: Look, *, below: float, margin: float = MARGIN) -> tuple[Frame, float]:
    """A frame that shows an extent, `below` pixels left free under it; and the height used down to there."""
    wide, high = max(extent[2] - extent[0], 1e-9), max(extent[3] - extent[1], 1e-9)
    room_x, room_y = look.width - 2 * margin, look.height_max - below - 2 * margin
    scale = min(room_x / wide, room_y / high)
    left = margin + (room_x - wide * scale) / 2
    frame = Frame(scale=scale, left=left, top=margin, x_min=extent[0], y_max=extent[3])
    return frame, high * scale + 2 * margin


def sheet(title: str, look: Look, height: float, *content: str, kind: str) -> str:
    """The ``<svg>`` element of a picture."""
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": f"tc-{kind} tc-{look.theme}",
            "viewBox": f"0 0 {number(look.width)} {number(height)}",
            "width": look.width,
            "height": height,
            "role": "img",
            "aria-label": title,
            "font-family": FONT,
            "font-size": LABEL,
        },
        element("title", {}, plain(title)),
        *content,
    )


def layer(name: str, marks: Iterable[str]) -> str:
    """A group, unless it is empty."""
    content = "".join(marks)
    return element("g", {"class": name}, content) if content else ""


def words(
    text: str,
    x: float,
    y: float,
    tone: str,
    *,
    anchor: str = "start",
    size: float = KEY_TYPE,
    heavy: bool = False,
    name: str = "tc-key",
) -> str:
    """A text at its base line."""
    attributes: dict[str, str | float] = {
        "class": name,
        "x": x,
        "y": y,
        "text-anchor": anchor,
        "fill": tone,
        "font-size": size,
    }
    if heavy:
        attributes["font-weight"] = "600"
    return element("text", attributes, plain(text))


def line(a: Sequence[float], b: Sequence[float], stroke: str, width: float, **more: str | float) -> str:
    """A straight mark; keyword ``dash`` for its dashes, ``name`` for its class."""
    attributes: dict[str, str | float] = {"x1": a[0], "y1": a[1], "x2": b[0], "y2": b[1]}
    attributes |= {"stroke": stroke, "stroke-width": width}
    if "dash" in more:
        attributes["stroke-dasharray"] = more["dash"]
    if "name" in more:
        attributes = {"class": more["name"], **attributes}
    return element("line", attributes)


def along_line(points: Floats, wanted: Floats | None = None, *values: Floats) -> list[Floats]:
    """Columns of points, and of further values, at distances along a line: every 3 px unless given. [px]"""
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    if wanted is None:
        wanted = np.arange(0.0, along[-1], 3.0)
    return [np.interp(wanted, along, column) for column in (*points.T, *values)]


def polyline_data(points: Iterable[Sequence[float]], *, closed: bool = False) -> str:
    """Path data of straight pieces between pixels."""
    data = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{data}{'Z' if closed else ''}"


@dataclass(frozen=True, slots=True)
class Sign:
    """One entry of a key: its words, how wide its mark is, and the mark, drawn about its left middle."""

    text: str
    width: float
    mark: str


def key_row(signs: Sequence[Sign], *, left: float = 24.0, right: float | None = None, y: float) -> str:
    """Signs with their words: the first begins at `left`, or the last ends at `right`; middle at `y`. [px]"""
    gap, apart = 6.0, 16.0
    widths = [sign.width + gap + text_width(sign.text, KEY_TYPE) for sign in signs]
    x = left if right is None else right - sum(widths) - apart * (len(signs) - 1)
    marks = []
    for sign, width in zip(signs, widths, strict=True):
        marks.append(
            element("g", {"transform": f"translate({number(x)} {number(y)})"}, sign.mark)
            + words(sign.text, x + sign.width + gap, y + 3.5, LIGHT.grey)
        )
        x += width + apart
    return "".join(marks)
