"""Operations beside the jet: their times against hand-worked figures, and what shapes they can make."""

from dataclasses import replace
from math import pi

import pytest
from numpy.testing import assert_allclose

from sample_parts import contour, rectangle, round_opening
from trialcut.errors import FileFormatError
from trialcut.planning.operations import Operation, OperationKind
from trialcut.services import demo_shop_text, load_shop

MILL = Operation(
    name="finishing",
    kind=OperationKind.PROFILE_MILL,
    price=0.02,
    setup_time=1800.0,
    handling_time=90.0,
    station="mill",
    edge_feed=0.010,
    stock_least=0.2e-3,
    stock_most=3e-3,
    pass_stock=0.8e-3,
    inside_radius=4e-3,
    material_factors={"hard": 3.0},
)
DRILL = Operation(
    name="drilling",
    kind=OperationKind.DRILL,
    price=0.02,
    setup_time=600.0,
    handling_time=30.0,
    station="drill press",
    hole_time=6.0,
    depth_feed=0.004,
    diameter_least=3e-3,
    diameter_most=20e-3,
    from_solid=True,
)


@pytest.mark.parametrize(("stock", "passes"), [(0.2e-3, 1), (0.8e-3, 1), (0.81e-3, 2), (2.4e-3, 3)])
def test_a_milled_edge_takes_length_over_feed_for_each_pass(stock, passes):
    time = MILL.time(length=0.1, thickness=0.025, material="soft", stock=stock)
    assert_allclose(time, passes * 10.0, rtol=1e-12)
    hard = MILL.time(length=0.1, thickness=0.025, material="hard", stock=stock)
    assert_allclose(hard, 3.0 * time, rtol=1e-12)


def test_a_drilled_opening_takes_a_fixed_time_and_its_depth_over_the_feed():
    time = DRILL.time(length=pi * 0.01, thickness=0.020, material="soft", diameter=0.010)
    assert_allclose(time, 6.0 + 0.020 / 0.004, rtol=1e-12)


def test_a_tool_of_one_feed_a_turn_goes_in_slower_the_larger_the_opening():
    bore = replace(DRILL, feed_diameter=0.020)
    small = bore.time(length=0.0, thickness=0.020, material="soft", diameter=0.010) - 6.0
    large = bore.time(length=0.0, thickness=0.020, material="soft", diameter=0.040) - 6.0
    assert_allclose(large / small, 4.0, rtol=1e-12)
    assert_allclose(large, 2.0 * 0.020 / 0.004, rtol=1e-12)


def test_an_area_rate_counts_the_wall_that_is_made():
    rough = replace(MILL, edge_feed=None, area_rate=5e-5, pass_stock=None)
    assert_allclose(rough.time(length=0.1, thickness=0.02, material="soft"), 40.0, rtol=1e-12)


def test_stock_outside_what_an_operation_takes_is_refused():
    taken = [MILL.takes(stock) for stock in (0.1e-3, 0.2e-3, 3e-3, 3.1e-3)]
    assert taken == [False, True, True, False]
    assert replace(MILL, stock_most=None).takes(1.0)


def test_each_operation_makes_its_own_shapes():
    outline = contour("A", rectangle(0.0, 0.0, 0.04, 0.04)).edges[0]
    hole = round_opening("B", 0.02, 0.02, 0.005).edges[0]
    large = round_opening("B", 0.02, 0.02, 0.015).edges[0]
    face = replace(MILL, kind=OperationKind.MILL_FACE)

    def suits(operation, edge, *, opening, inside_corner=False):
        return operation.suits(edge, opening=opening, inside_corner=inside_corner)

    assert suits(DRILL, hole, opening=True)
    assert not suits(DRILL, large, opening=True)
    assert not suits(DRILL, outline, opening=False)
    assert suits(face, outline, opening=False)
    assert not suits(face, outline, opening=False, inside_corner=True)
    assert not suits(face, hole, opening=True)
    assert suits(MILL, hole, opening=True)
    assert not suits(replace(MILL, inside_radius=6e-3), hole, opening=True)
    assert not suits(MILL, outline, opening=False, inside_corner=True)


def test_the_demo_shop_has_every_kind_of_operation():
    operations = load_shop().operations
    assert {operation.kind for operation in operations.values()} == set(OperationKind)
    assert_allclose(operations["drilling"].depth_feed, 0.25 / 60.0, rtol=1e-12)
    assert_allclose(operations["roughing"].area_rate, 30e-4 / 60.0, rtol=1e-12)
    assert_allclose(operations["boring"].finish, 0.8e-6, rtol=1e-12)
    assert operations["drilling"].from_solid
    assert not operations["reaming"].from_solid


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('depth_feed    = "250 mm/min"', 'edge_feed = "250 mm/min"', "does not go with kind 'drill'"),
        ('stock_most    = "0.4 mm"', 'stock_most = "0.05 mm"', "is less than stock_least"),
        ('finish        = "Ra 0.8 µm"', "", "'finish' is missing: say what 'bore' reaches"),
        ('edge_feed     = "2 m/min"', "", "says nothing of how fast it is"),
        ('finish        = "Ra 0.8 µm"', 'finish = "Rq 0.8 µm"', "is an RMS height"),
        ('price         = "40 EUR/h"', 'price = "40 USD/h"', "a shop has one currency"),
    ],
)
def test_what_is_wrong_with_an_operation_is_said(tmp_path, old, new, said):
    text = demo_shop_text()
    assert old in text
    path = tmp_path / "shop.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(FileFormatError) as caught:
        load_shop(path)
    assert any(said in problem for problem in caught.value.facts["problems"])
