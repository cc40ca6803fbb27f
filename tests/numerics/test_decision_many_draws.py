"""Joint odds of a decision against a million plain draws, put together here by hand."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from trialcut import services
from trialcut.physics.cut import cut_table
from trialcut.planning.decision.decide import decide
from trialcut.planning.demands import DemandKind
from trialcut.planning.prepared import DEPTHS, prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.walls import bare_walls

BATCH, BATCHES = 50_000, 20


def _plain_odds(decision, seed):
    """Draw parameters and chance anew, and count pieces that hold every demand as known now."""
    part = decision.part
    prepared, study = part.prepared, part.prepared.study
    random = np.random.default_rng(seed)
    parameters = study.knowledge.draw(study.setup, count=BATCH, seed=seed)
    central = prepared.central
    piece = float(central.piece_scatter) * random.standard_normal(BATCH)
    edge_sd = np.hypot(float(central.edge_scatter), study.machine.position_sd)
    holds = np.ones(BATCH, dtype=bool)
    walls, finishes = {}, {}
    for position, edge in enumerate(prepared.edges):
        cut = part.assignment[edge.id]
        table = cut_table(
            setup=study.setup,
            parameters=parameters,
            central=central,
            speeds=np.array([cut.speed]),
            depths=DEPTHS,
            tilted=cut.stance is Stance.TILTED,
            tilt_travel=study.machine.tilt_travel,
        )
        holds &= table.through[0]
        bare = bare_walls(table, float(prepared.path_curvature[position]))[0]
        chance = piece + edge_sd * random.standard_normal(BATCH)
        walls[edge.id] = bare + part.state(edge.id).wall.offset + chance
        rough = table.finish_ra[0] * np.exp(float(central.finish_scatter) * random.standard_normal(BATCH))
        finishes[edge.id] = rough
    for demand in study.demands:
        if demand.kind is DemandKind.SIZE:
            value = demand.nominal + sum(
                weight * walls[edge] for weight, edge in zip(demand.weights, demand.edges, strict=True)
            )
            holds &= ((demand.lower <= value) & (value <= demand.upper)).all(axis=0)
        else:
            assert demand.kind is DemandKind.FINISH
            holds &= finishes[demand.edges[0]] <= demand.upper
    return holds.mean()


@pytest.fixture(scope="module", params=[False, True], ids=["link", "plate"])
def decision(request):
    return decide(Preview(prepare(services.demo_study(metric=request.param))))


def test_joint_odds_are_those_of_a_million_plain_draws(decision):
    """Within four standard errors of the 2,048 shared draws of a plan."""
    plain = np.mean([_plain_odds(decision, seed) for seed in range(1000, 1000 + BATCHES)])
    draws = decision.part.prepared.study.draws
    assert_allclose(decision.joint, plain, rtol=0, atol=4.0 * np.sqrt(plain * (1.0 - plain) / draws))
