"""The as-cut wall against closed forms and a library's union of capsules, and its order of convergence."""

from math import pi, sqrt

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose, assert_array_equal

from sample_parts import contour, rectangle, round_opening
from surface_cases import (
    DEPTHS,
    HALF,
    MACHINE,
    THICKNESS,
    circle_jet,
    jet_along,
    lags,
    rays,
    steady_law,
    step_part,
    widths,
)
from trialcut.ascut.jet_path import jet_path
from trialcut.ascut.law import JetLaw
from trialcut.ascut.outlines import swept_polygons
from trialcut.ascut.reach import HIGHEST, deviation_field, deviations_of_wall, prepare_sweep
from trialcut.geometry.contours import Part
from trialcut.motion.path_builder import cut_path
from trialcut.physics.tilt import residual_bow

SEARCH = 2e-8
"""The search for a wall stops within 10 nm of it; two such errors. [m]"""

Z = DEPTHS * THICKNESS


def straight(**leaned):
    position = np.column_stack((np.linspace(0.0, 0.04, 5), np.full(5, -HALF)))
    return jet_along(position, np.tile((1.0, 0.0), (5, 1)), **leaned)


def middle_of_the_straight(law, **leaned):
    wall = rays([[0.02, 0.0]], [[0.0, -1.0]])
    return deviations_of_wall(wall, straight(**leaned), law, thickness=THICKNESS)[0]


def round_wall(radius, *, opening):
    angle = np.linspace(0.0, 2.0 * pi, 50)
    out = np.column_stack((np.cos(angle), np.sin(angle)))
    return rays(radius * out, -out if opening else out)


def test_an_upright_straight_wall_stands_off_by_what_the_half_width_lacks():
    assert_allclose(middle_of_the_straight(steady_law()), HALF - widths(), atol=SEARCH)


def test_a_tilted_straight_wall_moves_by_depth_times_slope():
    wall = middle_of_the_straight(steady_law(lag=lags()), tilt=0.01, lead=0.05)
    assert_allclose(wall, HALF - widths() - 0.01 * Z, atol=SEARCH)


def test_of_a_perfectly_tilted_straight_wall_only_the_bow_is_left():
    slope = (widths()[0] - widths()[-1]) / THICKNESS
    wall = middle_of_the_straight(steady_law(), tilt=slope)
    assert_allclose(wall[[0, -1]], 0.0, atol=SEARCH)
    bow = residual_bow(
        depth_fraction=DEPTHS,
        thickness=THICKNESS,
        half_width=widths(),
        top_half_width=widths()[0],
        tilt=np.arctan(slope),
    )
    assert_allclose(wall, bow, atol=SEARCH)


@pytest.mark.parametrize("tilt", [0.0, 0.008, -0.004])
@pytest.mark.parametrize("opening", [False, True], ids=["outer", "opening"])
def test_a_circle_is_carried_outwards_by_its_lag(opening, tilt):
    drawn = 0.006
    path = drawn - HALF if opening else drawn + HALF
    jet = circle_jet(path, samples=20_000, clockwise=opening, tilt=tilt)
    law = steady_law(lag=lags())
    found = deviations_of_wall(round_wall(drawn, opening=opening), jet, law, thickness=THICKNESS)
    centre = np.sqrt((path + (1.0 if opening else -1.0) * tilt * Z) ** 2 + lags() ** 2)
    wanted = drawn - centre - widths() if opening else centre - widths() - drawn
    assert_allclose(found, np.tile(wanted, (50, 1)), atol=SEARCH)


def test_a_lead_that_makes_good_the_lag_takes_the_shift_of_a_circle_away():
    law = steady_law(lag=1.2e-3 * DEPTHS)
    jet = circle_jet(0.01, samples=20_000, lead=1.2e-3 / THICKNESS)
    found = deviations_of_wall(round_wall(0.01 - HALF, opening=False), jet, law, thickness=THICKNESS)
    assert_allclose(found, np.tile(HALF - widths(), (50, 1)), atol=SEARCH)


def step_field(*, depths=DEPTHS, lag=None, width=None):
    part = step_part()
    ids = [edge.id for edge in part.edges]
    jet = jet_path(
        part,
        cut_path(part, kerf_width=2.0 * HALF, start_at=(0.0, 0.0)),
        machine=MACHINE,
        offsets=dict.fromkeys(ids, HALF),
        speed=dict.fromkeys(ids, 3e-3),
        lead_speed=2e-3,
    )
    law = steady_law(depths=depths, lag=lag, width=width)
    return deviation_field(part, jet, law, depths=depths, thickness=THICKNESS, wall_spacing=1e-3)


def rows(field, edge):
    return np.flatnonzero(field.edge == field.edges.index(edge))


