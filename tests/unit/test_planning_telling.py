"""A plan in sentences: they hold the numbers of the plan, read back out of the words."""

from __future__ import annotations

import re
from dataclasses import replace
from math import inf

import pytest
from numpy.testing import assert_allclose

from sample_parts import contour as contour_of
from sample_parts import rectangle, round_opening
from sample_studies import INCH, IPM, study_of
from trialcut.geometry.contours import Part
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.plan import plan, study_of_option
from trialcut.planning.results import Note, Stance
from trialcut.planning.sensitivity.results import Improvement, Lever, Sensitivity
from trialcut.planning.telling import gap_words, plan_sentences

SIDE, BORE = 1.2 * INCH, 0.25 * INCH
PART = Part(
    id="1",
    outline=contour_of("A", rectangle(0.0, 0.0, SIDE, SIDE)),
    openings=(round_opening("B", SIDE / 2.0, SIDE / 2.0, BORE),),
)
DEMANDS = (
    Demand(
        id="size-A1-A3",
        kind=DemandKind.SIZE,
        title="width between A1 and A3",
        text="±0.010 in",
        edges=("A1", "A3"),
        weights=(1.0, 1.0),
        nominal=SIDE,
        lower=SIDE - 0.010 * INCH,
        upper=SIDE + 0.010 * INCH,
    ),
    Demand(
        id="finish-B1",
        kind=DemandKind.FINISH,
        title="finish of B1",
        text="250 uin",
        edges=("B1",),
        upper=250e-6 * INCH,
    ),
)
STUDY = study_of(PART, DEMANDS, draws=256)


@pytest.fixture(scope="module")
def made():
    return plan(STUDY)


def _read(sentences, pattern):
    return next(found for each in sentences if (found := re.search(pattern, each)))


def test_every_option_is_told(made):
    for option in made.options:
        asked = study_of_option(STUDY, option.name)
        assert option.told == plan_sentences(asked, replace(option, told=()))


def test_the_price_and_its_share_of_pieces_cut_again_are_those_of_the_plan(made):
    for option in made.options:
        cost = option.forecast.cost
        found = _read(option.told, r"good piece costs ([\d.]+) ± ([\d.]+) USD, of which (.*?) is for")
        digits = len(found[1].partition(".")[2])
        assert_allclose(float(found[1]), cost.good.mean, atol=0.51 * 10.0**-digits)
        share = 100.0 * (cost.good.mean - cost.each.mean) / cost.good.mean
        told = found[3].removesuffix(" %")
        assert told == (str(round(share)) if round(share) else "less than 1")


def test_the_odds_and_their_basis_are_those_of_the_plan(made):
    for option in made.options:
        odds = option.forecast.joint_odds_corrected if option.first_piece else option.forecast.joint_odds
        assert any("first piece is measured" in each for each in option.told) == option.first_piece
        found = _read(option.told, r"holds everything with odds of (over )?(\d+) %")
        if found[1]:
            assert odds > 0.99
        else:
            assert_allclose(float(found[2]), 100.0 * odds, atol=0.5 + 1e-9)


def test_every_edge_is_told_once_with_its_speed(made):
    option = made.option("cheapest")
    told = " ".join(option.told)
    spoken = re.findall(r"((?:Edges? |, | and )[AB]\d[^.]*?) (?:is|are) cut at ([\d.]+) in/min, (\w+)", told)
    speeds = {}
    for names, speed, stance in spoken:
        for first, last in re.findall(r"([AB]\d)(?:-([AB]\d))?", names):
            letter = first[0]
            for number in range(int(first[1]), int((last or first)[1]) + 1):
                speeds[f"{letter}{number}"] = (float(speed), stance)
    assert sorted(speeds) == ["A1", "A2", "A3", "A4", "B1"]
    for edge in option.forecast.edges:
        assert_allclose(speeds[edge.id][0], edge.speed / IPM, atol=0.005)
        assert Stance(speeds[edge.id][1]) is edge.stance


