"""Optimal designs of the literature come out of the one design code.

Supports and shares are quoted from memory after Fedorov 1972, Box and Lucas 1959, Atkinson and Donev 1992;
the digits were computed apart from Trialcut. Models that are not linear in their parameters are linearised by
central differences, as trials linearise the cut.
"""

from collections.abc import Callable
from itertools import product

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut.trials.design.approximate import ApproximateDesign, approximate_design
from trialcut.trials.design.exact import exchange_design
from trialcut.trials.design.problem import Criterion, DesignProblem, Experiment

Rows = Callable[[np.ndarray], np.ndarray]


def polynomial(degree: int) -> Rows:
    return lambda x: x[:, None] ** np.arange(degree + 1)


def linearised(mean: Callable[..., np.ndarray], parameters: tuple[float, ...], *, relative=False) -> Rows:
    """Rows of derivatives by the parameters, by central differences."""

    def rows(x: np.ndarray) -> np.ndarray:
        columns = []
        for place, value in enumerate(parameters):
            step = 1e-4 * value
            ends = [
                mean(x, *parameters[:place], value + sign * step, *parameters[place + 1 :])
                for sign in (1, -1)
            ]
            columns.append((ends[0] - ends[1]) / (2 * step))
        found = np.stack(columns, axis=1)
        return found / mean(x, *parameters)[:, None] if relative else found

    return rows


def problem_at(rows: Rows, points: np.ndarray, **given) -> DesignProblem:
    return DesignProblem(
        experiments=tuple(
            Experiment(label=f"{point}", rows=row[None, :])
            for point, row in zip(points, rows(points), strict=True)
        ),
        **given,
    )


def on_an_interval(rows: Rows, low: float, high: float, **given) -> tuple[np.ndarray, np.ndarray]:
    """Points and shares of the optimal design of a whole interval.

    A grid finds the support; then one point after the other climbs, by parabolas of the score, until none
    moves.
    """
    grid = np.linspace(low, high, 201)
    points, _ = gathered(grid, approximate_design(problem_at(rows, grid, **given)), (high - low) / 60)
    step = np.full(points.size, (high - low) / 400)
    for _ in range(100):
        before = points.copy()
        for place in np.flatnonzero((points > low) & (points < high)):
            scores = []
            for shift in (-1.0, 0.0, 1.0):
                moved = points.copy()
                moved[place] += shift * step[place]
                scores.append(approximate_design(problem_at(rows, moved, **given)).score)
            left, middle, right = scores
            points[place] += 0.5 * step[place] * (left - right) / (left - 2 * middle + right)
        if np.abs(points - before).max() < 1e-8 * (high - low):
            break
        step = np.minimum(step, np.maximum(2 * np.abs(points - before), (high - low) / 40000))
    return points, approximate_design(problem_at(rows, points, **given)).weights


