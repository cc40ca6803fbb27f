"""Exchange, rank updates and blocks against plain linear algebra and against trying every design."""

from itertools import combinations_with_replacement, pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from trialcut.errors import RangeError, UsageError
from trialcut.trials.design.approximate import approximate_design
from trialcut.trials.design.exact import design_of, design_sequence, exchange_design
from trialcut.trials.design.information import gains, precision_of, score
from trialcut.trials.design.problem import Criterion, DesignProblem, Experiment

P, Q = 4, 2


def experiments(count=9, *, seed=3, blocks=("day 1", "day 2")) -> tuple[Experiment, ...]:
    generator = np.random.default_rng(seed)
    found = []
    for k in range(count):
        readings = 1 + k % 3
        half = generator.standard_normal((readings, readings))
        found.append(
            Experiment(
                label=f"{k}",
                rows=generator.standard_normal((readings, P)),
                covariance=half @ half.T + 0.3 * np.eye(readings),
                cost=1.0 + generator.random(),
                block=blocks[k % len(blocks)],
                effects=generator.standard_normal((readings, Q)),
            )
        )
    return tuple(found)


def problem(criterion=Criterion.D, **given) -> DesignProblem:
    generator = np.random.default_rng(8)
    targets = {"targets": generator.standard_normal((3, P)), "weights": np.array([1.0, 2.0, 0.5])}
    return DesignProblem(
        experiments=experiments(),
        prior_precision=np.diag([1.0, 2.0, 0.5, 1.5]),
        criterion=criterion,
        block_covariance=np.array([[0.8, 0.2], [0.2, 0.5]]),
        **(targets if criterion is Criterion.I else {}),
        **given,
    )


def covariance_after(asked: DesignProblem, picks) -> np.ndarray:
    """Covariance by conditioning on all readings at once, with session errors in theirs."""
    prior = np.linalg.inv(asked.prior_precision)
    if not len(picks):
        return prior
    chosen = [asked.experiments[k] for k in picks]
    rows = np.vstack([each.rows for each in chosen])
    owner = np.concatenate([[k] * len(each.rows) for k, each in enumerate(chosen)])
    errors = np.zeros((len(rows), len(rows)))
    for a, first in enumerate(chosen):
        for b, second in enumerate(chosen):
            spot = np.ix_(owner == a, owner == b)
            if first.block == second.block:
                errors[spot] += first.effects @ asked.block_covariance @ second.effects.T
            if a == b:
                errors[spot] += first.covariance
    total = rows @ prior @ rows.T + errors
    return prior - prior @ rows.T @ np.linalg.solve(total, rows @ prior)


def plain_score(asked: DesignProblem, picks) -> float:
    covariance = covariance_after(asked, picks)
    if asked.criterion is Criterion.D:
        return -np.log(np.linalg.det(covariance))
    if asked.criterion is Criterion.A:
        return -np.trace(covariance)
    return -float(asked.weights @ np.diag(asked.targets @ covariance @ asked.targets.T))


@pytest.mark.parametrize("criterion", list(Criterion))
@pytest.mark.parametrize("picks", [(), (0,), (1, 1, 4), (0, 2, 5, 8, 8)])
def test_a_score_is_that_of_conditioning_on_all_readings_at_once(criterion, picks):
    asked = problem(criterion)
    assert_allclose(design_of(asked, picks).score, plain_score(asked, picks), rtol=1e-10)


@pytest.mark.parametrize("criterion", list(Criterion))
def test_the_gain_of_each_candidate_is_the_difference_of_the_scores(criterion):
    asked, picks = problem(criterion), (1, 3, 3)
    gained = [plain_score(asked, (*picks, k)) - plain_score(asked, picks) for k in range(9)]
    assert_allclose(gains(asked, precision_of(asked, picks)), gained, rtol=1e-9)


