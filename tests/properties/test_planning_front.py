"""The trade-off against trying every choice, against a closed form, and against its own plan."""

from itertools import pairwise, product

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, UPRIGHT_ONLY, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.decision.decide import cost_of_decision
from trialcut.planning.decision.found import evaluated
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.front.asked import axes_of, looked_at, study_at
from trialcut.planning.front.knee import knee_of
from trialcut.planning.front.look import look_at
from trialcut.planning.front.trade_off import trade_off
from trialcut.planning.plan import plan
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.services import demo_study

SIDE, BORE, DRAWS = 1.2 * INCH, 0.25 * INCH, 256
GAP = 0.01


def _part():
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, SIDE, SIDE)),
        openings=(round_opening("B", SIDE / 2.0, SIDE / 2.0, BORE),),
    )


def _size(name, edges, weights, nominal, half):
    return Demand(
        id=f"size-{name}",
        kind=DemandKind.SIZE,
        title=f"size {name}",
        text=f"±{half / INCH:.4f} in",
        edges=edges,
        weights=weights,
        nominal=nominal,
        lower=nominal - half,
        upper=nominal + half,
    )


def _study(**choices):
    half = 0.008 * INCH
    demands = (
        _size("A1-A3", ("A1", "A3"), (1.0, 1.0), SIDE, half),
        _size("A2-A4", ("A2", "A4"), (1.0, 1.0), SIDE, half),
        _size("B", ("B1",), (-2.0,), 2.0 * BORE, half),
    )
    return study_of(_part(), demands, draws=DRAWS, **choices)


@pytest.fixture(scope="module", params=["tilting", "upright only"])
def traded(request):
    study = _study() if request.param == "tilting" else _study(machine=UPRIGHT_ONLY)
    return study, trade_off(study, points=6)


def test_every_point_is_as_cheap_as_the_best_of_all_choices(traded):
    study, found = traded
    look = look_at(Preview(prepare(looked_at(study, axes_of(study)))))
    points = found.series[0].points[::2]
    assert points
    for point in points:
        best = np.inf
        for base in look.bases:
            laid_out = base.scaled(point.widths)
            sizes = [range(len(each)) for each in laid_out.choices]
            failing = [[fails[k] for k in range(len(fails))] for fails in laid_out.fails]
            budget = (1.0 - study.asked_odds) * DRAWS + 1e-9
            allowed = []
            for picks in product(*sizes):
                draws = np.logical_or.reduce([own[k] for own, k in zip(failing, picks, strict=True)])
                if draws.sum() <= budget:
                    allowed.append((sum(c[k] for c, k in zip(laid_out.costs, picks, strict=True)), picks))
            for _, picks in sorted(allowed)[:40]:
                decision = evaluated(
                    look.preview,
                    laid_out.cuts(np.array(picks)),
                    first_piece=laid_out.corrected,
                    widths=point.widths,
                )
                if decision.odds >= study.asked_odds:
                    best = min(best, cost_of_decision(decision).good.mean)
        assert best < np.inf
        assert point.good.mean <= best * (1.0 + GAP)


def test_cost_never_rises_as_tolerances_widen_and_no_point_is_beaten(traded):
    for series in traded[1].series:
        costs = [point.good.mean for point in series.points if not point.drawing]
        widths = [point.width for point in series.points]
        assert len(costs) >= 2
        assert widths == sorted(set(widths))
        assert all(tight > wide for tight, wide in pairwise(costs))


def test_a_free_head_is_never_dearer_than_one_stance(traded):
    _, found = traded
    for series in found.series[1:]:
        for point in series.points:
            free = [each.good.mean for each in found.series[0].points if each.width <= point.width]
            assert min(free) <= point.good.mean * (1.0 + GAP)


def test_nothing_tighter_than_the_tightest_point_holds(traded):
    study, found = traded
    look = look_at(Preview(prepare(looked_at(study, axes_of(study)))))
    widths = found.series[0].points[0].widths
    assert look.holds(widths)
    assert not look.holds({name: width / 1.05 for name, width in widths.items()})


def test_points_hold_the_odds_asked_for_and_are_numbered_in_order(traded):
    study, found = traded
    assert [point.number for point in found.points] == list(range(1, len(found.points) + 1))
    for point in found.points:
        odds = point.odds_corrected if point.first_piece else point.odds_now
        assert odds >= study.asked_odds


def test_stretches_cover_every_point_once(traded):
    _, found = traded
    covered = [n for each in found.stretches for n in range(each.first, each.last + 1)]
    assert covered == [point.number for point in found.series[0].points]


def test_easing_what_binds_saves():
    study = _study()
    found = trade_off(study, points=5)
    look = look_at(Preview(prepare(looked_at(study, axes_of(study)))))
    point = next(each for each in found.series[0].points if each.binds)
    eased = {**point.widths, **{name: 1.2 * point.widths[name] for name in point.binds}}
    assert look.cheapest(eased).good.mean < point.good.mean


def test_a_picked_plan_costs_what_its_point_does():
    study = _study()
    found = trade_off(study, points=5)
    point = found.series[0].points[1]
    picked = study_at(study, point)
    option = plan(picked).option("cheapest")
    assert option.holds
    assert_allclose(option.forecast.cost.good.mean, point.good.mean, rtol=0.05)
    # speeds are polished between the steps of the grid, which saves up to a step's share: 5 %
    assert option.forecast.cost.good.mean <= point.good.mean * (1.0 + GAP)
    for demand, eased in zip(study.demands, picked.demands, strict=True):
        assert_allclose(eased.upper - eased.lower, point.width * (demand.upper - demand.lower), rtol=1e-12)
        assert eased.text.startswith("±")
        assert demand.text in eased.text


def test_without_sizes_walls_stand_for_accuracy():
    study = study_of(_part(), (), draws=DRAWS)
    found = trade_off(study, points=4)
    assert found.accuracy.startswith("wall of")
    assert not any(point.drawing for point in found.points)
    picked = study_at(study, found.series[0].points[0])
    assert {demand.id for demand in picked.demands} == {f"wall-{edge.id}" for edge in study.part.edges}


def test_the_knee_of_a_hyperbola_is_where_its_slope_is_that_of_the_chord():
    # On logarithmic axes y = c + d/x bends; with x = e^s, log(1 + 1/x) has slope -1/(1 + x), and the
    # chord over x from 1/9 to 9 has slope -log(10 / (10/9)) / log(81) = -1/2: equal at x = 1.
    x = np.exp(np.linspace(np.log(1.0 / 9.0), np.log(9.0), 201))
    place, height = knee_of(x.tolist(), (1.0 + 1.0 / x).tolist())
    assert_allclose(x[place], 1.0, rtol=1e-12)
    assert_allclose(height, 0.5 - np.log(2.0 / (10.0 / 9.0)) / np.log(9.0), rtol=1e-12)


def test_a_straight_line_has_no_knee():
    x = np.geomspace(1.0, 10.0, 9)
    _, height = knee_of(x.tolist(), (x**-0.7).tolist())
    assert_allclose(height, 0.0, atol=1e-12)


@pytest.mark.parametrize("metric", [False, True])
def test_both_demo_studies_have_a_front_with_the_drawing_on_it(metric):
    found = trade_off(demo_study(metric=metric), points=6)
    drawing = [point for point in found.series[0].points if point.drawing]
    assert [point.width for point in drawing] == [1.0]
    assert found.holds
    assert found.series[0].points[0].width < 1.0
    assert len(found.finish) >= 3
    assert found.sentences
