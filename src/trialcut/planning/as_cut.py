"""A plan's part as cut: the solid that its speeds, stances and offsets really leave, and how it measures.

Per-edge numbers hold along a straight at one speed. The as-cut part knows what happens at corners, on arcs,
in small openings and where the head swings, for the medians of all parameters.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import isfinite

import numpy as np

from trialcut.ascut.findings import path_findings, surface_findings
from trialcut.ascut.gauge.inspect import Characteristic, CharacteristicKind, inspect_part
from trialcut.ascut.gauge.reading import GaugeReading
from trialcut.ascut.jet_path import jet_path
from trialcut.ascut.laid_path import lay_path
from trialcut.ascut.law import JetLaw, jet_law
from trialcut.ascut.marks import corner_marks, start_marks
from trialcut.ascut.outlines import layer_outlines
from trialcut.ascut.reach import deviation_field
from trialcut.ascut.types import DeviationField, JetPath
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part
from trialcut.geometry.findings import Finding
from trialcut.planning.cut_part import CutPart
from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.part_time import lead_speeds, path_of
from trialcut.planning.results import Forecast, GaugeValue
from trialcut.units import Kind, format_value

CHECK_DEPTHS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Layers at which a plan is checked; a picture takes more. [-]"""
OUTLINE_DEPTHS = (0.0, 0.5, 1.0)
"""Depths at which it is looked whether the part hangs together and is free of the plate. [-]"""
WALL_SPACING = 0.5e-3
"""Largest distance of wall samples along an edge. [m]"""
SLOWER = "cut its edges and their neighbours slower, or round the corners beside them on the drawing"
"""What helps where corners, leads or the swing of the head spoil a size that its edges would hold."""
FASTER = 1.2
"""The jet law reaches beyond the fastest speed of the path by this, for leaned ways. [-]"""


@dataclass(frozen=True, kw_only=True)
class AsCut:
    """One plan cut in full, at the medians.

    Parameters
    ----------
    jet : JetPath
        Where the jet goes.
    law : JetLaw
        How wide it cuts and how far it lags.
    field : DeviationField
        How the walls come out.
    """

    jet: JetPath
    law: JetLaw
    field: DeviationField


def cut_in_full(part: CutPart, *, depths: tuple[float, ...] = CHECK_DEPTHS) -> AsCut:
    """Cut a planned part in full.

    The offsets are those of the plan: each wall's median stands on its target.

    Parameters
    ----------
    part : CutPart
        Speeds and stances of every edge.
    depths : tuple of float
        Layers, fractions of the thickness. [-]

    Returns
    -------
    AsCut
        At the medians of all parameters.
    """
    prepared = part.prepared
    study = prepared.study
    jet = jet_path(
        study.part,
        path_of(part),
        machine=study.machine,
        offsets={edge: part.state(edge).wall.offset for edge in part.assignment},
        speed=part.speeds,
        lead_speed=lead_speeds(part),
        stance=part.head,
        corner_zone=part.zones,
        loops=part.loops,
    )
    law = jet_law(
        setup=study.setup,
        parameters=prepared.central,
        central=prepared.central,
        depths=depths,
        fastest=FASTER * float(jet.speed.max(initial=study.machine.cut_speed_max * 1e-3)),
    )
    field = deviation_field(
        study.part,
        jet,
        law,
        depths=depths,
        thickness=study.setup.thickness,
        wall_spacing=WALL_SPACING,
    )
    return AsCut(jet=jet, law=law, field=field)


def measured(part: CutPart, cut: AsCut) -> dict[str, tuple[GaugeValue, ...]]:
    """Measure every size and squareness that is demanded, by demand id."""
    demands = {demand.id: demand for demand in part.prepared.study.demands}
    readings = readings_of(part.prepared.study.part, cut.field, demanded_characteristics(part))
    found: dict[str, list[GaugeValue]] = {name: [] for name in demands}
    for reading in readings:
        found[reading.characteristic].append(_gauge_value(reading))
    return {name: tuple(values) for name, values in found.items()}


def rejected_edges(part: CutPart, values: Mapping[str, tuple[GaugeValue, ...]]) -> frozenset[str]:
    """Return the edges of all demands that the as-cut part does not hold, by its readings."""
    return frozenset(
        edge
        for demand in part.prepared.study.demands
        if rejection(demand, values[demand.id]) is not None
        for edge in demand.edges
    )


