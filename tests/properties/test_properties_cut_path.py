"""What must hold for the cut path of any part."""

from __future__ import annotations

from itertools import permutations
from math import cos, hypot, pi, sin

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from parts import rectangle_part
from sample_parts import contour, polygon, slot_opening
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.outline import flatten_contour, flatten_segments, polygon_of_part
from trialcut.motion.leads import least_clearance
from trialcut.motion.order import Route, best_order
from trialcut.motion.path_builder import cut_path

compiling = settings(deadline=None)  # the first example may wait for the compiler
CELL = 0.03


@st.composite
def star_points(draw, radius, *, clockwise):
    """Corners of a star-shaped outline about the origin, between 0.3 and 1 of a radius."""
    count = draw(st.integers(3, 9))
    reaches = draw(st.lists(st.floats(0.3, 1.0), min_size=count, max_size=count))
    turn = draw(st.floats(0.0, 2 * pi))
    side = -1.0 if clockwise else 1.0
    angles = [side * (2 * pi * k / count + turn) for k in range(count)]
    return [(radius * r * cos(a), radius * r * sin(a)) for r, a in zip(reaches, angles, strict=True)]


@st.composite
def any_part(draw):
    """A rectangle or a star, with stars, slots and round openings on a grid where there is room."""
    columns, rows = draw(st.integers(1, 4)), draw(st.integers(1, 3))
    openings = []
    for k in range(rows):
        for i in range(columns):
            name = f"B{i}{k}."
            x, y = (i + 0.5) * CELL, (k + 0.5) * CELL
            shape = draw(st.sampled_from(["none", "round", "slot", "star"]))
            size = draw(st.floats(0.0004, 0.013))
            if shape == "round":
                openings += rectangle_part(1, 1, [(x, y, size)]).openings[:1]
                openings[-1] = contour(name, list(openings[-1].edges[0].segments), ContourRole.OPENING)
            elif shape == "slot":
                openings.append(slot_opening(name, x, y, 2.1 * size, draw(st.floats(0.2, 1.9)) * size))
            elif shape == "star":
                points = [(x + u, y + v) for u, v in draw(star_points(size, clockwise=True))]
                openings.append(contour(name, polygon(points), ContourRole.OPENING))
    if draw(st.booleans()) or openings:
        outline = rectangle_part(columns * CELL, rows * CELL).outline
    else:
        outline = contour("A", polygon(draw(star_points(0.08, clockwise=False))))
    return Part(id="1", outline=outline, openings=tuple(openings))


@st.composite
def demanded(draw, part):
    edges = [edge.id for edge in part.edges]
    corners = [(corner.before, corner.after) for each in part.contours for corner in each.corners]
    some_edges = draw(st.sets(st.sampled_from(edges)))
    some_corners = draw(st.sets(st.sampled_from(corners))) if corners else set()
    return some_edges, some_corners


KERF = st.floats(0.5e-3, 1.5e-3)


@compiling
@given(st.data(), KERF)
def test_every_contour_is_cut_once_and_the_outline_last(data, kerf):
    part = data.draw(any_part())
    edges, corners = data.draw(demanded(part))
    path = cut_path(part, kerf_width=kerf, avoid=edges, avoid_corners=corners)
    assert sorted(run.contour for run in path.runs) == sorted(each.id for each in part.contours)
    assert path.runs[-1].contour == part.outline.id


@compiling
@given(st.data(), KERF)
def test_leads_and_pierces_lie_in_the_scrap_or_a_finding_says_so(data, kerf):
    part = data.draw(any_part())
    edges, corners = data.draw(demanded(part))
    path = cut_path(part, kerf_width=kerf, avoid=edges, avoid_corners=corners)
    excused = {name for finding in path.findings for name in finding.subjects}
    solid = polygon_of_part(part, tolerance=1e-6)
    for run in path.runs:
        if run.contour in excused:
            continue
        assert solid.distance(shapely.Point(run.pierce)) >= least_clearance(kerf) - 5e-6
        assert_allclose(run.lead_in[0].start, run.pierce)
        for lead in (run.lead_in, run.lead_out):
            if lead:
                line = shapely.LineString(flatten_segments(lead, tolerance=1e-6))
                assert line.intersection(solid.buffer(-5e-6)).length == 0.0


