"""A trial designed for a study: its coupons, its worth, its words, and the trial made of it."""

import itertools
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, IPM, UPRIGHT_ONLY, study_of
from trialcut.errors import RangeError
from trialcut.geometry.contours import Part
from trialcut.physics.parameters import CutParameters, stream
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.plan import plan
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.results import Stance
from trialcut.planning.sizes import part_sizes
from trialcut.planning.trial_candidates import candidate_coupons
from trialcut.planning.trial_lot import plans
from trialcut.planning.trial_outcomes import trial_readings, without_session
from trialcut.planning.trial_plan import design_trial, trial_of_design
from trialcut.planning.trial_study import study_lot
from trialcut.planning.trial_targets import trial_problem
from trialcut.planning.trial_worth import update, worth_curve
from trialcut.sources import Note, constant_set
from trialcut.trials.design.information import precision_of
from trialcut.trials.knowledge import PriorKnowledge
from trialcut.trials.types import ReadingKind

THOU = 1e-3 * INCH


def block(side=2.0 * INCH, bore=0.375 * INCH) -> Part:
    return Part(
        id="1",
        outline=contour_of("A", rectangle(0.0, 0.0, side, side)),
        openings=(round_opening("B", side / 2.0, side / 2.0, bore),),
    )


def sizes(part: Part, half: float) -> tuple[Demand, ...]:
    return tuple(
        Demand(
            id="size-" + "-".join(size.edges),
            kind=DemandKind.SIZE,
            title="size of " + " and ".join(size.edges),
            text=f"±{half}",
            edges=size.edges,
            weights=size.weights,
            nominal=size.nominal,
            lower=size.nominal - half,
            upper=size.nominal + half,
        )
        for size in part_sizes(part)
    )


def finish(edge="A1", limit=6.35e-6) -> Demand:
    return Demand(
        id=f"finish-{edge}",
        kind=DemandKind.FINISH,
        title=f"finish of {edge}",
        text="",
        edges=(edge,),
        upper=limit,
    )


def study(quantity=200, *, half=10 * THOU, more=(), draws=512, **given):
    part = block()
    return study_of(part, (*sizes(part, half), *more), quantity=quantity, draws=draws, **given)


@pytest.fixture(scope="module")
def designed():
    return design_trial(study(more=(finish(),)), budget=3, finish_gauge="stylus")


def test_a_trial_of_every_size_up_to_the_budget_is_looked_at(designed):
    assert [step.count for step in designed.steps] == [0, 1, 2, 3]
    assert designed.steps[0].cost == designed.steps[0].saving == 0.0


def test_costs_and_times_grow_with_every_coupon_and_count_the_setting_up(designed):
    costs = [step.cost for step in designed.steps]
    times = [step.machine_time for step in designed.steps]
    assert all(a < b for a, b in itertools.pairwise(costs))
    assert all(a < b for a, b in itertools.pairwise(times))
    one = designed.steps[1]
    assert_allclose(one.machine_time, one.coupons[0].machine_time + 900.0, rtol=1e-12)
    assert_allclose(one.cost, one.coupons[0].cost + 900.0 * 90.0 / 3600.0, rtol=1e-12)


def test_the_recommended_trial_is_worth_its_cost(designed):
    assert designed.recommended > 0
    assert designed.chosen.worth > 0.0
    assert designed.sentence.startswith("Cut ")
    assert "would not pay" in designed.sentence or "not looked at" in designed.sentence


def test_a_trial_makes_every_kind_of_demand_surer(designed):
    for spread in designed.steps[3].spreads:
        assert 0.0 < spread.after < spread.before


def test_every_coupon_says_what_it_is_for(designed):
    for step in designed.steps[1:]:
        for coupon in step.coupons:
            assert coupon.why.endswith(".")
            assert coupon.why.split()[0] in {"Fixes", "Brackets", "Tells", "Repeats"}


def test_no_trial_pays_on_a_lot_of_one_loose_part():
    found = design_trial(study(1, half=60 * THOU), budget=2)
    assert found.recommended == 0
    assert found.chosen.coupons == ()
    assert found.sentence.startswith("No trial pays on a lot of 1")


