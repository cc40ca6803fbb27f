"""Plain programs: written from a plan, read back, replayed through the as-cut part.

The replay compares Trialcut with itself by intention: a program must give the part that the plan forecast.
What leans the head is held against rotation matrices instead.
"""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, radians, sin

import numpy as np
import pytest
from numpy.testing import assert_allclose

from parts import rectangle_part
from sample_studies import study_of
from trialcut.errors import ComputationError, DataError, UsageError
from trialcut.papers.program.form import ProgramForm, TiltAxis
from trialcut.papers.program.moves import jet_moves
from trialcut.papers.program.reading import read_program
from trialcut.papers.program.replay import FAR_WALL, SAME_TIME, SAME_WALL, agreement
from trialcut.papers.program.writing import program_text
from trialcut.papers.words import say_all
from trialcut.planning.as_cut import cut_in_full
from trialcut.planning.cut_part import Cut, cut_in_thought
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.prepared import prepare
from trialcut.planning.results import Stance
from trialcut.services import demo_study, load_shop

AXES = (TiltAxis(name="B", leans="+x"), TiltAxis(name="A", leans="-y"))


class Case:
    """A part cut at one speed."""

    def __init__(self, study, stance: str) -> None:
        cuts = {edge.id: Cut(2.5e-3, Stance(stance)) for edge in study.part.edges}
        self.study = study
        self.part = cut_in_thought(prepare(study), cuts)
        self.cut = cut_in_full(self.part)
        self.moves = jet_moves(self.part)
        self.form = ProgramForm(axes=AXES if stance == "tilted" else ()).in_unit(study.system)

    def text(self, form: ProgramForm | None = None) -> str:
        return program_text(self.moves.runs, form or self.form, facts=["a part"], pierce_dwell=1.5)

    def check(self, text: str, form: ProgramForm | None = None):
        used = form or self.form
        return agreement(read_program(text, used), self.part, self.cut, planned=self.moves.cutting, form=used)


def demo(*, metric: bool):
    return replace(demo_study(metric=metric), draws=64, machine=load_shop().machine("north"))


@pytest.fixture(scope="module")
def tilted():
    return Case(demo(metric=False), "tilted")


@pytest.fixture(scope="module")
def upright():
    return Case(demo(metric=False), "upright")


@pytest.mark.parametrize("metric", [False, True])
@pytest.mark.parametrize("stance", ["upright", "tilted"])
def test_a_replayed_program_gives_the_walls_readings_and_time_of_the_plan(metric, stance):
    case = Case(demo(metric=metric), stance)
    found = case.check(case.text())
    assert found.wall <= SAME_WALL
    assert max(found.worst, found.reading) <= FAR_WALL
    assert_allclose(found.cutting, case.moves.cutting, rtol=SAME_TIME)


def test_loops_in_the_scrap_are_in_the_program():
    corner = Demand(id="late", kind=DemandKind.CORNER, title="", text="", edges=("A1", "A2"), upper=0.05e-3)
    study = study_of(rectangle_part(0.03, 0.03, [(0.015, 0.015, 0.003)]), (corner,), draws=64)
    case = Case(replace(study, loops=True), "tilted")
    assert set(case.part.loops) == {("A1", "A2")}
    assert case.check(case.text()).wall <= SAME_WALL


@pytest.mark.parametrize(
    "change",
    [
        {"arcs": "radius"},
        {"unit": "mm"},
        {"feed_per": "s", "feed_decimals": 5},
        {"nested": False},
        {"angle_unit": "rad"},
        {"comment": ";"},
        {"block_numbers": 0},
        {"jet_on": ("M62 P1",), "jet_off": ("M63 P1",)},
        {"axes": (TiltAxis(name="U", leans="-y"), TiltAxis(name="V", leans="-x"))},
        {"length_decimals": 4, "angle_decimals": 3, "feed_decimals": 1},
    ],
)
def test_every_way_of_writing_gives_the_same_part(tilted, change):
    form = replace(replace(tilted.form, length_decimals=None, angle_decimals=None), **change).in_unit("inch")
    assert tilted.check(tilted.text(form), form).wall <= SAME_WALL + form.digit


def spoiled(text: str, pattern: str, by) -> str:
    return re.sub(pattern, by, text)


