"""The picture of a gauge study, read back from its SVG."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from published_gauges import table
from svg_reading import parse, with_class
from trialcut.papers.gauge_study_svg import gauge_study_svg
from trialcut.papers.svg import text_width
from trialcut.trials.gauges import GaugeTable, study_gauge

SVG = "{http://www.w3.org/2000/svg}"
HALF_DIGIT = 0.5e-2
"""Positions are printed to two decimals of a pixel."""


def texts(root):
    return ["".join(node.itertext()) for node in root.iter(f"{SVG}text")]


def study(**given):
    return study_gauge(table("aiag"), **given)


def small(appraisers, parts=3, trials=2):
    values = np.random.default_rng(1).standard_normal((appraisers, parts, trials)) * 1e-5
    return study_gauge(
        GaugeTable(
            appraisers=tuple(f"person {k}" for k in range(appraisers)),
            parts=tuple(f"part <{k}> & more" for k in range(parts)),
            trials=tuple(map(str, range(trials))),
            values=values,
            system="inch",
        )
    )


def test_every_reading_is_a_mark_at_its_height():
    root = parse(gauge_study_svg(study()))
    cells = with_class(root, "tc-cell")
    assert len(cells) == 30
    dots = [cell for cell in cells if cell.get("data-appraiser") == "A"]
    heights = np.array([[float(mark.get("cy")) for mark in cell.iter(f"{SVG}circle")] for cell in dots])
    readings = table("aiag").values - table("aiag").values.mean(axis=(0, 2))[None, :, None]
    slope, zero = np.polyfit(readings[0].ravel(), heights.ravel(), 1)
    assert slope < 0.0
    assert_allclose(heights, zero + slope * readings[0], rtol=0.0, atol=2 * HALF_DIGIT)


def test_bars_are_as_long_as_their_share_of_the_variation():
    one = study()
    bars = {
        bar.get("data-source"): float(bar.get("width"))
        for bar in with_class(parse(gauge_study_svg(one)), "tc-bar")
    }
    assert set(bars) == {"repeatability", "appraisers", "gauge", "parts"}
    scale = bars["parts"] / one.component("parts").of_variation
    for source, width in bars.items():
        assert_allclose(width, scale * one.component(source).of_variation, rtol=0.0, atol=2 * HALF_DIGIT)


def test_shares_of_variation_and_of_tolerance_are_written():
    written = texts(parse(gauge_study_svg(study(tolerance=4.0))))
    assert "27.9 %, six of it 45.4 % of the tolerance" in written
    assert "96.0 %" in written
    assert not any("tolerance" in text for text in texts(parse(gauge_study_svg(study()))))


def test_the_longest_figures_end_within_the_picture():
    one = small(2, trials=3)
    assert one.component("gauge").of_variation > 0.9
    root = parse(gauge_study_svg(study_gauge(one.table, tolerance=1e-5)))
    figures = [node for node in root.iter(f"{SVG}text") if "of the tolerance" in "".join(node.itertext())]
    assert len(figures) >= 3
    for node in figures:
        long = text_width("".join(node.itertext()), float(node.get("font-size")))
        assert float(node.get("x")) + long <= float(root.get("width"))


def test_no_two_of_eight_appraisers_have_the_same_mark():
    root = parse(gauge_study_svg(small(8)))
    marks = set()
    for cell in with_class(root, "tc-cell")[::3]:
        mark = next(iter(cell))
        marks.add((mark.tag, mark.get("fill"), len(mark.get("points", "").split())))
    assert len(marks) == 8


def test_a_range_out_of_control_is_ringed_and_explained():
    root = parse(gauge_study_svg(study()))
    (ring,) = with_class(root, "tc-wide")
    cell = next(cell for cell in with_class(root, "tc-cell") if ring in list(cell))
    assert (cell.get("data-appraiser"), cell.get("data-part")) == ("B", "4")
    assert "repeats differ too much" in texts(root)
    assert "repeats differ too much" not in texts(parse(gauge_study_svg(small(2))))


@pytest.mark.parametrize("appraisers", [1, 2, 5])
def test_any_number_of_appraisers_is_drawn_within_the_picture(appraisers):
    root = parse(gauge_study_svg(small(appraisers)))
    assert len(with_class(root, "tc-cell")) == 3 * appraisers
    _, _, width, height = map(float, root.get("viewBox").split())
    for node in root.iter(f"{SVG}line"):
        assert 0.0 <= float(node.get("x1")) <= width
        assert 0.0 <= float(node.get("y1")) <= height


def test_the_picture_is_the_same_for_the_same_study_and_names_its_unit():
    assert gauge_study_svg(small(2)) == gauge_study_svg(small(2))
    assert any(text.endswith("[in]") for text in texts(parse(gauge_study_svg(small(2)))))
    assert any(text.endswith("[mm]") for text in texts(parse(gauge_study_svg(study()))))


def test_names_of_parts_too_long_for_their_column_become_numbers():
    many = texts(parse(gauge_study_svg(small(2, parts=12))))
    assert "part <3> & more" not in many
    assert {"1", "12"} <= set(many)
    assert "part <2> & more" in texts(parse(gauge_study_svg(small(2, parts=3))))