def test_what_holds_an_edge_back_is_named_with_its_limit(made):
    told = " ".join(made.option("cheapest").told)
    binds = {edge.id: edge.binds for edge in made.option("cheapest").forecast.edges}
    assert ("by its finish, Ra 250 µin" in told) == (binds["B1"] == "finish-B1")
    assert ("by the width between A1 and A3, ±0.010 in" in told) == (binds["A1"] == "size-A1-A3")
    assert "finish-B1" in binds.values() or "size-A1-A3" in binds.values()


@pytest.mark.parametrize(("gap", "words"), [(0.0, "0.1 %"), (0.00651, "0.7 %"), (0.0100, "1.0 %")])
def test_a_gap_is_rounded_up(gap, words):
    assert gap_words(gap) == words


def test_an_unproven_choice_says_so(made):
    option = replace(made.option("cheapest"), gap=inf)
    assert "How near this is to the best choice is not proven." in plan_sentences(STUDY, option)


def test_one_that_does_not_hold_says_so(made):
    option = replace(made.option("cheapest"), holds=False)
    assert any(each.endswith("It does not hold what it must.") for each in plan_sentences(STUDY, option))


def test_what_it_rests_on_is_told(made):
    option = made.option("cheapest")
    assert any("No reading of this machine" in each for each in option.told)
    fitted = replace(option.forecast, notes=(Note("fitted", "Fit 3 of 40 readings."),))
    assert "Fit 3 of 40 readings." in plan_sentences(STUDY, replace(option, forecast=fitted))


def _worth(*, told):
    each = Improvement(
        lever=Lever.DEMAND,
        title="finish of B1",
        change="dropped",
        good=5.0,
        saving=1.0,
        share=1.0 / 6.0,
        lot=50.0,
        told=told,
        sentence="The finish of B1 costs you 17 % of the part.",
    )
    price = replace(each, lever=Lever.PRICE, sentence="10 % on water.")
    return Sensitivity(currency="USD", quantity=50, good=6.0, gap=0.01, improvements=(price, each))


def test_changes_that_save_are_told_and_those_not_told_apart_and_prices_are_not(made):
    option = made.option("cheapest")
    said = plan_sentences(STUDY, option, worth=_worth(told=True))
    assert said[-1] == "The finish of B1 costs you 17 % of the part."
    assert plan_sentences(STUDY, option, worth=_worth(told=False)) == option.told
    assert "10 % on water." not in said


def test_a_plan_that_cannot_hold_names_what_is_in_conflict():
    tight = replace(DEMANDS[0], lower=SIDE - 0.003 * INCH, upper=SIDE + 0.003 * INCH)
    asked = replace(STUDY, demands=(tight, DEMANDS[1]))
    found = plan(asked)
    assert not found.option("cheapest").holds
    assert [each.demands for each in found.conflicts.demands] == [("size-A1-A3",)]
    assert plan(asked, find_conflicts=False).conflicts is None


def test_an_edge_that_a_corner_ties_to_a_slower_one_says_so():
    tied = Demand(
        id="corner-A1-A2",
        kind=DemandKind.CORNER,
        title="corner of A1 and A2",
        text="0.02 in",
        edges=("A1", "A2"),
        upper=0.02 * INCH,
    )
    tight = replace(DEMANDS[0], lower=SIDE - 0.007 * INCH, upper=SIDE + 0.007 * INCH)
    found = plan(replace(STUDY, demands=(tight, DEMANDS[1], tied))).option("cheapest")
    assert {found.forecast.edge(name).speed for name in ("A1", "A2")} == {found.forecast.edge("A1").speed}
    assert found.forecast.edge("A1").binds == "size-A1-A3"
    assert found.forecast.edge("A2").binds == ""
    assert any(
        each.startswith("Edge A2") and "kept at that speed by the corner of A1 and A2" in each
        for each in found.told
    )
