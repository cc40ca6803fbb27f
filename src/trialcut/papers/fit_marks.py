"""Marks that the pictures of a fit share: readings with their gauge bars, bands, lines of the forms."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from trialcut.papers.ascut_look import Sign, line, polyline_data
from trialcut.papers.palette import LIGHT
from trialcut.papers.svg import element, number, plain
from trialcut.papers.words import say
from trialcut.physics.kerf_forms import KerfForm
from trialcut.trials.types import ReadingKind

Pixels = Sequence[tuple[float, float]]

DASHES = {KerfForm.CLOSING: "", KerfForm.POWER: "6 3", KerfForm.DOSE: "1.5 2.5"}
RADIUS = 2.9
_APART, _ROOM = 5.6, 26.0
"""Between readings at one speed, and most for all of them. [px]"""
SHAPES: dict[ReadingKind, tuple[tuple[float, float], ...]] = {
    ReadingKind.KERF: ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)),
    ReadingKind.LIGHT_GAP: ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)),
    ReadingKind.LAG: ((0.0, -1.35), (1.25, 0.95), (-1.25, 0.95)),
    ReadingKind.RA: ((0.0, -1.45), (1.45, 0.0), (0.0, 1.45), (-1.45, 0.0)),
    ReadingKind.RQ: ((0.0, -1.45), (1.45, 0.0), (0.0, 1.45), (-1.45, 0.0)),
    ReadingKind.PIERCE_TIME: ((0.0, 1.35), (1.25, -0.95), (-1.25, -0.95)),
    ReadingKind.CYCLE_TIME: ((0.0, 1.35), (1.25, -0.95), (-1.25, -0.95)),
}
"""Corners of the mark of each kind, in radii; a size is a disc."""


def dodged(speeds: Sequence[float]) -> list[float]:
    """How far aside each reading is drawn, so that those at one speed stand side by side. [px]"""
    order = [round(speed, 9) for speed in speeds]
    seen: dict[float, int] = {}
    aside = []
    for speed in order:
        count = order.count(speed)
        apart = min(_APART, _ROOM / max(count - 1, 1))
        aside.append((seen.get(speed, 0) - (count - 1) / 2.0) * apart)
        seen[speed] = seen.get(speed, 0) + 1
    return aside


def dot(at: tuple[float, float], kind: ReadingKind, *, hollow: bool = False, title: str = "") -> str:
    """A reading, by its kind."""
    x, y = at
    look: dict[str, str | float] = {"class": "tc-reading tc-little" if hollow else "tc-reading"}
    fill: dict[str, str | float] = {
        "fill": LIGHT.paper if hollow else LIGHT.ink,
        "stroke": LIGHT.warm if hollow else LIGHT.paper,
        "stroke-width": 1.5 if hollow else 0.7,
    }
    inside = (element("title", {}, plain(title)),) if title else ()
    corners = SHAPES.get(kind)
    if corners is None:
        return element("circle", look | {"cx": x, "cy": y, "r": RADIUS + 0.3} | fill, *inside)
    points = " ".join(f"{number(x + RADIUS * dx)},{number(y + RADIUS * dy)}" for dx, dy in corners)
    return element("polygon", look | {"points": points} | fill, *inside)


def bar(x: float, low: float, high: float, tone: str = LIGHT.ink) -> Iterator[str]:
    """An upright bar with short ends."""
    yield line((x, low), (x, high), tone, 0.9, name="tc-gauge")
    for y in (low, high):
        yield line((x - 2.2, y), (x + 2.2, y), tone, 0.9)


def band(low: Pixels, high: Pixels, *, before: bool = False) -> str:
    """A band between two lines; that of the priors is faint."""
    return element(
        "path",
        {
            "class": "tc-before" if before else "tc-after",
            "d": polyline_data([*low, *reversed(high)], closed=True),
            "fill": LIGHT.grey if before else LIGHT.accent,
            "fill-opacity": "0.11" if before else "0.18",
        },
    )


def curve(points: Pixels, *, name: str, stroke: str, width: float, dash: str = "") -> str:
    """A line through points."""
    look: dict[str, str | float] = {"class": name, "d": polyline_data(points), "fill": "none"}
    look |= {"stroke": stroke, "stroke-width": width, "stroke-linejoin": "round"}
    if dash:
        look["stroke-dasharray"] = dash
    return element("path", look)


def form_sign(form: KerfForm, weight: float) -> Sign:
    """A form's line, with its share."""
    share = f"{number(100.0 * weight, 0)} %"
    text = say(f"fit.{form.name.lower()}", share=share)
    width = 26.0
    mark = line((0.0, 0.0), (width, 0.0), LIGHT.ink, 1.0, **({"dash": DASHES[form]} if DASHES[form] else {}))
    return Sign(text, width, mark)


def swatch(text: str, *, before: bool = False) -> Sign:
    """A band in the key."""
    look: dict[str, str | float] = {"x": 0.0, "y": -4.5, "width": 22.0, "height": 9.0}
    look |= {"fill": LIGHT.grey if before else LIGHT.accent, "fill-opacity": "0.16" if before else "0.22"}
    return Sign(text, 22.0, element("rect", look))