@pytest.mark.parametrize("criterion", list(Criterion))
def test_exchange_finds_the_best_of_all_designs(criterion):
    asked = problem(criterion)
    best = max(combinations_with_replacement(range(9), 3), key=lambda picks: plain_score(asked, picks))
    assert exchange_design(asked, size=3).picks == best


@pytest.mark.parametrize("criterion", list(Criterion))
def test_exchange_finds_the_most_gained_per_cost(criterion):
    asked = problem(criterion, block_cost=0.7)
    before = plain_score(asked, ())

    def ratio(picks):
        opened = len({asked.experiments[k].block for k in picks})
        cost = sum(asked.experiments[k].cost for k in picks) + 0.7 * opened
        return (plain_score(asked, picks) - before) / cost

    best = max(combinations_with_replacement(range(9), 3), key=ratio)
    found = exchange_design(asked, size=3, per_cost=True)
    assert found.picks == best
    assert_allclose((found.score - before) / found.cost, ratio(best), rtol=1e-9)


def test_a_design_that_must_repeat_is_the_best_of_those_that_do():
    asked = problem()
    those = [each for each in combinations_with_replacement(range(9), 4) if len(set(each)) <= 3]
    best = max(those, key=lambda picks: plain_score(asked, picks))
    found = exchange_design(asked, size=4, repeats=1)
    assert found.picks == best
    assert found.repeats >= 1


def test_nested_designs_grow_by_one_and_the_improved_are_at_least_as_good():
    sizes = design_sequence(problem(Criterion.I), largest=5, repeats_from=4)
    for size, (smaller, larger) in enumerate(pairwise(sizes), start=1):
        rest = list(larger.nested.picks)
        for pick in smaller.nested.picks:
            rest.remove(pick)
        assert len(rest) == 1
        assert len(larger.improved.picks) == size
        assert larger.improved.score >= larger.nested.score
    assert all(each.improved.repeats >= 1 and each.nested.repeats >= 1 for each in sizes[4:])


def test_the_same_seed_gives_the_same_design():
    found = [exchange_design(problem(), size=4, seed=5, starts=3) for _ in range(2)]
    assert_array_equal(found[0].picks, found[1].picks)


def test_no_design_by_shares_is_beaten_by_a_whole_one():
    asked = problem(Criterion.D)
    shares = approximate_design(asked, size=4)
    assert shares.gap <= 1e-9
    assert shares.score >= exchange_design(asked, size=4).score


def test_a_block_whose_errors_are_large_tells_only_differences():
    rows = np.array([[1.0]])
    alone = Experiment(label="one", rows=rows, effects=np.array([[1.0]]))
    asked = DesignProblem(experiments=(alone,), prior_precision=np.eye(1), block_covariance=np.array([[1e8]]))
    assert_allclose(score(asked, precision_of(asked, (0, 0, 0))), 0.0, atol=1e-7)


def test_nuisance_parameters_are_left_out_of_the_determinant():
    asked = problem(wanted=(0, 2))
    covariance = covariance_after(asked, (1, 4, 6))[np.ix_([0, 2], [0, 2])]
    assert_allclose(design_of(asked, (1, 4, 6)).score, -np.log(np.linalg.det(covariance)), rtol=1e-10)


def test_experiments_without_cost_or_shape_are_refused():
    with pytest.raises(RangeError, match="above zero"):
        DesignProblem(experiments=(Experiment(label="free", rows=np.ones((1, 2)), cost=0.0),))
    with pytest.raises(RangeError, match="parameters"):
        DesignProblem(
            experiments=(
                Experiment(label="a", rows=np.ones((1, 2))),
                Experiment(label="b", rows=np.ones((1, 3))),
            )
        )
    with pytest.raises(UsageError, match="targets"):
        DesignProblem(experiments=experiments(), criterion=Criterion.I)
    with pytest.raises(UsageError, match="candidates"):
        DesignProblem(experiments=())
    with pytest.raises(UsageError, match="repeat"):
        exchange_design(problem(), size=1, repeats=1)
