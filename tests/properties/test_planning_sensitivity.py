"""What improvements are worth: against closed forms, against plain re-pricing, and in the right order."""

import re
from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, PRICES, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.decision.decide import cost_of_decision
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.eased_study import eased_study
from trialcut.planning.prepared import prepare
from trialcut.planning.preview import Preview
from trialcut.planning.sensitivity.results import Lever
from trialcut.planning.sensitivity.worth import sensitivity
from trialcut.planning.study import Gauge
from trialcut.planning.trial_results import TrialStep

SIDE, BORE, DRAWS = 1.2 * INCH, 0.25 * INCH, 256
PART = Part(
    id="1",
    outline=contour_of("A", rectangle(0.0, 0.0, SIDE, SIDE)),
    openings=(round_opening("B", SIDE / 2.0, SIDE / 2.0, BORE),),
)
WITH_PLATE = replace(PRICES, material=6.0)


def size(name, edges, weights, nominal, half):
    return Demand(
        id=f"size-{name}",
        kind=DemandKind.SIZE,
        title=f"size {name}",
        text="sizes",
        edges=edges,
        weights=weights,
        nominal=nominal,
        lower=nominal - half,
        upper=nominal + half,
    )


def finish(edge, micro):
    return Demand(
        id=f"finish-{edge}",
        kind=DemandKind.FINISH,
        title=f"finish of {edge}",
        text="finish",
        edges=(edge,),
        upper=micro * 1e-6 * INCH,
    )


def corner(before, after, limit):
    return Demand(
        id=f"corner-{before}-{after}",
        kind=DemandKind.CORNER,
        title=f"corner of {before} and {after}",
        text="corner",
        edges=(before, after),
        upper=limit,
    )


def study(width=0.010, opening=0.010, rough=250, *, more=(), gauge=None, setup=None, draws=DRAWS):
    demands = (
        size("A1-A3", ("A1", "A3"), (1.0, 1.0), SIDE, width * INCH),
        size("B", ("B1",), (-2.0,), 2.0 * BORE, opening * INCH),
        finish("A1", rough),
        finish("A2", rough),
        *more,
    )
    made = replace(study_of(PART, demands, draws=draws, setup=setup), prices=WITH_PLATE)
    return made if gauge is None else replace(made, gauge=gauge)


@pytest.fixture(scope="module")
def usual():
    return sensitivity(study())


def test_homogeneous_prices_add_up_to_the_cost_of_a_good_piece(usual):
    """Cost is homogeneous of degree one in all prices of things (Euler), so ten per cent on all is ten."""
    things = {"machine and operator time", "abrasive", "plate", "mixing tubes", "orifices", "energy", "water"}
    steps = [each for each in usual.of(Lever.PRICE) if each.title in things]
    assert len(steps) == len(things)
    assert_allclose(sum(each.saving for each in steps), 0.1 * usual.good, rtol=1e-9)
    assert_allclose(sum(each.worse for each in steps), 0.1 * usual.good, rtol=1e-9)


@pytest.mark.parametrize(
    ("title", "line"), [("abrasive", "abrasive"), ("plate", "material"), ("energy", "energy")]
)
def test_a_price_is_worth_its_share_of_every_piece_cut(usual, title, line):
    decision = eased_study(Preview(prepare(study()))).cheapest({}).decision
    cost = next(each.each.mean for each in cost_of_decision(decision).lines if each.name == line)
    cut = 1.0 / decision.odds
    if decision.first_piece:
        cut += (1.0 - decision.joint) / 50
    step = next(each for each in usual.improvements if each.title == title)
    assert_allclose(step.saving, 0.1 * cost * cut, rtol=1e-6)
    assert_allclose(step.share, step.saving / usual.good, rtol=1e-12)
    assert_allclose(step.lot, 50 * step.saving, rtol=1e-12)


def test_wider_costs_less_and_none_least(usual):
    steps = [each for each in usual.of(Lever.ASK, Lever.DEMAND) if each.told]
    assert len(steps) >= 2
    for each in steps:
        widths = [step.width for step in each.steps]
        assert widths == [0.8, 1.25, 1.5, 2.0]
        savings = [step.saving for step in each.steps if step.saving is not None]
        assert all(earlier <= later for earlier, later in pairwise([*savings, each.saving]))
        if each.worse is not None:
            assert each.worse >= 0.0


def test_an_ask_costs_no_less_than_any_thing_that_it_is_on(usual):
    for ask in usual.of(Lever.ASK):
        inside = [each for each in usual.of(Lever.DEMAND) if set(each.demands) <= set(ask.demands)]
        assert len(inside) > 1
        within = usual.gap * usual.good
        assert all(each.saving <= ask.saving + within for each in inside)


