"""The reader of plain programs: what it knows, and one line for what it does not."""

from __future__ import annotations

from math import pi

import pytest
from numpy.testing import assert_allclose

from trialcut.errors import FileFormatError
from trialcut.geometry.curves import Arc, Line
from trialcut.papers.program.form import ProgramForm, TiltAxis
from trialcut.papers.program.reading import read_program

FORM = ProgramForm(
    axes=(TiltAxis(name="A", leans="+x"), TiltAxis(name="B", leans="+y")), header=("G10 L2 P1",)
).in_unit("metric")
START = "G21 G90\nG0 X0 Y0\nM3\nM8\n"
END = "\nM9\nM5\nM30\n"


def moves(body: str):
    (run,) = read_program(START + body + END, FORM).runs
    return [move.segment for move in run.moves], run


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ("N7 G41 X1 F100", "block N7: G41 shifts the path"),
        ("N7 G33 X1 F100", "block N7: G33 is not known"),
        ("N7 G1 X1 Z2 F100", "block N7: word Z is not known"),
        ("N7 G1 X1 F0", "block N7: F0 is no feed"),
        ("N7 G1 X1", "block N7: cuts before any F"),
        ("N7 X1 F100 M7", "block N7: M7 is not known"),
        ("N7 G0 X1", "block N7: G0 with the jet on"),
        ("N7 G1 X1 Y F100", "block N7: 'Y' is not understood"),
        ("N7 G1 X1 X2 F100", "block N7: has two words X"),
        ("N7 G1 X1 I2 F100", "block N7: G1 has a centre or a radius"),
        ("N7 G2 X1 F100", "block N7: G2 needs I and J, or R"),
        ("N7 G2 X1 I1 J0 R1 F100", "block N7: has R and a centre"),
        ("N7 G2 X10 R4 F100", "block N7: R4 does not reach"),
        ("N7 G2 X0 Y0 R4 F100", "block N7: R cannot tell a whole circle"),
        ("N7 G2 X10 Y0 I4 J0 F100", "block N7: its ends are 4 and 6 from the centre"),
        ("N7 G4 X1", "block N7: G4 needs its seconds as P"),
        ("N7 G4 P-1", "block N7: G4 waits for less than no time"),
        ("N7 G1 A5 F100", "block N7: turns the head or stands still"),
        ("N7 G1 X1 A90 F100", "block N7: A90 lays the head flat"),
        ("N7 G1 X1 F100 (open", "line 5: a comment's bracket"),
        ("G1 X#1 F100", "line 5: 'X#1' is not understood"),
        ("G1 X1 F100\nM30", "line 6: the program ends with the jet on"),
        ("M9\nG1 X1 F100", "line 6: stands amid the lines"),
        ("M5", "line 5: 'M5' is out of turn"),
        ("M9\nM5", "line 6: the jet is switched off before"),
    ],
)
def test_what_is_not_known_is_one_line_with_its_block(body, message):
    with pytest.raises(FileFormatError, match=message) as error:
        read_program(START + body + END, FORM)
    assert "\n" not in error.value.message
    assert error.value.message.startswith("program ")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the jet is never on"),
        ("G0 X0 Y0\nM30\n", "the jet is never on"),
        ("M3\nM8\n", "before X and Y are known"),
        ("X0 Y0\n", "moves before any of G0"),
        ("G1 X0 F1\n", "G1 with the jet off"),
        (START + "G1 X1 F9" + END + "G0 X1", "after the end"),
    ],
)
def test_a_program_that_is_not_whole_is_refused(text, message):
    with pytest.raises(FileFormatError, match=message):
        read_program(text, FORM)


def test_words_stand_until_they_are_changed():
    segments, run = moves("G1 X10 F600\nY5\nN9 (here) G91 X-10.\nG90 Y.0 A2")
    assert [segment.end for segment in segments] == [(0.01, 0.0), (0.01, 0.005), (0.0, 0.005), (0.0, 0.0)]
    assert {move.feed for move in run.moves} == {0.01}
    assert_allclose([move.lean.real for move in run.moves], [0, 0, 0, 0.03492076949174773], rtol=1e-15)


def test_inches_and_millimetres_may_change_within_a_program():
    segments, run = moves("G20 G1 X1 F60\nG21 X30.4 F60")
    assert_allclose([segment.end[0] for segment in segments], [0.0254, 0.0304], rtol=1e-15)
    assert_allclose([move.feed for move in run.moves], [0.0254, 0.001], rtol=1e-15)


def test_traverses_and_dwells_are_told():
    text = (
        "G21 G90\nG0 X30 Y40\nM3\nM8\nG4 P1.5\nG1 X31 F60\nM9\nM5\nG0 X31 Y50\nM3\nM8\nX32 G1\nM9\nM5\nM2\n"
    )
    found = read_program(text, FORM)
    assert_allclose(found.traverses, [0.05, 0.01], rtol=1e-15)
    assert found.dwells == (1.5, 0.0)


def test_lines_of_the_shop_are_skipped_as_they_stand():
    assert len(read_program("G10 L2 P1\n" + START + "G1 X1 F9" + END, FORM).runs) == 1
    with pytest.raises(FileFormatError, match="G10 is not known"):
        read_program("G10 L2 P2\n" + START + "G1 X1 F9" + END, FORM)


@pytest.mark.parametrize(("block", "way"), [("G2 X0 Y0 I5 J0 F9", -1.0), ("G3 I5 F9 X0 Y0", 1.0)])
def test_a_whole_circle_is_told_by_its_centre(block, way):
    (circle,), _ = moves(block)
    assert isinstance(circle, Arc)
    assert_allclose(circle.centre, (0.005, 0.0), rtol=0, atol=1e-15)
    assert_allclose((circle.radius, circle.sweep), (0.005, way * 2.0 * pi), rtol=1e-15)


def test_a_straight_is_a_line():
    (line,), _ = moves("G1 X3 Y4 F9")
    assert isinstance(line, Line)
    assert_allclose(line.length, 0.005, rtol=1e-15)
