"""Edges keep their ids however the same outline was drawn."""

from __future__ import annotations

import random
from math import cos, pi, sin, tau

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trialcut.geometry.assemble import assemble
from trialcut.geometry.contours import Part
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.geometry.gather import Gatherer
from trialcut.geometry.pieces import Piece


def rounded_polygon(centre: Point, size: float, sides: int, radius: float, turn: float) -> list[Segment]:
    """A regular polygon with rounded corners, or sharp ones if the radius is zero."""
    corners = [
        (centre[0] + size * cos(turn + tau * k / sides), centre[1] + size * sin(turn + tau * k / sides))
        for k in range(sides)
    ]
    cut = radius * np.tan(pi / sides)
    segments: list[Segment] = []
    for k in range(sides):
        (x0, y0), (x1, y1) = corners[k], corners[(k + 1) % sides]
        length = np.hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        start = (float(x0 + cut * ux), float(y0 + cut * uy))
        end = (float(x1 - cut * ux), float(y1 - cut * uy))
        segments.append(Line(start, end))
        if radius:
            middle = (end[0] - radius * uy, end[1] + radius * ux)
            segments.append(
                Arc(middle, radius, float(np.arctan2(end[1] - middle[1], end[0] - middle[0])), tau / sides)
            )
    return segments


outlines = st.builds(
    rounded_polygon,
    centre=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5)),
    size=st.floats(0.04, 0.08),
    sides=st.integers(3, 8),
    radius=st.sampled_from([0.0, 0.002, 0.005]),
    turn=st.floats(0, 1),
)
seeds = st.integers(0, 2**31)


def split(segment: Segment, fraction: float) -> list[Segment]:
    if isinstance(segment, Line):
        middle = segment.point(fraction)
        return [Line(segment.start, middle), Line(middle, segment.end)]
    sweep = fraction * segment.sweep
    return [
        Arc(segment.centre, segment.radius, segment.start_angle, sweep),
        Arc(segment.centre, segment.radius, segment.start_angle + sweep, segment.sweep - sweep),
    ]


def drawing_of(outline: list[Segment]) -> list[Segment]:
    """The outline with two round openings and a small square one in it."""
    (x, y), size = centre_of(outline), 0.004
    square = [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)]
    holes: list[Segment] = [
        Arc((x - 0.012, y), 0.003, 0.7, tau),
        Arc((x + 0.012, y), 0.003, 0.2, -tau),
        *(Line(a, b) for a, b in zip(square, square[1:] + square[:1], strict=True)),
    ]
    return [*outline, *holes]


def centre_of(outline: list[Segment]) -> Point:
    starts = np.array([segment.start for segment in outline])
    return (float(starts[:, 0].mean()), float(starts[:, 1].mean()))


def drawn_otherwise(segments: list[Segment], rng: random.Random) -> list[Piece]:
    """The same lines in another order, some split, some the other way."""
    pieces = []
    for segment in segments:
        closed = isinstance(segment, Arc) and abs(segment.sweep) > 6.28
        parts = split(segment, rng.uniform(0.2, 0.8)) if not closed and rng.random() < 0.4 else [segment]
        pieces += [Piece((s.reversed() if rng.random() < 0.5 else s,), closed=closed) for s in parts]
    rng.shuffle(pieces)
    return pieces


def part_of(pieces: list[Piece]) -> Part:
    notes = Gatherer(strict=True)
    (part,) = assemble(pieces, notes)
    return part


def described(part: Part) -> tuple[list[tuple[str, str]], np.ndarray]:
    names = [(edge.id, edge.kind.value) for edge in part.edges]
    return names, np.array([(*edge.start, *edge.end, edge.length) for edge in part.edges])


@given(outline=outlines, seed=seeds)
def test_order_direction_and_superfluous_vertices_do_not_change_the_edges(
    outline: list[Segment], seed: int
) -> None:
    segments = drawing_of(outline)
    names, places = described(part_of(drawn_otherwise(segments, random.Random(0))))
    others, elsewhere = described(part_of(drawn_otherwise(segments, random.Random(seed))))
    assert names == others
    # Within the distance at which two points are one.
    assert_allclose(elsewhere, places, rtol=0, atol=1e-7)


@given(outline=outlines, shift=st.integers(0, 15), backwards=st.booleans())
def test_the_start_of_a_closed_polyline_does_not_change_the_edges(
    outline: list[Segment], shift: int, backwards: bool
) -> None:
    shift %= len(outline)
    turned = outline[shift:] + outline[:shift]
    if backwards:
        turned = [segment.reversed() for segment in reversed(turned)]
    names, places = described(part_of([Piece(tuple(outline), closed=True)]))
    others, elsewhere = described(part_of([Piece(tuple(turned), closed=True)]))
    assert names == others
    assert_allclose(elsewhere, places, rtol=0, atol=1e-7)


@given(outline=outlines, dx=st.floats(-1, 1), dy=st.floats(-1, 1))
def test_moving_the_drawing_does_not_rename_the_edges(outline: list[Segment], dx: float, dy: float) -> None:
    moved: list[Segment] = [
        Line((s.start[0] + dx, s.start[1] + dy), (s.end[0] + dx, s.end[1] + dy))
        if isinstance(s, Line)
        else Arc((s.centre[0] + dx, s.centre[1] + dy), s.radius, s.start_angle, s.sweep)
        for s in outline
    ]
    names, places = described(part_of([Piece(tuple(outline), closed=True)]))
    others, elsewhere = described(part_of([Piece(tuple(moved), closed=True)]))
    assert names == others
    assert_allclose(elsewhere - [dx, dy, dx, dy, 0], places, rtol=0, atol=1e-7)


@given(outline=outlines, seed=seeds)
def test_material_lies_to_the_left_and_areas_add_up(outline: list[Segment], seed: int) -> None:
    part = part_of(drawn_otherwise(drawing_of(outline), random.Random(seed)))
    sides = len([segment for segment in outline if isinstance(segment, Line)])
    apothem = max(
        abs(
            (line.end[0] - line.start[0]) * (line.start[1] - centre_of(outline)[1])
            - (line.end[1] - line.start[1]) * (line.start[0] - centre_of(outline)[0])
        )
        / line.length
        for line in outline
        if isinstance(line, Line)
    )
    radius = next((segment.radius for segment in outline if isinstance(segment, Arc)), 0.0)
    # Area of a regular polygon by its apothem; rounding takes the tips of a smaller one less a disc.
    polygon = sides * np.tan(pi / sides)
    expected = polygon * apothem**2 - (polygon - pi) * radius**2
    assert_allclose(part.outline.area, expected, rtol=1e-9)
    assert_allclose(part.area, expected - 2 * pi * 0.003**2 - 0.008**2, rtol=1e-9)
    turns = sum(corner.turn for corner in part.outline.corners)
    swept = sum(s.sweep for e in part.outline.edges for s in e.segments if isinstance(s, Arc))
    assert_allclose(turns + swept, tau, rtol=0, atol=1e-6)
    assert all(edge.curvature <= 0 for opening in part.openings for edge in opening.edges)
