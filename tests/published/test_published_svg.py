"""Curves of SVG against what others printed of them."""

from __future__ import annotations

from math import hypot, pi, radians, sqrt

import pytest
from numpy.testing import assert_allclose

from trialcut.geometry.importers import read_svg
from trialcut.geometry.importers.svg_path import arc_strokes, path_traces
from trialcut.geometry.importers.svg_words import Affine, transform_of

METRE = '<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="2000mm" viewBox="-1 -1 2 2">{}</svg>'


@pytest.mark.parametrize(
    ("handle", "drift", "digit"),
    # Spencer Mortensen, "Approximate a circle with cubic Bézier curves": largest radial drift in per cent.
    [("0.5522847498", 0.027253, 0.5e-6), ("0.551915024494", 0.0196, 0.5e-4)],
)
def test_a_circle_of_four_bezier_curves_is_out_of_round_by_what_was_printed(tmp_path, handle, drift, digit):
    c = handle
    path = f"M0 1 C{c} 1 1 {c} 1 0 C1 -{c} {c} -1 0 -1 C-{c} -1 -1 -{c} -1 0 C-1 {c} -{c} 1 0 1 Z"
    (tmp_path / "circle.svg").write_text(METRE.format(f'<path d="{path}"/>'), encoding="utf-8")
    (edge,) = read_svg(tmp_path / "circle.svg").parts[0].edges
    radii = [
        hypot(x - 1.0, y - 1.0)
        for segment in edge.segments
        for x, y in (segment.point(n / 50) for n in range(51))
    ]
    # The arcs that replace a curve may lie 1 um off it; the radius is 1 m.
    assert_allclose(max(abs(r - 1.0) for r in radii), drift / 100.0, rtol=0, atol=digit / 100.0 + 1.0e-6)


@pytest.mark.parametrize(
    ("data", "centre", "swept"),
    # SVG 2, section 9.3.8, picture arcs01: a circle of radius 150 with a quarter taken out, and the quarter.
    [
        ("M300,200 h-150 a150,150 0 1,0 150,-150 z", (300.0, 200.0), 1.5 * pi),
        ("M275,175 v-150 a150,150 0 0,0 -150,150 z", (275.0, 175.0), 0.5 * pi),
    ],
)
def test_the_wedges_of_the_standard_have_their_centre_in_the_tip(data, centre, swept):
    (trace,) = path_traces(data)
    arc = trace.strokes[1]
    assert_allclose(arc.centre, centre, rtol=0, atol=1e-9)
    assert_allclose(arc.last - arc.first, swept, rtol=0, atol=1e-12)
    assert_allclose(hypot(*arc.u), 150.0, rtol=0, atol=1e-9)


@pytest.mark.parametrize("rise", [25.0, 50.0, 75.0, 100.0])
def test_the_blips_of_the_standard_lie_on_an_ellipse_of_the_radii_that_it_states(rise):
    # The same picture: "a25,RISE -30 0,1 50,-25". Checked by the ellipse's equation, not by our formula.
    (arc,) = arc_strokes(
        (0.0, 0.0), (50.0, -25.0), rx=25.0, ry=rise, turn=radians(-30.0), large=False, sweep=True
    )
    cosine, sine = sqrt(0.75), -0.5
    forms = []
    for x, y in ((0.0, 0.0), (50.0, -25.0)):
        dx, dy = x - arc.centre[0], y - arc.centre[1]
        along, across = cosine * dx + sine * dy, cosine * dy - sine * dx
        forms.append((along / 25.0) ** 2 + (across / rise) ** 2)
    # A radius of 25 does not reach over a chord of 55.9: appendix B.2.5 scales both by 27.95 / 25.
    expected = (25.0**2 * 5.0 / 4.0) / 25.0**2 if rise == 25.0 else max(1.0, forms[0])
    assert_allclose(forms, [expected, expected], rtol=1e-12)
    assert 1.0 - 1e-12 < expected < 1.26
    assert arc.last > arc.first


def test_the_radii_that_do_not_reach_are_scaled_as_appendix_b_says():
    # Half the chord over the radius is the square root of the sum of B.2.5.2: 0.5 * 55.9 / 25 = 1.118.
    (arc,) = arc_strokes((0.0, 0.0), (50.0, -25.0), rx=25.0, ry=25.0, turn=0.5, large=False, sweep=True)
    assert_allclose(hypot(*arc.u), 0.5 * sqrt(50.0**2 + 25.0**2), rtol=1e-12)
    assert_allclose(arc.centre, (25.0, -12.5), rtol=1e-12)
    assert_allclose(arc.last - arc.first, pi, rtol=1e-12)


def test_nested_transforms_come_to_the_matrix_of_the_standard():
    # SVG 1.1, section 7.5: translate(50,90), rotate(-45), translate(130,160); the printed product has
    # a = .707, b = -.707, c = .707, d = .707, e = 255.03, f = 111.21 (numbers from memory). The last two are
    # sums of 130 and 160 times the rounded .707, so half a digit of that counts 290 times.
    found = transform_of("translate(50,90) rotate(-45) translate(130,160)")
    printed = Affine(0.707, -0.707, 0.707, 0.707, 255.03, 111.21)
    assert_allclose(
        (found.a, found.b, found.c, found.d), (printed.a, printed.b, printed.c, printed.d), atol=5e-4
    )
    assert_allclose((found.e, found.f), (printed.e, printed.f), rtol=0, atol=290 * 0.5e-3)
