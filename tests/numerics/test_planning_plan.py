"""The plan as a whole: what it promises, checked against plain evaluation of the same draws."""

from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from sample_parts import bracket, rectangle, ring, round_opening
from sample_parts import contour as contour_of
from sample_studies import INCH, IPM, TILTING, UPRIGHT_ONLY, inch_setup, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.cut_part import Cut
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.forecast import forecast
from trialcut.planning.plan import plan
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance

CHANCE = 3.0 * (2.0 * 0.25 / 2048) ** 0.5
"""Three standard deviations of the difference of two fractions of 2048, at worst."""


def square(side=1.2 * INCH, bore=0.25 * INCH) -> Part:
    middle = side / 2.0
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, side, side)),
        openings=(round_opening("B", middle, middle, bore),),
    )


def size(name, edges, weights, nominal, half):
    return Demand(
        id=f"size-{name}",
        kind=DemandKind.SIZE,
        title=name,
        text=f"±{half}",
        edges=edges,
        weights=weights,
        nominal=nominal,
        lower=nominal - half,
        upper=nominal + half,
    )


def square_demands(half, side=1.2 * INCH, bore=0.25 * INCH):
    return (
        size("A1-A3", ("A1", "A3"), (1.0, 1.0), side, half),
        size("A2-A4", ("A2", "A4"), (1.0, 1.0), side, half),
        size("B", ("B1",), (-2.0,), 2.0 * bore, half),
    )


def finish(edge, limit):
    return Demand(
        id=f"finish-{edge}",
        kind=DemandKind.FINISH,
        title="",
        text="",
        edges=(edge,),
        upper=limit,
        finish_is_rms=True,
    )


def same_cut(study, speed, stance):
    return {edge.id: Cut(speed, stance) for edge in study.part.edges}


def test_every_option_that_says_it_holds_has_the_odds_that_were_asked():
    study = study_of(square(), square_demands(0.010 * INCH))
    found = plan(study)
    assert [option.name for option in found.options] == ["accurate", "cheapest", "blank"]
    for option in found.options:
        odds = option.forecast.joint_odds_corrected if option.first_piece else option.forecast.joint_odds
        assert option.holds == (odds >= study.asked_odds)
    assert found.option("cheapest").holds


def test_the_cheapest_plan_is_one_grid_step_from_failing():
    study = study_of(ring(), (size("B", ("B1",), (-2.0,), 0.07, 0.010 * INCH),))
    option = plan(study).option("cheapest")
    preview = Preview(prepare(study))
    edge = option.forecast.edge("B1")
    faster = [speed for speed in preview.speeds if speed > edge.speed]
    assert option.holds
    for stance in (Stance.UPRIGHT, Stance.TILTED):
        cuts = {**same_cut(study, edge.speed, edge.stance), "B1": Cut(float(faster[0]), stance)}
        cuts["A1"] = Cut(option.forecast.edge("A1").speed, option.forecast.edge("A1").stance)
        rival = forecast(study, assignment=cuts)
        odds = rival.joint_odds_corrected if option.first_piece else rival.joint_odds
        limited = rival.edge("B1").speed <= edge.speed * (1.0 + 1e-9)
        assert limited or odds < study.asked_odds


def test_easing_the_sizes_never_makes_the_cheapest_plan_dearer():
    lots = []
    for half in (0.008, 0.012, 0.020, 0.040):
        option = plan(study_of(square(), square_demands(half * INCH))).option("cheapest")
        assert option.holds
        lots.append(option.forecast.cost.lot.mean)
    assert lots == sorted(lots, reverse=True)


def test_the_joint_odds_lie_between_the_product_bound_and_the_weakest_demand():
    study = study_of(square(), square_demands(0.006 * INCH))
    found = forecast(study, assignment=same_cut(study, 3.0 * IPM, Stance.TILTED))
    singles = [demand.odds for demand in found.demands]
    assert found.joint_odds <= min(singles)
    assert found.joint_odds >= 1.0 - sum(1.0 - odds for odds in singles) - 1e-12