@pytest.mark.parametrize(
    ("pattern", "by"),
    [
        (r"F([\d.]+)", lambda m: f"F{float(m[1]) * 1.03:.3f}"),
        (r"B(-?[\d.]+)", lambda m: f"B{-float(m[1]):.4f}"),
        (r"A(-?[\d.]+)", lambda m: f"A{float(m[1]) + 0.05:.4f}"),
        (r"X(-?[\d.]+)", lambda m: f"X{float(m[1]) + 0.0002:.5f}"),
    ],
    ids=["feed 3 % up", "sign of an axis", "axis 0.05 degrees off", "5 um to the side"],
)
def test_a_program_that_cuts_another_part_is_refused(tilted, pattern, by):
    assert tilted.check(tilted.text()).wall <= SAME_WALL
    with pytest.raises(ComputationError, match="the program"):
        tilted.check(spoiled(tilted.text(), pattern, by))


def test_the_head_says_that_it_is_to_be_proved_and_released(upright):
    lines = upright.text().splitlines()
    warnings = say_all("program_warning")
    assert len(warnings) >= 5
    assert "DRY RUN" in lines[0]
    assert "QUALIFIED PERSON" in lines[1]
    assert [line.strip("()") for line in lines[: len(warnings)]] == list(warnings)


def test_a_template_that_drops_the_warnings_is_refused(upright):
    form = replace(upright.form, template="{% for line in setup %}{{ line }}\n{% endfor %}")
    with pytest.raises(DataError, match="print all lines of 'head'"):
        upright.text(form)


@pytest.mark.parametrize(
    "template",
    ["{{ nothing }}", "{% for", "{{ head.__class__.__mro__ }}", "{{ 1 / 0 }}", "{{ head[99].a.b }}"],
)
def test_a_template_that_does_not_work_or_reaches_out_is_one_line(upright, template):
    with pytest.raises(DataError, match="the program template") as error:
        upright.text(replace(upright.form, template=template))
    assert "\n" not in error.value.message


def test_a_shop_lays_a_program_out_by_its_own_template(upright):
    own = (
        "%\nO1234\n{% for line in head + setup %}{{ line }}\n{% endfor %}"
        "{% for run in runs %}G4 P0.5\n{{ run.title }}\n"
        "{% for line in run.position + run.on + run.cut + run.off %}{{ line }}\n{% endfor %}{% endfor %}"
        "{% for line in foot %}{{ line }}\n{% endfor %}%\n"
    )
    form = replace(upright.form, template=own)
    text = upright.text(form)
    assert text.startswith("%\nO1234\n(PROVE")
    assert upright.check(text, form).wall <= SAME_WALL


def test_a_plan_that_tilts_needs_tilt_axes(tilted):
    with pytest.raises(UsageError, match="has no axes"):
        tilted.text(replace(tilted.form, axes=()))


def test_a_program_of_the_same_plan_is_the_same_bytes(tilted):
    assert tilted.text() == tilted.text()


def rotation(axis: str, angle: float):
    c, s = cos(angle), sin(angle)
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]] if axis == "x" else [[c, 0, s], [0, 1, 0], [-s, 0, c]])


@pytest.mark.parametrize(
    ("axes", "about", "turned"),
    [
        # The jet points along -z. A turn about x by the right hand takes it to +y, one about y to -x.
        ((TiltAxis(name="A", leans="+y"), TiltAxis(name="B", leans="-x")), "xy", (7.0, -4.0)),
        ((TiltAxis(name="B", leans="-x"), TiltAxis(name="A", leans="+y")), "yx", (7.0, -4.0)),
        ((TiltAxis(name="B", leans="-x"), TiltAxis(name="A", leans="+y")), "yx", (-9.0, 9.0)),
    ],
)
def test_nested_axes_lean_the_jet_as_rotations_do(axes, about, turned):
    outer, inner = map(radians, turned)
    jet = rotation(about[0], outer) @ rotation(about[1], inner) @ np.array([0.0, 0.0, -1.0])
    lean = complex(jet[0] / -jet[2], jet[1] / -jet[2])
    form = ProgramForm(axes=axes)
    assert_allclose(form.lean_of((outer, inner)), lean, rtol=0, atol=1e-15)
    assert_allclose(form.angles_of(lean), (outer, inner), rtol=0, atol=1e-15)


def test_axes_that_are_not_nested_show_projections():
    form = ProgramForm(axes=AXES, nested=False)
    assert_allclose(form.angles_of(0.1 - 0.05j), (np.arctan(0.1), np.arctan(0.05)), rtol=0, atol=1e-15)
