import pytest
from numpy.testing import assert_allclose

from sample_parts import bracket, contour, plate, polygon
from trialcut.errors import DataError, UnknownNameError
from trialcut.geometry.contours import Part
from trialcut.planning.asks import parse_ask
from trialcut.planning.demands import Ask, DemandKind, Depth
from trialcut.planning.resolve import resolve, resolve_asks

INCH = 0.0254


def resolved(*texts, part=None):
    return {
        demand.id: demand for demand in resolve_asks(part or bracket(), [parse_ask(text) for text in texts])
    }


def refusal(*texts, part=None):
    with pytest.raises(DataError) as caught:
        resolved(*texts, part=part)
    return str(caught.value)


def test_a_demand_on_the_whole_part_bears_on_every_size():
    demands = resolved("part: ±0.005 in")
    assert list(demands) == ["size-A1-A3", "size-A1-A6", "size-A2-A7", "size-A5-A7", "size-B"]
    width = demands["size-A1-A3"]
    assert_allclose([width.lower, width.upper], [1.245 * INCH, 1.255 * INCH], rtol=1e-12)
    assert (width.text, width.depth, width.edges) == ("part: ±0.005 in", Depth.EVERY, ("A1", "A3"))


def test_a_demand_on_an_opening_goes_before_the_one_on_the_part():
    demands = resolved("part: ±0.005 in", "B: 12.7 H11")
    assert_allclose([demands["size-B"].lower, demands["size-B"].upper], [0.0127, 0.01281], rtol=1e-12)
    assert demands["size-A1-A3"].text == "part: ±0.005 in"


def test_the_general_tolerance_bears_on_what_nothing_else_is_asked_of():
    demands = resolved("part: ISO 2768 m", "A1-A3: ±0.05 mm")
    assert_allclose(demands["size-A1-A6"].upper - demands["size-A1-A6"].nominal, 3e-4, rtol=1e-9)
    assert_allclose(demands["size-A1-A3"].upper - demands["size-A1-A3"].nominal, 5e-5, rtol=1e-9)


def test_a_size_outside_the_general_tolerance_is_noted():
    small = contour("A", polygon([(0, 0), (0.05, 0), (0.05, 0.0004), (0, 0.0004)]))
    result = resolve(Part(id="1", outline=small), [parse_ask("ISO 2768 m")])
    assert [demand.id for demand in result.demands] == ["size-A2-A4"]
    assert [note.code for note in result.notes] == ["outside-general-tolerance"]


def test_finish_and_squareness_become_a_demand_on_every_edge():
    demands = resolved("part: 125 uin RMS", "B: 3.2 um", "A2: square 0.1 mm")
    assert demands["finish-A1"].finish_is_rms
    assert_allclose(demands["finish-A1"].upper, 3.175e-6, rtol=1e-12)
    assert demands["square-A2"].upper == 1e-4
    assert demands["square-A2"].lower is None
    assert not demands["finish-B1"].finish_is_rms
    assert demands["finish-B1-rms"].finish_is_rms


def test_a_corner_is_named_in_the_order_of_the_cut():
    assert list(resolved("A2/A1: corner 0.2 mm")) == ["corner-A1-A2"]


def test_smooth_joints_are_no_corners():
    assert list(resolved("part: corner 0.2 mm")) == [
        "corner-A1-A2",
        "corner-A2-A3",
        "corner-A5-A6",
        "corner-A6-A7",
        "corner-A7-A1",
    ]
    assert "do not meet at a corner" in refusal("A3-A4: corner 0.2 mm")


def test_an_edge_machined_later_takes_its_sizes_with_it_and_says_so():
    result = resolve(bracket(), [parse_ask(text) for text in ("part: ±0.1 mm", "A1: machined later 0.5 mm")])
    assert [demand.id for demand in result.demands] == ["size-A2-A7", "size-A5-A7", "size-B", "later-A1"]
    later = result.demands[-1]
    assert (later.kind, later.allowance, later.upper) == (DemandKind.LATER, 5e-4, None)
    assert [note.code for note in result.notes] == ["machined-later"]
    assert "width between A1 and A3" in result.notes[0].message


def test_a_whole_part_can_be_left_for_later():
    demands = resolved("part: machined later", "part: ±0.1 mm")
    assert {demand.kind for demand in demands.values()} == {DemandKind.LATER}
    assert len(demands) == 8


def test_a_size_asked_of_an_edge_that_is_machined_later_is_a_contradiction():
    assert refusal("A1-A3: ±0.1 mm", "A1: machined later") == (
        "'A1-A3: ±0.1 mm' is asked of A1, which is machined later: "
        "drop one of the two, for the later operation makes that edge"
    )


def test_a_written_size_must_be_the_drawn_one():
    assert refusal("A1-A3: 40 mm ±0.1") == (
        "'A1-A3: 40 mm ±0.1': 40 mm is asked but the drawing has 31.75 mm (width between A1 and A3): "
        "correct the demand or the drawing"
    )
    assert refusal("B: 0.75 in ±0.005") == (
        "'B: 0.75 in ±0.005': 0.75 in is asked but the drawing has 0.5 in (opening B, diameter): "
        "correct the demand or the drawing"
    )


