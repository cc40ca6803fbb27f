"""Pieces to parts: chaining, healing, nesting, naming."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from trialcut.geometry.chain import Chained, Loop, chain
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Point, Segment
from trialcut.geometry.edges import build_contour, heal, letters, merge_carriers
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.measures import Box, area_and_centroid, bounding_box
from trialcut.geometry.outline import flatten_segments
from trialcut.geometry.pieces import Piece
from trialcut.geometry.tolerances import SAME_POINT

_NEST_TOLERANCE = 1.0e-5
"""Flattening for the question which contour lies in which. [m]"""


@dataclass(slots=True)
class _Ring:
    """A closed run on its way to a contour."""

    segments: list[Segment]
    free: list[bool]
    area: float
    centroid: Point
    box: Box
    parent: int = -1
    depth: int = 0


def _millimetres(length: float) -> str:
    """A length for a finding, in both units."""
    return f"{length * 1e3:.4g} mm ({length / 0.0254:.4g} in)"


def _place(point: Point) -> str:
    return f"x {point[0] * 1e3:.6g} mm, y {point[1] * 1e3:.6g} mm"


def _ring(loop: Loop) -> _Ring | None:
    """Heal and merge a loop; nothing if it encloses nothing."""
    marks = loop.free
    healed = heal(loop.segments)
    if len(healed) != len(marks):
        # A line vanished between two arcs' ends; its mark goes with the shortest segments.
        drop = sorted(range(len(marks)), key=lambda i: loop.segments[i].length)[: len(marks) - len(healed)]
        marks = [mark for i, mark in enumerate(marks) if i not in set(drop)]
    if not healed:
        return None
    segments, free = merge_carriers(healed, marks)
    area, centroid = area_and_centroid(segments)
    box = bounding_box(segments)
    perimeter = sum(segment.length for segment in segments)
    if abs(area) <= SAME_POINT * perimeter:
        return None
    return _Ring(segments, free, abs(area), centroid, box)


def _nest(rings: list[_Ring]) -> None:
    """Find for every ring the smallest one that it lies in."""
    import shapely  # noqa: PLC0415

    if len(rings) < 2:
        return
    polygons = np.array(
        [shapely.Polygon(flatten_segments(ring.segments, tolerance=_NEST_TOLERANCE)) for ring in rings]
    )
    shapely.prepare(polygons)
    points = np.array([shapely.Point(ring.segments[0].point(0.5)) for ring in rings])
    tree = shapely.STRtree(points)
    outer, inner = tree.query(polygons, predicate="contains")
    areas = np.array([ring.area for ring in rings])
    boxes = np.array([ring.box for ring in rings])
    slack = SAME_POINT
    inside = (
        (areas[outer] > areas[inner])
        & (boxes[outer, 0] <= boxes[inner, 0] + slack)
        & (boxes[outer, 1] <= boxes[inner, 1] + slack)
        & (boxes[outer, 2] >= boxes[inner, 2] - slack)
        & (boxes[outer, 3] >= boxes[inner, 3] - slack)
    )
    order = np.argsort(areas[outer[inside]])
    for o, i in zip(outer[inside][order].tolist(), inner[inside][order].tolist(), strict=True):
        if rings[i].parent < 0:
            rings[i].parent = o
        rings[i].depth += 1


def _by_position(rings: Sequence[_Ring]) -> list[int]:
    """Order rings by row from below, then from the left; a row is what is level within the tolerance."""
    indices = sorted(range(len(rings)), key=lambda i: (rings[i].centroid[1], rings[i].centroid[0]))
    ordered: list[int] = []
    row: list[int] = []
    for i in indices:
        if row and rings[i].centroid[1] - rings[row[-1]].centroid[1] > 10.0 * SAME_POINT:
            ordered.extend(sorted(row, key=lambda k: (rings[k].centroid[0], rings[k].area)))
            row = []
        row.append(i)
    ordered.extend(sorted(row, key=lambda k: (rings[k].centroid[0], rings[k].area)))
    return ordered


def _report_chaining(chained: Chained, notes: Gatherer) -> None:
    if chained.gaps:
        where, size = max(chained.gaps, key=lambda found: found[1])
        notes.fixed(
            "gap-closed",
            f"{plural(len(chained.gaps), 'gap')} closed, the widest {_millimetres(size)}",
            where=where,
            count=len(chained.gaps),
        )
    if chained.widened:
        where, size = max(chained.widened, key=lambda found: found[1])
        notes.not_fixed(
            "wide-gap-closed",
            f"{plural(len(chained.widened), 'gap')} wider than usual closed, the widest {_millimetres(size)} "
            f"at {_place(where)}",
            remedy="check the place on the drawing, or state a gap to allow",
            where=where,
            count=len(chained.widened),
        )
    for run in chained.open_runs:
        own = hypot(run.start[0] - run.end[0], run.start[1] - run.end[1])
        gap = min(run.gap, own) if own > 0.0 else run.gap
        notes.needs_person(
            "open-contour",
            f"a contour of length {_millimetres(run.length)} does not close: gap of {_millimetres(gap)} "
            f"at {_place(run.end)}",
            remedy="close it in the drawing, or allow a wider gap",
            where=run.end,
        )


def assemble(pieces: Sequence[Piece], notes: Gatherer, *, gap: float | None = None) -> tuple[Part, ...]:
    """Make parts of drawn pieces.

    Parameters
    ----------
    pieces : sequence of Piece
        As drawn. [m]
    notes : Gatherer
        Takes the findings.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]

    Returns
    -------
    tuple of Part
        In the order of their position. Empty if nothing closes.
    """
    chained = chain(pieces, gap=gap)
    _report_chaining(chained, notes)
    rings: list[_Ring] = []
    flat = 0
    for loop in chained.loops:
        ring = _ring(loop)
        if ring is None:
            flat += 1
            where = loop.segments[0].start
        else:
            rings.append(ring)
    if flat:
        notes.needs_person(
            "zero-area",
            f"{plural(flat, 'contour')} enclosing no area left out",
            remedy="delete or correct it in the drawing",
            where=where,
            count=flat,
        )
    _nest(rings)
    outlines = [i for i, ring in enumerate(rings) if ring.depth % 2 == 0]
    order = _by_position([rings[i] for i in outlines])
    parts = []
    for number, k in enumerate(order, start=1):
        outline = outlines[k]
        names = letters()
        holes = [ring for ring in rings if ring.parent == outline and ring.depth % 2 == 1]
        top = build_contour(
            rings[outline].segments, rings[outline].free, contour_id=next(names), role=ContourRole.OUTLINE
        )
        openings = tuple(
            build_contour(holes[h].segments, holes[h].free, contour_id=next(names), role=ContourRole.OPENING)
            for h in _by_position(holes)
        )
        parts.append(Part(id=str(number), outline=top, openings=openings))
        if rings[outline].depth >= 2:
            notes.not_fixed(
                "part-in-opening",
                f"part {number} lies in an opening of another part and is taken as a part of its own",
                remedy="check that both are meant to be cut",
                where=rings[outline].centroid,
                subjects=(str(number),),
            )
    return tuple(parts)
