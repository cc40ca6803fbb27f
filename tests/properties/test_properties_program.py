"""Whatever path is written, what is read is the same to the printed digit."""

from __future__ import annotations

import re
from math import cos, pi, sin

from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from trialcut.geometry.curves import Arc, Line, Segment
from trialcut.papers.program.form import ProgramForm, TiltAxis
from trialcut.papers.program.moves import MOST_SWEEP, Move, Run
from trialcut.papers.program.reading import read_program
from trialcut.papers.program.writing import program_text

number = st.floats(-0.3, 0.3)
lean = st.builds(complex, st.floats(-0.4, 0.4), st.floats(-0.4, 0.4))
forms = st.builds(
    ProgramForm,
    unit=st.sampled_from(["mm", "in"]),
    feed_per=st.sampled_from(["min", "s"]),
    length_decimals=st.integers(3, 6),
    feed_decimals=st.integers(4, 6),
    angle_decimals=st.integers(3, 6),
    block_numbers=st.sampled_from([0, 1, 10]),
    arcs=st.sampled_from(["centre", "radius"]),
    comment=st.sampled_from(["()", ";"]),
    axes=st.sampled_from(
        [
            (TiltAxis(name=one, leans=first), TiltAxis(name=other, leans=second))
            for one, other in ("AB", "BA", "UV")
            for first, second in (("+x", "+y"), ("-y", "+x"), ("-x", "-y"), ("+y", "-x"))
        ]
    ),
    nested=st.booleans(),
    angle_unit=st.sampled_from(["deg", "rad"]),
)


@st.composite
def runs(draw: st.DrawFn) -> Run:
    """A path of straights and arcs that runs on from one to the next."""
    start = here = (draw(number), draw(number))
    moves = []
    for _ in range(draw(st.integers(1, 8))):
        heading = draw(st.floats(-pi, pi))
        segment: Segment
        if draw(st.booleans()):
            size = draw(st.floats(1e-3, 0.2))
            segment = Line(here, (here[0] + size * cos(heading), here[1] + size * sin(heading)))
        else:
            radius = draw(st.floats(1e-3, 0.2))
            sweep = draw(st.floats(0.05, MOST_SWEEP)) * draw(st.sampled_from([-1.0, 1.0]))
            centre = (here[0] - radius * cos(heading), here[1] - radius * sin(heading))
            segment = Arc(centre, radius, heading, sweep)
        moves.append(
            Move(segment, draw(st.floats(1e-4, 0.2)), draw(lean), draw(st.sampled_from(["A1", "B2"])))
        )
        here = segment.end
    return Run(draw(st.sampled_from(["A", "B"])), start, draw(lean), tuple(moves))


@settings(deadline=None, max_examples=120)
@given(st.lists(runs(), min_size=1, max_size=3), forms)
def test_what_is_read_is_what_was_written_to_the_printed_digit(written, form):
    text = program_text(written, form, facts=["any (thing); at all"], pierce_dwell=1.0)
    read = read_program(text, form).runs
    half = 0.5 * form.digit * (1.0 + 1e-6)
    angle = 0.5 * form.read_angle(10.0**-form.angle_decimals) * (1.0 + 1e-6)
    feed = 0.5 * form.feed_unit * 10.0**-form.feed_decimals * (1.0 + 1e-6)
    assert [run.title for run in read] == [run.title for run in written]
    for was, now in zip(written, read, strict=True):
        assert_allclose(now.start, was.start, rtol=0, atol=half)
        assert_allclose(form.angles_of(now.lean), form.angles_of(was.lean), rtol=0, atol=angle)
        assert [move.label for move in now.moves] == [move.label for move in was.moves]
        for one, other in zip(was.moves, now.moves, strict=True):
            assert type(one.segment) is type(other.segment)
            assert_allclose(other.feed, one.feed, rtol=0, atol=feed)
            assert_allclose(form.angles_of(other.lean), form.angles_of(one.lean), rtol=0, atol=angle)
            # With a centre, its two roundings add to that of the start.
            near = half if isinstance(one.segment, Line) else 4.0 * form.digit
            assert_allclose(other.segment.end, one.segment.end, rtol=0, atol=near)
            if form.arcs == "centre" and isinstance(one.segment, Arc) and isinstance(other.segment, Arc):
                assert_allclose(other.segment.centre, one.segment.centre, rtol=0, atol=2.0 * form.digit)
                assert_allclose(other.segment.radius, one.segment.radius, rtol=0, atol=3.0 * form.digit)


@settings(deadline=None, max_examples=60)
@given(st.lists(runs(), min_size=1, max_size=2), forms)
def test_reading_and_writing_again_gives_the_same_lines(written, form):
    text = program_text(written, form, facts=[], pierce_dwell=0.0)
    again = program_text(read_program(text, form).runs, form, facts=[], pierce_dwell=0.0)

    def places(lines: str) -> list[str]:
        return re.findall(r"(?<![A-Z])[XYF]-?\d[\d.]*", lines)

    assert len(places(again)) == len(places(text))
    values = ([float(word[1:]) for word in places(each)] for each in (again, text))
    # An arc is read with its end on its circle, so that the last digits may differ.
    assert_allclose(*values, rtol=0, atol=4.5 * 10.0 ** -min(form.length_decimals, form.feed_decimals))
