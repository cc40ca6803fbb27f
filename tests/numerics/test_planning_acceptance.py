"""Accepting by readings: risks against JCGM 106 integrals, and what a guard does to odds and plans."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import norm

from sample_parts import plate
from sample_studies import study_of
from trialcut.planning.acceptance import Acceptance, acceptances, risks
from trialcut.planning.conformance import global_risks, guard_band
from trialcut.planning.decision.decide import cost_of_decision, decide
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.evaluate import EdgeState, outcome
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.walls import EdgeWall

DRAWS = 400_000
LIMIT, SPREAD, ERROR = 0.10e-3, 0.06e-3, 0.02e-3
SIZE = Demand(
    id="size-A1", kind=DemandKind.SIZE, title="A1", text="±0.1 mm", edges=("A1",), weights=(1.0,),
    lower=-LIMIT, upper=LIMIT,
)  # fmt: skip


def judged(acceptance):
    wall = np.tile(SPREAD * np.random.default_rng(4).standard_normal(DRAWS), (5, 1))
    state = EdgeState(
        wall=EdgeWall(now=wall, corrected=wall, systematic=wall, offset=0.0),
        finish=np.zeros((5, DRAWS)),
        through=np.ones(DRAWS, dtype=bool),
    )
    return outcome(
        SIZE, state=lambda _: state, corner_lag={}, rms_over_ra=np.ones(DRAWS), acceptance=acceptance
    )


@pytest.mark.parametrize("probability", [0.5, 0.8, 0.95])
def test_counted_risks_are_the_integrals_of_jcgm_106(probability):
    band = guard_band(standard_uncertainty=ERROR, probability=probability)
    error = ERROR * np.random.default_rng(5).standard_normal(DRAWS)
    found = judged(Acceptance(band=band, error=error))
    counted = risks(conforms=found.conforms, accepted=found.holds)
    exact = global_risks(
        norm(scale=SPREAD).pdf,
        standard_uncertainty=ERROR,
        lower=-LIMIT,
        upper=LIMIT,
        accept_lower=-LIMIT + band,
        accept_upper=LIMIT - band,
        support=(-8.0 * SPREAD, 8.0 * SPREAD),
    )
    for mine, theirs in ((counted.consumer, exact.consumer), (counted.producer, exact.producer)):
        assert_allclose(mine, theirs, rtol=0, atol=4.0 * np.sqrt(theirs / DRAWS))


def test_without_a_guard_acceptance_is_conformity():
    found = judged(None)
    assert (found.holds == found.conforms).all()
    assert_allclose(found.odds, 2.0 * norm.cdf(LIMIT / SPREAD) - 1.0, rtol=0, atol=4.0 / np.sqrt(DRAWS))


def test_the_width_needed_is_the_deviation_over_half_the_tolerance():
    found = judged(None)
    assert_allclose(found.need, np.abs(found.values[0]) / LIMIT, rtol=1e-12)


def _demanding(**changes):
    part = plate()
    edges = [edge.id for edge in part.edges]
    demands = tuple(
        replace(SIZE, id=f"size-{edge}", edges=(edge,), lower=-2e-4, upper=2e-4) for edge in edges
    )
    return replace(study_of(part, demands, draws=512), **changes)


def test_only_what_the_gauge_reads_is_guarded():
    study = _demanding(guard=0.95)
    finish = Demand(
        id="f", kind=DemandKind.FINISH, title="f", text="f", edges=(study.demands[0].edges[0],), upper=1e-5
    )
    found = acceptances(replace(study, demands=(*study.demands, finish)))
    assert set(found) == {demand.id for demand in study.demands}


def test_a_guard_never_makes_a_good_piece_cheaper():
    prices = []
    for guard in (None, 0.5, 0.95, 0.999):
        decision = decide(Preview(prepare(_demanding(guard=guard))), checked=False)
        good = cost_of_decision(decision).good
        prices.append(np.inf if good is None else good.mean)
    assert np.isfinite(prices[0])
    assert prices == sorted(prices)
