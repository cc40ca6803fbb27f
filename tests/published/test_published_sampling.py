"""Sample sizes, acceptance numbers and operating characteristics against figures that we did not compute.

Read in: code letters (table I) and sample sizes of a chart titled "ANSI/ASQC Z1.4, MIL-STD-105E, ISO 2859";
an example in the manual of the R package Planesmuestra 0.1; 7 CFR 42.140 (c), (d). From memory, and said so
where they stand: the columns of the master table (ISO 2859-1:1999 table 2-A, MIL-STD-105E table II-A), the
worked example of D. C. Montgomery, and the tabulated operating characteristic of code letter J (MIL-STD-105E
table X-J-1). Nothing of these is taken from the module under test.
"""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from trialcut.planning.sampling import SamplingPlan, code_letter, sampling_plan

LETTERS = {
    (2, 8): "A",
    (9, 15): "B",
    (16, 25): "C",
    (26, 50): "D",
    (51, 90): "E",
    (91, 150): "F",
    (151, 280): "G",
    (281, 500): "H",
    (501, 1200): "J",
    (1201, 3200): "K",
    (3201, 10_000): "L",
    (10_001, 35_000): "M",
    (35_001, 150_000): "N",
    (150_001, 500_000): "P",
    (500_001, 10_000_000): "Q",
}
"""General level II: smallest and largest lot of each letter, as printed on the chart."""

SIZES = {"A": 2, "B": 3, "C": 5, "D": 8, "E": 13, "F": 20, "G": 32, "H": 50, "J": 80, "K": 125, "L": 200}
SIZES |= {"M": 315, "N": 500, "P": 800, "Q": 1250}
"""As printed on the chart."""

COLUMNS = {
    0.0065: "F0 F0 F0 F0 F0 F0 F0 J1 J1 K2 L3 M5 N7 P10 Q14",
    0.010: "E0 E0 E0 E0 E0 E0 H1 H1 J2 K3 L5 M7 N10 P14 Q21",
    0.015: "D0 D0 D0 D0 D0 G1 G1 H2 J3 K5 L7 M10 N14 P21 P21",
    0.025: "C0 C0 C0 C0 F1 F1 G2 H3 J5 K7 L10 M14 N21 N21 N21",
    0.040: "B0 B0 B0 E1 E1 F2 G3 H5 J7 K10 L14 M21 M21 M21 M21",
    0.065: "A0 A0 D1 D1 E2 F3 G5 H7 J10 K14 L21 L21 L21 L21 L21",
}
"""Letter and acceptance number that each letter from A to Q leads to, arrows followed; from memory."""

CURVE_J = {
    # Acceptance number: percent nonconforming at which 95, 50 and 10 % of lots are accepted; from memory.
    0: ("0.0641", "0.863", "2.84"),
    1: ("0.446", "2.09", "4.78"),
    2: ("1.03", "3.33", "6.52"),
    3: ("1.73", "4.57", "8.16"),
}


def half_digit(printed: str) -> float:
    """Half of the last digit, as printed."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(("ends", "letter"), LETTERS.items(), ids=LETTERS.values())
def test_a_lot_has_the_code_letter_of_the_chart(ends, letter):
    assert [code_letter(each) for each in ends] == [letter, letter]


@pytest.mark.parametrize("level", COLUMNS)
def test_a_lot_is_sampled_as_the_master_table_says(level):
    for (_, lot), found in zip(LETTERS, COLUMNS[level].split(), strict=True):
        letter, accept = found[0], int(found[1:])
        plan = sampling_plan(lot, level=level)
        if SIZES[letter] >= lot:
            assert plan.every
            assert plan.pieces == lot
        else:
            assert (plan.letter, plan.pieces, plan.accept) == (letter, SIZES[letter], accept), lot


def test_the_example_of_a_textbook_comes_out():
    # Montgomery, Introduction to Statistical Quality Control, on MIL-STD-105E, from memory.
    plan = sampling_plan(2000, level=0.0065)
    assert (plan.letter, plan.pieces, plan.accept) == ("K", 125, 2)


@pytest.mark.parametrize("accept", CURVE_J)
def test_the_operating_characteristic_of_letter_j_is_the_tabulated_one(accept):
    plan = SamplingPlan(lot=1000, pieces=80, accept=accept, letter="J", level=0.01)
    for printed, odds in zip(CURVE_J[accept], (0.95, 0.50, 0.10), strict=True):
        share = brentq(lambda p, odds=odds: plan.odds_of_acceptance(p) - odds, 1e-9, 0.5, xtol=1e-12)
        assert_allclose(100.0 * share, float(printed), rtol=0.0, atol=half_digit(printed))


def test_odds_of_acceptance_agree_with_the_manual_of_an_r_package():
    # Printed there for 125 pieces, 2 accepted, 10 % nonconforming: 0.000210835.
    plan = SamplingPlan(lot=2000, pieces=125, accept=2, letter="K", level=0.0065)
    assert_allclose(plan.odds_of_acceptance(0.1), 0.000210835, rtol=0.0, atol=0.5e-9)


def test_odds_of_acceptance_agree_with_a_federal_regulation():
    # 7 CFR 42.140 (c): 500 pieces, 3 accepted; at 1.0 in a hundred "only 26 percent" of lots are accepted.
    # It counts defects per hundred, of which a piece may have several; at 1 % that moves the odds by 0.002.
    plan = SamplingPlan(lot=100_000, pieces=500, accept=3, letter="N", level=0.0025)
    assert_allclose(plan.odds_of_acceptance(0.01), 0.26, rtol=0.0, atol=0.005)
