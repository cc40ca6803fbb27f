"""The drawing of a part, read back from its SVG."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import pytest
from numpy.testing import assert_allclose

from sample_parts import bracket, long_bar, plate, ring, wheel
from sample_results import bracket_study, option_of, path_of, plate_study, size
from svg_reading import advance, box_of_text, parse, pieces, with_class
from trialcut.geometry.curves import Arc
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.papers import ColourBy, EdgeValues, Look, edge_values, part_svg
from trialcut.papers.svg import text_width

PARTS = {"bracket": bracket, "plate": plate, "ring": ring, "bar": long_bar, "wheel": lambda: wheel(61)}
HALF_DIGIT = 0.5e-4
"""Path data is printed to four decimals of a pixel."""


@pytest.fixture(params=PARTS)
def part(request):
    return PARTS[request.param]()


def values_of(part):
    speeds = {edge.id: float(k % 5 + 1) for k, edge in enumerate(part.edges)}
    return EdgeValues(title="Speed", unit="mm/min", values=speeds, number=lambda value: f"{value:.0f}")


def full_drawing(part, **more):
    findings = [
        Finding(code="x", status=FindingStatus.FIXED, message="joined", where=next(part.edges).start),
    ]
    return part_svg(part, values=values_of(part), path=path_of(part), findings=findings, **more)


def test_every_edge_is_one_path_with_its_id(part):
    root = parse(full_drawing(part))
    assert [node.get("data-edge") for node in with_class(root, "tc-edge")] == [e.id for e in part.edges]


def test_arcs_are_written_as_arcs_and_come_back_exact(part):
    root = parse(part_svg(part))
    scale = float(root.get("data-scale"))
    drawn = {node.get("data-edge"): pieces(node.get("d")) for node in with_class(root, "tc-edge")}
    (edge, *_) = part.edges
    origin = drawn[edge.id][0].start
    start = edge.start

    def at(point):
        return (origin[0] + (point[0] - start[0]) * scale, origin[1] - (point[1] - start[1]) * scale)

    for edge in part.edges:
        got = drawn[edge.id]
        # The first point anchors the comparison, so that two roundings add.
        assert_allclose(got[0].start, at(edge.start), atol=2 * HALF_DIGIT)
        assert_allclose(got[-1].end, at(edge.end), atol=2 * HALF_DIGIT)
        segment = edge.segments[0]
        assert len(edge.segments) == 1
        if isinstance(segment, Arc):
            for piece in got:
                assert_allclose(piece.radius, segment.radius * scale, atol=2 * HALF_DIGIT)
                # A centre reckoned from rounded ends is off by more where the arc is short.
                slack = 4 * HALF_DIGIT * max(1.0, 2.0 / abs(piece.turn)) ** 2
                assert_allclose(piece.centre, at(segment.centre), atol=slack)
            assert_allclose(sum(piece.turn for piece in got), -segment.sweep, atol=1e-4)
        else:
            assert [piece.centre for piece in got] == [None]


def test_the_pieces_of_an_edge_join(part):
    root = parse(part_svg(part))
    for node in with_class(root, "tc-edge"):
        for before, after in pairwise(pieces(node.get("d"))):
            assert before.end == after.start


def test_the_same_arguments_give_the_same_bytes(part):
    assert full_drawing(part) == full_drawing(part)


def test_labels_do_not_overlap(part):
    root = parse(full_drawing(part))
    names = ("tc-label", "tc-opening", "tc-size", "tc-order-text", "tc-flag-text")
    boxes = [(node.text, box_of_text(node)) for name in names for node in with_class(root, name)]
    assert len(boxes) > 2
    for k, (text, a) in enumerate(boxes):
        for other, b in boxes[k + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, f"{text} overlaps {other}"


@pytest.mark.parametrize("study", [bracket_study(), plate_study()], ids=["inch", "metric"])
@pytest.mark.parametrize("look", [Look(), Look(width=480.0, height_max=345.0)], ids=["page", "paper"])
def test_labels_and_dimensions_do_not_overlap(study, look):
    option = option_of(study)
    root = parse(
        part_svg(
            study.part,
            values=edge_values(option.forecast, study.system),
            demands=study.demands,
            path=option.forecast.path,
            findings=study.drawing.findings,
            system=study.system,
            look=look,
        )
    )
    boxes = [(n.text, box_of_text(n)) for n in root.iter() if n.tag.endswith("text")]
    for k, (text, a) in enumerate(boxes):
        for other, b in boxes[k + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, f"{text} overlaps {other}"


def test_labels_lie_within_the_picture(part):
    root = parse(full_drawing(part))
    _, _, width, height = (float(value) for value in root.get("viewBox").split())
    for node in root.iter():
        if node.tag.endswith("text"):
            left, top, right, bottom = box_of_text(node)
            assert left >= 0.0
            assert top >= 0.0
            assert right <= width
            assert bottom <= height


def test_every_edge_of_an_ordinary_part_is_labelled(part):
    root = parse(full_drawing(part))
    shown = {node.text for node in with_class(root, "tc-label")}
    assert shown == {edge.id for edge in part.edges}


def test_our_estimate_of_a_text_is_no_narrower_than_the_font_sets_it():
    for text in ("1.500 ±0.005 in", "160.00 +0.10/−0.05 mm", "A107", "W12", "4 × Ø7.00 mm", "machined later"):
        for heavy in (False, True):
            # One twentieth of an em is the step of the estimate's table.
            assert text_width(text, 10.0) >= advance(text, 10.0, heavy=heavy) - 0.25
            assert text_width(text, 10.0) <= 1.15 * advance(text, 10.0, heavy=heavy)


def test_sizes_are_drawn_with_their_limits():
    study = bracket_study()
    root = parse(part_svg(study.part, demands=study.demands, system="inch"))
    texts = [node.text for node in with_class(root, "tc-size")]
    assert sorted(texts) == [
        "1.250 ±0.005 in",
        "2.500 ±0.005 in",
        "3.000 ±0.005 in",
        "Ø0.500 +0.004/0 in",
    ]


def test_a_dimension_line_is_as_long_as_its_size():
    study = bracket_study()
    root = parse(part_svg(study.part, demands=study.demands, system="inch"))
    scale = float(root.get("data-scale"))
    for group in with_class(root, "tc-dimension"):
        if group.get("data-demand") == "size-B1":
            continue
        demand = next(d for d in study.demands if d.id == group.get("data-demand"))
        tips = [
            tuple(float(v) for v in node.get("points").split()[0].split(","))
            for node in group
            if node.get("class") == "tc-arrow"
        ]
        (x0, y0), (x1, y1) = tips
        # Marks are printed to two decimals of a pixel.
        assert_allclose(hypot(x1 - x0, y1 - y0), demand.nominal * scale, atol=0.01)


def test_equal_diameters_share_one_callout():
    study = plate_study()
    root = parse(part_svg(study.part, demands=study.demands, system="metric"))
    assert "4 × Ø7.00 +0.09/0 mm" in [node.text for node in with_class(root, "tc-size")]


def test_a_missed_demand_is_drawn_in_the_warm_accent():
    study = bracket_study()
    root = parse(part_svg(study.part, demands=study.demands, missed=frozenset({"size-A1-A6"})))
    assert [node.get("data-demand") for node in with_class(root, "tc-missed")] == ["size-A1-A6"]


def test_interactive_edges_can_be_focused_and_named():
    part = bracket()
    root = parse(part_svg(part, values=values_of(part), look=Look(interactive=True, selected="A2")))
    hits = with_class(root, "tc-hit")
    assert [node.get("data-edge") for node in hits] == [edge.id for edge in part.edges]
    for node in hits:
        assert node.get("role") == "button"
        assert node.get("tabindex") == "0"
        assert float(node.get("stroke-width")) >= 12.0
    assert hits[1].get("aria-label") == "Edge A2, 2 mm/min"
    assert [node.get("aria-pressed") for node in hits].count("true") == 1


def test_a_still_drawing_has_no_hit_strokes():
    assert not with_class(parse(full_drawing(bracket())), "tc-hit")


def test_names_that_look_like_markup_come_out_literally():
    nasty = "<script>alert('x')</script> & \"q\" ]]> \x00"
    markup = part_svg(bracket(), title=nasty)
    root = parse(markup)
    assert "<script" not in markup
    assert root.get("aria-label") == nasty.replace("\x00", "\ufffd")
    message = Finding(code="<b>", status=FindingStatus.FIXED, message=nasty, where=(0.0, 0.0))
    markup = part_svg(bracket(), findings=[message])
    assert "<script" not in markup
    assert parse(markup) is not None


@pytest.mark.parametrize("edges", [401, 801])
def test_hundreds_of_edges_are_drawn_and_labels_thin_out(edges):
    part = wheel(edges)
    root = parse(full_drawing(part))
    labels = with_class(root, "tc-label")
    assert len(with_class(root, "tc-edge")) == sum(1 for _ in part.edges) == edges
    assert 20 < len(labels) < edges
    boxes = [box_of_text(node) for node in labels]
    assert not any(
        a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
        for k, a in enumerate(boxes)
        for b in boxes[k + 1 :]
    )
    assert any("Labels left out" in (node.text or "") for node in root.iter())


def test_the_order_of_the_contours_stands_beside_their_pierces():
    part = plate()
    root = parse(part_svg(part, path=path_of(part)))
    assert [node.text for node in with_class(root, "tc-order-text")] == [str(k) for k in range(1, 9)]
    assert len(with_class(root, "tc-start")) == len(part.contours) + 1  # one is in the key


def test_a_finding_is_marked_where_it_is_by_its_number():
    study = bracket_study()
    root = parse(part_svg(study.part, findings=study.drawing.findings))
    assert [node.text for node in with_class(root, "tc-flag-text")] == ["1"]


def test_a_finding_off_the_picture_leaves_no_mark():
    far = Finding(code="far", status=FindingStatus.FIXED, message="elsewhere", where=(9.0, 9.0))
    assert not with_class(parse(part_svg(bracket(), findings=[far])), "tc-finding")


def test_the_legend_prints_the_ends_of_the_scale():
    part = bracket()
    texts = [node.text for node in with_class(parse(full_drawing(part)), "tc-key")]
    assert texts[:2] == ["1", "5"]
    assert "Speed, mm/min" in [node.text for node in parse(full_drawing(part)).iter()]


@pytest.mark.parametrize("by", list(ColourBy))
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_edges_can_be_coloured_by_any_forecast_quantity(by, system):
    option = option_of(bracket_study())
    values = edge_values(option.forecast, system, by=by)
    root = parse(part_svg(bracket(), values=values))
    colours = {node.get("data-edge"): node.get("stroke") for node in with_class(root, "tc-edge")}
    assert colours["A1"] == colours["A4"] != colours["A2"]
    assert values.title in "".join(root.itertext())


def test_a_slanted_size_is_drawn_in_place():
    part = wheel(5)
    edges = list(part.edges)
    demand = size(edges[0].id, edges[2].id, nominal=0.1, upper=1e-4)
    root = parse(part_svg(part, demands=[demand]))
    drawn = [node.get("data-demand") for node in with_class(root, "tc-dimension")]
    assert drawn == [demand.id]
