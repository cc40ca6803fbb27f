"""Fits of the gauge against scipy's optimisers and shapely's bounding and inscribed circles."""

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from scipy.optimize import least_squares, linprog, minimize, minimize_scalar
from scipy.spatial import ConvexHull

from trialcut.ascut.gauge.circles import least_squares_circle, minimum_circumscribed_circle
from trialcut.ascut.gauge.fits import convex_hull, least_squares_line, minimum_zone_line
from trialcut.ascut.gauge.inscribed import maximum_inscribed_circle, minimum_zone_circles
from trialcut.ascut.gauge.jaws import seat

SEEDS = range(12)
PICOMETRE = 1e-12


def ragged(seed, *, samples=400, size=1e-4):
    """A round wall of random lobes up to the seventh, with roughness on top."""
    rng = np.random.default_rng(seed)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, samples))
    radius = 4e-3 + 0.2 * size * rng.standard_normal(samples)
    for lobe in range(1, 8):
        radius = radius + size * rng.standard_normal() * np.cos(lobe * angle + rng.uniform(0.0, 2.0 * np.pi))
    return rng.uniform(-0.3, 0.3, 2) + np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)


def simplex_best(cost, start):
    """Least of a rough function by the simplex of Nelder and Mead, begun anew wherever it ended."""
    best = start
    for size in (1e-4, 1e-5, 1e-6, 1e-7, 1e-8):
        corners = best + size * np.array(((0.0, 0.0), (1.0, 0.1), (-0.3, 1.0)))
        options = {"initial_simplex": corners, "xatol": 1e-13, "fatol": 1e-16, "maxiter": 2000}
        best = minimize(cost, best, method="Nelder-Mead", options=options).x
    return cost(best)


def scipy_circle(points, start):
    """Levenberg and Marquardt's method in scipy, with exact slopes, in millimetres."""

    def errors(p):
        return np.hypot(1e3 * points[:, 0] - p[0], 1e3 * points[:, 1] - p[1]) - p[2]

    def slopes(p):
        off = np.array(p[:2]) - 1e3 * points
        return np.column_stack((off / np.hypot(*off.T)[:, None], -np.ones(len(points))))

    start = 1e3 * np.array(start)
    return least_squares(errors, start, slopes, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)


@pytest.mark.parametrize("seed", SEEDS)
def test_least_squares_circles_agree_with_scipy(seed):
    points = ragged(seed)
    answer = scipy_circle(points, (*points.mean(axis=0), 4e-3))
    fitted = least_squares_circle(points)
    # A sum of squares is flat at its least: its last digit, 1e-16, moves the centre by 1e-8 of 4 mm or so.
    assert_allclose((*fitted.centre, fitted.radius), 1e-3 * answer.x, rtol=0, atol=4e-11)


@pytest.mark.parametrize("seed", SEEDS)
def test_least_squares_circles_of_short_arcs_agree_with_scipy(seed):
    rng = np.random.default_rng(seed)
    angle = np.linspace(0.0, np.radians(40.0), 60)
    radius = 5e-3 + 2e-6 * rng.standard_normal(60)
    points = np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)
    answer = scipy_circle(points, (0.0, 0.0, 5e-3))
    fitted = least_squares_circle(points)
    # A short arc tells its centre and radius a hundred times worse than a full circle.
    assert_allclose((*fitted.centre, fitted.radius), 1e-3 * answer.x, rtol=0, atol=1e2 * PICOMETRE)


@pytest.mark.parametrize("seed", SEEDS)
def test_circumscribed_circles_agree_with_shapely(seed):
    points = ragged(seed)
    expected = shapely.minimum_bounding_radius(shapely.MultiPoint(points))
    assert_allclose(minimum_circumscribed_circle(points).radius, expected, rtol=0, atol=PICOMETRE)


@pytest.mark.parametrize("seed", SEEDS)
def test_inscribed_circles_agree_with_shapely(seed):
    points = ragged(seed, samples=2000, size=3e-5)
    polygon = shapely.Polygon(points)
    tolerance = 1e-9
    inner = shapely.maximum_inscribed_circle(polygon, tolerance=tolerance)
    radius = float(maximum_inscribed_circle(points).radius)
    # Shapely keeps off the chords, we keep off their ends: a chord's middle lies nearer by its length squared
    # over eight radii.
    steps = np.hypot(*np.diff(points, axis=0, append=points[:1]).T)
    assert radius >= inner.length - tolerance
    assert radius <= inner.length + tolerance + float(steps.max()) ** 2 / (8.0 * radius)