@compiling
@given(any_part(), KERF)
def test_an_opening_is_called_too_small_only_if_no_pierce_fits_into_it(part, kerf):
    for finding in cut_path(part, kerf_width=kerf).findings:
        if finding.code == "opening-too-small-for-lead":
            (name,) = finding.subjects
            opening = shapely.Polygon(flatten_contour(part.contour(name), tolerance=1e-6))
            widest = shapely.maximum_inscribed_circle(opening, tolerance=1e-6).length
            assert widest <= least_clearance(kerf) + 2e-5


@compiling
@given(st.data(), KERF)
def test_leads_meet_the_contour_at_its_start_point(data, kerf):
    part = data.draw(any_part())
    for run in cut_path(part, kerf_width=kerf).runs:
        edge = part.edge(run.start_edge)
        assert edge.contour == run.contour
        line = shapely.LineString(flatten_contour(part.contour(run.contour), tolerance=1e-7))
        assert line.distance(shapely.Point(run.lead_in[-1].end)) <= 2e-7
        if run.lead_out:
            assert_allclose(run.lead_out[0].start, run.lead_in[-1].end, atol=1e-12)


@compiling
@given(st.data())
def test_no_start_is_on_a_demanded_edge_while_a_free_straight_has_room(data):
    # All four sides of a rectangle have room for a lead, so that any free one must be taken.
    part = rectangle_part(0.1, 0.06)
    edges = data.draw(st.sets(st.sampled_from(["A1", "A2", "A3", "A4"]), max_size=3))
    (run,) = cut_path(part, kerf_width=1e-3, avoid=edges).runs
    assert run.start_edge not in edges


def discs(draw, count):
    cells = draw(st.permutations([(i, k) for i in range(6) for k in range(6)]))[:count]
    return np.array([((i + 0.5) * CELL, (k + 0.5) * CELL) for i, k in cells])


def route_of(draw, count):
    middles = discs(draw, count)
    slip = np.array(draw(st.lists(st.floats(-0.004, 0.004), min_size=2 * count, max_size=2 * count)))
    return Route(
        pierces=middles,
        exits=middles + slip.reshape(-1, 2),
        begin=np.array([0.0, 0.0]),
        goal=np.array(draw(st.tuples(st.floats(0.0, 0.18), st.just(-0.003)))),
        slugs=[shapely.Point(x, y).buffer(0.012) for x, y in middles],
        detour=0.25,
    )


@compiling
@given(st.data(), st.integers(1, 5))
def test_few_openings_are_cut_in_the_best_of_all_orders(data, count):
    route = route_of(data.draw, count)
    least = min(route.cost(order) for order in permutations(range(count)))
    assert_allclose(route.cost(best_order(route)), least, rtol=1e-12)


@compiling
@given(st.data(), st.integers(9, 30))
def test_many_openings_are_cut_in_an_order_no_worse_than_the_drawing(data, count):
    route = route_of(data.draw, count)
    order = best_order(route)
    assert sorted(order) == list(range(count))
    assert route.cost(order) <= route.cost(range(count)) * (1 + 1e-12)


@compiling
@given(st.data(), st.integers(2, 7))
def test_the_cost_of_an_order_is_its_length_and_its_detours(data, count):
    route = route_of(data.draw, count)
    order = data.draw(st.permutations(range(count)))
    points = [route.leave[count]]
    total, over = 0.0, 0
    for step, opening in enumerate([*order, count]):
        leg = shapely.LineString([points[-1], route.reach[opening]])
        total += hypot(*(route.reach[opening] - points[-1]))
        over += sum(
            leg.intersects(shapely.Point(*route.reach[cut]).buffer(0.012))
            for cut in order[: max(0, step - 1)]
        )
        points.append(route.leave[opening])
    assert_allclose(route.cost(order), total + 0.25 * over, rtol=1e-12)