@settings(deadline=None, max_examples=12)
@given(
    width=st.floats(0.008, 0.02),
    rough=st.integers(170, 400),
    one=st.floats(1.0, 3.0),
    two=st.floats(1.0, 3.0),
    name=st.sampled_from(["size-A1-A3", "size-B", "finish-A1", "finish-A2"]),
)
def test_easing_never_raises_cost_and_dropping_costs_no_more(width, rough, one, two, name):
    eased = eased_study(Preview(prepare(study(width, width, rough, draws=128))))
    narrow, wide = sorted((one, two))
    found = [eased.cheapest({name: factor}) for factor in (narrow, wide, inf)]
    for tight, loose in pairwise(found):
        if tight is not None:
            assert loose.good <= tight.good * (1.0 + loose.decision.gap)
            assert (
                eased.cheapest({name: wide if loose is found[1] else inf}, known=[tight]).good <= tight.good
            )


def read_shares(pattern, text):
    return [0 if "less" in found else int(found.split()[0]) for found in re.findall(pattern, text)]


def shown(share):
    return round(100 * share)


def test_sentences_say_the_numbers(usual):
    for each in usual.of(Lever.ASK, Lever.DEMAND):
        if not each.told:
            assert "told apart" in each.sentence
            continue
        assert read_shares(r"costs you ((?:less than )?\d+ %) of the part", each.sentence) == [
            shown(each.share)
        ]
        eased = re.search(r"it would save: ([^;]*)", each.sentence)
        if eased:
            told = [step for step in each.steps if step.width > 1.0 and step.told]
            shares = read_shares(r" ((?:less than )?\d+ %)", eased[1])
            assert shares == [shown(step.saving / usual.good) for step in told]
            assert all(step.limits in eased[1] for step in told)


def test_those_worth_most_come_first_and_those_not_told_apart_last(usual):
    told = [each.told for each in usual.improvements]
    assert told == sorted(told, reverse=True)
    lots = [each.lot for each in usual.improvements if each.told]
    assert lots == sorted(lots, reverse=True)


def test_a_rough_gauge_costs_what_halving_it_saves():
    rough = Gauge(name="rule", standard_uncertainty=0.08e-3)
    asked = study(gauge=rough)
    found = next(each for each in sensitivity(asked).improvements if each.lever is Lever.GAUGE)
    sharper = replace(asked, gauge=replace(rough, standard_uncertainty=0.04e-3))
    plain = eased_study(Preview(prepare(sharper))).cheapest({})
    assert found.told
    assert_allclose(found.good, plain.good, rtol=max(plain.decision.gap, 1e-6))


def test_a_tube_taken_as_new_has_no_worth(usual):
    assert usual.of(Lever.TUBE) == ()
    assert usual.notes == ("No worth of a new mixing tube: the tube is taken as new.",)


def test_a_worn_tube_is_held_against_a_new_one():
    made = study()
    setup = replace(made.setup, tube_bore=1.2 * made.setup.tube_bore)
    worn = replace(made, setup=setup, tube_bore_new=made.setup.tube_bore, tube_bore_given=True)
    found = sensitivity(worn)
    assert found.notes == ()
    (tube,) = found.of(Lever.TUBE)
    plain = eased_study(Preview(prepare(made))).cheapest({})
    assert_allclose(tube.good, plain.good, rtol=max(plain.decision.gap, 1e-6))


def test_a_coupon_is_worth_its_saving_less_its_cost():
    step = TrialStep(
        coupons=(None,),
        machine_time=600.0,
        cost=40.0,
        saving=55.0,
        saving_error=3.0,
        price=300.0,
        odds=0.95,
        spreads=(),
    )
    (coupon,) = sensitivity(study(), trial_worth=step).of(Lever.TRIAL)
    assert_allclose([coupon.lot, coupon.cost, coupon.saving], [15.0, 40.0, 1.1], rtol=1e-12)
    assert coupon.told
    assert coupon.sentence.endswith("would save 55.00 USD on the lot and cost 40.00 USD: it pays.")


def test_where_nothing_holds_what_makes_it_hold_is_named():
    found = sensitivity(study(0.004, 0.010, 250))
    assert found.good is None
    saved = [each for each in found.improvements if each.good is not None]
    assert [each.title for each in saved] == ["'sizes'", "size A1-A3"]
    assert all("all holds, at" in each.sentence for each in saved)
    assert all(each.saving is each.lot is None for each in found.improvements)


def test_a_corner_is_priced_by_preparing_the_path_anew():
    tight = study(0.020, 0.020, 400, more=(corner("A1", "A2", 0.05e-3),))
    found = sensitivity(tight)
    step = next(each for each in found.improvements if each.demands == ("corner-A1-A2",))
    plain = eased_study(Preview(prepare(study(0.020, 0.020, 400)))).cheapest({})
    assert step.title == "corner of A1 and A2"
    assert step.saving >= 0.0
    assert_allclose(step.good, plain.good, rtol=max(plain.decision.gap, 1e-6))


def test_what_is_not_paid_has_no_worth():
    easy = study(0.05, 0.05, 800)
    best = eased_study(Preview(prepare(easy))).cheapest({})
    assert not best.decision.first_piece
    titles = [each.title for each in sensitivity(easy).of(Lever.PRICE)]
    assert "measuring of the first piece" not in titles
    assert "set-up time" in titles
