"""Pictures of the as-cut part, read back from their SVG."""

from __future__ import annotations

import re
from itertools import pairwise
from math import isclose

import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import rectangle_part
from sample_fields import field_of, jet_path_of
from sample_parts import bracket, plate, ring
from svg_reading import NUMBER, parse, pieces, with_class
from trialcut.ascut.solid import as_cut_solid
from trialcut.ascut.types import DeviationField
from trialcut.errors import RangeError, UnknownNameError
from trialcut.papers import Look
from trialcut.papers.ascut_look import exaggeration, round_down
from trialcut.papers.layer_svg import layer_svg
from trialcut.papers.section_svg import section_svg
from trialcut.papers.solid_still import MOST_QUADS, solid_still
from trialcut.papers.still_svg import still_svg

HALF_DIGIT = 0.5e-2
"""Straight pieces are printed to two decimals of a pixel."""


def wavy(edge, fraction, depth):
    return 1.2e-4 * (depth - 0.35) + 5e-5 * np.sin(6.28 * fraction + edge)


def texts(root):
    return ["".join(node.itertext()) for node in root.iter("{http://www.w3.org/2000/svg}text")]


def with_draws(field: DeviationField, spread: float) -> DeviationField:
    draws = field.deviation[:, :, None] + spread * np.linspace(-1.0, 1.0, 201)
    values = {name: getattr(field, name) for name in DeviationField.__slots__}
    return DeviationField(**values | {"deviation": draws})


def points_of(node):
    found = pieces(node.get("d"))
    return np.array([found[0].start, *(piece.end for piece in found)])


def test_a_section_shows_the_wall_at_its_place_and_says_how_much_it_exaggerates():
    part = rectangle_part(0.04, 0.03)
    field = field_of(part, lambda _e, f, d: 1e-4 * d * (1.0 + f), layers=11, thickness=0.01)
    root = parse(section_svg(field, edge="A1", fraction=0.25))
    (wall,) = with_class(root, "tc-wall")
    (drawn,) = with_class(root, "tc-drawn")
    points = points_of(wall)
    deep = points[-1, 1] - points[0, 1]
    (note,) = [text for text in texts(root) if "Deviations drawn" in text]
    times = float(re.search(r"drawn ([0-9.]+) times", note)[1])
    across = (points[:, 0] - float(drawn.get("x1"))) / (deep / 0.01) / times
    assert_allclose(across, 1.25e-4 * np.linspace(0.0, 1.0, 11), atol=2 * HALF_DIGIT / deep * 0.01 / times)
    bar = with_class(root, "tc-scales")[1][0]
    length = float(NUMBER.search(note)[0]) * 1e-3
    assert_allclose(float(bar.get("x2")) - float(bar.get("x1")), length * times * deep / 0.01, atol=0.011)


def test_a_section_prints_its_deviations_in_both_systems():
    field = field_of(rectangle_part(0.04, 0.03), lambda _e, _f, d: -2.54e-5 + 7.62e-5 * d, thickness=0.0127)
    metric = texts(parse(section_svg(field, edge="A2")))
    inch = texts(parse(section_svg(field, edge="A2", system="inch")))
    assert {"−0.025 mm", "+0.013 mm", "+0.051 mm", "12.7 mm"} <= set(metric)
    assert {"−0.0010 in", "+0.0005 in", "+0.0020 in", "0.5 in"} <= set(inch)


def test_a_section_of_draws_shows_their_spread():
    flat = field_of(rectangle_part(0.04, 0.03), 1e-4, layers=3, thickness=0.01)
    root = parse(section_svg(with_draws(flat, 5e-5), edge="A1", times=50.0))
    (band,) = with_class(root, "tc-spread")
    xs = points_of(band[0])[:, 0]
    # Even draws over twice 50 µm: 5 and 95 % are 90 µm apart; the picture's depth is the plate's 10 mm.
    deep = np.ptp(points_of(with_class(root, "tc-wall")[0])[:, 1])
    assert_allclose(np.ptp(xs), 9e-5 * 50.0 * deep / 0.01, atol=2 * HALF_DIGIT)
    assert any("5 to 95 %" in text for text in texts(root))
    assert with_class(parse(section_svg(flat, edge="A1")), "tc-spread") == []


