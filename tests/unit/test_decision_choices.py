"""The choice for all groups equals exhaustive search on small cases, and its bound is below it."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trialcut.planning.decision.choices import ChoiceProblem, Group, climb, cost_of, failing_draws, pruned
from trialcut.planning.decision.programme import best_choices


def _problem(seed, *, groups=3, choices=6, draws=60, budget=6, charges=0):
    chance = np.random.default_rng(seed)
    common = chance.standard_normal(draws)
    made = []
    for _ in range(groups):
        speeds = np.sort(chance.uniform(0.2, 3.0, choices))
        limits = 1.5 + 0.7 * common + 0.7 * chance.standard_normal(draws)
        needs = tuple(frozenset(chance.choice(charges, 1).tolist()) if charges else () for _ in speeds)
        made.append(
            Group(
                cost=chance.uniform(0.5, 2.0) / speeds,
                fails=speeds[:, None] > limits,
                charges=needs if charges else (),
            )
        )
    always = np.zeros(draws, dtype=bool)
    always[:1] = True
    return ChoiceProblem(
        groups=tuple(made), budget=budget, always=always, fixed=chance.uniform(0.0, 1.0, charges)
    )


def _exhausted(problem):
    every = product(*[range(group.cost.size) for group in problem.groups])
    holding = [picks for picks in every if failing_draws(problem, picks).sum() <= problem.budget]
    return min((cost_of(problem, picks) for picks in holding), default=None)


@pytest.mark.parametrize("charges", [0, 2])
@pytest.mark.parametrize("seed", range(12))
def test_the_programme_finds_what_exhaustion_finds(seed, charges):
    problem = _problem(seed, charges=charges, budget=4 + seed)
    found, best = best_choices(problem, gap=0.0), _exhausted(problem)
    assert (found is None) == (best is None)
    if found is not None:
        assert_allclose(found.cost, best, rtol=1e-9)
        assert failing_draws(problem, found.picks).sum() == found.failing <= problem.budget
        assert found.bound <= best * (1.0 + 1e-9)


def test_a_budget_that_nothing_keeps_has_no_answer():
    fails = np.ones((2, 10), dtype=bool)
    group = Group(cost=np.array([1.0, 2.0]), fails=fails)
    problem = ChoiceProblem(groups=(group,), budget=3, always=np.zeros(10, dtype=bool), fixed=np.zeros(0))
    assert best_choices(problem) is None


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 10_000), budget=st.integers(1, 30))
def test_the_climb_keeps_the_budget_and_never_beats_the_bound(seed, budget):
    problem = _problem(seed, budget=budget)
    smaller, _ = pruned(problem)
    quick, proven = climb(smaller), best_choices(problem, gap=0.0)
    if proven is None:
        assert quick is None
        return
    if quick is not None:
        assert quick.failing <= budget
        assert quick.cost >= proven.bound - 1e-9
    assert proven.gap < 1e-6


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10_000))
def test_a_larger_budget_never_costs_more(seed):
    costs = [
        np.inf if (found := best_choices(_problem(seed, budget=budget), gap=0.0)) is None else found.cost
        for budget in (2, 6, 12, 30)
    ]
    assert all(later <= earlier + 1e-9 for earlier, later in pairwise(costs))


@pytest.mark.parametrize("seed", range(8))
def test_leaving_out_hopeless_choices_changes_no_answer(seed):
    problem = _problem(seed, budget=8)
    smaller, places = pruned(problem)
    assert all(len(rows) <= group.cost.size for rows, group in zip(places, problem.groups, strict=True))
    assert _exhausted(smaller) == _exhausted(problem)