def test_a_trial_pays_more_on_a_larger_lot():
    small, large = (design_trial(study(quantity), budget=1).steps[1] for quantity in (20, 400))
    assert large.worth > small.worth


def test_a_lot_that_follows_in_the_same_setting_spares_the_trial_its_setting_up():
    own, shared = (design_trial(study(), budget=1, own_setup=each).steps[1] for each in (True, False))
    assert_allclose(own.cost, own.coupons[0].cost + 900.0 * 90.0 / 3600.0, rtol=1e-12)
    assert_allclose(shared.cost, shared.coupons[0].cost, rtol=1e-12)


def test_a_design_comes_out_the_same_again():
    first, second = (design_trial(study(), budget=2, seed=4) for _ in range(2))
    assert first == second


def test_a_repeat_is_among_the_coupons_where_it_is_asked_for():
    found = design_trial(study(), budget=3, repeats_from=2)
    assert sum(each.repeat for each in found.steps[2].coupons) >= 1
    assert "Repeats another coupon" in " ".join(each.why for each in found.steps[3].coupons)


def test_what_a_trial_cannot_teach_is_said():
    found = design_trial(study(more=(finish(),)), budget=1)
    said = " ".join(found.cannot_teach)
    assert "nothing to read roughness with" in said
    assert "day to day" in said
    assert "no coupon is repeated" in said


def test_an_upright_machine_is_offered_no_tilted_coupon():
    preview = Preview(prepare(study(machine=UPRIGHT_ONLY)))
    offered = candidate_coupons(preview)
    assert {each.stance for each in offered} == {Stance.UPRIGHT}
    assert {each.coupon.kind for each in offered} == {"block", "ladder"}


def test_plates_of_other_thickness_are_offered_where_the_shop_has_them():
    preview = Preview(prepare(study()))
    offered = candidate_coupons(preview, thicknesses=[0.5 * INCH, INCH])
    thin = [each for each in offered if each.coupon.thickness < 0.9 * INCH]
    assert len(thin) == 3
    assert all(each.coupon.thickness == 0.5 * INCH for each in thin)


def test_a_ladder_spans_the_separation_speed():
    preview = Preview(prepare(study()))
    ladder = candidate_coupons(preview)[-1].coupon
    speeds = [cut.speed for cut in ladder.cuts]
    low, high = np.quantile(preview.prepared.separation_speed, (0.1, 0.9))
    assert speeds[0] < low < high < speeds[-1]


def test_slower_coupons_take_longer_and_cost_more():
    offered = [
        each
        for each in candidate_coupons(Preview(prepare(study())))
        if each.stance is Stance.UPRIGHT and each.coupon.kind == "block"
    ]
    assert all(a.speed < b.speed for a, b in itertools.pairwise(offered))
    assert all(a.machine_time > b.machine_time for a, b in itertools.pairwise(offered))
    assert all(a.cost > b.cost for a, b in itertools.pairwise(offered))


def test_a_trial_is_made_of_the_coupons_chosen(designed):
    trial = trial_of_design(
        designed,
        study(more=(finish(),)),
        trial_id="T3",
        session="2026-11-25a",
        tube="M7",
        tube_hours=7200.0,
        lot="H5",
        count=3,
    )
    assert [coupon.id for coupon in trial.coupons] == ["T3-1", "T3-2", "T3-3"]
    assert (trial.session, trial.tube, trial.tube_hours, trial.lot) == ("2026-11-25a", "M7", 7200.0, "H5")
    for made, chosen in zip(trial.coupons, designed.steps[3].coupons, strict=True):
        assert made == replace(chosen.coupon, id=made.id)


def test_more_coupons_than_were_looked_at_are_refused(designed):
    with pytest.raises(RangeError, match="larger budget"):
        trial_of_design(designed, study(), trial_id="T1", session="a", count=4)
    with pytest.raises(RangeError, match="0 to 10"):
        design_trial(study(), budget=-1)


def test_a_budget_of_none_looks_at_nothing():
    found = design_trial(study(), budget=0)
    assert len(found.steps) == 1
    assert found.recommended == 0