@pytest.mark.parametrize("seed", SEEDS)
def test_inscribed_circles_agree_with_a_simplex_search(seed):
    points = ragged(seed)
    found = maximum_inscribed_circle(points)
    best = -simplex_best(lambda c: -np.hypot(*(points - c).T).min(), found.centre + np.array((2e-5, -1e-5)))
    assert_allclose(found.radius, best, rtol=0, atol=PICOMETRE)


@pytest.mark.parametrize("seed", SEEDS)
def test_roundness_zones_agree_with_a_simplex_search(seed):
    points = ragged(seed)
    found = minimum_zone_circles(points)
    starts = [found.centre, points.mean(axis=0)]
    best = min(simplex_best(lambda c: np.ptp(np.hypot(*(points - c).T)), start) for start in starts)
    assert_allclose(found.width, best, rtol=0, atol=PICOMETRE)


def wavy(seed, *, samples=120):
    """A wall along x, tilted, wavy and rough; its places rise."""
    rng = np.random.default_rng(seed)
    x = np.sort(rng.uniform(0.0, 0.03, samples))
    y = (
        1e-5 * rng.standard_normal(samples)
        + rng.uniform(-3e-3, 3e-3) * x
        + 3e-5 * np.sin(x * rng.uniform(50, 400))
    )
    return x, y


@pytest.mark.parametrize("seed", SEEDS)
def test_straightness_zones_agree_with_a_search_over_directions(seed):
    points = np.stack(wavy(seed), axis=1)
    cost = lambda a: np.ptp(points[:, 1] * np.cos(a) - points[:, 0] * np.sin(a))  # noqa: E731
    grid = np.linspace(-0.02, 0.02, 2001)
    best = grid[np.argmin([cost(a) for a in grid])]
    answer = minimize_scalar(
        cost, bounds=(best - 2e-5, best + 2e-5), method="bounded", options={"xatol": 1e-14}
    )
    assert_allclose(minimum_zone_line(points).width, answer.fun, rtol=0, atol=PICOMETRE)


@pytest.mark.parametrize("seed", SEEDS)
def test_least_squares_lines_agree_with_the_singular_vectors_of_numpy(seed):
    points = np.stack(wavy(seed), axis=1)
    fitted = least_squares_line(points)
    _, _, rows = np.linalg.svd(points - points.mean(axis=0))
    assert_allclose(np.abs(fitted.direction @ rows[0]), 1.0, rtol=1e-14)
    assert_allclose(fitted.heights(points) ** 2, ((points - points.mean(axis=0)) @ rows[1]) ** 2, atol=1e-18)


@pytest.mark.parametrize("seed", SEEDS)
def test_hulls_agree_with_qhull(seed):
    points = ragged(seed)
    ours, theirs = points[convex_hull(points)], points[ConvexHull(points).vertices]
    start = int(np.argmin(np.hypot(*(theirs - ours[0]).T)))
    assert_allclose(ours, np.roll(theirs, -start, axis=0), rtol=0, atol=0)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("rock", [0.1, 1e-3])
def test_jaws_seat_where_a_linear_programme_puts_them(seed, rock):
    (x, y), (u, v) = wavy(seed), wavy(seed + 100)
    v = v - 0.02
    ones, none = np.ones(len(x)), np.zeros(len(x))
    rows = np.concatenate((np.stack((x, -ones, none), axis=1), np.stack((-u, none, -ones), axis=1)))
    answer = linprog(
        (0.0, 1.0, 1.0),
        A_ub=1e3 * rows,
        b_ub=1e3 * np.concatenate((-y, v)),
        bounds=((-rock, rock), (None, None), (None, None)),
        method="highs",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    # HiGHS holds its rows, scaled to millimetres here, to 1e-10.
    assert_allclose(seat((x, y), (u, v), rock=rock).gap, answer.fun, rtol=0, atol=1e-12)


def test_jaws_on_many_draws_seat_as_on_each():
    walls = [(wavy(seed)[1], wavy(seed + 100)[1] - 0.02) for seed in SEEDS]
    x, u = wavy(0)[0], wavy(1)[0]
    together = seat((x, np.stack([y for y, _ in walls])), (u, np.stack([v for _, v in walls])), rock=0.05)
    alone = [seat((x, y), (u, v), rock=0.05) for y, v in walls]
    assert_allclose(together.gap, [one.gap for one in alone], rtol=1e-15)
    assert_allclose(together.slope, [one.slope for one in alone], rtol=1e-12)