def gathered(points: np.ndarray, design: ApproximateDesign, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Neighbouring points of a support as one."""
    support = design.support
    groups = np.split(support, 1 + np.flatnonzero(np.diff(points[support]) > reach))
    shares = np.array([design.weights[group].sum() for group in groups])
    middles = np.array([np.average(points[group], weights=design.weights[group]) for group in groups])
    return middles, shares


def test_the_quadratic_on_an_interval_takes_its_ends_and_middle_alike():
    points, shares = on_an_interval(polynomial(2), -1.0, 1.0)
    assert_allclose(points, [-1, 0, 1], atol=5e-6)
    assert_allclose(shares, 1 / 3, atol=5e-6)


def test_the_information_of_the_quadratic_has_the_printed_determinant():
    design = approximate_design(problem_at(polynomial(2), np.array([-1.0, 0.0, 1.0])))
    assert_allclose(np.exp(design.score), 4 / 27, rtol=1e-7)  # the ridge moves the eighth digit


@pytest.mark.parametrize("criterion", [Criterion.A, Criterion.I])
def test_a_and_i_optimal_quadratics_put_half_in_the_middle(criterion):
    given = {"criterion": criterion}
    if criterion is Criterion.I:
        nodes, weights = np.polynomial.legendre.leggauss(3)
        given |= {"targets": polynomial(2)(nodes), "weights": weights}
    points, shares = on_an_interval(polynomial(2), -1.0, 1.0, **given)
    assert_allclose(points, [-1, 0, 1], atol=5e-6)
    assert_allclose(shares, [0.25, 0.5, 0.25], atol=5e-6)


@pytest.mark.parametrize(
    ("degree", "inside"),
    [(3, [-0.44721, 0.44721]), (4, [-0.65465, 0.0, 0.65465]), (5, [-0.76506, -0.28523, 0.28523, 0.76506])],
)
def test_polynomials_take_the_ends_and_the_roots_of_the_slope_of_legendre(degree, inside):
    points, shares = on_an_interval(polynomial(degree), -1.0, 1.0)
    assert_allclose(points, [-1.0, *inside, 1.0], atol=5e-6)
    assert_allclose(shares, 1 / (degree + 1), atol=5e-6)


def test_the_full_quadratic_on_a_square_has_the_printed_shares_and_meets_the_equivalence_theorem():
    points = np.array(list(product([-1.0, 0.0, 1.0], repeat=2)))
    x, y = points.T
    rows = np.stack([np.ones(9), x, y, x * y, x**2, y**2], axis=1)
    design = approximate_design(
        DesignProblem(
            experiments=tuple(Experiment(label=str(k), rows=row[None]) for k, row in enumerate(rows))
        )
    )
    away = np.abs(points).sum(axis=1)
    assert_allclose(design.weights[away == 2], 0.1458, atol=5e-5)
    assert_allclose(design.weights[away == 1], 0.0802, atol=5e-5)
    assert_allclose(design.weights[away == 0], 0.0962, atol=5e-5)
    assert_allclose(design.sensitivity.max(), 6.0, rtol=1e-8)


def test_the_shares_on_a_square_are_optimal_among_all_points_of_a_fine_grid():
    axis = np.linspace(-1.0, 1.0, 21)
    x, y = (each.ravel() for each in np.meshgrid(axis, axis))
    rows = np.stack([np.ones(x.size), x, y, x * y, x**2, y**2], axis=1)
    design = approximate_design(
        DesignProblem(
            experiments=tuple(Experiment(label=str(k), rows=row[None]) for k, row in enumerate(rows))
        )
    )
    corner = (np.abs(x) == 1.0) & (np.abs(y) == 1.0)
    assert_allclose(design.weights[corner], 0.1458, atol=5e-5)
    assert_allclose(design.sensitivity.max(), 6.0, rtol=1e-6)


SUPPORTS = {
    "Michaelis and Menten": (
        linearised(lambda x, top, half: top * x / (half + x), (1.0, 2.0)),
        0.0,
        10.0,
        [1.428571, 10.0],
        5e-7,
    ),
    "exponential decay": (
        linearised(lambda x, size, rate: size * np.exp(-rate * x), (1.0, 0.5)),
        0.0,
        10.0,
        [0.0, 2.0],
        5e-7,
    ),
    "power law, constant error": (
        linearised(lambda x, size, power: size * x**power, (1.0, 0.7)),
        0.01,
        10.0,
        [2.396510, 10.0],
        5e-7,
    ),
    "power law, relative error": (
        linearised(lambda x, size, power: size * x**power, (1.0, 0.7), relative=True),
        0.01,
        10.0,
        [0.01, 10.0],
        5e-7,
    ),
    "Box and Lucas": (
        linearised(lambda x, a, b: a / (a - b) * (np.exp(-b * x) - np.exp(-a * x)), (0.7, 0.2)),
        0.0,
        20.0,
        [1.2295, 6.8577],
        5e-5,
    ),
    "compartments": (
        linearised(lambda x, a, b, size: size * (np.exp(-b * x) - np.exp(-a * x)), (4.298, 0.05884, 21.80)),
        0.0,
        40.0,
        [0.2288, 1.3886, 18.417],
        [5e-5, 5e-5, 5e-4],
    ),
}


@pytest.mark.parametrize("name", SUPPORTS)
def test_a_model_that_is_not_linear_has_the_support_of_the_literature(name):
    rows, low, high, support, digits = SUPPORTS[name]
    points, shares = on_an_interval(rows, low, high)
    assert np.all(np.abs(points - support) <= digits), points
    assert_allclose(shares, 1 / len(support), atol=1e-4)


def test_a_logistic_curve_is_best_seen_at_the_printed_logits():
    def rows(logit: np.ndarray) -> np.ndarray:
        chance = 1.0 / (1.0 + np.exp(-logit))
        return np.sqrt(chance * (1.0 - chance))[:, None] * np.stack([np.ones_like(logit), logit], axis=1)

    points, shares = on_an_interval(rows, -5.0, 5.0)
    assert_allclose(points, [-1.5434, 1.5434], atol=5e-5)
    assert_allclose(1.0 / (1.0 + np.exp(-points)), [0.176, 0.824], atol=5e-4)
    assert_allclose(shares, 0.5, atol=5e-6)


def test_exchange_finds_the_same_design_where_the_shares_are_whole():
    problem = problem_at(polynomial(2), np.linspace(-1.0, 1.0, 41))
    design = exchange_design(problem, size=6)
    assert design.picks == (0, 0, 20, 20, 40, 40)
    assert_allclose(np.exp(design.score) / 6**3, 4 / 27, rtol=1e-7)  # the ridge moves the eighth digit


def test_exchange_finds_the_two_times_of_box_and_lucas_on_a_grid():
    rows = SUPPORTS["Box and Lucas"][0]
    points = np.round(np.linspace(0.01, 10.0, 1000), 2)
    design = exchange_design(problem_at(rows, points), size=2)
    assert_allclose(points[list(design.picks)], [1.23, 6.86], atol=1e-12)  # published
