"""Reading our SVG back with rules taken from the SVG 1.1 specification, not from the code that wrote it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO
from math import acos, cos, hypot, pi, sin, sqrt

from fontTools.ttLib import TTFont

SVG = "{http://www.w3.org/2000/svg}"
NUMBER = re.compile(r"-?[0-9]*\.?[0-9]+")


@dataclass(frozen=True)
class Piece:
    """A piece of a path: straight, or an arc with centre, radius and signed turn as seen on the screen."""

    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float] | None = None
    radius: float = 0.0
    turn: float = 0.0


def parse(markup: str) -> ET.Element:
    return ET.fromstring(markup)


def with_class(root: ET.Element, name: str) -> list[ET.Element]:
    return [node for node in root.iter() if name in node.get("class", "").split()]


def pieces(data: str) -> list[Piece]:
    """Pieces of path data made of absolute M, L, A and Z."""
    here = first = (0.0, 0.0)
    found = []
    for command, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        values = [float(text) for text in NUMBER.findall(rest)]
        if command == "M":
            here = first = (values[0], values[1])
        elif command == "L":
            found.append(Piece(here, (values[0], values[1])))
            here = (values[0], values[1])
        elif command == "A":
            found.append(arc_piece(here, values))
            here = (values[5], values[6])
        elif here != first:
            found.append(Piece(here, first))
    return found


def arc_piece(start: tuple[float, float], values: list[float]) -> Piece:
    """Centre form of a circular arc: SVG 1.1 (second edition), appendix F.6.5."""
    radius, _, _, large, sweep, x2, y2 = values
    x1, y1 = start
    half = ((x1 - x2) / 2, (y1 - y2) / 2)
    chord = half[0] ** 2 + half[1] ** 2
    radius = max(radius, sqrt(chord))
    factor = sqrt(max(radius**2 - chord, 0.0) / chord) * (-1 if large == sweep else 1)
    centre = (
        factor * half[1] + (x1 + x2) / 2,
        -factor * half[0] + (y1 + y2) / 2,
    )
    angle = 2.0 * acos(max(-1.0, min(1.0, sqrt(max(radius**2 - chord, 0.0)) / radius)))
    turn = 2.0 * pi - angle if large else angle
    return Piece(start, (x2, y2), centre, radius, turn if sweep else -turn)


@cache
def _font(weight: str) -> tuple[dict[int, str], dict[str, tuple[int, int]], int]:
    raw = (files("trialcut.papers") / "fonts" / f"Inter-{weight}.otf").read_bytes()
    font = TTFont(BytesIO(raw))
    return font.getBestCmap(), font["hmtx"].metrics, font["head"].unitsPerEm


def advance(text: str, size: float, *, heavy: bool) -> float:
    """Width of a text by the shipped font's own advances."""
    cmap, metrics, units = _font("SemiBold" if heavy else "Regular")
    return size * sum(metrics[cmap[ord(c)]][0] for c in text if ord(c) in cmap) / units


def corners_of_text(node: ET.Element) -> list[tuple[float, float]]:
    """Corners of a text's box from its anchor to capital height, turned as it is."""
    size = float(node.get("font-size", "10.5"))
    text = "".join(node.itertext())
    width = advance(text, size, heavy=node.get("font-weight") == "600")
    x, y = float(node.get("x", "0")), float(node.get("y", "0"))
    left = x - width / 2 if node.get("text-anchor") == "middle" else x
    corners = [(left, y), (left + width, y), (left + width, y - 0.73 * size), (left, y - 0.73 * size)]
    turn = node.get("transform")
    if turn:
        degrees, cx, cy = (float(value) for value in NUMBER.findall(turn))
        c, s = cos(degrees * pi / 180), sin(degrees * pi / 180)
        corners = [
            (cx + (px - cx) * c - (py - cy) * s, cy + (px - cx) * s + (py - cy) * c) for px, py in corners
        ]
    return corners


def box_of_text(node: ET.Element) -> tuple[float, float, float, float]:
    corners = corners_of_text(node)
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return min(xs), min(ys), max(xs), max(ys)


def distance(a: tuple[float, float], b: tuple[float, float]) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])
