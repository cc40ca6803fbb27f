"""The priors of a fit are those of a forecast without readings."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.stats import ks_2samp, truncnorm

from published_trade import ALUMINIUM, trade_setup
from trialcut.physics.kerf_forms import KerfForm
from trialcut.physics.parameters import CutParameters, central_parameters, draw_parameters
from trialcut.sources import constant_set
from trialcut.trials.priors import prior_of, value_at_score

COUNT = 20_000
ALIKE = 1e-4
"""Probability below which two samples are held to be of unlike distributions."""


def test_scores_of_zero_give_the_medians():
    setup, prior = trade_setup(), prior_of(KerfForm.CLOSING, [ALUMINIUM])
    found = prior.parameters(prior.values(np.zeros((len(prior.names), 1))), setup)
    central = central_parameters(setup)
    # limits cut the distributions off unevenly, which moves medians by less than this
    for name in ("kerf_gain", "taper_exponent", "taper_neutral", "barrel", "lag_exponent", "finish_gain"):
        assert_allclose(getattr(found, name), getattr(central, name), rtol=2e-2, atol=1e-12)
    assert_allclose(found.separation_factor, 1.0, rtol=1e-12)


@pytest.mark.parametrize(
    "name", ["kerf_gain", "taper_exponent", "taper_neutral", "lag_limit_angle", "finish_depth_exponent"]
)
def test_normal_scores_give_the_draws_of_a_forecast(name):
    setup, prior = trade_setup(), prior_of(KerfForm.CLOSING, [ALUMINIUM])
    scores = np.random.default_rng(1).standard_normal((len(prior.names), COUNT))
    ours = getattr(prior.parameters(prior.values(scores), setup), name)
    theirs = getattr(draw_parameters(setup, count=COUNT, seed=2), name)
    assert ks_2samp(ours, theirs).pvalue > ALIKE


def test_a_constant_with_limits_follows_scipys_truncated_normal():
    constant = constant_set("kerf-taper")["taper_neutral"]
    low, high = ((limit - constant.value) / constant.sd for limit in (constant.lower, constant.upper))
    shares = np.array([0.001, 0.1, 0.5, 0.9, 0.999])
    scores = truncnorm(-np.inf, np.inf).ppf(shares)
    assert_allclose(
        value_at_score(constant, scores),
        truncnorm(low, high, loc=constant.value, scale=constant.sd).ppf(shares),
        rtol=1e-9,
    )


@pytest.mark.parametrize("form", list(KerfForm))
def test_every_score_moves_a_parameter_of_the_cut(form):
    setup, prior = trade_setup(thickness=0.0127), prior_of(form, [ALUMINIUM])
    count = len(prior.names)
    at = prior.parameters(prior.values(np.hstack([np.zeros((count, 1)), np.eye(count)])), setup)
    drawn = np.stack([value for name in CutParameters.__slots__ if np.ndim(value := getattr(at, name)) == 1])
    moved = (drawn[:, 1:] != drawn[:, :1]).any(axis=0)
    assert moved.all(), [name for name, was in zip(prior.names, moved, strict=True) if not was]


def test_the_three_forms_start_from_the_same_taper_at_one_inch():
    """Common practice, no source: 8 to 10 thou over both sides at a tenth of separation speed."""
    from trialcut.physics.kerf_forms import kerf_wall

    setup = trade_setup()
    for form in KerfForm:
        prior = prior_of(form, [])
        central = prior.parameters(prior.values(np.zeros((len(prior.names), 1))), setup)
        wall = kerf_wall(
            setup=setup,
            parameters=central,
            speed_ratio=np.array([[0.1]]),
            log_ratio=np.log([0.1]),
            depths=np.array([0.0, 1.0]),
        )
        both_sides = 2.0 * float(wall.width[0, 0, 0] - wall.width[0, 1, 0])
        assert 8 * 25.4e-6 <= both_sides <= 10.2 * 25.4e-6
