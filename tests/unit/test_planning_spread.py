"""The summary of draws, against numpy's own mean, deviation and quantiles."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from trialcut.planning.results import Spread


@pytest.mark.parametrize("size", [1, 2, 3, 19, 20, 21, 40, 41, 101, 2000, 2048])
def test_a_spread_is_to_the_last_bit_what_numpy_says(size: int) -> None:
    generator = np.random.default_rng(size)
    for scale in (1e-6, 1.0, 1e5):
        draws = scale * (1.0 + generator.normal(size=size))
        found = Spread.of(draws)
        assert_array_equal([found.mean, found.sd], [draws.mean(), draws.std()])
        assert_array_equal([found.p05, found.p95], np.quantile(draws, (0.05, 0.95)))


def test_draws_that_are_all_one_number_have_no_spread() -> None:
    assert Spread.of(np.broadcast_to(0.1, 2048)).sd == 0.0
    assert Spread.of(0.1).sd == 0.0


def test_one_draw_that_is_no_number_leaves_none() -> None:
    found = Spread.of([1.0, np.nan, 2.0])
    assert_array_equal([found.mean, found.p05, found.p95], [np.nan] * 3)
