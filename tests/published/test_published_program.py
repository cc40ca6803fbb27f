"""Blocks of ISO 6983-1 as they stand in textbooks, from memory, and arcs by plane geometry.

The standard's own text is not at hand: meanings of G0 to G4, G17, G20, G21, G90, G91 and G94, and that I
and J run from the start of an arc, are from memory. The numbers are plane geometry, worked by hand.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest
from numpy.testing import assert_allclose

from trialcut.geometry.curves import Arc
from trialcut.papers.program.form import ProgramForm
from trialcut.papers.program.reading import read_program

FORM = ProgramForm().in_unit("metric")


def arc(start: str, block: str) -> Arc:
    (run,) = read_program(f"G17 G21 G90 G94\nG0 {start}\nM3\nM8\n{block} F100\nM9\nM5\nM30\n", FORM).runs
    (move,) = run.moves
    assert isinstance(move.segment, Arc)
    return move.segment


# Start, block, then centre [mm], radius [mm] and sweep [degrees] by hand.
BY_HAND = [
    # Quarter circles about the origin, and one about (10, 10).
    ("X10 Y0", "G3 X0 Y10 I-10 J0", (0, 0), 10, 90),
    ("X10 Y0", "G3 X0 Y10 R10", (0, 0), 10, 90),
    ("X10 Y0", "G2 X0 Y10 I0 J10", (10, 10), 10, -90),
    ("X10 Y0", "G2 X0 Y10 R10", (10, 10), 10, -90),
    # A negative radius takes the longer way round.
    ("X10 Y0", "G2 X0 Y10 R-10", (0, 0), 10, -270),
    ("X10 Y0", "G3 X0 Y10 R-10", (10, 10), 10, 270),
    # Half a circle: the chord is the diameter.
    ("X0 Y0", "G2 X20 Y0 R10", (10, 0), 10, -180),
    ("X0 Y0", "G2 X20 Y0 I10 J0", (10, 0), 10, -180),
    # A sixth: chord equals radius, so the centre is half the root of three of it away.
    ("X0 Y0", "G3 X10 Y0 R10", (5, 5 * sqrt(3)), 10, 60),
    ("X0 Y0", "G2 X10 Y0 R10", (5, -5 * sqrt(3)), 10, -60),
    # 3-4-5: from (5, 0) to (3, 4) about the origin turns by the arc cosine of 3/5.
    ("X5 Y0", "G3 X3 Y4 I-5 J0", (0, 0), 5, 53.13010235415598),
    ("X5 Y0", "G3 X3 Y4 R5", (0, 0), 5, 53.13010235415598),
]


@pytest.mark.parametrize(("start", "block", "centre", "radius", "sweep"), BY_HAND)
def test_arcs_are_where_plane_geometry_puts_them(start, block, centre, radius, sweep):
    found = arc(start, block)
    assert_allclose(found.centre, [1e-3 * c for c in centre], rtol=0, atol=1e-12)
    assert_allclose(found.radius, 1e-3 * radius, rtol=1e-12)
    assert_allclose(found.sweep, sweep * pi / 180.0, rtol=1e-9)


def test_a_textbook_square_of_one_inch_is_read():
    text = """%
O0001
N10 G17 G20 G90 G94
N20 G0 X0. Y0.
N30 M3
N35 M8
N40 G4 P2.
N50 G1 X1. F6.
N60 Y1.
N70 X0.
N80 Y0.
N90 M9
N95 M5
N100 M30
%
"""
    found = read_program(text, FORM)
    (run,) = found.runs
    assert_allclose([m.segment.end for m in run.moves], [(0.0254, 0), (0.0254, 0.0254), (0, 0.0254), (0, 0)])
    # 6 in/min is 2.54 mm/s.
    assert_allclose([m.feed for m in run.moves], 2.54e-3, rtol=1e-15)
    assert found.dwells == (2.0,)
