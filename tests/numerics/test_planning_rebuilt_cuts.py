"""A plan that is cut again from what it prints is the same cut: speeds, stances and aims."""

from dataclasses import replace

from numpy.testing import assert_allclose

from trialcut import services
from trialcut.planning.cut_part import cut_in_thought, cuts_of
from trialcut.planning.forecast import forecast
from trialcut.planning.prepared import prepare


def test_a_part_cut_again_from_its_forecast_has_the_same_offsets():
    study = services.demo_study()
    option = services.plan_study(study).option("cheapest")
    again = cut_in_thought(prepare(study), cuts_of(option.forecast.edges))
    assert_allclose(
        [again.state(edge.id).wall.offset for edge in option.forecast.edges],
        [edge.offset for edge in option.forecast.edges],
        rtol=0.0,
        atol=1e-12,
    )


def test_a_shift_of_the_aim_moves_the_wall_and_is_told():
    study = services.demo_study()
    plain = services.forecast_study(study, speed=2e-3, stance="tilted", offset="centred")
    cuts = {edge: replace(cut, shift=10e-6) for edge, cut in cuts_of(plain.edges).items()}
    moved = forecast(study, assignment=cuts)
    for before, after in zip(plain.edges, moved.edges, strict=True):
        assert after.shift == 10e-6
        assert_allclose(after.offset - before.offset, 10e-6, rtol=0.0, atol=1e-12)
        assert_allclose(after.wall_top.mean - before.wall_top.mean, 10e-6, rtol=0.0, atol=1e-12)