def test_an_inside_corner_keeps_the_round_of_the_local_half_width():
    field = step_field()
    apex = np.array((15.0e-3 + HALF, 10.0e-3 + HALF))
    for layer, width in enumerate(widths().tolist()):
        walls = field.wall(layer)
        last = walls[rows(field, "A3")][-1]
        assert_allclose(last, walls[rows(field, "A4")][0], atol=SEARCH)
        assert_allclose(last, apex - width / sqrt(2.0), atol=SEARCH)
        for edge, along in (("A3", 0), ("A4", 1)):
            wall = walls[rows(field, edge)]
            on_the_round = wall[wall[:, along] < apex[along]]
            assert on_the_round.shape[0] >= 6
            assert_allclose(np.hypot(*(on_the_round - apex).T), width, atol=SEARCH)


def test_an_outside_corner_comes_out_sharp_while_the_lag_is_below_the_run_past():
    field = step_field(lag=lags(exit_lag=0.9 * HALF))
    for edge, end in (("A2", -1), ("A3", 0)):
        corner = field.deviation[rows(field, edge)[end]]
        assert_allclose(corner, sqrt(2.0) * (HALF - widths()), atol=SEARCH)


def test_the_trailing_exit_cuts_its_lag_into_the_wall_before_an_inside_corner():
    lag = lags(exit_lag=0.3e-3)
    field = step_field(lag=lag, width=HALF)
    wall = field.deviation[rows(field, "A3")]
    at_the_turn = np.argmin(np.abs((1.0 - field.fraction[rows(field, "A3")]) * 15e-3 - HALF))
    assert_allclose(wall[at_the_turn], -lag, atol=SEARCH)


def nasty(rng, count=24):
    """A walk that crosses itself, turns back, stands still, and whose discs swell and shrink to nothing."""
    step = rng.normal(scale=rng.choice([0.05e-3, 0.3e-3, 1.0e-3]), size=(count, 2))
    step[rng.random(count) < 0.15] = 0.0
    back = np.flatnonzero(rng.random(count - 1) < 0.1) + 1
    step[back] = -step[back - 1]
    radius = np.abs(rng.normal(loc=0.4e-3, scale=0.25e-3, size=count))
    radius[rng.random(count) < 0.1] = 0.0
    return np.cumsum(step, axis=0), radius


def swept_by_a_library(position, radius):
    """Hull of each pair of discs, and their union; errs by 0.2 µm."""
    hulls = []
    for i in range(len(position) - 1):
        if max(radius[i], radius[i + 1]) > 0.0:
            discs = [shapely.Point(position[k]).buffer(radius[k], quad_segs=48) for k in (i, i + 1)]
            points = [shapely.Point(position[k]) for k in (i, i + 1)]
            hulls.append(shapely.unary_union([*discs, *points]).convex_hull)
    return shapely.union_all(hulls)


RADII = np.linspace(0.0, 2.0e-3, 3)
BY_RADIUS = JetLaw(
    speeds=RADII,
    depths=np.array([0.0]),
    half_width=RADII[:, None],
    lag=np.zeros((3, 1)),
    speed_exponent=0.0,
)
"""A law that is as wide as it is fast."""


def first_material(union, point, normal, *, behind, highest):
    """Where on a ray the first material that starts behind a point ends; inf and -inf as for walls."""
    ray = shapely.LineString([point - behind * normal, point + highest * normal])
    left = ray.difference(union)
    stretches = [
        np.array([np.dot(np.subtract(end, point), normal) for end in (part.coords[0], part.coords[-1])])
        for part in getattr(left, "geoms", [left])
        if part.length > 0.0
    ]
    stretches.sort(key=lambda ends: ends[0])
    if not stretches or stretches[0][0] >= 0.0:
        return -np.inf
    return np.inf if stretches[0][1] >= highest - 1e-9 else stretches[0][1]


@pytest.mark.parametrize("seed", range(200))
def test_walls_on_nasty_paths_are_those_of_the_union_of_capsules(seed):
    rng = np.random.default_rng(seed)
    position, radius = nasty(rng)
    union = swept_by_a_library(position, radius)
    jet = jet_along(position, np.tile((1.0, 0.0), (len(position), 1)), speed=radius)
    angle = rng.uniform(0.0, 2.0 * pi, 60)
    low, high = position.min(axis=0) - 0.8e-3, position.max(axis=0) + 0.8e-3
    point = rng.uniform(low, high, (60, 2))
    normal = np.column_stack((np.cos(angle), np.sin(angle)))
    behind = 0.9 * radius.max()
    found = deviations_of_wall(rays(point, normal, behind), jet, BY_RADIUS, thickness=1.0)[:, 0]
    known = np.isfinite(found)
    on_the_wall = shapely.points(point[known] + found[known, None] * normal[known])
    assert_allclose(shapely.distance(on_the_wall, shapely.boundary(union)), 0.0, atol=2e-6)
    reach = {"behind": behind, "highest": HIGHEST * RADII[-1]}
    theirs = np.array([first_material(union, p, n, **reach) for p, n in zip(point, normal, strict=True)])
    wider = np.array(
        [first_material(union.buffer(2e-6), p, n, **reach) for p, n in zip(point, normal, strict=True)]
    )
    finer = np.array(
        [first_material(union.buffer(-2e-6), p, n, **reach) for p, n in zip(point, normal, strict=True)]
    )
    # Rays that graze the rim count only if two micrometres more or less of cut leave them much as they are.
    with np.errstate(invalid="ignore"):
        clear = (wider == finer) | (np.abs(wider - finer) < 40e-6)
    assert clear.sum() >= 40
    assert_array_equal(found[clear & ~known], theirs[clear & ~known])
    # Along a ray that meets the rim at a slant, 2 µm across are up to 20 µm.
    assert_allclose(found[clear & known], theirs[clear & known], atol=20e-6)


