"""Walls of an edge: centring, first-piece correction, lag on arcs. Expected values by hand."""

import numpy as np
from numpy.testing import assert_allclose

from trialcut.planning.demands import Depth
from trialcut.planning.results import Stance
from trialcut.planning.walls import centre_line, first_piece_reading, reset_wall

UM = 1e-6


def test_the_centre_of_a_wall_is_midway_between_its_extremes():
    wall = np.array([[0.0], [4.0], [10.0], [7.0], [-2.0]]) * UM
    assert_allclose(centre_line(wall, Depth.EVERY), [4.0 * UM])
    assert_allclose(centre_line(wall, Depth.TOP), [0.0])
    assert_allclose(centre_line(wall, Depth.BOTTOM), [-2.0 * UM])


def test_resetting_a_tilted_wall_leaves_its_bow_alone():
    depth = np.linspace(0.0, 1.0, 5)[:, None]
    bow = 8.0 * UM * 4.0 * depth * (1.0 - depth)
    wall = 30.0 * UM + 50.0 * UM * depth + bow
    assert_allclose(reset_wall(wall, stance=Stance.TILTED, depth=Depth.EVERY), bow, atol=1e-18)


def test_resetting_an_upright_wall_leaves_its_lean():
    depth = np.linspace(0.0, 1.0, 5)[:, None]
    wall = 30.0 * UM + 50.0 * UM * depth
    expected = 50.0 * UM * (depth - 0.5)
    assert_allclose(reset_wall(wall, stance=Stance.UPRIGHT, depth=Depth.EVERY), expected, atol=1e-18)


def test_a_top_demand_resets_an_upright_wall_at_its_top():
    reading = first_piece_reading(
        np.array([3.0 * UM]), np.array([9.0 * UM]), stance=Stance.UPRIGHT, depth=Depth.TOP
    )
    assert_allclose(reading, [[3.0 * UM]])
