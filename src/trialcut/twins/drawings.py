"""Invented parts of random size, as DXF text: a plate with holes, a link with a slot, a stepped bracket."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

Point = tuple[float, float]
Entity = tuple[str, dict[int, float]]
HEADER = ("0", "SECTION", "2", "HEADER", "9", "$INSUNITS", "70", "4", "0", "ENDSEC")
"""Says that the drawing is in millimetres."""


def plate_with_holes(random: np.random.Generator) -> list[Entity]:
    """
    A rectangle with one to three round openings in a row.

    Parameters
    ----------
    random : Generator
        Of its sizes.

    Returns
    -------
    list of entity
        Lines and circles. [mm]
    """
    count = int(random.integers(1, 4))
    hole = _round(random.uniform(10.0, 20.0))
    width = _round(random.uniform(hole + 20.0, hole + 40.0))
    pitch = _round(random.uniform(hole + 14.0, hole + 26.0))
    length = _round(pitch * (count - 1) + hole + random.uniform(24.0, 44.0))
    left = 0.5 * (length - pitch * (count - 1))
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    return [
        *_outline(corners),
        *(_circle((left + each * pitch, 0.5 * width), 0.5 * hole) for each in range(count)),
    ]


def link_with_slot(random: np.random.Generator) -> list[Entity]:
    """
    A link with round ends and a slot along its middle.

    Parameters
    ----------
    random : Generator
        Of its sizes.

    Returns
    -------
    list of entity
        Lines and arcs. [mm]
    """
    slot = _round(random.uniform(10.0, 18.0))
    width = _round(random.uniform(slot + 18.0, slot + 34.0))
    run = _round(random.uniform(30.0, 80.0))
    return [*_obround(run, 0.5 * width), *_obround(run, 0.5 * slot)]


def stepped_bracket(random: np.random.Generator) -> list[Entity]:
    """
    An outline of two heights, with one round opening in the higher half.

    Parameters
    ----------
    random : Generator
        Of its sizes.

    Returns
    -------
    list of entity
        Lines and a circle. [mm]
    """
    hole = _round(random.uniform(10.0, 18.0))
    low = _round(random.uniform(16.0, 28.0))
    high = _round(low + random.uniform(16.0, 30.0))
    foot = _round(random.uniform(25.0, 45.0))
    block = _round(random.uniform(hole + 20.0, hole + 36.0))
    corners = [(0.0, 0.0), (foot + block, 0.0), (foot + block, high), (foot, high), (foot, low), (0.0, low)]
    return [*_outline(corners), _circle((foot + 0.5 * block, 0.5 * high), 0.5 * hole)]


PARTS: dict[str, Callable[[np.random.Generator], list[Entity]]] = {
    "plate": plate_with_holes,
    "link": link_with_slot,
    "bracket": stepped_bracket,
}
"""Kinds of part by name."""


def dxf_text(entities: Sequence[Entity]) -> str:
    """
    Entities in millimetres as the text of a DXF file.

    Parameters
    ----------
    entities : sequence of entity
        A type and its group codes.

    Returns
    -------
    str
        The file.
    """
    lines = [*HEADER, "0", "SECTION", "2", "ENTITIES"]
    for kind, groups in entities:
        lines += ["0", kind, "8", "0"]
        for code, value in groups.items():
            lines += [str(code), f"{value:.6f}"]
    return "\n".join([*lines, "0", "ENDSEC", "0", "EOF", ""])


def _round(value: float) -> float:
    return round(float(value), 1)


def _outline(corners: Sequence[Point]) -> list[Entity]:
    ends = [*corners[1:], corners[0]]
    return [
        ("LINE", {10: x0, 20: y0, 11: x1, 21: y1}) for (x0, y0), (x1, y1) in zip(corners, ends, strict=True)
    ]


def _circle(centre: Point, radius: float) -> Entity:
    return "CIRCLE", {10: centre[0], 20: centre[1], 40: radius}


def _obround(run: float, radius: float) -> list[Entity]:
    return [
        ("LINE", {10: 0.0, 20: -radius, 11: run, 21: -radius}),
        ("ARC", {10: run, 20: 0.0, 40: radius, 50: -90.0, 51: 90.0}),
        ("LINE", {10: run, 20: radius, 11: 0.0, 21: radius}),
        ("ARC", {10: 0.0, 20: 0.0, 40: radius, 50: 90.0, 51: 270.0}),
    ]
