"""Letters of single strokes, drawn for this program, that a jet or a scribe can follow.

Each glyph stands on a grid four wide and six high; a stroke is a run of points ``xy``.
"""

from __future__ import annotations

from collections.abc import Iterator

from trialcut.geometry.curves import Point

WIDE, HIGH, ADVANCE = 4, 6, 6
"""Grid of a glyph, and from one to the next."""

_GLYPHS = {
    "0": "10 30 41 45 36 16 05 01 10, 12 34",
    "1": "05 26 20, 00 40",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 13, 33 42 41 30 10 01",
    "4": "30 36 02 42",
    "5": "46 06 03 33 42 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "01 10 30 41 45 36 16 05 04 13 43",
    "A": "00 04 26 44 40, 02 42",
    "B": "00 06 36 45 44 33 03, 33 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "40 00 06 46, 03 33",
    "F": "00 06 46, 03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06, 40 46, 03 43",
    "I": "10 30, 20 26, 16 36",
    "J": "01 10 20 31 36, 16 46",
    "K": "00 06, 46 03 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 30 41 45 36 16 05 01 10, 22 40",
    "R": "00 06 36 45 44 33 03, 23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46, 26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 23 30 46",
    "X": "00 46, 06 40",
    "Y": "06 23 46, 23 20",
    "Z": "06 46 00 40",
    "-": "03 43",
    ".": "10 11 21 20 10",
    "/": "00 46",
    " ": "",
}
ALPHABET = "".join(_GLYPHS)
"""What can be written; small letters are written as capitals, anything else as a dash."""


def text_width(text: str, *, height: float) -> float:
    """
    Width of a line of text.

    Parameters
    ----------
    text : str
        One line.
    height : float
        Of its capitals. [m]

    Returns
    -------
    float
        [m]
    """
    return max(0.0, (len(text) * ADVANCE - (ADVANCE - WIDE)) * height / HIGH)


def text_strokes(text: str, *, at: Point, height: float) -> Iterator[list[Point]]:
    """
    Strokes of a line of text.

    Parameters
    ----------
    text : str
        One line.
    at : Point
        Lower left of the first letter. [m]
    height : float
        Of its capitals. [m]

    Yields
    ------
    list of Point
        One stroke, two points or more. [m]
    """
    unit = height / HIGH
    for place, character in enumerate(text.upper()):
        for stroke in _GLYPHS.get(character, _GLYPHS["-"]).split(","):
            points = stroke.split()
            if points:
                yield [_on_grid(point, place * ADVANCE, at, unit) for point in points]


def _on_grid(point: str, left: int, at: Point, unit: float) -> Point:
    return at[0] + (left + int(point[0])) * unit, at[1] + int(point[1]) * unit
