"""Measure a forecast part as an inspector would: each characteristic at top, middle and bottom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from trialcut.ascut.gauge.corners import arc_radius, corner_error, corner_radius
from trialcut.ascut.gauge.openings import (
    axis_lean,
    bore_gauge,
    circumscribed_diameter,
    least_squares_diameter,
    pin,
    position,
    round_caliper,
    roundness,
)
from trialcut.ascut.gauge.reading import GaugeReading
from trialcut.ascut.gauge.sizes import caliper
from trialcut.ascut.gauge.squareness import edge_position, light_gap, perpendicularity, straightness
from trialcut.ascut.gauge.steps import step, wall_thickness
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError, UnknownNameError
from trialcut.geometry.contours import ContourRole, Edge, EdgeKind, Part

DEPTHS = (0.0, 0.5, 1.0)
"""Top, middle and bottom. [-]"""

PLACES = (0.0, 0.5, 1.0)
"""Where a caliper is put on two edges: both ends of their overlap and between; common practice, no source."""

KEEP_OFF = 1.0e-3
"""What an inspector stays away from corners; common practice, no source. [m]"""


class CharacteristicKind(StrEnum):
    """What is measured."""

    SIZE = "size"
    SQUARENESS = "squareness"
    CORNER = "corner"
    STRAIGHTNESS = "straightness"
    POSITION = "position"
    ROUNDNESS = "roundness"


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """One thing to measure.

    Parameters
    ----------
    id : str
        Returned with each reading.
    kind : CharacteristicKind
        What is measured.
    edges : tuple of str
        Ids: two edges of a size or a corner, the edge or all edges of a contour otherwise.
    weights : tuple of float
        Of a size: its change per metre of material left standing on each edge. [-]
    nominal : float
        Of a size: as drawn. [m]
    keep_off : float
        Length at each end of straight edges that sizes, squareness and straightness stay away from. [m]
    """

    id: str
    kind: CharacteristicKind
    edges: tuple[str, ...]
    weights: tuple[float, ...] = ()
    nominal: float = 0.0
    keep_off: float = KEEP_OFF


def inspect_part(
    part: Part,
    field: DeviationField,
    characteristics: Iterable[Characteristic],
    *,
    depths: tuple[float, ...] = DEPTHS,
) -> tuple[GaugeReading, ...]:
    """
    Measure characteristics of the as-cut part with the gauge that an inspector would take.

    Parameters
    ----------
    part : Part
        As drawn; it tells which gauge fits.
    field : DeviationField
        As cut; with draws, each reading holds one value for each.
    characteristics : iterable of Characteristic
        What to measure.
    depths : tuple of float
        Fractions of the thickness at which what has a depth is measured. [-]

    Returns
    -------
    tuple of GaugeReading
        In the order given, several for each characteristic, each with its id.

    Raises
    ------
    UnknownNameError
        If an edge is not of the part.
    RangeError
        If no gauge fits a characteristic.

    Notes
    -----
    A size across two straight edges is taken with a caliper at each depth at three places, and once with jaws
    that span the plate; an opening with pins, a bore gauge and the least-squares circle; a round outline with
    a caliper, a ring and the least-squares circle; a web with a ball micrometer; a step with a depth gauge.
    Squareness is the light under a square, and on a straight edge also the zone of ISO 1101.
    """
    return tuple(
        replace(reading, characteristic=one.id)
        for one in characteristics
        for reading in _MEASURES[one.kind](part, field, one, depths)
    )


def plain_characteristics(part: Part) -> tuple[Characteristic, ...]:
    """
    List what can be measured on any part without asking for it.

    Parameters
    ----------
    part : Part
        As drawn.

    Returns
    -------
    tuple of Characteristic
        Squareness of every edge, straightness of every straight one, every corner that turns by more than
        5 deg, diameter and roundness of every round contour, and position of every opening.
    """
    found: list[Characteristic] = []

    def add(kind: CharacteristicKind, edges: tuple[str, ...], *, nominal: float = 0.0) -> None:
        name = f"{kind.value}-{'-'.join(edges)}"
        found.append(Characteristic(id=name, kind=kind, edges=edges, nominal=nominal))

    for contour in part.contours:
        for edge in contour.edges:
            add(CharacteristicKind.SQUARENESS, (edge.id,))
            if edge.kind is EdgeKind.STRAIGHT:
                add(CharacteristicKind.STRAIGHTNESS, (edge.id,))
            if edge.kind is EdgeKind.CIRCLE:
                add(CharacteristicKind.SIZE, (edge.id,), nominal=2.0 * edge.radius)
                add(CharacteristicKind.ROUNDNESS, (edge.id,))
        for corner in contour.corners:
            if abs(corner.turn) > SMOOTH_TURN:
                add(CharacteristicKind.CORNER, (corner.before, corner.after))
        if contour.role is ContourRole.OPENING:
            add(CharacteristicKind.POSITION, tuple(edge.id for edge in contour.edges))
    return tuple(found)


SMOOTH_TURN = 0.087
"""A corner that turns less, 5 deg, is not measured as one. [rad]"""


def _size(
    part: Part, field: DeviationField, one: Characteristic, depths: tuple[float, ...]
) -> Iterator[GaugeReading]:
    edges = [_edge(part, name) for name in one.edges]
    straight = all(edge.kind is EdgeKind.STRAIGHT for edge in edges)
    if len(edges) == 2 and straight:
        if one.weights and one.weights[0] * one.weights[1] < 0.0:
            for depth in depths:
                yield step(field, *one.edges, depth=depth, keep_off=one.keep_off)
            return
        for depth in depths:
            for place in PLACES:
                reading = caliper(field, *one.edges, depth=depth, place=place, keep_off=one.keep_off)
                yield replace(reading, note=f"{reading.note}, {_WHERE[place]}")
        yield caliper(field, *one.edges, depth=None, keep_off=one.keep_off)
    elif len(edges) == 2:
        for depth in depths:
            yield wall_thickness(field, *one.edges, depth=depth)
    elif len(edges) == 1 and edges[0].kind is EdgeKind.CIRCLE:
        yield from _diameter(field, one.edges, edges[0].curvature < 0.0, depths)
    elif len(edges) == 1 and edges[0].kind is EdgeKind.ARC:
        for depth in depths:
            yield arc_radius(field, one.edges[0], depth=depth, keep_off=one.keep_off)
    elif len(edges) == 1:
        for depth in depths:
            yield edge_position(field, one.edges[0], depth=depth, keep_off=one.keep_off)
    else:
        raise RangeError(
            f"{one.id} names {len(edges)} edges; a size has one or two: name the edges that bound it",
            code="gauge",
            characteristic=one.id,
        )


_WHERE = {0.0: "at their start", 0.5: "at mid length", 1.0: "at their end"}


def _diameter(
    field: DeviationField, edges: tuple[str, ...], opening: bool, depths: tuple[float, ...]
) -> Iterator[GaugeReading]:
    two_point = bore_gauge if opening else round_caliper
    contact = pin if opening else circumscribed_diameter
    for depth in depths:
        yield contact(field, edges, depth=depth)
        yield two_point(field, edges, depth=depth, largest=False)
        yield two_point(field, edges, depth=depth, largest=True)
        yield least_squares_diameter(field, edges, depth=depth)
    yield contact(field, edges, depth=None)


def _squareness(
    part: Part,
    field: DeviationField,
    one: Characteristic,
    depths: tuple[float, ...],  # noqa: ARG001
) -> Iterator[GaugeReading]:
    for name in one.edges:
        edge = _edge(part, name)
        keep_off = 0.0 if edge.kind is EdgeKind.CIRCLE else one.keep_off
        yield light_gap(field, name, keep_off=keep_off)
        if edge.kind is EdgeKind.STRAIGHT:
            yield perpendicularity(field, name, keep_off=keep_off)
        if edge.kind is EdgeKind.CIRCLE:
            yield axis_lean(field, (name,))


def _corner(
    part: Part, field: DeviationField, one: Characteristic, depths: tuple[float, ...]
) -> Iterator[GaugeReading]:
    before, after = one.edges
    inside = any(
        corner.turn < 0.0
        for contour in part.contours
        for corner in contour.corners
        if (corner.before, corner.after) == (before, after)
    )
    straight = all(_edge(part, name).kind is EdgeKind.STRAIGHT for name in one.edges)
    for depth in depths:
        yield corner_error(field, before, after, depth=depth)
        if inside and straight:
            yield corner_radius(field, before, after, depth=depth)


def _straightness(
    part: Part,  # noqa: ARG001
    field: DeviationField,
    one: Characteristic,
    depths: tuple[float, ...],
) -> Iterator[GaugeReading]:
    for depth in depths:
        for name in one.edges:
            yield straightness(field, name, depth=depth, keep_off=one.keep_off)


def _position(
    part: Part,  # noqa: ARG001
    field: DeviationField,
    one: Characteristic,
    depths: tuple[float, ...],
) -> Iterator[GaugeReading]:
    for depth in depths:
        yield position(field, one.edges, depth=depth)


def _roundness(
    part: Part,  # noqa: ARG001
    field: DeviationField,
    one: Characteristic,
    depths: tuple[float, ...],
) -> Iterator[GaugeReading]:
    for depth in depths:
        yield roundness(field, one.edges, depth=depth)


_MEASURES = {
    CharacteristicKind.SIZE: _size,
    CharacteristicKind.SQUARENESS: _squareness,
    CharacteristicKind.CORNER: _corner,
    CharacteristicKind.STRAIGHTNESS: _straightness,
    CharacteristicKind.POSITION: _position,
    CharacteristicKind.ROUNDNESS: _roundness,
}


def _edge(part: Part, name: str) -> Edge:
    try:
        return part.edge(name)
    except KeyError:
        known = ", ".join(edge.id for edge in part.edges)
        raise UnknownNameError(f"the part has no edge {name}: it has {known}", name=name) from None
