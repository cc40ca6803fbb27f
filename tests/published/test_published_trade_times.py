"""Facts of the trade on a whole part (common practice, no source).

One inch of aluminium, 60,000 psi, 0.014 in orifice, 0.040 in tube, 80 mesh garnet, 50 hp pump. The default
priors are centred on the taper values of these facts, so the taper checks confirm the arithmetic and not the
law; the times do not enter any prior.
"""

import pytest
from numpy.testing import assert_allclose

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, IPM, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.cut_part import Cut
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.forecast import forecast
from trialcut.planning.results import Stance

SPEEDS_IPM = (2.75, 6.25, 10.5)
DIFFERENCES = (68.0, 25.0)
"""Seconds between the first and second, and the second and third speed; to hold within a quarter."""


def block() -> Part:
    """1.2 in square with a half-inch opening: 6.37 in of cut."""
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, 1.2 * INCH, 1.2 * INCH)),
        openings=(round_opening("B", 0.6 * INCH, 0.6 * INCH, 0.25 * INCH),),
    )


def forecasts(stance, demands=()):
    study = study_of(block(), demands)
    return [
        forecast(study, assignment={e.id: Cut(ipm * IPM, stance) for e in study.part.edges})
        for ipm in SPEEDS_IPM
    ]


@pytest.mark.parametrize("stance", [Stance.UPRIGHT, Stance.TILTED])
def test_cycle_times_at_three_speeds_differ_as_the_trade_finds(stance):
    assert_allclose(block().length, 6.4 * INCH, rtol=0.01)
    times = [each.time.total.mean for each in forecasts(stance)]
    assert_allclose(times[0] - times[1], DIFFERENCES[0], rtol=0.25)
    assert_allclose(times[1] - times[2], DIFFERENCES[1], rtol=0.25)


def test_tilting_adds_no_time_worth_the_name():
    for upright, tilted in zip(forecasts(Stance.UPRIGHT), forecasts(Stance.TILTED), strict=True):
        assert tilted.time.total.mean <= 1.01 * upright.time.total.mean


def width() -> Demand:
    return Demand(
        id="size-A1-A3",
        kind=DemandKind.SIZE,
        title="width",
        text="",
        edges=("A1", "A3"),
        weights=(1.0, 1.0),
        nominal=1.2 * INCH,
        lower=1.19 * INCH,
        upper=1.21 * INCH,
    )


@pytest.mark.parametrize(("row", "low", "high"), [(0, 0.008, 0.010), (1, 0.018, 0.020)])
def test_an_upright_size_is_larger_at_the_bottom_by_what_the_trade_finds(row, low, high):
    found = forecasts(Stance.UPRIGHT, (width(),))[row].demands[0]
    over = (found.bottom.mean - found.top.mean) / INCH
    assert low <= over <= high
    spread = 2.0 * forecasts(Stance.UPRIGHT, (width(),))[row].edge("A1").taper_per_side.sd / INCH
    assert over - 2.0 * spread < low
    assert over + 2.0 * spread > high


def test_a_tilted_size_is_the_same_at_top_and_bottom_at_all_three_speeds():
    for each in forecasts(Stance.TILTED, (width(),)):
        found = each.demands[0]
        assert abs(found.bottom.mean - found.top.mean) <= 0.001 * INCH


def test_the_kerf_at_the_top_is_the_same_at_all_three_speeds():
    tops = [each.edge("A1").kerf_top.mean / INCH for each in forecasts(Stance.UPRIGHT)]
    assert max(tops) - min(tops) <= 0.001


def test_all_three_speeds_lie_well_below_separation():
    for each in forecasts(Stance.UPRIGHT):
        assert 0.08 <= each.edge("A1").speed_ratio.mean <= 0.5


def test_the_finish_at_the_slow_speed_is_about_125_microinch_rms():
    found = forecasts(Stance.UPRIGHT)[0].edge("A1").finish_ra
    # 'About': within a fifth, with Rq/Ra between sine and Gaussian.
    assert_allclose(1.18 * found.mean / (1e-6 * INCH), 125.0, rtol=0.2)
