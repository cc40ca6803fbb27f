"""The pieces of the window by themselves: picture, paint, section, rows, answers, jobs, memory."""

from __future__ import annotations

import re
from dataclasses import replace
from urllib.parse import parse_qs
from xml.etree import ElementTree as ET

import pytest
from numpy.testing import assert_allclose

from parts import plate_with_openings
from sample_results import bracket_study, option_of, spread
from trialcut.app.answers import Answers, read_odds, read_pieces
from trialcut.app.faults import error_body, fault_of, status_of
from trialcut.app.figure import draw_part, placed
from trialcut.app.outcomes import outcomes
from trialcut.app.paint import PAINTS, edge_odds, largest_deviation, painted
from trialcut.app.recent import Recent
from trialcut.app.section import wall_section
from trialcut.app.view import View
from trialcut.errors import ComputationError, DataError, QuantityError, TrialcutError, UsageError
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.planning.demands import DemandKind

STUDY = bracket_study()
OPTION = option_of(STUDY)


@pytest.mark.parametrize("paint", sorted(PAINTS))
def test_a_painted_picture_has_no_inline_style(paint: str) -> None:
    flat = replace(
        OPTION,
        forecast=replace(
            OPTION.forecast, edges=tuple(replace(edge, speed=0.002) for edge in OPTION.forecast.edges)
        ),
    )
    for option in (OPTION, flat):
        svg = draw_part(
            STUDY.drawing,
            STUDY.part,
            demands=STUDY.demands,
            option=option,
            paint=paint,
            edge="A1",
            system="inch",
            room=(640.0, 480.0),
        )
        assert "style=" not in svg
        assert ET.fromstring(svg).tag.endswith("svg")
        assert len(re.findall(r'class="tc-hit"', svg)) == len(list(STUDY.part.edges))


def test_every_painted_edge_has_a_light_and_a_dark_colour() -> None:
    svg = draw_part(
        STUDY.drawing,
        STUDY.part,
        demands=(),
        option=OPTION,
        paint="speed",
        edge="",
        system="inch",
        room=(640.0, 480.0),
    )
    edges = [each for each in ET.fromstring(svg).iter() if each.get("class", "").startswith("tc-painted")]
    assert len([each for each in edges if each.get("data-edge")]) == len(list(STUDY.part.edges))
    for edge in edges:
        assert re.fullmatch("#[0-9a-f]{6}", edge.get("stroke", ""))
        assert re.fullmatch("#[0-9a-f]{6}", edge.get("color", ""))


def test_tight_room_leaves_the_sizes_to_the_tables() -> None:
    pictures = [
        draw_part(
            STUDY.drawing,
            STUDY.part,
            demands=STUDY.demands,
            option=None,
            paint="",
            edge="",
            system="inch",
            room=room,
        )
        for room in ((640.0, 480.0), (300.0, 480.0), (640.0, 250.0))
    ]
    assert ["data-demand" in picture for picture in pictures] == [True, False, False]


def test_a_crowded_part_is_drawn_thinner_and_without_the_jet_s_marks() -> None:
    pictures = [
        draw_part(
            STUDY.drawing,
            part,
            demands=(),
            option=OPTION,
            paint="odds",
            edge="",
            system="inch",
            room=(640.0, 480.0),
        )
        for part in (STUDY.part, plate_with_openings(41))
    ]
    assert ["tc-jet" in picture for picture in pictures] == [True, False]
    assert ["tc-crowded" in picture for picture in pictures] == [False, True]


def test_a_finding_far_from_the_part_keeps_its_number_and_loses_its_mark() -> None:
    near = Finding(code="a", status=FindingStatus.FIXED, message="near", where=(0.01, 0.01))
    far = replace(near, code="b", where=(5.0, 5.0))
    none = replace(near, code="c", where=None)
    assert [each.where for each in placed((far, near, none), STUDY.part)] == [None, (0.01, 0.01), None]


def test_paint_takes_each_value_from_its_place() -> None:
    edge = OPTION.forecast.edges[0]
    values = {name: painted(OPTION, paint, "inch") for name, paint in PAINTS.items()}
    speed, finish, time, deviation = (
        values[name].values[edge.id]  # type: ignore[union-attr]
        for name in ("speed", "finish", "time", "deviation")
    )
    assert_allclose([speed, finish, time], [edge.speed, edge.finish_ra.mean, edge.time], rtol=0, atol=0)
    assert_allclose(deviation, largest_deviation(edge), rtol=0, atol=0)


def test_deviation_is_the_largest_of_three_depths_without_the_stock() -> None:
    edge = replace(
        OPTION.forecast.edges[0],
        stock=0.5e-3,
        wall_top=spread(0.6e-3, 1e-5),
        wall_middle=spread(0.2e-3, 1e-5),
        wall_bottom=spread(0.7e-3, 1e-5),
    )
    assert_allclose(largest_deviation(edge), 0.3e-3, rtol=1e-12)


def test_odds_of_an_edge_are_those_of_its_least_likely_demand() -> None:
    edge = OPTION.forecast.edges[0]
    touching = [each for each in OPTION.forecast.demands if edge.id in each.demand.edges]
    now, corrected = replace(OPTION, first_piece=False), replace(OPTION, first_piece=True)
    assert edge_odds(now, edge) == min(each.odds for each in touching)
    assert edge_odds(corrected, edge) == min(each.odds_corrected for each in touching)
    assert edge_odds(OPTION, replace(edge, id="Z9")) is None


