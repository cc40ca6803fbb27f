"""Odds against the closed form of a normal distribution (JCGM 106:2012, conformance probability)."""

from statistics import NormalDist

import numpy as np
from numpy.testing import assert_allclose

from trialcut.planning.demands import Demand, DemandKind, Depth
from trialcut.planning.evaluate import EdgeState, joint_odds, outcome
from trialcut.planning.scatter import draw_scatter
from trialcut.planning.walls import EdgeWall

MM = 1e-3
DRAWS = 400_000
THREE_SD = 3.0 * 0.5 / np.sqrt(DRAWS)
"""Three standard deviations of a fraction of DRAWS, at worst."""


def wall_of(now, corrected=None):
    corrected = now if corrected is None else corrected
    return EdgeWall(now=now, corrected=corrected, systematic=now, offset=0.0)


def states(walls):
    draws = next(iter(walls.values())).shape[1]
    return {
        name: EdgeState(
            wall=wall_of(wall),
            finish=np.full_like(wall, 3e-6),
            through=np.ones(draws, dtype=bool),
        )
        for name, wall in walls.items()
    }


def scatter_of(edges, sd):
    return draw_scatter(
        closed=np.zeros(edges, dtype=bool),
        draws=DRAWS,
        seed=3,
        piece_sd=0.0,
        edge_sd=sd,
        gauge_sd=0.0,
        finish_log_sd=0.1,
    ).wall


def size(upper, lower, *, edges=("A1", "A3"), weights=(1.0, 1.0), depth=Depth.EVERY, name="w"):
    return Demand(
        id=name,
        kind=DemandKind.SIZE,
        title="",
        text="",
        edges=edges,
        weights=weights,
        nominal=40 * MM,
        lower=40 * MM + lower,
        upper=40 * MM + upper,
        depth=depth,
    )


def evaluate(demand, found):
    return outcome(demand, state=found.__getitem__, corner_lag={}, rms_over_ra=np.full(DRAWS, 1.2))


def test_the_odds_of_a_size_between_two_upright_walls_are_the_normal_conformance_probability():
    sd = 0.02 * MM
    wall = scatter_of(2, sd)
    found = states({"A1": np.tile(wall[0], (5, 1)), "A3": np.tile(wall[1], (5, 1))})
    result = evaluate(size(0.05 * MM, -0.03 * MM), found)
    pair = NormalDist(0.0, sd * np.sqrt(2.0))
    assert_allclose(result.odds, pair.cdf(0.05 * MM) - pair.cdf(-0.03 * MM), atol=THREE_SD)


def test_a_leaning_wall_must_hold_at_top_and_bottom_at_once():
    # The bottom stands 0.04 mm proud; a size of +-0.05 leaves the sum of two such walls -0.05 to -0.03.
    sd = 0.01 * MM
    wall = scatter_of(2, sd)
    lean = np.linspace(0.0, 0.04 * MM, 5)[:, None]
    found = states({"A1": wall[0] + lean, "A3": wall[1] + lean})
    result = evaluate(size(0.05 * MM, -0.05 * MM), found)
    pair = NormalDist(0.0, sd * np.sqrt(2.0))
    assert_allclose(result.odds, pair.cdf(-0.03 * MM) - pair.cdf(-0.05 * MM), atol=THREE_SD)


def test_a_size_asked_at_the_top_only_does_not_mind_the_bottom():
    sd = 0.01 * MM
    wall = scatter_of(2, sd)
    lean = np.linspace(0.0, 1.0 * MM, 5)[:, None]
    found = states({"A1": wall[0] + lean, "A3": wall[1] + lean})
    result = evaluate(size(0.02 * MM, -0.02 * MM, depth=Depth.TOP), found)
    pair = NormalDist(0.0, sd * np.sqrt(2.0))
    assert_allclose(result.odds, 2.0 * pair.cdf(0.02 * MM) - 1.0, atol=THREE_SD)


def test_the_joint_odds_of_demands_on_one_wall_are_not_the_product():
    # One wall decides both sizes: both hold together exactly when the tighter one does.
    wall = scatter_of(1, 0.02 * MM)
    found = states({"A1": np.tile(wall[0], (5, 1))})
    tight = evaluate(size(0.03 * MM, -0.03 * MM, edges=("A1",), weights=(1.0,)), found)
    loose = evaluate(size(0.04 * MM, -0.04 * MM, edges=("A1",), weights=(1.0,), name="v"), found)
    joint, _ = joint_odds([tight, loose], np.ones(DRAWS, dtype=bool))
    assert joint == tight.odds
    assert joint > tight.odds * loose.odds


def test_a_cut_that_does_not_go_through_holds_nothing():
    found = states({"A1": np.zeros((5, DRAWS)), "A3": np.zeros((5, DRAWS))})
    blocked = EdgeState(wall=found["A1"].wall, finish=found["A1"].finish, through=np.zeros(DRAWS, dtype=bool))
    result = evaluate(size(1 * MM, -1 * MM), {**found, "A1": blocked})
    assert result.odds == 0.0
    assert result.odds_corrected == 0.0