def test_a_section_of_an_edge_that_is_not_there_is_refused():
    with pytest.raises(UnknownNameError, match="edge Z9"):
        section_svg(field_of(ring()), edge="Z9")


def test_a_section_ends_where_the_jet_no_longer_cuts_through():
    field = field_of(
        rectangle_part(0.04, 0.03), lambda _e, _f, d: np.where(d > 0.8, np.inf, 1e-4 * d), layers=11
    )
    root = parse(section_svg(field, edge="A1"))
    assert not {"inf", "nan"} & set(re.findall(r"[a-z]+", section_svg(field, edge="A1")))
    values = ["".join(node.itertext()) for node in with_class(root, "tc-value")]
    assert values == ["0.000 mm", "+0.050 mm"]
    with pytest.raises(RangeError, match="no as-cut wall at 50 % of its length"):
        section_svg(field_of(rectangle_part(0.04, 0.03), np.inf), edge="A1")


def test_an_outline_lies_off_the_drawing_by_the_stated_times_the_deviation():
    part = rectangle_part(0.04, 0.03)
    field = field_of(part, lambda _e, _f, d: 1e-4 * d, layers=3)
    root = parse(layer_svg(part, field, depth=0.75))
    (note,) = [text for text in texts(root) if "Deviations drawn" in text]
    times = float(re.search(r"drawn ([0-9.]+) times", note)[1])
    wall = points_of(with_class(root, "tc-wall")[0])
    drawn = points_of(with_class(root, "tc-drawn")[0])
    scale = np.ptp(drawn[:, 0]) / 0.04
    grown = (np.ptp(wall, axis=0) - np.ptp(drawn, axis=0)) / 2.0
    assert_allclose(grown, 0.75e-4 * times * scale, atol=2 * HALF_DIGIT)
    assert "75 % of the depth of 10 mm plate" in note
    assert "+0.075 mm" in texts(root)


def test_bands_of_an_outline_are_parted_by_the_sign_of_the_deviation():
    part = ring()
    root = parse(layer_svg(part, field_of(part, lambda _e, f, _d: 1e-4 * np.sin(2 * np.pi * f + 0.1))))
    assert len(with_class(root, "tc-left")) == len(with_class(root, "tc-away")) == 2
    only = parse(layer_svg(part, field_of(part, -1e-4)))
    assert (len(with_class(only, "tc-left")), len(with_class(only, "tc-away"))) == (0, 2)


@pytest.mark.parametrize("make", [bracket, plate, ring])
def test_a_still_shows_every_run_pierce_and_traverse(make):
    part = make()
    root = parse(still_svg(part, jet_path_of(part)))
    runs = len(part.contours)
    assert len(with_class(root, "tc-pierce")) == runs
    assert len(with_class(root, "tc-start")) == runs
    (traverses,) = with_class(root, "tc-traverses")
    assert len(traverses) == runs - 1
    numbers = ["".join(node.itertext()) for node in with_class(root, "tc-order-text")]
    assert numbers == [str(k) for k in range(1, runs + 1)]


def test_pieces_of_a_still_join_and_follow_the_path():
    part = bracket()
    jet = jet_path_of(part)
    root = parse(still_svg(part, jet))
    track = with_class(root, "tc-track")[0]
    drawn = np.concatenate([points_of(node) for node in track])
    pixels = np.ptp(drawn[:, 0]) / np.ptp(jet.position[:, 0])
    path = (jet.position - [jet.position[:, 0].min(), jet.position[:, 1].max()]) * [pixels, -pixels]
    path += [drawn[:, 0].min(), drawn[:, 1].min()]
    near = np.hypot(*(drawn[:, None] - path[None]).transpose(2, 0, 1)).min(axis=1)
    assert near.max() < 0.05
    gaps = [np.hypot(*np.subtract(points_of(a)[-1], points_of(b)[0])) for a, b in pairwise(track)]
    assert sum(gap > 1e-9 for gap in gaps) == len(part.contours) - 1


