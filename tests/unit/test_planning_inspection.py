"""What is inspected, and which of it comes back as readings; by hand on the parts of the samples."""

from __future__ import annotations

from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from sample_results import bracket_study, option_of, plate_study, size
from trialcut.errors import RangeError
from trialcut.planning.demands import Depth
from trialcut.planning.inspection import Unread, characteristics, inspected_trial
from trialcut.planning.sampling import SamplingPlan, code_letter, sampling_plan, spread_pieces
from trialcut.trials.types import FeatureKind


def cut_alike(study):
    """An option in which every edge is cut as the first one is."""
    option = option_of(study)
    first = option.forecast.edges[0]
    edges = tuple(
        replace(
            edge, speed=first.speed, tilt=first.tilt, lead=first.lead, offset=first.offset, stock=edge.stock
        )
        for edge in option.forecast.edges
    )
    return replace(option, forecast=replace(option.forecast, edges=edges))


def trial_of(study, option, **words):
    lines = characteristics(study, option)
    return inspected_trial(study, option, lines, trial_id="T7", session="2026-11-25a", pieces=(2, 5), **words)


def test_numbers_run_from_one_with_sizes_first_and_later_edges_left_out():
    lines = characteristics(bracket_study(), option_of(bracket_study()))
    assert [line.number for line in lines] == [1, 2, 3, 4, 5, 6, 7]
    assert [line.demand.id for line in lines] == [
        *("size-A1-A6", "size-A2-A7", "size-A1-A3", "size-B1", "square-A1", "finish-part", "corner-A3-A5"),
    ]


def test_walls_cut_alike_come_back_and_those_with_stock_or_unlike_ones_do_not():
    study = bracket_study()
    alike = {line.demand.id: line for line in characteristics(study, cut_alike(study))}
    # A6 is machined later, so that stock stands on it.
    assert alike["size-A1-A6"].unread is Unread.STOCK
    assert (alike["size-A2-A7"].cut, alike["size-A2-A7"].unread) == ("N2", None)
    assert alike["size-B1"].cut == "N4"
    unlike = {line.demand.id: line for line in characteristics(study, option_of(study))}
    assert unlike["size-A2-A7"].unread is Unread.UNLIKE
    assert unlike["square-A1"].unread is Unread.KIND


def test_a_slot_measured_from_inside_is_no_feature_of_a_trial():
    lines = {each.demand.id: each for each in characteristics(plate_study(), cut_alike(plate_study()))}
    assert lines["size-B1-B3"].unread is Unread.KIND
    assert lines["size-E1"].cut


def test_a_size_that_holds_at_one_face_is_read_there():
    study = plate_study()
    held = replace(size("A4", "A8", nominal=0.16, upper=1e-4), depth=Depth.BOTTOM)
    study = replace(study, demands=(held, *study.demands[1:]))
    lines = characteristics(study, option_of(study))
    assert lines[0].depths == (1.0,)
    assert lines[1].depths == (0.0, 0.5, 1.0)


def test_pieces_are_coupons_with_the_cuts_of_the_plan():
    study = plate_study()
    option = cut_alike(study)
    trial = trial_of(study, option)
    assert [coupon.id for coupon in trial.coupons] == ["T7-2", "T7-5"]
    made = option.forecast.edges[0]
    width = trial.coupons[0].cut("N1")
    assert width.feature is FeatureKind.WIDTH
    assert (width.nominal, width.speed, width.tilt, width.lead) == (0.16, made.speed, made.tilt, made.lead)
    hole = trial.coupons[0].cut("N5")
    # By hand: 7 mm of diameter; the path runs inside it by the offset.
    radius = 0.0035 - made.offset
    assert hole.feature is FeatureKind.OPENING
    assert_allclose(hole.curvature, -1.0 / radius, rtol=1e-9)
    assert_allclose(hole.length, 2.0 * 3.141592653589793 * radius, rtol=1e-9)


def test_a_changed_offset_is_the_one_that_the_lot_was_cut_with():
    study = plate_study()
    option = cut_alike(study)
    planned, made = trial_of(study, option), trial_of(study, option, moved=2e-5)
    for one, other in zip(planned.coupons[0].cuts, made.coupons[0].cuts, strict=True):
        assert_allclose(other.offset - one.offset, 2e-5, rtol=0.0, atol=1e-15)


def test_a_part_with_nothing_to_learn_from_has_no_coupons():
    study = bracket_study()
    study = replace(study, demands=study.demands[4:7])
    assert trial_of(study, option_of(study)).coupons == ()


def test_a_sample_is_drawn_once_within_the_lot_and_again_alike():
    pieces = spread_pieces(50, 13, seed=1)
    assert len(set(pieces)) == 13
    assert pieces == tuple(sorted(pieces))
    assert pieces[0] >= 1
    assert pieces[-1] <= 50
    assert spread_pieces(50, 13, seed=1) == pieces
    assert spread_pieces(50, 13, seed=2) != pieces
    assert spread_pieces(3, 5, seed=1) == (1, 2, 3)


def test_every_piece_of_a_lot_is_accepted_only_if_none_fails():
    # By hand: 0.98 to the fifth.
    plan = sampling_plan(5)
    assert (plan.every, plan.pieces) == (True, 5)
    assert_allclose(plan.odds_of_acceptance(0.02), 0.9039207968, rtol=1e-12)


@pytest.mark.parametrize(
    ("what", "why"),
    [
        (lambda: code_letter(1), "has no code letter"),
        (lambda: sampling_plan(0), "needs 1 or more"),
        (lambda: sampling_plan(50, level=0.03), "is not in the tables"),
        (lambda: SamplingPlan(lot=5, pieces=5).odds_of_acceptance(1.1), "lies between 0 and 1"),
    ],
)
def test_what_no_table_has_is_refused(what, why):
    with pytest.raises(RangeError, match=why):
        what()
