"""Where walls are aimed. Expected values are worked by hand beside each case."""

import numpy as np
from numpy.testing import assert_allclose

from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.targets import governing_depths, wall_targets

MM = 1e-3
INDEX = {"A1": 0, "A2": 1, "A3": 2, "B1": 3}


def size(name, edges, weights, lower, upper, *, nominal=40 * MM, depth=Depth.EVERY):
    return Demand(
        id=name,
        kind=DemandKind.SIZE,
        title=name,
        text=name,
        edges=edges,
        weights=weights,
        nominal=nominal,
        lower=lower,
        upper=upper,
        depth=depth,
    )


def test_symmetrical_limits_aim_at_the_drawn_edge():
    demand = size("w", ("A1", "A3"), (1.0, 1.0), 39.9 * MM, 40.1 * MM)
    assert_allclose(wall_targets([demand], INDEX), np.zeros(4))


def test_two_edges_share_the_shift_of_a_one_sided_tolerance():
    # +0.1/-0 on 40 mm: the middle is 0.05 mm over nominal, 0.025 mm for each edge.
    demand = size("w", ("A1", "A3"), (1.0, 1.0), 40.0 * MM, 40.1 * MM)
    assert_allclose(wall_targets([demand], INDEX), [0.025 * MM, 0.0, 0.025 * MM, 0.0], rtol=1e-5)


def test_an_opening_that_shall_be_larger_has_its_wall_moved_into_the_material():
    # Diameter +0.2/-0: middle +0.1 mm; the wall reads twice, with weight -2: -0.05 mm.
    demand = size("b", ("B1",), (-2.0,), 10.0 * MM, 10.2 * MM, nominal=10 * MM)
    assert_allclose(wall_targets([demand], INDEX)[3], -0.05 * MM, rtol=1e-5)


def test_the_tighter_of_two_sizes_on_one_edge_weighs_more():
    tight = size("t", ("A1", "A2"), (1.0, 1.0), 40.00 * MM, 40.02 * MM)
    loose = size("l", ("A1", "A3"), (1.0, 1.0), 39.80 * MM, 40.20 * MM)
    targets = wall_targets([tight, loose], INDEX)
    assert_allclose(targets[0] + targets[1], 0.01 * MM, rtol=1e-3)


def test_a_wall_is_centred_at_the_one_depth_that_all_its_sizes_name():
    top = size("w", ("A1", "A3"), (1.0, 1.0), 39.9 * MM, 40.1 * MM, depth=Depth.TOP)
    every = size("v", ("A2", "A3"), (1.0, 1.0), 39.9 * MM, 40.1 * MM)
    assert governing_depths([top, every], INDEX) == [Depth.TOP, Depth.EVERY, Depth.EVERY, Depth.EVERY]