def test_a_written_size_that_differs_by_rounding_keeps_its_own_limits():
    """Drawn 31.75 mm; written 31.746 mm, within a rounding: the limits count from what is written."""
    demand = resolved("A1-A3: 31.746 mm ±0.1")["size-A1-A3"]
    assert_allclose([demand.nominal, demand.lower, demand.upper], [0.03175, 0.031646, 0.031846], rtol=1e-12)


def test_limits_written_as_sizes_need_not_hold_the_drawn_size():
    demand = resolved("B: 12.75/12.80 mm")["size-B"]
    assert_allclose([demand.nominal, demand.lower, demand.upper], [0.0127, 0.01275, 0.0128], rtol=1e-12)
    assert "the drawing has 12.7 mm" in refusal("B: 25.00/25.10 mm")
    assert "the drawing has 12.7 mm" in refusal("B: max 10 mm")


def test_an_opening_with_several_widths_takes_the_written_one():
    demands = resolved("D: 40 mm ±0.1", part=plate())
    assert list(demands) == ["size-D1-D5", "size-D3-D7"]


def test_two_demands_on_one_size_must_hold_together():
    result = resolve(bracket(), [parse_ask("A1-A3: ±0.1 mm"), parse_ask("A3-A1: +0.05/-0.2 mm")])
    (demand,) = result.demands
    assert_allclose([demand.lower, demand.upper], [0.03165, 0.0318], rtol=1e-12)
    assert [note.code for note in result.notes] == ["asked-twice"]


def test_two_demands_that_leave_no_room_are_a_contradiction():
    assert refusal("A1-A3: +0.3/+0.2 mm", "A1-A3: ±0.1 mm") == (
        "'A1-A3: +0.3/+0.2 mm' and 'A1-A3: ±0.1 mm' contradict each other on width between A1 and A3: "
        "keep one of them"
    )


def test_a_size_may_be_asked_differently_at_top_and_bottom():
    demands = resolved("A1-A3: ±0.1 mm at top", "A1-A3: ±0.3 mm at bottom")
    assert list(demands) == ["size-A1-A3-top", "size-A1-A3-bottom"]


def test_limits_the_wrong_way_round_are_refused():
    ask = Ask(on=("A1", "A3"), kind=DemandKind.SIZE, text="A1-A3", lower=1e-4, upper=-1e-4)
    with pytest.raises(DataError, match=r"the lower limit 0\.1 mm is not below the upper -0\.1 mm"):
        resolve_asks(bracket(), [ask])


def test_an_unknown_edge_names_the_nearest():
    with pytest.raises(UnknownNameError) as caught:
        resolved("A9: 3.2 um")
    assert str(caught.value) == "'A9: 3.2 um': the part has no edge or opening A9: the nearest are A, A7, A6"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("A1-A4: ±0.1 mm", "there is no size between A1 and A4: name two parallel edges"),
        ("A1-A2-A3: ±0.1 mm", "names 3 edges: a size lies between two"),
        ("A2: ISO 2768 m", "gives a size to one straight edge: name both edges, as 'A2-A7'"),
        ("A1: 40 mm ±0.1", "gives a size to one straight edge: name both edges, as 'A1-A3'"),
        ("A-B: ±0.1 mm", "A has 7 edges: name the one that is meant, as 'A1'"),
    ],
)
def test_a_size_that_is_not_there_is_refused_with_the_remedy(text, message):
    assert message in refusal(text)


def test_a_list_of_openings_takes_the_size_one_by_one():
    assert list(resolved("E, F, H: 7 H11", part=plate())) == ["size-E", "size-F", "size-H"]
    assert list(resolved("A1, A3, A5, A7: ±0.2 mm", part=plate())) == [
        "size-A1",
        "size-A3",
        "size-A5",
        "size-A7",
    ]


def test_a_general_tolerance_can_be_asked_where_it_does_not_reach_by_itself():
    """An outside radius of 12 mm is given ±1 mm, an inside radius of 5 mm the ±0.1 mm of a size."""
    demands = resolved("A1: ISO 2768 m", "D2: ISO 2768 m", "A2-D3: ISO 2768 m", part=plate())
    halves = {name: demand.upper - demand.nominal for name, demand in demands.items()}
    assert_allclose([halves["size-A1"], halves["size-D2"]], [1e-3, 1e-4], rtol=1e-9)


def test_edges_that_no_size_reaches_are_noted():
    triangle = contour("A", polygon([(0, 0), (0.1, 0), (0.05, 0.08)]))
    result = resolve(Part(id="1", outline=triangle), [parse_ask("part: ±0.1 mm")])
    assert result.demands == ()
    assert [note.code for note in result.notes] == ["edges-without-size"]
    assert "does not reach A1, A2, A3" in result.notes[0].message


def test_a_lone_edge_can_be_held_to_its_place():
    demand = resolved("A2: ±0.1 mm")["size-A2"]
    assert (demand.nominal, demand.lower, demand.upper, demand.weights) == (0.0, -1e-4, 1e-4, (1.0,))