@pytest.mark.parametrize("seed", range(40))
def test_outlines_of_nasty_paths_are_those_of_the_union_of_capsules(seed):
    position, radius = nasty(np.random.default_rng(1000 + seed))
    jet = jet_along(position, np.tile((1.0, 0.0), (len(position), 1)), speed=radius)
    sweep = prepare_sweep(jet, BY_RADIUS)
    ours = shapely.union_all(swept_polygons(np.column_stack((sweep.position, sweep.speed)), sweep))
    theirs = swept_by_a_library(position, radius)
    assert_allclose(shapely.difference(ours, theirs.buffer(1.5e-6)).area, 0.0, atol=1e-15)
    assert_allclose(shapely.difference(theirs, ours.buffer(1.5e-6)).area, 0.0, atol=1e-15)


def test_the_wall_converges_with_the_square_of_the_distance_between_samples():
    drawn, law = 0.006, steady_law(lag=lags())
    wanted = np.sqrt((drawn + HALF) ** 2 + lags() ** 2) - widths() - drawn
    errors = []
    for samples in (60, 120, 240):
        jet = circle_jet(drawn + HALF, samples=samples)
        wall = round_wall(drawn, opening=False)
        found = deviations_of_wall(wall, jet, law, thickness=THICKNESS)
        errors.append(np.abs(found - wanted).max(axis=0))
    order = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert_allclose(order, 2.0, atol=0.15)


def test_the_wall_between_layers_converges_with_the_square_of_their_distance():
    wall = rays([[0.02, 0.0]], [[0.0, -1.0]])
    fine = np.linspace(0.0, 1.0, 97)
    exact = HALF - widths(fine) - 0.01 * fine * THICKNESS
    errors = []
    for layers in (7, 13, 25):
        depths = np.linspace(0.0, 1.0, layers)
        law = steady_law(depths=depths, width=HALF * (1.0 - 0.24 * depths**2))
        found = deviations_of_wall(wall, straight(tilt=0.01), law, thickness=THICKNESS)[0]
        exact = HALF * 0.24 * fine**2 - 0.01 * fine * THICKNESS
        errors.append(np.abs(np.interp(fine, depths, found) - exact).max())
    assert_allclose(np.log2(np.array(errors[:-1]) / np.array(errors[1:])), 2.0, atol=0.1)


def test_many_draws_at_once_are_the_draws_one_by_one():
    rng = np.random.default_rng(5)
    spread = 1.0 + 0.1 * rng.standard_normal(6)
    one = steady_law(lag=lags())
    many = JetLaw(
        speeds=one.speeds,
        depths=one.depths,
        half_width=one.half_width[..., None] * spread,
        lag=one.lag[..., None] / spread,
        speed_exponent=0.0,
    )
    wall = round_wall(0.006, opening=False)
    jet = circle_jet(0.006 + HALF, samples=300, tilt=0.005)
    together = deviations_of_wall(wall, jet, many, thickness=THICKNESS)
    assert together.shape == (50, DEPTHS.size, 6)
    for draw in range(6):
        law = JetLaw(
            speeds=one.speeds,
            depths=one.depths,
            half_width=one.half_width * spread[draw],
            lag=one.lag / spread[draw],
            speed_exponent=0.0,
        )
        alone = deviations_of_wall(wall, jet, law, thickness=THICKNESS, threads=1)
        assert_allclose(together[:, :, draw], alone, atol=SEARCH)


def test_an_opening_of_a_real_path_has_the_closed_form_away_from_its_start():
    part = Part(
        id="1",
        outline=contour("A", rectangle(-0.03, -0.03, 0.06, 0.06)),
        openings=(round_opening("B", 0.0, 0.0, 0.008),),
    )
    ids = [edge.id for edge in part.edges]
    jet = jet_path(
        part,
        cut_path(part, kerf_width=2.0 * HALF),
        machine=MACHINE,
        offsets=dict.fromkeys(ids, HALF),
        speed=dict.fromkeys(ids, 3e-3),
        lead_speed=3e-3,
        tilt=dict.fromkeys(ids, 0.004),
    )
    law = steady_law(lag=lags())
    field = deviation_field(part, jet, law, depths=DEPTHS, thickness=THICKNESS, wall_spacing=1e-3)
    bore = rows(field, "B1")
    away = bore[np.abs(field.fraction[bore] - 0.5) < 0.25]
    centre = np.sqrt((0.008 - HALF + np.tan(0.004) * Z) ** 2 + lags() ** 2)
    # Chords of the path lie up to 0.1 µm within their arc, and those of the exit a little more.
    assert_allclose(field.deviation[away], np.tile(0.008 - centre - widths(), (away.size, 1)), atol=2e-7)
