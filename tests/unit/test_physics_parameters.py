"""Medians and draws of what is not known for sure."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from published_trade import trade_setup
from trialcut.physics.parameters import (
    PRIOR_SETS,
    CutParameters,
    central_parameters,
    draw_parameters,
    stream,
)
from trialcut.physics.setup import Material
from trialcut.sources import constant_set

COUNT = 20_000
DRAWS = draw_parameters(trade_setup(), count=COUNT, seed=1)
CENTRAL = central_parameters(trade_setup())
PRIORS = {
    name: each
    for set_id in PRIOR_SETS
    for name, each in constant_set(set_id).items()
    if name in CutParameters.__dataclass_fields__
}
SAMPLING = 6.0
"""Standard errors of a sample mean that chance does not reach in practice."""


@pytest.mark.parametrize("name", PRIORS)
def test_draws_are_centred_on_the_stated_value(name):
    prior, values = PRIORS[name], np.asarray(getattr(DRAWS, name))
    spread = prior.sd if prior.sd is not None else prior.value * np.expm1(prior.log_sd)
    # A median is a quarter less sure than a mean; limits and the pull of a partner shift it by up to 3 % of
    # the spread.
    slack = (1.25 * SAMPLING / np.sqrt(COUNT) + 0.03) * spread
    assert_allclose(np.median(values), prior.value, atol=slack, rtol=0.0)
    assert_allclose(getattr(CENTRAL, name), prior.value, rtol=1e-15)


@pytest.mark.parametrize("name", [name for name, each in PRIORS.items() if each.lower is not None])
def test_draws_stay_within_the_stated_limits(name):
    values = np.asarray(getattr(DRAWS, name))
    assert values.min() >= PRIORS[name].lower
    assert values.max() <= PRIORS[name].upper


def test_a_log_spread_is_the_spread_of_the_logarithm():
    logs = np.log(np.asarray(DRAWS.finish_gain))
    assert_allclose(logs.std(), 0.3, rtol=SAMPLING / np.sqrt(2 * COUNT))


def test_taper_exponent_and_neutral_are_drawn_against_each_other():
    correlation = np.corrcoef(np.log(DRAWS.taper_exponent), DRAWS.taper_neutral)[0, 1]
    # Truncation at zero takes a little of the stated correlation of -0.8.
    assert_allclose(correlation, -0.8, atol=0.02)


def test_the_spread_of_separation_speed_joins_model_and_material():
    unsure = Material(name="x", machinability=100.0, machinability_log_sd=0.2, density=1.0)
    draws = draw_parameters(trade_setup(material=unsure), count=COUNT, seed=3)
    spread = np.log(np.asarray(draws.separation_factor)).std()
    assert_allclose(spread, np.hypot(0.15, 1.15 * 0.2), rtol=SAMPLING / np.sqrt(2 * COUNT))


def test_the_same_seed_gives_the_same_draws():
    again = draw_parameters(trade_setup(), count=COUNT, seed=1)
    other = draw_parameters(trade_setup(), count=COUNT, seed=2)
    assert_array_equal(again.kerf_gain, DRAWS.kerf_gain)
    assert np.all(np.asarray(other.kerf_gain) != np.asarray(DRAWS.kerf_gain))


def test_each_parameter_has_a_stream_of_its_own():
    alone = stream(name="barrel", seed=1).standard_normal(COUNT)
    assert_allclose(DRAWS.barrel, 0.05 * alone, rtol=1e-12)


def test_streams_of_two_parameters_are_independent():
    correlation = np.corrcoef(DRAWS.barrel, DRAWS.kerf_gain)[0, 1]
    assert abs(correlation) < SAMPLING / np.sqrt(COUNT)