@dataclass(frozen=True)
class Certain:
    """Knowledge without doubt."""

    def central(self, setup):
        return PriorKnowledge().central(setup)

    def draw(self, setup, *, count, seed):
        del seed
        known = PriorKnowledge().central(setup)
        return replace(known, **{name: np.full(count, getattr(known, name)) for name in DRAWN})

    def notes(self, setup) -> tuple[Note, ...]:
        del setup
        return ()


DRAWN = [
    name
    for name in CutParameters.__slots__
    if name not in {"piece_scatter", "edge_scatter", "finish_scatter", "kerf_form", "discrepancy"}
]


def test_where_all_is_known_a_trial_is_worth_minus_its_cost():
    known = replace(study(), knowledge=Certain())
    lot = study_lot(Preview(prepare(known))).lot
    rows = lot.rows
    assert_allclose(rows, rows[:, :1] + np.zeros_like(rows), rtol=1e-12)
    curve = worth_curve(lot, [None], [0.0])
    assert_allclose(curve.worths[0].saving, 0.0, atol=1e-12)


def test_the_quick_planner_comes_near_the_real_plan():
    asked = study(50, draws=1024)
    lot = study_lot(Preview(prepare(asked))).lot
    quick = plans(lot, left=lot.rows, moved=np.zeros((len(lot.rows), 1)))
    real = plan(asked).option("cheapest").forecast
    # not an outside check: both count odds on the same draws. The quick one stays on the grid and gives all
    # groups of edges one level of odds, the real one decides them together and polishes their speeds.
    price = float(quick.price[0] * quick.odds[0])
    assert real.cost.lot.mean <= 1.01 * price
    assert_allclose(price, real.cost.lot.mean, rtol=0.10)
    assert_allclose(quick.odds[0], real.joint_odds_corrected, atol=0.02)


def drawn_readings(asked):
    preview = Preview(prepare(asked))
    offered = candidate_coupons(preview, finish_gauge="stylus")
    return preview, offered, trial_readings(asked, offered, finish_uncertainty=0.1, seed=2)


def test_the_linear_model_of_the_choice_has_the_covariance_of_the_draws():
    asked = study(more=(finish(),), draws=1024)
    preview, offered, readings = drawn_readings(asked)
    lot = study_lot(preview)
    choice = trial_problem(
        lot, offered, readings, picks=[20] * len(lot.lot.groups), first_piece=False, session_time=0.0
    )
    rows = np.concatenate([each.rows for each in choice.problem.experiments])
    drawn = np.cov(readings.values, bias=True)
    sd = np.sqrt(np.diag(drawn))
    assert_allclose(rows @ rows.T / np.outer(sd, sd), drawn / np.outer(sd, sd), atol=0.01)


def test_the_design_criterion_and_the_update_of_draws_agree_about_what_a_trial_leaves_unknown():
    asked = study(more=(finish(),), draws=1024)
    preview, offered, readings = drawn_readings(asked)
    lot = study_lot(preview)
    choice = trial_problem(
        lot, offered, readings, picks=[20] * len(lot.lot.groups), first_piece=False, session_time=0.0
    )
    picks = (2, 5, len(offered) - 1)
    size = choice.aspect_rows.shape[1]
    covariance = np.linalg.inv(precision_of(choice.problem, picks))[:size, :size]
    by_design = np.sqrt(np.einsum("kp,pq,kq->k", choice.aspect_rows, covariance, choice.aspect_rows))
    rows = np.stack([each.draws for each in choice.aspects])
    by_draws = update(rows, readings.outcomes(picks)).left.std(axis=1)
    # 1024 draws know a standard deviation to two in a hundred; only one of the two draws the readings' errors
    assert_allclose(by_design, by_draws, rtol=0.08)


def test_the_errors_of_a_coupon_are_the_same_in_every_trial_and_others_for_a_repeat():
    asked = study(draws=512)
    _, _, readings = drawn_readings(asked)
    one, two = readings.outcomes((3,)), readings.outcomes((3, 3, 5))
    count = len(one.read)
    assert_array_equal(one.read, two.read[:count])
    assert np.all(two.read[:count] != two.read[count : 2 * count])
    assert_array_equal(two.values[:count], two.values[count : 2 * count])