def test_demands_that_are_alike_share_a_row_by_their_worst() -> None:
    one = OPTION.forecast.demands[0]
    finish = [
        replace(
            one,
            demand=replace(
                one.demand, id=f"finish-A{k}", kind=DemandKind.FINISH, text="Ra 3.2", edges=(f"A{k}",)
            ),
            odds=0.9 - 0.1 * k,
        )
        for k in range(1, 6)
    ]
    size = replace(one, demand=replace(one.demand, kind=DemandKind.SIZE), odds=0.7)
    rows = outcomes([size, *finish])
    assert [(row.count, row.title) for row in rows] == [
        (5, "finish, 5 times, worst at A5"),
        (1, size.demand.title),
    ]
    assert rows[0].worst is finish[-1]
    assert [row.count for row in outcomes(finish[:3])] == [1, 1, 1]


def test_the_section_leans_to_the_side_that_stands_out() -> None:
    edge = replace(
        OPTION.forecast.edges[0],
        stock=0.0,
        wall_top=spread(0.0, 1e-6),
        wall_middle=spread(0.1e-3, 1e-6),
        wall_bottom=spread(0.2e-3, 1e-6),
    )
    svg = ET.fromstring(wall_section(edge, system="metric"))
    wall = next(each for each in svg if each.get("class") == "section-wall").get("points", "")
    across = [float(point.split(",")[0]) for point in wall.split()]
    drawn = float(next(each for each in svg if each.get("class") == "section-drawn").get("x1", ""))
    assert_allclose(across[0], drawn, atol=0.005)
    assert across[0] < across[1] < across[2]
    assert "0.202 mm" in svg.get("aria-label", "")


def test_a_view_survives_its_address() -> None:
    view = View(edge="A1", speed="6 in/min & more", stance="tilted", width="400")
    back = View.read({name: values[0] for name, values in parse_qs(view.query()[1:]).items()})
    assert back == replace(view, width="")
    assert View().query() == ""
    assert parse_qs(view.query(edge="B1")[1:])["edge"] == ["B1"]


def test_answers_survive_the_book() -> None:
    answers = Answers(demands="part: ±0.005 in\nB: 10 H11 & more", thickness='1/2"')
    assert Answers.read(answers.stated()) == answers
    assert set(answers.stated()) == {"demands", "thickness"}


def test_only_what_the_study_depends_on_is_in_its_key() -> None:
    answers = Answers(demands="a", thickness="1 in")
    assert replace(answers, sentence="5 off").key() == answers.key()
    for changes in ({"demands": "b"}, {"thickness": "2 in"}, {"quantity": "2"}, {"machine": "south"}):
        assert replace(answers, **changes).key() != answers.key()


def test_a_sentence_is_taken_over_and_adds_to_the_demands() -> None:
    answers = Answers(
        demands="B: 10 H11", quantity="3", sentence="12 mm 304, sizes ±0.1 mm, 20 off, 90 % sure"
    )
    taken = answers.take_sentence()
    assert taken.demands == "B: 10 H11\nsizes ±0.1 mm"
    assert (taken.thickness, taken.material, taken.quantity, taken.odds) == ("12 mm", "304", "20", "90 %")
    assert taken.sentence == ""


@pytest.mark.parametrize("text", ["0", "-1", "1.5", "many", "1e3", "99999999"])
def test_a_number_of_pieces_that_is_none_is_told(text: str) -> None:
    with pytest.raises(QuantityError, match="no number of pieces"):
        read_pieces(text)


@pytest.mark.parametrize("text", ["0", "1", "101 %", "-5 %", "sure"])
def test_odds_that_are_none_are_told(text: str) -> None:
    with pytest.raises(QuantityError) as told:
        read_odds(text)
    assert told.value.facts["field"] == "odds"


def test_too_many_lines_are_told() -> None:
    with pytest.raises(QuantityError, match="more than 100"):
        Answers(demands="\n".join(f"A{k}: 1 mm" for k in range(1, 103))).lines()


def test_an_error_is_put_beside_its_answer_in_the_page_s_own_words() -> None:
    error = UsageError("--demand number 2: 'part: 5' has no unit: write '5 in' (and 1 more problem)")
    fault = fault_of(error)
    assert (fault.field, fault.message) == ("demands", "'part: 5' has no unit: write '5 in'")
    plain = fault_of(DataError("the file is empty", code="empty-file"))
    assert (plain.field, plain.message, plain.code) == ("", "the file is empty", "empty-file")


def test_facts_of_an_error_become_plain_json() -> None:
    body = error_body(
        DataError("no", code="x", a=(1, 2.5), b={"c": float("nan")}, d=FindingStatus.FIXED, e=STUDY.source)
    )
    assert body["facts"]["a"] == [1, 2.5]
    assert body["facts"]["b"] == {"c": "nan"}
    assert body["facts"]["d"] == "fixed"


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (UsageError("x"), 400),
        (DataError("x"), 422),
        (ComputationError("x"), 422),
        (DataError("x", code="too-large"), 413),
        (DataError("x", code="no-such-drawing"), 404),
        (DataError("x", code="no-such-study"), 404),
        (DataError("x", code="conflict"), 409),
    ],
)
def test_each_kind_of_error_has_its_status(error: TrialcutError, status: int) -> None:
    assert status_of(error) == status


def test_the_memory_forgets_the_oldest() -> None:
    recent: Recent[int] = Recent(2)
    made = [recent.get(key, lambda k=key: k * 10) for key in (1, 2, 1, 3)]  # type: ignore[misc]
    assert made == [10, 20, 10, 30]
    assert (recent.peek(1), recent.peek(2), recent.peek(3)) == (10, None, 30)


def test_the_memory_keeps_nothing_of_what_went_wrong() -> None:
    recent: Recent[int] = Recent(2)
    with pytest.raises(ZeroDivisionError):
        recent.get(1, lambda: 1 // 0)
    assert recent.get(1, lambda: 5) == 5
