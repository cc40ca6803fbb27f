"""Words of SVG attributes: lengths, transforms, styles, and the box that a drawing is shown in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import cos, isfinite, radians, sin, tan

from trialcut.geometry.curves import Point

PIXEL = 0.0254 / 96.0
"""Length of a pixel: 96 to the inch, by definition (CSS Values and Units 3, section 6.2). [m]"""

METRES: dict[str, float] = {
    "mm": 1.0e-3,
    "cm": 1.0e-2,
    "in": 0.0254,
    "px": PIXEL,
    "pt": 0.0254 / 72.0,
    "pc": 0.0254 / 6.0,
    "q": 0.25e-3,
}
"""Absolute units of CSS. [m]"""

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_LENGTH = re.compile(rf"\s*({NUMBER})\s*(mm|cm|in|px|pt|pc|q)?\s*", re.IGNORECASE)
_CALL = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)\s*")
_NUMBERS = re.compile(NUMBER)


@dataclass(frozen=True, slots=True)
class Affine:
    """``x' = a x + c y + e``, ``y' = b x + d y + f``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, other: Affine) -> Affine:
        """Return this map after another."""
        return Affine(
            self.a * other.a + self.c * other.b,
            self.b * other.a + self.d * other.b,
            self.a * other.c + self.c * other.d,
            self.b * other.c + self.d * other.d,
            self.a * other.e + self.c * other.f + self.e,
            self.b * other.e + self.d * other.f + self.f,
        )

    def point(self, p: Point) -> Point:
        """Where a point goes."""
        return (self.a * p[0] + self.c * p[1] + self.e, self.b * p[0] + self.d * p[1] + self.f)

    def direction(self, v: Point) -> Point:
        """Where a difference of two points goes."""
        return (self.a * v[0] + self.c * v[1], self.b * v[0] + self.d * v[1])


def length_of(text: str) -> tuple[float, str]:
    """Return number and unit of a length, the unit empty if none stands; ``ValueError`` if it is none."""
    found = _LENGTH.fullmatch(text)
    if found is None or not isfinite(float(found[1])):
        raise ValueError(f"{text[:40]!r} is no length")
    return float(found[1]), (found[2] or "").lower()


def user_length(text: str) -> float:
    """Return a length in user units, of which a pixel is one."""
    number, unit = length_of(text)
    return number * METRES[unit] / PIXEL if unit else number


def numbers_of(text: str) -> list[float]:
    """Return numbers with commas or spaces between; ``ValueError`` if there is anything else."""
    if _NUMBERS.sub("", text).strip(" \t\r\n\f,"):
        raise ValueError(f"{text[:40]!r} are no numbers")
    return [float(each) for each in _NUMBERS.findall(text)]


def transform_of(text: str) -> Affine:
    """Return the map that a ``transform`` attribute says; ``ValueError`` if it says none."""
    total, at = Affine(), 0
    text = text.strip()
    if text == "none":
        return total
    while at < len(text):
        found = _CALL.match(text, at)
        if found is None:
            raise ValueError(f"{text[:40]!r} is no transform")
        total = total @ _call(found[1], numbers_of(found[2]))
        at = found.end()
    return total


def _call(name: str, given: list[float]) -> Affine:
    match name, given:
        case "matrix", [a, b, c, d, e, f]:
            return Affine(a, b, c, d, e, f)
        case "translate", [x]:
            return Affine(e=x)
        case "translate", [x, y]:
            return Affine(e=x, f=y)
        case "scale", [s]:
            return Affine(a=s, d=s)
        case "scale", [x, y]:
            return Affine(a=x, d=y)
        case "rotate", [angle]:
            c, s = _turn(angle)
            return Affine(c, s, -s, c)
        case "rotate", [angle, x, y]:
            c, s = _turn(angle)
            return Affine(e=x, f=y) @ Affine(c, s, -s, c) @ Affine(e=-x, f=-y)
        case "skewX", [angle]:
            return Affine(c=tan(radians(angle)))
        case "skewY", [angle]:
            return Affine(b=tan(radians(angle)))
    raise ValueError(f"{name}({given}) is no transform")


def _turn(angle: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact for right angles."""
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return exact.get(angle % 360.0) or (cos(radians(angle)), sin(radians(angle)))


def styles_of(attributes: dict[str, str]) -> dict[str, str]:
    """Return the presentation of an element; its ``style`` goes before attributes."""
    styles = {key: value.strip().lower() for key, value in attributes.items() if key in _PRESENTATION}
    for each in attributes.get("style", "").split(";"):
        key, colon, value = each.partition(":")
        if colon:
            styles[key.strip().lower()] = value.replace("!important", "").strip().lower()
    return styles


_PRESENTATION = ("display", "visibility", "clip-path", "mask")


def fitted(box: list[float], width: float, height: float, ratio: str) -> Affine:
    """
    The map of a view box into its frame.

    Parameters
    ----------
    box : list of float
        Left, top, width, height of the view box.
    width, height : float
        Of the frame that it is shown in, in the unit of the result.
    ratio : str
        The ``preserveAspectRatio`` attribute.

    Returns
    -------
    Affine
        From coordinates of the box to those of the frame.
    """
    left, top, wide, high = box
    sx, sy = width / wide, height / high
    words = ratio.split()
    align = words[0] if words else "xMidYMid"
    if align == "none":
        return Affine(sx, 0.0, 0.0, sy, -left * sx, -top * sy)
    scale = max(sx, sy) if "slice" in words else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = share.get(align[1:4], 0.5) * (width - wide * scale)
    y = share.get(align[5:8], 0.5) * (height - high * scale)
    return Affine(scale, 0.0, 0.0, scale, x - left * scale, y - top * scale)
