"""The key below a drawing: the colour scale with its values, and what the marks mean."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from trialcut.papers.palette import LIGHT
from trialcut.papers.scale import ON_DARK, ON_LIGHT, ValueScale, colour
from trialcut.papers.svg import element, number, plain, text_width
from trialcut.papers.words import say

_TYPE = 9.5
_BAR = 190.0
_STOPS = 12
_ROOMY = 620.0
"""Width from which the scale and the signs share a line. [px]"""


def legend_height(width: float) -> float:
    """Height of a full key without notes, on a picture of a width. [px]"""
    return 40.0 if width >= _ROOMY else 58.0


@dataclass(frozen=True, kw_only=True)
class EdgeValues:
    """What the edges of a drawing are coloured by.

    Parameters
    ----------
    title : str
        Of the scale, ``"Speed"``.
    unit : str
        In which `number` prints.
    values : mapping
        One value an edge, by id; edges without one stay in the ink colour.
    number : callable
        Prints a value without its unit.
    scale : ValueScale
        Over all values unless given, as for drawings that are to be compared.
    """

    title: str
    unit: str
    values: Mapping[str, float]
    number: Callable[[float], str]
    scale: ValueScale = field(default=ValueScale(low=0.0, high=0.0))

    def __post_init__(self) -> None:
        if self.values and self.scale == ValueScale(low=0.0, high=0.0):
            object.__setattr__(self, "scale", ValueScale.over(self.values.values()))

    def text(self, value: float) -> str:
        """A value with its unit."""
        return f"{self.number(value)} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class Key:
    """The key's markup and the height it takes. [px]"""

    markup: str
    height: float


def legend(
    values: EdgeValues | None,
    *,
    top: float,
    width: float,
    notes: Sequence[str],
    prefix: str,
    path: bool,
    findings: bool,
    later: bool,
    page: bool,
) -> Key:
    """Key of a drawing.

    Parameters
    ----------
    values : EdgeValues or None
        Colour scale, if there is one.
    top, width : float
        Where the key begins and how wide the picture is. [px]
    notes : sequence of str
        One line each.
    prefix : str
        Of the gradient's id.
    path, findings, later : bool
        Which marks are on the drawing.
    page : bool
        The picture follows the reader's light or dark setting.
    """
    marks: list[str] = []
    y = top + 6.0
    shown = values is not None and bool(values.values)
    if values is not None and shown:
        marks.extend(_scale(values, 24.0, y, prefix, page=page))
    signs = [
        (sign, say(f"drawing.{sign}"))
        for sign, wanted in (("pierce", path), ("start", path), ("later", later), ("finding", findings))
        if wanted
    ]
    second = width < _ROOMY and shown
    base = y + (30.0 if second else 0.0)
    x = 24.0 if second else width - 24.0 - sum(text_width(name, _TYPE) + 36.0 for _, name in signs) + 24.0
    for sign, name in signs:
        marks.append(_sign(sign, x + 4.0, base + 5.5))
        marks.append(_words(name, x + 16.0, base + 9.0))
        x += text_width(name, _TYPE) + 36.0
    height = legend_height(width) if shown else (20.0 if signs else 0.0)
    for k, note in enumerate(notes):
        marks.append(_words(note, 24.0, top + height + 10.0 + 14.0 * k))
    height += 14.0 * len(notes) + (8.0 if notes else 0.0)
    return Key(element("g", {"class": "tc-legend"}, *marks) if marks else "", height)