def readings_of(
    part: Part, field: DeviationField, characteristics: Iterable[Characteristic]
) -> tuple[GaugeReading, ...]:
    """Read what can be read, right up to the corners where edges are too short to stay away from them.

    A characteristic that no gauge can reach has no reading.
    """
    readings: list[GaugeReading] = []
    for one in characteristics:
        for attempt in (one, replace(one, keep_off=0.0)):
            try:
                readings += inspect_part(part, field, [attempt])
            except RangeError:
                continue
            break
    return tuple(readings)


def rejection(demand: Demand, values: tuple[GaugeValue, ...]) -> GaugeValue | None:
    """Return the reading that is furthest outside the limits, if one is.

    A size asked at one face is held against the readings at that face alone.
    """
    worst, found = 0.0, None
    for each in values:
        if demand.depth is Depth.TOP and each.depth != 0.0:
            continue
        if demand.depth is Depth.BOTTOM and each.depth != 1.0:
            continue
        if not isfinite(each.value):
            return each
        over = max(
            each.value - (np.inf if demand.upper is None else demand.upper),
            (-np.inf if demand.lower is None else demand.lower) - each.value,
        )
        if over > worst:
            worst, found = over, each
    return found


def as_cut_findings(part: CutPart, cut: AsCut) -> tuple[Finding, ...]:
    """Return what is to be noticed on the as-cut part: webs that vanish, corners, starts, no cut-through.

    Parameters
    ----------
    part : CutPart
        As planned.
    cut : AsCut
        The same in full.

    Returns
    -------
    tuple of Finding
        Of what the jet fits into, and of what it leaves.
    """
    study = part.prepared.study
    offsets = {edge: part.state(edge).wall.offset for edge in part.assignment}
    laid = lay_path(study.part, path_of(part), machine=study.machine, offsets=offsets, loops=part.loops)
    return (
        *path_findings(study.part, laid, cut.law, speed=min(part.speeds.values())),
        *surface_findings(
            study.part,
            cut.field,
            outlines=layer_outlines(
                study.part,
                cut.jet,
                cut.law,
                depths=OUTLINE_DEPTHS,
                thickness=study.setup.thickness,
            ),
            corners=corner_marks(study.part, cut.field),
            starts=start_marks(study.part, path_of(part), cut.field),
            not_cut=laid.not_cut,
        ),
    )


def with_gauge(found: Forecast, part: CutPart, values: Mapping[str, tuple[GaugeValue, ...]]) -> Forecast:
    """Add to a forecast what an inspector would read on the as-cut part, and what that rejects."""
    system = part.prepared.study.system
    demands = []
    for each in found.demands:
        gauge = values[each.demand.id]
        wrong = rejection(each.demand, gauge)
        rejected = "" if wrong is None else _why(each.demand, wrong, system)
        shortfall = "; ".join(text for text in (each.shortfall, rejected) if text)
        remedies = (*each.remedies, SLOWER) if rejected else each.remedies
        demands.append(replace(each, gauge=gauge, rejected=rejected, shortfall=shortfall, remedies=remedies))
    return replace(found, demands=tuple(demands))


def _why(demand: Demand, wrong: GaugeValue, system: str) -> str:
    place = {0.0: " at the top", 1.0: " at the bottom", None: ""}.get(wrong.depth, " inside the thickness")
    if not isfinite(wrong.value):
        return f"as cut, the wall is not there{place}: the {wrong.gauge} finds nothing to measure"
    upper = demand.upper is not None and wrong.value > demand.upper
    limit = demand.upper if upper else demand.lower
    side = "over" if upper else "under"
    read, allowed = (format_value(value, Kind.LENGTH, system) for value in (wrong.value, limit or 0.0))
    return f"as cut, the {wrong.gauge} reads {read}{place}, {side} the limit of {allowed}"


def demanded_characteristics(part: CutPart) -> Iterator[Characteristic]:
    """Yield what a gauge can measure of what is demanded, under the ids of the demands."""
    for demand in part.prepared.study.demands:
        if demand.kind is DemandKind.SIZE:
            yield Characteristic(
                id=demand.id,
                kind=CharacteristicKind.SIZE,
                edges=demand.edges,
                weights=demand.weights,
                nominal=demand.nominal,
            )
        elif demand.kind is DemandKind.SQUARENESS:
            yield Characteristic(id=demand.id, kind=CharacteristicKind.SQUARENESS, edges=demand.edges)


def _gauge_value(reading: GaugeReading) -> GaugeValue:
    return GaugeValue(
        gauge=reading.kind,
        depth=reading.depth,
        value=float(reading.value),
        standard=reading.standard,
        touched=tuple((float(x), float(y)) for x, y in reading.touched),
    )
