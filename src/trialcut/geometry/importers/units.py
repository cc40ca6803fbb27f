"""The unit of a drawing file: as its header states it, or as the person does."""

from __future__ import annotations

from trialcut.errors import DrawingError

METRES_PER_UNIT: dict[str, float] = {
    "in": 0.0254,
    "ft": 0.3048,
    "mm": 0.001,
    "cm": 0.01,
    "m": 1.0,
    "um": 1.0e-6,
    "dm": 0.1,
    "thou": 2.54e-5,
}
"""Exact by definition of the inch. [m]"""

_HEADER_CODES: dict[int, str] = {
    1: "in",
    2: "ft",
    4: "mm",
    5: "cm",
    6: "m",
    9: "thou",
    13: "um",
    14: "dm",
}
"""Values of the header variable $INSUNITS that a part can sensibly be drawn in."""

_SPELLINGS: dict[str, str] = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "millimetre": "mm",
    "millimeter": "mm",
    "millimetres": "mm",
    "millimeters": "mm",
    "centimetre": "cm",
    "centimeter": "cm",
    "metre": "m",
    "meter": "m",
    "micron": "um",
    "µm": "um",
    "mil": "thou",
}


def unit_of_header(code: int) -> str | None:
    """Return the unit that a header code means, ``None`` for unitless and for units no part is drawn in."""
    return _HEADER_CODES.get(code)


def unit_from_text(text: str) -> str:
    """Return the unit that a person wrote; `DrawingError` if it is none."""
    word = text.strip().lower()
    unit = _SPELLINGS.get(word, word)
    if unit not in METRES_PER_UNIT:
        raise DrawingError(
            f"{text!r} is not a drawing unit; say one of {', '.join(METRES_PER_UNIT)}",
            code="unknown-unit",
            unit=text,
        )
    return unit
