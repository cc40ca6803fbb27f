"""Cuts that run on past their start, so that the trailing exit of the jet frees the piece as well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import cos, sin

from trialcut.geometry.contours import Contour, EdgeKind, Part
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.motion.path import CutPath, PathRun
from trialcut.motion.starts import place_on_edge


def with_overlaps(part: Part, path: CutPath, overlap: Mapping[str, float]) -> CutPath:
    """
    Let cuts run on past their start.

    The front trails below the top face. A cut that stops where it began leaves a tag of that length at the
    bottom; one that runs on by the lag frees it. A cut that starts at a corner runs straight past it on its
    lead-out and needs no overlap.

    Parameters
    ----------
    part : Part
        What is cut.
    path : CutPath
        Its runs.
    overlap : mapping of contour id to float
        Length wanted, held to what the edge has room for; contours may be missing. [m]

    Returns
    -------
    CutPath
        The same runs with `overlap` set and the lead-out carried along.
    """
    return replace(
        path,
        runs=tuple(
            _run_on(part.contour(run.contour), run, overlap.get(run.contour, 0.0)) for run in path.runs
        ),
    )


def _run_on(contour: Contour, run: PathRun, wanted: float) -> PathRun:
    edge = next(edge for edge in contour.edges if edge.id == run.start_edge)
    start, heading = place_on_edge(edge, run.start_fraction)
    if edge.kind is not EdgeKind.CIRCLE and run.start_fraction * edge.length == 0.0:
        return run
    room = edge.length if edge.kind is EdgeKind.CIRCLE else (1.0 - run.start_fraction) * edge.length
    overlap = min(wanted, room)
    if overlap <= 0.0:
        return run
    fraction = (run.start_fraction + overlap / edge.length) % 1.0 or 1.0
    end, end_heading = place_on_edge(edge, fraction)
    lead_out = tuple(_carried(segment, start, end, end_heading - heading) for segment in run.lead_out)
    return replace(run, overlap=overlap, lead_out=lead_out)


def _carried(segment: Segment, pivot: Point, to: Point, turn: float) -> Segment:
    """Return a segment turned about a point and moved so that the point comes to rest on another."""
    c, s = cos(turn), sin(turn)

    def carry(point: Point) -> Point:
        x, y = point[0] - pivot[0], point[1] - pivot[1]
        return (to[0] + c * x - s * y, to[1] + s * x + c * y)

    if isinstance(segment, Line):
        return Line(carry(segment.start), carry(segment.end))
    return Arc(carry(segment.centre), segment.radius, segment.start_angle + turn, segment.sweep)
