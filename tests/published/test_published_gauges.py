"""Gauge studies and analyses of variance against printed and certified results that we did not write."""

from __future__ import annotations

import csv
from decimal import Decimal
from math import pi, sqrt

import pytest
from numpy.testing import assert_allclose
from scipy.stats import f_oneway

from published_gauges import RAW, all_checks, certified
from trialcut.trials.gauges import one_way_anova, one_way_from_summaries
from trialcut.trials.gauges import study as study_module
from trialcut.trials.gauges.range_constants import (
    d2_star,
    range_freedom,
    range_limit_factor,
    range_moments,
    repeat_factor,
    spread_factor,
)

CHECKS = all_checks()
SETS = certified()

# Digits that values rounded to floats leave: a float holds 1000000000000.4 to 6e-5 only.
FLOAT_DIGITS = {"SmLs07": 3.9, "SmLs08": 3.9, "SmLs09": 3.9, "SmLs04": 9.9, "SmLs05": 9.9, "SmLs06": 9.9}
FLOAT_DIGITS |= {"AtmWtAg": 10.1}
OTHERS = 13.0


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.name)
def test_a_published_figure_of_a_gauge_study_comes_out(check):
    assert check.holds(), f"{check.ours()} against {check.printed}"


def test_every_check_of_a_gauge_study_says_what_it_is_worth():
    assert len(CHECKS) > 70
    assert {check.kind for check in CHECKS} == {"printed", "independent"}
    assert all(check.source for check in CHECKS)


@pytest.mark.parametrize("one", SETS, ids=lambda one: one.name)
def test_values_as_written_give_the_certified_analysis_to_fourteen_digits(one):
    reached = one.digits(Decimal)
    assert min(reached.values()) >= 14.0, reached


@pytest.mark.parametrize("one", SETS, ids=lambda one: one.name)
def test_values_as_floats_give_as_many_digits_as_floats_hold(one):
    reached = one.digits(float)
    assert min(reached.values()) >= FLOAT_DIGITS.get(one.name, OTHERS), reached


def test_all_eleven_reference_sets_are_there():
    assert [one.name for one in SETS] == ["AtmWtAg", "SiRstv", *(f"SmLs0{k}" for k in range(1, 10))]
    assert [sum(map(len, one.groups)) for one in SETS] == [
        48,
        25,
        189,
        1809,
        18009,
        189,
        1809,
        18009,
        189,
        1809,
        18009,
    ]


def test_the_chance_of_an_f_ratio_is_that_of_scipy():
    groups = [[float(text) for text in group] for group in SETS[1].groups]
    assert_allclose(one_way_anova(groups).probability, f_oneway(*groups).pvalue, rtol=1e-10)


# JCGM 100 H.5, table H.9: ten days of five comparisons of a voltage standard; the table from memory.
H5_MEANS = [10.000172, 10.000116, 10.000013, 10.000144, 10.000106, 10.000031, 10.000060, 10.000125, 10.000163]
H5_MEANS += [10.000041]
H5_SDS = [60e-6, 77e-6, 111e-6, 101e-6, 67e-6, 93e-6, 80e-6, 73e-6, 88e-6, 86e-6]


def test_the_voltage_standard_of_the_guide_comes_out_as_printed():
    ours = one_way_from_summaries(means=H5_MEANS, sds=H5_SDS, replicates=5)
    assert_allclose(ours.mean, 10.000097, rtol=0.0, atol=0.5e-6)
    assert_allclose(sqrt(ours.between_mean_square / 5), 57e-6, rtol=0.0, atol=0.5e-6)
    assert_allclose(ours.within_sd, 85e-6, rtol=0.0, atol=0.5e-6)
    assert_allclose(sqrt(ours.between_variance(5)), 43e-6, rtol=0.0, atol=0.5e-6)
    assert_allclose(sqrt(ours.between_mean_square / 50), 18e-6, rtol=0.0, atol=0.5e-6)
    assert (ours.between_freedom, ours.within_freedom) == (9, 40)


def test_the_f_ratio_of_the_guide_is_of_rounded_deviations():
    ours = one_way_from_summaries(means=H5_MEANS, sds=H5_SDS, replicates=5)
    assert_allclose(5 * 57.0**2 / 85.0**2, 2.25, rtol=0.0, atol=0.5e-2)  # printed, from its rounded figures
    assert_allclose(
        ours.f_ratio, 2.26152, rtol=0.0, atol=0.5e-5
    )  # independent, from the same table unrounded


def test_constants_of_the_range_are_those_of_another_program():
    with (RAW / "control_chart_constants.csv").open(encoding="ascii") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 24
    for row in rows:
        size = int(row["n"])
        # six decimals are printed, of integrals that are good to 1e-5
        assert_allclose(range_moments(size), (float(row["d2"]), float(row["d3"])), rtol=0.0, atol=1e-5)
        assert_allclose(range_limit_factor(size), float(row["D4"]), rtol=0.0, atol=2e-5)


def test_small_samples_have_ranges_in_closed_form():
    assert_allclose(range_moments(2), (2.0 / sqrt(pi), sqrt(2.0 - 4.0 / pi)), rtol=1e-12)
    assert_allclose(range_moments(3)[0], 3.0 / sqrt(pi), rtol=1e-12)


def test_divisors_of_few_ranges_are_those_of_the_printed_table():
    two = [1.41, 1.28, 1.23, 1.21, 1.19, 1.18, 1.17, 1.17, 1.16, 1.16]
    three = [1.91, 1.81, 1.77, 1.75, 1.74, 1.73]
    for size, printed in ((2, two), (3, three)):  # Duncan's table by way of a public notebook
        ours = [d2_star(size=size, samples=count) for count in range(1, len(printed) + 1)]
        assert_allclose(ours, printed, rtol=0.0, atol=0.5e-2)


def test_factors_of_the_published_sheet_come_out_to_the_last_digit():
    assert (repeat_factor(3), spread_factor(3), spread_factor(10)) == (0.5908, 0.5231, 0.3146)
    # two trials, two appraisers or parts: 4.56 and 3.65 for 5.15 standard deviations, from memory
    assert (repeat_factor(2), spread_factor(2)) == (0.8862, 0.7071)


def test_degrees_of_freedom_of_ranges_are_about_those_of_the_printed_table():
    printed = {(2, 1): 1.0, (3, 1): 2.0, (10, 1): 7.7}  # Duncan, from memory
    for (size, samples), freedom in printed.items():
        # the printed approximation carries one more term for small samples
        assert_allclose(range_freedom(size=size, samples=samples), freedom, rtol=0.0, atol=0.1)


@pytest.mark.parametrize("moved", ["repeat_factor", "spread_factor", "range_limit_factor"])
@pytest.mark.parametrize("factor", [0.99, 1.01])
def test_a_factor_moved_by_one_percent_breaks_a_published_figure(moved, factor, monkeypatch):
    true = getattr(study_module, moved)
    monkeypatch.setattr(study_module, moved, lambda size: factor * true(size))
    from published_gauges import study

    study.cache_clear()
    held = [check.holds() for check in CHECKS]
    study.cache_clear()
    assert not all(held)
