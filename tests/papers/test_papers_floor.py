"""Order, corners, clamping and loose pieces on the cut sheet, and the whole sheet against its plan."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import pairwise
from math import degrees

import pytest
from numpy.testing import assert_allclose
from pypdf import PdfReader

from sample_parts import wheel
from sample_results import bracket_study, option_of, plate_study
from sample_studies import study_of
from trialcut.geometry.kerf_findings import Rest, rest_on_slats
from trialcut.papers import cut_sheet_content, cut_sheet_pdf
from trialcut.papers.plate_notes import plate_section
from trialcut.planning.results import CornerForecast
from trialcut.services import choose_option, demo_study, plan_study

INCH = 0.0254
HEAD = "CornerPassedTakessTrailin"


@cache
def planned(metric: bool):
    study = demo_study(metric=metric)
    return study, choose_option(plan_study(study), None)


@cache
def printed(metric: bool, paper: str) -> str:
    study, option = planned(metric)
    pages = PdfReader(BytesIO(cut_sheet_pdf(cut_sheet_content(study, option, paper=paper)))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u200b", "").split())


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
@pytest.mark.parametrize("metric", [False, True])
def test_every_edge_of_the_plan_can_be_read_in_the_pdf_with_its_numbers(metric, paper):
    _, option = planned(metric)
    text = printed(metric, paper)
    unit, speed_unit = (1e-3, 1e-3 / 60.0) if metric else (INCH, INCH / 60.0)
    for edge in option.forecast.edges:
        found = re.search(
            rf"\b{edge.id} ([\d.]+) ([\d.]+) (upright|tilted) (−?[\d.]+) (−?[\d.]+) (−?[\d.]+) ", text
        )
        assert found, edge.id
        length, speed, stance, offset, tilt, lead = found.groups()
        assert stance == edge.stance.value
        for shown, value, scale in (
            (length, edge.length, unit),
            (speed, edge.speed, speed_unit),
            (offset, edge.offset, unit),
        ):
            digits = len(shown.partition(".")[2])
            # A cell shows three figures at least of a speed, which may have been rounded to them.
            assert_allclose(float(shown), value / scale, rtol=0.0, atol=0.5000001 * 10.0**-digits)
        for shown, angle in ((tilt, edge.tilt), (lead, edge.lead)):
            assert_allclose(float(shown.replace("−", "-")), degrees(angle), rtol=0.0, atol=0.005000001)


@pytest.mark.parametrize("metric", [False, True])
def test_the_order_is_that_of_the_path_with_its_pierces(metric):
    study, option = planned(metric)
    unit = 1e-3 if metric else INCH
    runs = option.forecast.path.runs
    rows = cut_sheet_content(study, option).order.rows
    assert [row.cells[:2] for row in rows] == [(str(k), run.contour) for k, run in enumerate(runs, start=1)]
    for row, run in zip(rows, runs, strict=True):
        digits = 2 if metric else 3
        shown = [float(cell.replace("−", "-")) for cell in (row.cells[2], row.cells[3], row.cells[5])]
        wanted = [value / unit for value in (*run.pierce, run.approach)]
        assert_allclose(shown, wanted, rtol=0.0, atol=0.5000001 * 10.0**-digits)
        assert row.cells[4].startswith(run.start_edge)
        assert " ".join(row.cells) in printed(metric, "a4")


def corner(before, after, *, looped=False, error=1e-4):
    return CornerForecast(
        before=before,
        after=after,
        looped=looped,
        slow_time=0.672,
        slow_error=error,
        loop_time=3.93 if looped else None,
        why="slowing down costs no more than the loop",
    )


def sheet_with_corners(study, corners):
    option = option_of(study)
    return cut_sheet_content(
        study, replace(option, forecast=replace(option.forecast, corners=tuple(corners)))
    )


def test_corners_say_how_they_are_passed_and_alike_ones_share_a_row():
    corners = [corner("A1", "A2"), corner("A2", "A3"), corner("A5", "A6", looped=True)]
    table = sheet_with_corners(plate_study(), corners).corners
    assert [row.cells for row in table.rows] == [
        ("A1/A2, A2/A3", "slowed down", "0.67", "0.100"),
        ("A5/A6", "run past, looped in the scrap", "3.93", "0.000"),
    ]


def test_every_corner_of_the_plan_is_on_the_sheet():
    for metric in (False, True):
        study, option = planned(metric)
        named = " ".join(row.cells[0] for row in cut_sheet_content(study, option).corners.rows)
        assert option.forecast.corners
        for each in option.forecast.corners:
            assert f"{each.before}/{each.after}" in named


def test_four_hundred_edges_with_four_hundred_corners_are_printed():
    study = replace(study_of(wheel(401)), name="Wheel")
    names = [edge.id for edge in study.part.edges]
    corners = [
        corner(first, second, error=1e-4 * (k % 5)) for k, (first, second) in enumerate(pairwise(names))
    ]
    reader = PdfReader(BytesIO(cut_sheet_pdf(sheet_with_corners(study, corners))))
    pages = ["".join(page.extract_text().replace("\u200b", "").split()) for page in reader.pages]
    # Names may be parted by the end of a page: its foot, and the head of the table that is repeated, go.
    text = "".join(re.sub(r"MadebyTrialcut.*$", "", page).removeprefix(HEAD) for page in pages)
    assert len(corners) >= 400
    for each in corners:
        assert f"{each.before}/{each.after}" in text
    assert len(reader.pages) < 20


@pytest.mark.parametrize(
    ("longest", "shortest", "rest"),
    [
        (49.9e-3, 10e-3, Rest.FALLS),
        (50.1e-3, 10e-3, Rest.TIPS),
        (80e-3, 49.9e-3, Rest.TIPS),
        (80e-3, 50.1e-3, Rest.LIES),
    ],
)
def test_a_loose_piece_falls_tips_or_lies_by_the_slat_distance(longest, shortest, rest):
    assert rest_on_slats(longest=longest, shortest=shortest, slat_pitch=50e-3) is rest


def test_slugs_are_their_openings_less_a_kerf_on_each_side():
    study, option = planned(True)
    # The opening D is 30 mm across; 1.14 mm of kerf on each side are lost, 27.7 mm fall.
    wide = option.forecast.edge("D1").kerf_top.mean
    assert_allclose(30.0 - 2.0 * wide * 1e3, 27.7, rtol=0.0, atol=0.05)
    (line,) = [line for line in plate_section(study, option.forecast).lines if "Slugs" in line]
    assert "Slugs of B, C, D, E, F, G, up to 27.7\u00a0mm across, fall between slats" in line


def test_an_opening_that_the_jet_takes_whole_leaves_no_slug():
    study, option = planned(True)
    edges = tuple(
        replace(edge, kerf_top=replace(edge.kerf_top, mean=0.0051)) if edge.contour == "B" else edge
        for edge in option.forecast.edges
    )
    lines = plate_section(study, replace(option.forecast, edges=edges)).lines
    assert any("Slugs of C, D, E, F, G," in line for line in lines)


def test_the_jet_reaches_as_far_as_its_farthest_pierce_and_half_again_its_kerf():
    study, option = planned(False)
    reach = max(-run.pierce[0] for run in option.forecast.path.runs)
    kerf = max(edge.kerf_top.mean for edge in option.forecast.edges)
    (line,) = [line for line in plate_section(study, option.forecast).lines if "outside the part" in line]
    assert f"up to {(reach + kerf) / INCH:.2f}\u00a0in outside" in line


def test_a_small_part_is_said_to_fall_and_a_large_one_is_not():
    study, option = planned(False)
    assert any("The part can fall" in line for line in plate_section(study, option.forecast).lines)
    study, option = planned(True)
    assert not any("The part can" in line for line in plate_section(study, option.forecast).lines)


def test_an_upright_plan_says_nothing_of_a_lean():
    study = bracket_study()
    forecast = option_of(study).forecast
    upright = tuple(replace(edge, stance="upright", tilt=0.0, lead=0.0) for edge in forecast.edges)
    assert any("leans" in line for line in plate_section(study, forecast).lines)
    assert not any("leans" in line for line in plate_section(study, replace(forecast, edges=upright)).lines)


def test_the_lot_uses_its_number_of_pieces_times_what_one_uses():
    study, option = planned(True)
    used = option.forecast.consumption
    rows = {row.cells[0]: row.cells[1:] for row in cut_sheet_content(study, option).consumption.rows}
    each, lot = (float(text.removesuffix(" kg")) for text in rows["Abrasive"])
    assert_allclose([each, lot], [used.abrasive, study.quantity * used.abrasive], rtol=0.0, atol=0.0005)
