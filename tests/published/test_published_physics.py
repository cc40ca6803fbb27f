"""Every published check holds, and every constant is watched by at least one of them."""

import pytest

from published_checks import KINDS, Moved, all_checks
from trialcut.sources import bibliography, constant_set
from trialcut.sources.files import constant_tables

CHECKS = all_checks()

NOT_IN_AN_EQUATION = {
    ("abrasive-jet", "loading_low"): "limit of a note",
    ("abrasive-jet", "bore_ratio_low"): "limit of a note",
    ("abrasive-jet", "bore_ratio_high"): "limit of a note",
    ("abrasive-jet", "grains_across"): "limit of a refusal",
    ("kerf-taper", "exponent_neutral_correlation"): "shapes the spread, not the centre",
    ("tube-wear", "tube_life"): "a usual life for shop files",
    ("tube-wear", "orifice_life_ruby"): "a usual life for shop files",
    ("tube-wear", "orifice_life_diamond"): "a usual life for shop files",
    ("piercing", "moving_share"): "an argument that a caller passes",
    ("process-scatter", "piece_scatter"): "a spread, not a centre",
    ("process-scatter", "edge_scatter"): "a spread, not a centre",
    ("process-scatter", "finish_scatter"): "a spread, not a centre",
    ("kerf-power", "power_exponent_neutral_correlation"): "shapes the spread, not the centre",
    ("kerf-dose", "dose_thickness_exponent"): "zero: a centre that no percentage moves",
    ("separation-prior", "separation_thickness_exponent"): "zero: a centre that no percentage moves",
    ("motion-time", "slow_factor"): "one: what motion says, until a cycle time is read",
    ("motion-time", "fixed_factor"): "one: what motion says, until a cycle time is read",
} | {
    (set_id, name): "a spread, not a centre"
    for set_id in ("effects", "discrepancy")
    for name in constant_set(set_id)
}

CONSTANTS = [
    (set_id, name)
    for set_id in constant_tables()
    for name in constant_set(set_id)
    if (set_id, name) not in NOT_IN_AN_EQUATION
]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.file}: {check.name}")
def test_a_published_check_holds(check):
    assert check.low <= check.ours() <= check.high, check.where


@pytest.mark.parametrize("share", [0.01, -0.01])
@pytest.mark.parametrize(("set_id", "name"), CONSTANTS, ids=lambda part: part)
def test_a_constant_moved_by_one_percent_breaks_a_check(set_id, name, share):
    value = constant_set(set_id)[name].value
    # A constant that is zero has no percent; one part in a hundred of its unit serves.
    moved = Moved(set_id, name, value * (1.0 + share) if value else share)
    relevant = [check for check in CHECKS if check.ours() != check.ours(moved)]

    assert relevant
    assert all(check.holds() for check in relevant)
    assert not all(check.holds(moved) for check in relevant)


def test_every_exemption_names_a_constant_that_exists():
    assert all(name in constant_set(set_id) for set_id, name in NOT_IN_AN_EQUATION)


def test_every_check_has_a_known_kind_and_source():
    assert {check.kind for check in CHECKS} <= set(KINDS)
    assert {check.source for check in CHECKS} <= set(bibliography())