def test_drawn_errors_have_the_covariance_that_is_said():
    asked = study(draws=2048)
    _, _, readings = drawn_readings(asked)
    outcomes = readings.outcomes((3, 3, 5))
    drawn = np.cov(outcomes.read - outcomes.values)
    sd = np.sqrt(np.diag(outcomes.error_covariance))
    # four standard errors of a correlation of 2048 draws
    assert_allclose(drawn / np.outer(sd, sd), outcomes.error_covariance / np.outer(sd, sd), atol=0.09)


def test_coupons_of_one_session_share_its_errors_and_not_those_of_the_piece():
    asked = study(draws=512)
    _, offered, readings = drawn_readings(asked)
    outcomes = readings.outcomes((3, 3))
    half = len(outcomes.values) // 2
    shared = outcomes.error_covariance[:half, half:]
    own = outcomes.error_covariance[:half, :half] - shared
    top = next(k for k, line in enumerate(offered[3].lines) if line.kind is ReadingKind.SIZE)
    kerf = constant_set("effects")["session_kerf"].value
    # a width loses two kerf shifts: twice the session's half-width
    assert_allclose(np.sqrt(shared[top, top]), 2.0 * kerf, rtol=1e-3)
    assert own[top, top] > 0.0


def test_the_chance_of_the_day_is_taken_out_of_the_draws_of_a_trial():
    known = PriorKnowledge().draw(study().setup, count=4000, seed=3)
    bare = without_session(known, seed=3)
    size = constant_set("effects")["session_kerf"].value
    chance = stream(name="session kerf", seed=3).standard_normal(4000)
    assert_allclose(known.top_shift - bare.top_shift, size * chance, atol=1e-15)
    assert_allclose(np.corrcoef(bare.top_shift, chance)[0, 1], 0.0, atol=4.0 / np.sqrt(4000))
    assert np.std(np.log(bare.separation_factor)) < np.std(np.log(known.separation_factor))


def test_odds_promised_after_a_trial_are_kept_by_the_truths():
    asked = study(50, more=(finish(),), draws=1024)
    preview, _, readings = drawn_readings(asked)
    lot = study_lot(preview).lot
    trial = readings.outcomes((3, 12))
    planned = worth_curve(lot, [None, trial], [0.0, 0.0], outcomes=1024).plans[1]
    after = update(lot.rows, trial)
    left, moved = lot.split(after.left), lot.split(after.moved)
    truth = np.arange(1024)
    kept = np.ones(1024, dtype=bool)
    for group, picks in zip(lot.groups, planned.picks, strict=True):
        kept &= left[0][picks, truth] + moved[0][picks, truth] <= 0.0
        for asked_now, asked_after in ((lot.now[k], lot.corrected[k]) for k in group.conditions):
            for condition, counts in ((asked_now, ~planned.first_piece), (asked_after, planned.first_piece)):
                place = [id(each) for each in lot.conditions].index(id(condition))
                spread = left[1 + place] + moved[1 + place]
                room = condition.rooms(left[1 + place + len(lot.conditions)])[1]
                kept &= (spread[picks, truth] <= room[picks, truth]) | ~counts
    # three standard errors of a share of 1024
    assert_allclose(kept.mean(), planned.odds.mean(), atol=3.0 * kept.std() / 32.0)


def test_the_middle_of_a_wall_tells_its_bow_and_the_faces_do_not():
    asked = study(draws=512)
    preview = Preview(prepare(asked))
    row = 16
    width = preview.tables[Stance.UPRIGHT].half_width[row]
    bow = (width[2] - 0.5 * (width[0] + width[4]))[None, :]
    left = []
    for depths in ((0.0, 1.0), (0.0, 0.5, 1.0)):
        offered = candidate_coupons(preview, depths=depths)
        readings = trial_readings(asked, offered, finish_uncertainty=0.1, seed=2)
        near = min(range(len(offered)), key=lambda k: abs(offered[k].speed - preview.speeds[row]))
        left.append(update(bow, readings.outcomes((near,))).left.std())
    assert left[0] > 0.8 * bow.std()
    assert left[1] < 0.5 * bow.std()


def test_speeds_of_coupons_can_be_typed_in():
    for each in candidate_coupons(Preview(prepare(study()))):
        for cut in each.coupon.cuts:
            assert_allclose(float(f"{cut.speed / IPM:.2g}"), cut.speed / IPM, rtol=1e-9)
