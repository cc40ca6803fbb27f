"""Plain parts for tests of paths and times, made from the drawing helpers of `sample_parts`."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, pi, sqrt

from sample_parts import contour, rectangle, round_opening
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Arc


def _name(number: int) -> str:
    """B, C, ... Z, AA, AB and on, for openings 0, 1 and on."""
    number += 2
    text = ""
    while number:
        number, letter = divmod(number - 1, 26)
        text = chr(65 + letter) + text
    return text


def rectangle_part(
    width: float, height: float, openings: Sequence[tuple[float, float, float]] = (), radius: float = 0.0
) -> Part:
    """A rectangle with its lower left at the origin, and round openings (x, y, radius)."""
    outline = contour("A", rectangle(0.0, 0.0, width, height, radius))
    return Part(
        id="1",
        outline=outline,
        openings=tuple(round_opening(_name(i), x, y, r) for i, (x, y, r) in enumerate(openings)),
    )


def ring_part(outside: float, inside: float) -> Part:
    """A ring about the origin, by its two radii."""
    outline = contour("A", [Arc((0.0, 0.0), outside, 0.0, 2.0 * pi)])
    return Part(id="1", outline=outline, openings=(round_opening("B", 0.0, 0.0, inside),))


def plate_with_openings(number: int, *, pitch: float = 0.02, radius: float = 0.004) -> Part:
    """A plate with a square grid of round openings, row by row."""
    side = ceil(sqrt(number))
    spots = [divmod(n, side) for n in range(number)]
    openings = [((i + 1) * pitch, (k + 1) * pitch, radius) for k, i in spots]
    return rectangle_part((side + 1) * pitch, (side + 1) * pitch, openings)
