import time
from math import pi

from numpy.testing import assert_allclose

from sample_parts import (
    bracket,
    contour,
    long_bar,
    plate,
    polygon,
    rectangle,
    reverse,
    ring,
    round_opening,
    wheel,
)
from trialcut.geometry.contours import ContourRole, Part
from trialcut.geometry.curves import Arc
from trialcut.planning.sizes import part_sizes, size_between, size_of_edge

INCH = 0.0254


def found(part):
    return {size.key: (size.weights, round(size.nominal, 9)) for size in part_sizes(part)}


def test_a_bracket_has_a_width_for_each_pair_of_facing_edges():
    """
    ::

          A6
        +----+
      A7|    |A5
        |    +--A4,A3--+
        |  B        |A2
        +-----------+
             A1
    """
    assert found(bracket()) == {
        "A1-A3": ((1.0, 1.0), round(1.25 * INCH, 9)),
        "A1-A6": ((1.0, 1.0), round(2.5 * INCH, 9)),
        "A2-A7": ((1.0, 1.0), round(3.0 * INCH, 9)),
        "A5-A7": ((1.0, 1.0), round(1.25 * INCH, 9)),
        "B": ((-2.0,), round(0.5 * INCH, 9)),
    }


def test_slots_and_windows_have_opening_widths_that_stock_takes_from():
    sizes = found(plate())
    assert sizes["B1-B3"] == ((-1.0, -1.0), 0.012)
    assert sizes["D1-D5"] == ((-1.0, -1.0), 0.04)
    assert sizes["A4-A8"] == ((1.0, 1.0), 0.16)
    assert sizes["E"] == ((-2.0,), 0.007)


def test_a_ring_has_an_outer_and_an_inner_diameter():
    assert found(ring()) == {"A": ((2.0,), 0.12), "B": ((-2.0,), 0.07)}


def test_a_notch_in_the_outline_is_an_opening_width():
    """
    ::

        +---+   +---+
        |   |   |   |
        |   +---+   |
        +-----------+
    """
    points = [(0, 0), (60, 0), (60, 40), (40, 40), (40, 20), (20, 20), (20, 40), (0, 40)]
    outline = contour("A", polygon([(x * 1e-3, y * 1e-3) for x, y in points]))
    sizes = found(Part(id="1", outline=outline))
    assert sizes["A4-A6"] == ((-1.0, -1.0), 0.02)
    assert sizes["A2-A8"] == ((1.0, 1.0), 0.06)
    assert sizes["A1-A5"] == ((1.0, 1.0), 0.02)
    assert sizes["A2-A4"] == ((1.0, 1.0), 0.02)


def test_a_frame_is_measured_across_its_opening():
    outline = contour("A", rectangle(0, 0, 0.1, 0.08))
    window = contour("B", reverse(rectangle(0.01, 0.01, 0.08, 0.06)), ContourRole.OPENING)
    sizes = found(Part(id="1", outline=outline, openings=(window,)))
    assert sizes["A1-A3"] == ((1.0, 1.0), 0.08)
    assert sizes["A2-A4"] == ((1.0, 1.0), 0.1)
    assert len(sizes) == 4


def test_edges_more_than_a_tenth_of_a_degree_off_do_not_face():
    skew = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.05), (0.0, 0.0505)]
    assert "A1-A3" not in found(Part(id="1", outline=contour("A", polygon(skew))))
    nearly = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.05), (0.0, 0.05005)]
    assert "A1-A3" in found(Part(id="1", outline=contour("A", polygon(nearly))))


def test_a_web_between_contours_is_a_size_only_where_asked():
    part = bracket()
    web = size_between(part, "B1", "A1")
    assert (web.key, web.weights, web.title) == ("A1-B1", (1.0, 1.0), "web between A1 and B1")
    assert_allclose(web.nominal, (0.625 - 0.25) * INCH, rtol=1e-12)
    assert web.key not in found(part)


def test_the_web_between_two_round_openings_is_what_is_left_between_them():
    web = size_between(long_bar(), "B1", "C1")
    assert web.weights == (1.0, 1.0)
    assert_allclose(web.nominal, 0.56 - 0.01, rtol=1e-12)


def test_the_web_of_a_ring_is_its_narrowest_place():
    outline = contour("A", [Arc((0.0, 0.0), 0.06, 0.0, 2 * pi)])
    part = Part(id="1", outline=outline, openings=(round_opening("B", 0.005, 0.0, 0.035),))
    assert_allclose(size_between(part, "A1", "B1").nominal, 0.02, rtol=1e-12)


def test_a_step_grows_with_the_outer_edge_and_shrinks_with_the_inner():
    step = size_between(bracket(), "A3", "A6")
    assert (step.title, step.weights) == ("step between A3 and A6", (-1.0, 1.0))
    assert_allclose(step.nominal, 1.25 * INCH, rtol=1e-12)


def test_there_is_no_size_between_edges_that_are_not_parallel():
    part = bracket()
    assert size_between(part, "A1", "A2") is None
    assert size_between(part, "A1", "A4") is None


def test_a_single_edge_has_a_radius_or_a_position():
    part = bracket()
    radius = size_of_edge(part.edge("A4"))
    assert (radius.weights, radius.title) == ((-1.0,), "radius of A4")
    assert_allclose(radius.nominal, 0.25 * INCH, rtol=1e-12)
    position = size_of_edge(part.edge("A2"))
    assert (position.weights, position.nominal) == ((1.0,), 0.0)
    assert size_of_edge(plate().edge("A1")).weights in {(1.0,)}
    assert size_of_edge(part.edge("B1")).key == "B"


def test_a_part_of_four_hundred_edges_is_searched_in_good_time():
    part = wheel(400)
    start = time.perf_counter()
    sizes = part_sizes(part)
    assert time.perf_counter() - start < 2.0
    assert sizes[-1].key == "B"