def test_the_preview_promises_what_the_forecast_keeps_or_less():
    study = study_of(
        bracket(),
        (
            size("A1-A5", ("A1", "A5"), (1.0, 1.0), 2.5 * INCH, 0.006 * INCH),
            size("B", ("B1",), (-2.0,), 0.5 * INCH, 0.006 * INCH),
            finish("A1", 150e-6 * INCH),
        ),
    )
    prepared = prepare(study)
    preview = Preview(prepared)
    for stance in (Stance.UPRIGHT, Stance.TILTED):
        for k in (0, 8, 14, 20):
            exact = forecast(prepared, assignment=same_cut(study, float(preview.speeds[k]), stance))
            for each in exact.demands:
                if exact.edge(each.demand.edges[0]).speed < preview.speeds[k] * (1.0 - 1e-9):
                    continue
                # The preview's luck is another draw: three standard deviations of a difference.
                assert preview.odds(each.demand, stance, corrected=False)[k] <= each.odds + CHANCE
                assert preview.odds(each.demand, stance, corrected=True)[k] <= each.odds_corrected + CHANCE


def test_a_demand_that_cannot_be_met_says_so_by_how_much_and_what_would_help():
    study = study_of(square(), square_demands(0.001 * INCH), machine=UPRIGHT_ONLY)
    option = plan(study).option("cheapest")
    assert not option.holds
    short = [each for each in option.forecast.demands if each.shortfall]
    assert {each.demand.id for each in short} >= {"size-A1-A3", "size-A2-A4"}
    for each in short:
        assert "95 % asked" in each.shortfall
        assert any("machine it later" in remedy for remedy in each.remedies)


def test_a_machine_that_cannot_tilt_is_never_told_to():
    study = study_of(square(), square_demands(0.012 * INCH), machine=UPRIGHT_ONLY)
    for option in plan(study).options:
        assert {edge.stance for edge in option.forecast.edges} == {Stance.UPRIGHT}


def test_the_blank_is_at_least_as_fast_as_the_cheapest_that_holds_and_leaves_stock_everywhere():
    found = plan(study_of(square(), square_demands(0.008 * INCH)))
    blank, cheapest = found.option("blank").forecast, found.option("cheapest").forecast
    assert blank.time.total.mean <= cheapest.time.total.mean
    assert all(edge.stock > 0.0 for edge in blank.edges)
    assert all(edge.wall_bottom.p05 > 0.0 for edge in blank.edges)


def test_the_same_seed_gives_the_same_forecast_and_another_seed_one_within_chance():
    study = study_of(square(), square_demands(0.006 * INCH))
    cuts = same_cut(study, 3.0 * IPM, Stance.TILTED)
    first, again = forecast(study, assignment=cuts), forecast(study, assignment=cuts)
    other = forecast(replace(study, seed=2), assignment=cuts)
    assert first == again
    # Two independent fractions of 2048: four standard deviations of their difference.
    assert_allclose(other.joint_odds, first.joint_odds, atol=4.0 * (0.5 / 2048) ** 0.5)


def test_asymmetric_limits_move_the_wall_not_the_odds():
    side = 1.2 * INCH
    plain = size("A1-A3", ("A1", "A3"), (1.0, 1.0), side, 0.006 * INCH)
    shifted = replace(plain, lower=side, upper=side + 0.012 * INCH)
    cuts = same_cut(study_of(square()), 3.0 * IPM, Stance.TILTED)
    one = forecast(study_of(square(), (plain,)), assignment=cuts)
    two = forecast(study_of(square(), (shifted,)), assignment=cuts)
    assert_allclose(two.demands[0].odds, one.demands[0].odds, atol=0.003)
    assert_allclose(two.edge("A1").offset - one.edge("A1").offset, 0.003 * INCH, rtol=1e-4)


@pytest.mark.parametrize("stance", [Stance.UPRIGHT, Stance.TILTED])
def test_a_thinner_tube_leaves_a_thinner_kerf_and_a_smaller_offset(stance):
    cuts = same_cut(study_of(square()), 3.0 * IPM, stance)
    wide = forecast(study_of(square()), assignment=cuts).edge("A1")
    slim = forecast(study_of(square(), setup=inch_setup(tube_bore=0.036 * INCH)), assignment=cuts).edge("A1")
    assert slim.kerf_top.mean < wide.kerf_top.mean
    assert slim.offset < wide.offset


def test_edges_that_look_alike_are_cut_alike():
    study = study_of(square(), square_demands(0.008 * INCH))
    for option in plan(study).options:
        cuts = {
            (option.forecast.edge(f"A{k}").speed, option.forecast.edge(f"A{k}").stance) for k in (1, 2, 3, 4)
        }
        assert len(cuts) == 1


def test_progress_is_told_from_start_to_end():
    told = []
    plan(study_of(square(), machine=TILTING), progress=lambda what, done: told.append((what, done)))
    assert told[0][1] == 0.0
    assert told[-1][1] == 1.0
    assert [done for _, done in told] == sorted(done for _, done in told)