def _scale(values: EdgeValues, x: float, y: float, prefix: str, *, page: bool) -> list[str]:
    scale = values.scale
    name = values.title if scale.flat or not values.unit else f"{values.title}, {values.unit}"
    title = _words(name, x, y + 9.0, tone=LIGHT.ink, heavy=True)
    left = x + text_width(name, _TYPE) + 12.0
    if scale.flat:
        swatch: dict[str, str | float] = {
            "class": "tc-swatch",
            "x1": left,
            "y1": y + 5.5,
            "x2": left + 26.0,
            "y2": y + 5.5,
            "stroke": scale.light(scale.low),
            "stroke-width": 2.2,
        }
        if page:
            swatch["style"] = f"--v:{scale.light(scale.low)};--vd:{scale.dark(scale.low)}"
        return [title, element("line", swatch), _words(values.text(scale.low), left + 34.0, y + 9.0)]
    bars = []
    for name, stretch in (("light", ON_LIGHT), ("dark", ON_DARK)) if page else (("light", ON_LIGHT),):
        stops = "".join(
            element(
                "stop",
                {
                    "offset": number(k / _STOPS, 4),
                    "stop-color": colour(k / _STOPS, name=scale.name, stretch=stretch),
                },
            )
            for k in range(_STOPS + 1)
        )
        gradient = f"{prefix}-scale-{name}"
        bars.append(element("defs", {}, element("linearGradient", {"id": gradient}, stops)))
        bars.append(
            element(
                "rect",
                {
                    "class": f"tc-bar tc-bar-{name}",
                    "x": left,
                    "y": y + 2.5,
                    "width": _BAR,
                    "height": 6.0,
                    "rx": 3.0,
                    "fill": f"url(#{gradient})",
                },
            )
        )
    return [title, *bars, *_ticks(values, left, y)]


def _ticks(values: EdgeValues, left: float, y: float) -> list[str]:
    scale = values.scale
    inside = sorted({v for v in values.values.values() if scale.low <= v <= scale.high})
    chosen = [scale.low, scale.high, *(inside if len(inside) <= 6 else [(scale.low + scale.high) / 2])]
    marks: list[str] = []
    taken: list[tuple[float, float]] = []
    for value in chosen:
        x = left + scale.fraction(value) * _BAR
        marks.append(
            element(
                "line",
                {
                    "class": "tc-tick",
                    "x1": x,
                    "y1": y + 9.5,
                    "x2": x,
                    "y2": y + 12.5,
                    "stroke": LIGHT.grey,
                    "stroke-width": 0.8,
                },
            )
        )
        text = values.number(value)
        half = text_width(text, _TYPE) / 2 + 3.0
        if all(x + half <= low or x - half >= high for low, high in taken):
            taken.append((x - half, x + half))
            marks.append(_words(text, x, y + 23.0, anchor="middle"))
    return marks


def _words(
    text: str, x: float, y: float, *, anchor: str = "start", tone: str = LIGHT.grey, heavy: bool = False
) -> str:
    attributes: dict[str, str | float] = {
        "class": "tc-key-title" if heavy else "tc-key",
        "x": x,
        "y": y,
        "text-anchor": anchor,
        "fill": tone,
        "font-size": _TYPE,
    }
    if heavy:
        attributes["font-weight"] = "600"
    return element("text", attributes, plain(text))


def _sign(sign: str, x: float, y: float) -> str:
    warm = LIGHT.warm
    if sign == "pierce":
        return element("circle", {"class": "tc-pierce", "cx": x, "cy": y, "r": 2.4, "fill": warm})
    if sign == "start":
        points = (
            f"{number(x + 4)},{number(y)} {number(x - 4)},{number(y + 3.4)} {number(x - 4)},{number(y - 3.4)}"
        )
        return element("polygon", {"class": "tc-start", "points": points, "fill": warm})
    if sign == "later":
        return element(
            "line",
            {
                "class": "tc-later",
                "x1": x - 8.0,
                "y1": y,
                "x2": x + 8.0,
                "y2": y,
                "stroke": LIGHT.ink,
                "stroke-width": 1.8,
                "stroke-dasharray": "4.5 2",
            },
        )
    return element(
        "circle",
        {"class": "tc-spot", "cx": x, "cy": y, "r": 4.2, "fill": "none", "stroke": warm, "stroke-width": 1.4},
    )