def test_a_still_of_an_upright_head_has_no_pins_and_says_so():
    part = ring()
    root = parse(still_svg(part, jet_path_of(part, tilt=0.0)))
    assert with_class(root, "tc-tilts") == []
    assert "head upright" in texts(root)
    assert with_class(parse(still_svg(part, jet_path_of(part))), "tc-tilts") != []


def test_a_still_prints_the_ends_of_its_speed_scale_in_both_systems():
    part = bracket()
    jet = jet_path_of(part, speed=2.54e-3, corner_speed=6.35e-4)
    assert "152.4" in texts(parse(still_svg(part, jet)))
    assert "6" in texts(parse(still_svg(part, jet, system="inch")))


@pytest.mark.parametrize("make", [bracket, plate, ring])
def test_a_solid_is_drawn_with_a_bounded_number_of_cells_inside_the_picture(make):
    part = make()
    look = Look(width=480.0, height_max=360.0)
    root = parse(solid_still(part, as_cut_solid(part, field_of(part, wavy, layers=24)), look=look))
    (walls,) = with_class(root, "tc-walls")
    cells = [node for node in walls if node.get("fill")]
    assert 100 < len(cells) <= MOST_QUADS
    height = float(root.get("height"))
    assert height <= 360.0
    for node in (*walls, *with_class(root, "tc-body")):
        for number_x, number_y in np.array([float(t) for t in NUMBER.findall(node.get("d"))]).reshape(-1, 2):
            assert 0.0 <= number_x <= 480.0
            assert 0.0 <= number_y <= height


def test_a_solid_shows_only_the_walls_that_face_the_eye():
    """A block seen from above: two of its four walls, each 10 mm high and foreshortened alike."""
    part = rectangle_part(0.04, 0.03)
    root = parse(solid_still(part, as_cut_solid(part, field_of(part, layers=2))))
    (walls,) = with_class(root, "tc-walls")
    cells = [points_of(node)[:4] for node in walls if node.get("fill")]
    body = points_of(with_class(root, "tc-body")[0])[:4]
    slopes = {round((c[1, 1] - c[0, 1]) / (c[1, 0] - c[0, 0]), 1) for c in cells}
    assert len(slopes) == 2
    heights = [c[3, 1] - c[0, 1] for c in cells]
    assert_allclose(heights, heights[0], atol=2 * HALF_DIGIT)
    assert min(c[0, 1] for c in cells) > body[:, 1].min(), "walls hang from the nearer rim"


@pytest.mark.parametrize(
    "draw",
    [
        lambda _part, field: section_svg(field, edge="A1"),
        layer_svg,
        lambda part, field: solid_still(part, as_cut_solid(part, field)),
        lambda part, _field: still_svg(part, jet_path_of(part)),
    ],
)
def test_the_same_arguments_give_the_same_bytes(draw):
    part = bracket()
    assert draw(part, field_of(part, wavy)) == draw(part, field_of(part, wavy))


@pytest.mark.parametrize("value", [1.0, 0.0199, 2.0, 4.999, 5.0, 50.0, 731.0, 1e-5])
def test_round_numbers_are_one_two_or_five_and_do_not_exceed(value):
    found = round_down(value)
    assert found <= value * (1.0 + 1e-12)
    assert value / found < 2.5 * (1.0 + 1e-12)
    digits = found / 10.0 ** np.floor(np.log10(found * (1.0 + 1e-12)))
    assert any(isclose(digits, step, rel_tol=1e-9) for step in (1.0, 2.0, 5.0))


def test_nothing_is_drawn_smaller_than_it_is():
    assert exaggeration(0.01, 5.0, scale=10_000.0) == 1.0
    assert exaggeration(0.0, 5.0, scale=10_000.0) == 1.0
