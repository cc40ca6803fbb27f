"""The part as a drawing for the shop's toolpath program: a layer a group of edges, numbers with each."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING, Any

from trialcut.geometry.contours import Edge, Part
from trialcut.geometry.curves import Arc, Point, Segment
from trialcut.papers.exports.edge_plan import NUMBERS, group_of, numbers_of
from trialcut.papers.exports.fixed_dxf import METRES, bytes_of, new_document, without_dates
from trialcut.planning.results import EdgeForecast, Forecast
from trialcut.units import System

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

APP = "TRIALCUT"
"""Name of the extended data of an edge."""
NOTES = "edge notes"
"""Layer of the labels and the table; it is not cut."""
LABEL = "EDGE_PLAN"
"""Block of a label."""
_LETTER = 0.014
"""Height of a letter over the size of the part. [-]"""
_LEAST_LETTER = 0.8e-3
_COLOURS = (1, 5, 3, 6, 30, 4, 2, 140, 94, 200)
_WHOLE = 6.283185
_ROW, _WIDE = 1.8, 0.85
"""Pitch of rows, and width of a letter, over a letter's height. [-]"""


def edge_dxf(part: Part, forecast: Forecast, *, system: str) -> bytes:
    """
    Drawing of a part with its plan.

    Parameters
    ----------
    part : Part
        As drawn: edges stand where they were, offsets are numbers.
    forecast : Forecast
        Of the option.
    system : str
        ``"inch"`` or ``"metric"``: unit of the file.

    Returns
    -------
    bytes
        A DXF of release 2010, the same bytes for the same plan. Lines, arcs and circles on layers named by
        stance and speed, each with extended data; on layer `NOTES` a label with attributes at every edge, and
        a table of all numbers beside the part.
    """
    with without_dates():
        return bytes_of(_document(part, forecast, System(system)))


def _document(part: Part, forecast: Forecast, system: System) -> Document:
    document = new_document(system)
    document.appids.add(APP)
    scale = 1.0 / METRES[system]
    groups = list(dict.fromkeys(group_of(edge, system) for edge in forecast.edges))
    for number, group in enumerate(groups):
        document.layers.add(group, color=_COLOURS[number % len(_COLOURS)])
    document.layers.add(NOTES, color=8)
    points = [segment.point(0.25 * k) for edge in part.edges for segment in edge.segments for k in range(5)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, top = min(y for _, y in points), max(y for _, y in points)
    letter = max(_LETTER * max(right - left, top - bottom), _LEAST_LETTER) * scale
    _add_label(document, letter)
    space = document.modelspace()
    for edge in part.edges:
        plan = forecast.edge(edge.id)
        layer = {"layer": group_of(plan, system)}
        for segment in edge.segments:
            entity = _draw(space, segment, scale, layer)
            entity.set_xdata(APP, _extended(plan, system))
        _place_label(space, edge, plan, system, scale)
    _table(space, forecast, system, at=(right * scale + 4.0 * letter, top * scale), letter=letter)
    return document


def _draw(space: Any, segment: Segment, scale: float, layer: dict[str, str]) -> Any:
    if not isinstance(segment, Arc):
        return space.add_line(_scaled(segment.start, scale), _scaled(segment.end, scale), dxfattribs=layer)
    centre, radius = _scaled(segment.centre, scale), segment.radius * scale
    if abs(segment.sweep) >= _WHOLE:
        return space.add_circle(centre, radius, dxfattribs=layer)
    first, last = segment.start_angle, segment.start_angle + segment.sweep
    if segment.sweep < 0.0:
        first, last = last, first
    return space.add_arc(centre, radius, degrees(first), degrees(last), dxfattribs=layer)


def _extended(plan: EdgeForecast, system: System) -> list[tuple[int, str | float]]:
    """Words with values for people, then names with SI values for programs."""
    data: list[tuple[int, str | float]] = [(1000, f"edge {plan.id}"), (1000, f"stance {plan.stance.value}")]
    data += [(1000, f"{name} {value}") for name, value in numbers_of(plan, system)]
    for number in NUMBERS:
        data += [(1000, f"{number.name} SI"), (1040, float(number.read(plan)))]
    return data


def _add_label(document: Document, letter: float) -> None:
    """Block of a label: edge and speed to be seen, the rest to be asked for."""
    block = document.blocks.new(LABEL)
    names = ["edge", "stance", *(number.name for number in NUMBERS)]
    for row, name in enumerate(names):
        definition = block.add_attdef(
            _tag(name), (0.0, -_ROW * letter * row), dxfattribs={"height": letter, "layer": NOTES}
        )
        definition.dxf.prompt = name
        definition.is_invisible = name not in ("edge", "speed")


def _place_label(space: Any, edge: Edge, plan: EdgeForecast, system: System, scale: float) -> None:
    middle = edge.segments[len(edge.segments) // 2].point(0.5)
    label = space.add_blockref(LABEL, _scaled(middle, scale), dxfattribs={"layer": NOTES})
    values = {"edge": plan.id, "stance": plan.stance.value, **dict(numbers_of(plan, system))}
    label.add_auto_attribs({_tag(name): value for name, value in values.items()})


def _table(space: Any, forecast: Forecast, system: System, *, at: Point, letter: float) -> None:
    """All numbers as plain text, that any viewer shows."""
    heads = ("edge", "stance", *(number.name for number in NUMBERS))
    rows = [
        heads,
        *(
            (edge.id, edge.stance.value, *(value for _, value in numbers_of(edge, system)))
            for edge in forecast.edges
        ),
    ]
    widths = [max(len(row[column]) for row in rows) + 2 for column in range(len(heads))]
    for line, row in enumerate(rows):
        x = at[0]
        for text, width in zip(row, widths, strict=True):
            space.add_text(
                text,
                height=letter,
                dxfattribs={"layer": NOTES, "insert": (x, at[1] - _ROW * letter * line)},
            )
            x += _WIDE * letter * width


def _tag(name: str) -> str:
    return name.upper().replace(" ", "_")


def _scaled(point: Point, scale: float) -> Point:
    return (point[0] * scale, point[1] * scale)
