"""Ellipses and splines become tangent arcs within a micrometre."""

from __future__ import annotations

from math import hypot, pi, sqrt

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.interpolate import BSpline
from scipy.special import ellipe

from trialcut.errors import DrawingError
from trialcut.geometry.biarcs import arc_through, arcs_from_curve, biarc
from trialcut.geometry.curves import Arc, Line
from trialcut.geometry.importers.shapes import conic_segments, spline_segments
from trialcut.geometry.outline import flatten_segments
from trialcut.geometry.table import SegmentTable
from trialcut.geometry.tolerances import CURVE

TAU = 2 * pi


def steps(segments: tuple[Line | Arc, ...]) -> np.ndarray:
    """Turn of direction from each segment to the next, without the last one's."""
    return SegmentTable.of([segments]).turns()[:-1]


def test_an_arc_through_two_points_leaves_along_its_tangent() -> None:
    arc = arc_through((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    assert isinstance(arc, Arc)
    assert_allclose((*arc.centre, arc.radius, arc.sweep), (0.0, 1.0, 1.0, pi / 2), atol=1e-15)
    assert_allclose(arc.end, (1.0, 1.0), atol=1e-15)


def test_straight_on_it_is_a_line() -> None:
    assert isinstance(arc_through((0.0, 0.0), (1.0, 0.0), (2.0, 0.0)), Line)


#       _
#    __/        a pair of arcs that leaves to the right and arrives to the right, 1 across and 1 up
def test_a_biarc_is_tangent_at_both_ends_and_in_the_middle() -> None:
    first, second = biarc((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (1.0, 0.0))
    assert_allclose(first.heading(0.0), 0.0, atol=1e-14)
    assert_allclose(np.mod(second.heading(1.0) + 1.0, TAU), 1.0, atol=1e-14)
    assert_allclose(steps((first, second)), [0.0], atol=1e-14)
    # By symmetry they meet half way, and each turns a quarter.
    assert_allclose(first.end, (0.5, 0.5), atol=1e-14)


@pytest.mark.parametrize("ratio", [0.9, 0.5, 0.1, 0.02])
def test_an_ellipse_is_met_within_a_micrometre_by_arcs_without_corners(ratio: float) -> None:
    a, b = 0.05, 0.05 * ratio
    segments, free = conic_segments((0.01, 0.02), (a, 0.0), (0.0, b), 0.0, TAU)
    assert free
    points = flatten_segments(segments, tolerance=1e-9) - (0.01, 0.02)
    angle = np.arctan2(points[:, 1] / b, points[:, 0] / a)
    radial = np.hypot(points[:, 0] / a, points[:, 1] / b) - 1.0
    gradient = np.hypot(np.cos(angle) / a, np.sin(angle) / b)
    assert np.abs(radial / gradient).max() <= 1.0 * CURVE
    assert_allclose(steps(segments), 0.0, atol=1e-6)
    # scipy's complete elliptic integral gives the perimeter; the error of each arc is far below its limit.
    assert_allclose(sum(s.length for s in segments), 4 * a * ellipe(1 - ratio**2), rtol=2e-5)


def test_a_circle_seen_square_on_is_one_exact_arc() -> None:
    segments, free = conic_segments((1.0, 2.0), (3.0, 4.0), (-4.0, 3.0), 0.0, TAU)
    assert not free
    (arc,) = segments
    assert isinstance(arc, Arc)
    assert (arc.centre, arc.radius, arc.sweep) == ((1.0, 2.0), 5.0, TAU)


def test_a_mirrored_circle_runs_the_other_way() -> None:
    (arc,), _ = conic_segments((0.0, 0.0), (1.0, 0.0), (0.0, -1.0), 0.0, pi / 2)
    assert isinstance(arc, Arc)
    assert_allclose((arc.start, arc.end), ((1.0, 0.0), (0.0, -1.0)), atol=1e-15)
    assert arc.sweep < 0.0


def test_a_spline_is_met_within_a_micrometre() -> None:
    rng = np.random.default_rng(3)
    control = np.cumsum(rng.normal(0, 0.01, (12, 2)), axis=0)
    knots = np.concatenate(([0] * 4, np.arange(1, 9), [9] * 4)).astype(float)
    segments = spline_segments(control, knots, None, 3)
    theirs = BSpline(knots, control, 3)(np.linspace(0, 9, 4001))
    ours = flatten_segments(segments, tolerance=1e-9)
    chord = ours[1:] - ours[:-1]
    size = np.einsum("ij,ij->i", chord, chord)
    away = []
    for point in theirs:
        t = np.clip(np.einsum("ij,ij->i", point - ours[:-1], chord) / size, 0, 1)
        near = ours[:-1] + t[:, None] * chord
        away.append(np.hypot(*(near - point).T).min())
    assert max(away) <= CURVE
    assert_allclose(steps(segments), 0.0, atol=1e-6)


def test_a_uniform_periodic_spline_passes_where_its_control_points_say() -> None:
    #  a uniform cubic passes through (before + 4 at + after) / 6 at each knot
    ring = np.array([(0, 0), (0.04, -0.01), (0.06, 0.02), (0.03, 0.05), (-0.01, 0.03)])
    control = np.vstack((ring, ring[:3]))
    segments = spline_segments(control, np.arange(12.0), None, 3)
    expected = (ring + 4 * np.roll(ring, -1, axis=0) + np.roll(ring, -2, axis=0)) / 6
    starts = np.array([segment.start for segment in segments])
    for point in expected:
        assert_allclose(np.hypot(*(starts - point).T).min(), 0.0, atol=1e-15)
    assert_allclose(segments[-1].end, segments[0].start, atol=1e-12)


def test_a_rational_quadratic_quarter_is_a_quarter_circle() -> None:
    segments = spline_segments(
        np.array([(0.02, 0.0), (0.02, 0.02), (0.0, 0.02)]),
        np.array([0.0, 0, 0, 1, 1, 1]),
        np.array([1.0, sqrt(0.5), 1.0]),
        2,
    )
    for segment in segments:
        assert isinstance(segment, Arc)
        assert_allclose((*segment.centre, segment.radius), (0.0, 0.0, 0.02), atol=1e-9)


def test_a_spline_of_degree_one_is_its_frame() -> None:
    segments = spline_segments(
        np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]), np.array([0.0, 0, 1, 2, 2]), None, 1
    )
    assert segments == (Line((0.0, 0.0), (1.0, 0.0)), Line((1.0, 0.0), (1.0, 1.0)))


def test_a_kink_stays_a_kink() -> None:
    def kinked(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        slope = np.where(t < 1.0, 1.0, -1.0)
        return np.stack((t, 1.0 - np.abs(t - 1.0)), axis=1), np.stack((np.ones_like(t), slope), axis=1)

    segments = arcs_from_curve(kinked, [0.0, 1.0, 2.0])
    assert segments == (Line((0.0, 0.0), (1.0, 1.0)), Line((1.0, 1.0), (2.0, 0.0)))


def test_a_curve_that_is_no_number_is_refused() -> None:
    def nothing(t: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.full((len(t), 2), np.nan), np.ones((len(t), 2))

    with pytest.raises(DrawingError, match="not numbers"):
        arcs_from_curve(nothing, [0.0, 1.0])


def test_the_ends_of_the_arcs_are_the_ends_of_the_curve() -> None:
    segments, _ = conic_segments((0.0, 0.0), (0.03, 0.0), (0.0, 0.01), 0.3, 1.9)
    start = (0.03 * np.cos(0.3), 0.01 * np.sin(0.3))
    end = (0.03 * np.cos(1.9), 0.01 * np.sin(1.9))
    assert hypot(segments[0].start[0] - start[0], segments[0].start[1] - start[1]) < 1e-12
    assert hypot(segments[-1].end[0] - end[0], segments[-1].end[1] - end[1]) < 1e-12
